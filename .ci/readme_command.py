"""Print the N-th command of README as written: the N-th fenced block marked `sh`."""

from __future__ import annotations

import re
import sys
from pathlib import Path

blocks = re.findall(
    r"^```sh\n(.*?)^```", Path("README.md").read_text("utf-8"), flags=re.DOTALL | re.MULTILINE
)
print(blocks[int(sys.argv[1]) - 1].strip())
