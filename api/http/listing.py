"""Lists in pages: so many entries at a time, and an opaque mark where the next page starts."""

from __future__ import annotations

import base64
import binascii
import hashlib
from collections.abc import Sequence
from typing import Annotated, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field

from api.errors import BadCursor

Item = TypeVar("Item", bound=BaseModel)


class NoQuery(BaseModel):
    """The query of an address that takes none: anything in it is refused, not passed over."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Paging(NoQuery):
    """Which page of a list."""

    limit: Annotated[int, Field(ge=1, le=200, description="Entries on a page.")] = 50
    cursor: Annotated[
        str | None, Field(max_length=120, description="The `next` of the page before.")
    ] = None


class Page(BaseModel, Generic[Item]):
    """One page of a list, in the order of the knowledge files."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    items: list[Item]
    total: int = Field(description="Entries on all pages.")
    next: str | None = Field(description="Give it as `cursor` for the next page; null on the last.")


def page_of(entries: Sequence[Item], paging: Paging, list_name: str) -> Page[Item]:
    """Return one page of the entries.

    `list_name` names the list, its filters and the state of the knowledge: a mark of another list
    is refused. Raises BadCursor.
    """
    start = _offset(paging.cursor, list_name) if paging.cursor is not None else 0
    end = start + paging.limit
    following = _mark(end, list_name) if end < len(entries) else None
    return Page(items=list(entries[start:end]), total=len(entries), next=following)


def _mark(offset: int, list_name: str) -> str:
    seal = hashlib.sha256(f"{offset} {list_name}".encode()).hexdigest()[:12]
    return base64.urlsafe_b64encode(f"{offset}.{seal}".encode()).decode().rstrip("=")


def _offset(mark: str, list_name: str) -> int:
    try:
        text = base64.urlsafe_b64decode(mark.encode() + b"=" * (-len(mark) % 4)).decode()
        offset = int(text.partition(".")[0])
    except (ValueError, binascii.Error):
        offset = -1
    if offset < 0 or _mark(offset, list_name) != mark:
        raise BadCursor(
            "this mark was not given out for this list",
            where="query: cursor",
            next_step="Start again without it.",
        )
    return offset
