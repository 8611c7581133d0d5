"""`python -m api.cli`: the command line without the installed script."""

from __future__ import annotations

import sys

from api.cli import main

if __name__ == "__main__":
    sys.exit(main())
