"""`python -m knowledge`: check the YAML, then write the compiled form and the JSON Schemas."""

from __future__ import annotations

import json
import sys

from knowledge.errors import KnowledgeError
from knowledge.loader import ENTRIES, read, schemas, write_compiled


def main() -> int:
    """Return 0 when the knowledge holds together, else print what is wrong and return its exit code."""
    try:
        knowledge = read([ENTRIES])
    except KnowledgeError as error:
        print(error, file=sys.stderr)
        return error.exit_code
    write_compiled(knowledge)
    folder = ENTRIES / "schema"
    folder.mkdir(exist_ok=True)
    for kind, schema in schemas().items():
        text = json.dumps(schema, indent=1, ensure_ascii=False, sort_keys=True)
        (folder / f"{kind}.json").write_text(text + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
