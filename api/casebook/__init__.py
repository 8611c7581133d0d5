"""The casebook: stations, cases and everything that was entered in them, kept for good.

Entries are only ever added. What a case is follows from its entries: `replay` folds them.
"""

from api.casebook.book import Casebook
from api.casebook.events import KINDS, Event, Kind, State, replay, standing
from api.casebook.records import (
    Carried,
    CaseLine,
    Forgotten,
    Outcome,
    Page,
    StoredCase,
    StoredStation,
)
from api.casebook.summary import Summary, summary
from api.casebook_place import default_place

__all__ = [
    "KINDS",
    "Carried",
    "CaseLine",
    "Casebook",
    "Event",
    "Forgotten",
    "Kind",
    "Outcome",
    "Page",
    "State",
    "StoredCase",
    "StoredStation",
    "Summary",
    "default_place",
    "replay",
    "standing",
    "summary",
]
