"""The shop's own closed cases as prevalence: counted in one statement, off by a switch.

A case counts once, when it was closed as cured, names its cause, and its last proof was good. Where two
or more faults together were the cause, each takes an equal part of the one case.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from api.casebook_place import default_place
from api.errors import CasebookError
from diagnose.learn import SHIPPED_WEIGHS_AS_CASES, learned_prevalence
from knowledge.loader import Knowledge

if TYPE_CHECKING:
    from api.casebook import Casebook

SWITCH = "WONTWELD_LEARNING"
_OFF = frozenset({"off", "no", "false", "0"})
_COUNT = "SELECT cause, count(*) FROM cases WHERE proved = 1 AND cause IS NOT NULL GROUP BY cause"


@dataclass(frozen=True)
class Learned:
    """What the shop's cases teach.

    `prevalence` is fault -> complaints of 1,000, None where the shipped figures stand alone; `cases`
    were counted; `trouble` says why the casebook could not be read.
    """

    prevalence: Mapping[str, float] | None = None
    cases: int = 0
    trouble: str | None = None


def learning_on(environ: Mapping[str, str], *, off: bool = False) -> bool:
    """Return whether closed cases may shift the figures: not with `off`, nor WONTWELD_LEARNING=off.

    >>> learning_on({}), learning_on({"WONTWELD_LEARNING": "off"}), learning_on({}, off=True)
    (True, False, False)
    """
    return not off and environ.get(SWITCH, "on").strip().lower() not in _OFF


def cases_by_fault(causes: Mapping[str, int]) -> dict[str, float]:
    """Return fault -> cases; a case with several faults is shared out equally among them.

    Parameters
    ----------
    causes : faults of a cause, parted by blanks -> cases closed and proved with it

    >>> cases_by_fault({"wind": 2, "tip_worn wind": 1})
    {'tip_worn': 0.5, 'wind': 2.5}
    """
    counts: dict[str, float] = {}
    for cause, cases in causes.items():
        faults = cause.split()
        for fault in faults:
            counts[fault] = counts.get(fault, 0.0) + cases / len(faults)
    return dict(sorted(counts.items()))


def prevalence(
    casebook: Casebook, knowledge: Knowledge, weight: float = SHIPPED_WEIGHS_AS_CASES
) -> dict[str, float] | None:
    """Return fault -> complaints of 1,000 as the casebook shifts the shipped figures.

    None while no case counts. `weight` is what the shipped table weighs, in cases, > 0.
    Raises StorageError.
    """
    return _shifted(casebook.causes(), knowledge, weight)


def from_casebook(
    knowledge: Knowledge,
    where: str | Path | None = None,
    *,
    environ: Mapping[str, str] = os.environ,
    off: bool = False,
) -> Learned:
    """Return what the shop's casebook teaches, if there is one; it is never made just to be read.

    Parameters
    ----------
    where : path or URL; None for the user's own place
    environ : the environment, for the place and for the switch
    off : the switch of the command or the setting of the API
    """
    if not learning_on(environ, off=off):
        return Learned()
    place = str(where or default_place(environ, platform=sys.platform, home=Path.home()))
    try:
        causes = _causes_at(place)
    except CasebookError as error:
        return Learned(trouble=str(error))
    shifted = _shifted(causes, knowledge, SHIPPED_WEIGHS_AS_CASES)
    return Learned(shifted, sum(causes.values()) if shifted else 0)


def _shifted(
    causes: Mapping[str, int], knowledge: Knowledge, weight: float
) -> dict[str, float] | None:
    known = {f: n for f, n in cases_by_fault(causes).items() if f in knowledge.faults}
    if not known:
        return None
    shipped = {name: fault.prevalence.per_thousand for name, fault in knowledge.faults.items()}
    return learned_prevalence(shipped, known, weight)


def _causes_at(place: str) -> dict[str, int]:
    if "://" not in place:
        file = Path(place).expanduser()
        if not file.exists():
            return {}
        try:
            return _causes_in_file(file)
        except sqlite3.Error:
            # The casebook's own way in says what is wrong in words, or brings an old form up.
            pass
    from api.casebook import Casebook

    book = Casebook.open_existing(place)
    if book is None:
        return {}
    with book:
        return book.causes()


def _causes_in_file(file: Path) -> dict[str, int]:
    """Count in the file as it is: reading it so costs a tenth of opening the whole casebook."""
    address = f"{file.absolute().as_uri()}?mode=ro"
    with closing(sqlite3.connect(address, uri=True, timeout=2.0)) as plain:
        return {str(cause): int(cases) for cause, cases in plain.execute(_COUNT)}
