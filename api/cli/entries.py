"""Finding an entry by its id, whatever its kind is called."""

from __future__ import annotations

from api.cli.usage import UsageRefused
from knowledge.errors import UnknownId
from knowledge.loader import Knowledge
from knowledge.models import KINDS
from knowledge.nearest import nearest

SINGULAR = {kind: kind.removesuffix("s") for kind in KINDS} | {"gases": "gas"}


def kind_named(text: str) -> str:
    """Return the kind of entry that a word means. Raises UsageRefused with the nearest.

    >>> kind_named("stop-card"), kind_named("faults"), kind_named("gas")
    ('stop_cards', 'faults', 'gases')
    """
    name = text.strip().lower().replace("-", "_")
    by_name = {kind: kind for kind in KINDS} | {one: kind for kind, one in SINGULAR.items()}
    if name not in by_name:
        close = nearest(name, by_name)
        hint = f"nearest: '{close}'" if close else f"kinds: {', '.join(KINDS)}"
        raise UsageRefused(f"there is no kind of entry '{text}'; {hint}")
    return by_name[name]


def kinds_of(knowledge: Knowledge, name: str, kind: str | None) -> list[str]:
    """Return the kinds that have an entry of this id, or the one asked for. Raises UnknownId."""
    among = [kind] if kind else list(KINDS)
    found = [one for one in among if name in knowledge.entries(one)]
    if found:
        return found
    known = {known for one in among for known in knowledge.entries(one)}
    close = nearest(name, known)
    what = SINGULAR[kind].replace("_", " ") if kind else "entry"
    raise UnknownId(what, name, [close] if close else [])
