"""What the command's exit code says.

| code | name | when |
|---|---|---|
| 0 | answered | there is an answer on stdout |
| 1 | not_ready | `ready`: something on the station must be put right first |
| 2 | usage | the command line is not right, or there is nothing to go on |
| 3 | cant_tell | nothing was recognised, or what was told points to nothing in our list |
| 4 | bad_input | a file, a value or a unit cannot be used |
| 5 | unknown_id | an id that the knowledge does not hold |
| 6 | knowledge | the knowledge files do not hold together |
| 7 | storage | the casebook cannot be read or written |
| 8 | conflict | somebody else wrote first, or it is closed already |
| 70 | internal | a fault in the program itself |
| 130 | interrupted | Ctrl+C |
| 141 | broken_pipe | the reader of stdout went away |
"""

from __future__ import annotations

from enum import IntEnum


class ExitCode(IntEnum):
    """The codes of the table above."""

    ANSWERED = 0
    NOT_READY = 1
    USAGE = 2
    CANT_TELL = 3
    BAD_INPUT = 4
    UNKNOWN_ID = 5
    KNOWLEDGE = 6
    STORAGE = 7
    CONFLICT = 8
    INTERNAL = 70
    INTERRUPTED = 130
    BROKEN_PIPE = 141
