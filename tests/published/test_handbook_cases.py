"""The trouble tables of public handbooks, put to the program as a welder would put them.

At least 85 % of the causes a handbook lists stand in our top ten, and the one it lists first in our top
three for at least 70 % of the rows. A cause for which we have no fault is missed. Rows whose complaint was
inferred from a check or a rule are counted too, and reported apart; without them the first figure is lower.

`python -m tests.published.test_handbook_cases` prints the table by row.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from ruamel.yaml import YAML

from diagnose.answer import diagnose
from diagnose.case import Case
from knowledge.loader import load

ROWS: list[dict[str, Any]] = YAML(typ="safe", pure=True).load(
    Path(__file__).with_name("handbook_cases.yaml")
)


class RowScore(NamedTuple):
    """Where the causes of one row stand; None is a cause that is not in the list a reader sees."""

    row: str
    inferred: bool
    places: tuple[int | None, ...]

    @property
    def in_ten(self) -> int:
        return sum(place is not None and place <= 10 for place in self.places)

    @property
    def first_in_three(self) -> bool:
        return self.places[0] is not None and self.places[0] <= 3


@lru_cache
def scores() -> tuple[RowScore, ...]:
    return tuple(_score(row) for row in ROWS)


def _score(row: dict[str, Any]) -> RowScore:
    listed = [fault.id for fault in diagnose(Case.model_validate(row["asked"]), load()).faults]
    return RowScore(
        row["id"], row["symptom_inferred"], tuple(_place(c["ids"], listed) for c in row["causes"])
    )


def _place(ids: Sequence[str], listed: Sequence[str]) -> int | None:
    """Return the place of the best of the ids in the list, the first being 1."""
    return min((listed.index(one) + 1 for one in ids if one in listed), default=None)


def share_in_ten(rows: Iterable[RowScore]) -> float:
    """Return the share of the listed causes that stand in the top ten."""
    rows = list(rows)
    return sum(row.in_ten for row in rows) / sum(len(row.places) for row in rows)


def share_first_in_three(rows: Iterable[RowScore]) -> float:
    """Return the share of the rows whose first cause stands in the top three."""
    rows = list(rows)
    return sum(row.first_in_three for row in rows) / len(rows)


def table(rows: Iterable[RowScore]) -> str:
    """Return a line a row: causes in the top ten, whether the first is in the top three, all places."""
    lines = [f"{'row':<12} {'in ten':>7} {'first':>6}  places in the order of the handbook"]
    for row in rows:
        places = " ".join("-" if place is None else str(place) for place in row.places)
        ten = f"{row.in_ten}/{len(row.places)}"
        first = "yes" if row.first_in_three else "no"
        mark = " (symptom inferred)" if row.inferred else ""
        lines.append(f"{row.row:<12} {ten:>7} {first:>6}  {places}{mark}")
    return "\n".join(lines)


def report() -> str:
    """Return the table by row and the shares: all rows, complaints as printed, complaints inferred."""
    lines = [table(scores())]
    for title, rows in (
        ("all rows", list(scores())),
        ("complaint as printed", [row for row in scores() if not row.inferred]),
        ("complaint inferred", [row for row in scores() if row.inferred]),
    ):
        lines.append(
            f"{title}, {len(rows)} rows: {share_in_ten(rows):.0%} of the causes in ten, "
            f"first cause in three for {share_first_in_three(rows):.0%} of the rows"
        )
    return "\n".join(lines)


def test_the_rows_are_well_formed() -> None:
    assert len({row["id"] for row in ROWS}) == len(ROWS) == 28
    assert sum(row["symptom_inferred"] for row in ROWS) == 7
    for row in ROWS:
        assert row["causes"], row["id"]
        for cause in row["causes"]:
            assert len(cause["ids"]) <= 2, cause
            assert set(cause["ids"]) <= set(load().faults), cause


def test_everything_asked_is_understood() -> None:
    """A rank would mean nothing if the complaint had not been heard."""
    for row in ROWS:
        diagnosis = diagnose(Case.model_validate(row["asked"]), load())
        assert not diagnosis.unrecognised, row["id"]
        heard = [word.said for word in diagnosis.recognised if word.seen == "yes"]
        for words in row["asked"]["said"]:
            assert any(said in words for said in heard), f"{row['id']}: {words}"


def test_most_listed_causes_stand_in_the_top_ten() -> None:
    assert share_in_ten(scores()) >= 0.85, report()


def test_the_first_listed_cause_mostly_stands_in_the_top_three() -> None:
    assert share_first_in_three(scores()) >= 0.70, report()


if __name__ == "__main__":
    print(report())
