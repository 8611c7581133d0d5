"""Where the casebook stands when nobody names a place. Light: reading it imports no database."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import PurePath

VARIABLE = "WONTWELD_CASEBOOK"
_FILE = "casebook.sqlite3"


def default_place(environ: Mapping[str, str], *, platform: str, home: PurePath) -> str:
    """Return the path or URL of the casebook when nobody names one.

    `WONTWELD_CASEBOOK` first; else the data folder of the platform (`sys.platform`). A relative
    XDG_DATA_HOME is passed over, as the XDG base directory rules want.

    >>> from pathlib import PurePosixPath
    >>> default_place({}, platform="linux", home=PurePosixPath("/home/kim"))
    '/home/kim/.local/share/wontweld/casebook.sqlite3'
    """
    if named := environ.get(VARIABLE):
        return named
    if platform == "win32":
        local = environ.get("LOCALAPPDATA")
        folder = type(home)(local) if local else home / "AppData" / "Local"
    else:
        folder = home / ".local" / "share"
        if (named := environ.get("XDG_DATA_HOME")) and (given := type(home)(named)).is_absolute():
            folder = given
    return str(folder / "wontweld" / _FILE)
