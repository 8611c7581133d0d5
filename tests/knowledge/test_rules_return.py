"""The way home for the current, and the supply."""

from __future__ import annotations

from typing import Any

import pytest


def test_clamp_against_current(judge: Any, shown: Any, established: Any) -> None:
    small = judge({"clamp": {"rated_a": 150}, "settings": {"current_a": 200}})
    assert shown(small)["clamp_underrated"] == (0.97, 0.03)
    assert established(small) == {"clamp_underrated"}
    stout = judge({"clamp": {"rated_a": 300}, "settings": {"current_a": 200}})
    assert shown(stout)["clamp_underrated"] == (0.03, 0.97)
    assert established(stout) == set()


def test_clamp_against_the_machine_where_the_current_is_not_known(
    judge: Any, shown: Any, established: Any
) -> None:
    # A return should carry the full output, but a small clamp on small jobs does no harm.
    result = judge({"clamp": {"rated_a": 150}, "source": {"rated_a": 250}})
    on, off = shown(result)["clamp_underrated"]
    assert 1.0 < on / off < 10.0
    assert established(result) == set()
    assert any("150 A" in fact.word("text") for fact in result.all("Caution"))


def test_the_current_that_is_dialled_comes_before_the_plate(judge: Any, shown: Any) -> None:
    station = {
        "clamp": {"rated_a": 150},
        "source": {"rated_a": 250},
        "settings": {"current_a": 120},
    }
    assert shown(judge(station))["clamp_underrated"] == (0.03, 0.97)


@pytest.mark.parametrize(
    ("coiled", "proven"), [((True, False), True), ((False, False), False), ((None, None), False)]
)
def test_coiled_leads(
    judge: Any, shown: Any, established: Any, coiled: tuple[bool | None, ...], proven: bool
) -> None:
    leads = [
        {"side": side, "length_m": 15} | ({} if c is None else {"coiled": c})
        for side, c in zip(("electrode", "work"), coiled, strict=True)
    ]
    result = judge({"leads": leads})
    assert (established(result) == {"leads_coiled"}) is proven
    assert ("leads_coiled" in shown(result)) is (coiled != (None, None))


@pytest.mark.parametrize(("drop", "says"), [(5.5, "for"), (3.0, None), (1.5, "against")])
def test_volts_lost_in_the_leads(judge: Any, shown: Any, drop: float, says: str | None) -> None:
    table = shown(judge(reckoned={"leads_drop_v": drop}))
    if says is None:
        assert "lead_too_thin_or_long" not in table
    else:
        on, off = table["lead_too_thin_or_long"]
        assert (on > off) is (says == "for")


def test_what_the_work_touches(judge: Any, shown: Any) -> None:
    # A chain hoist on the work is a way home; a free bench is none.
    chain = judge({"place": {"bonded_to": ["chain"]}})
    on, off = shown(chain)["return_through_structure"]
    assert on > off
    assert any("wire rope" in fact.word("text") for fact in chain.all("Caution"))
    free = judge({"place": {"bonded_to": ["nothing"]}})
    on, off = shown(free)["return_through_structure"]
    assert on < off
    assert shown(judge({"place": {}})) == {}  # not told is not nothing


def test_two_ways_home_count_once(judge: Any) -> None:
    result = judge({"place": {"bonded_to": ["chain", "pipe"]}})
    (fact,) = result.all("Shows", node="return_through_structure")
    assert len(result.firings[fact]) == 2


def test_a_shared_bench_points_at_the_neighbour(judge: Any, shown: Any) -> None:
    on, off = shown(judge({"place": {"bonded_to": ["other_station"]}}))["neighbour_return_off"]
    assert on > off
    on, off = shown(judge({"place": {"bonded_to": ["nothing"]}}))["neighbour_return_off"]
    assert on < off


def test_extension_cord(judge: Any, shown: Any, established: Any) -> None:
    on, off = shown(judge({"source": {"extension": True}}))["extension_cord_too_thin"]
    assert on > off
    on, off = shown(judge({"source": {"extension": False}}))["extension_cord_too_thin"]
    assert on < off
    thin = judge({"source": {"extension": True}}, reckoned={"supply_cord_drop_pct": 7.0})
    assert established(thin) == {"extension_cord_too_thin"}
    stout = judge({"source": {"extension": True}}, reckoned={"supply_cord_drop_pct": 1.0})
    on, off = shown(stout)["extension_cord_too_thin"]
    assert on < off


@pytest.mark.parametrize(
    ("breaker", "says"),
    [
        (20, "for"),  # effective current is 40 A x root of 0.6 = 31 A
        (35, None),  # between effective and full current: nothing is certain
        (50, "against"),
    ],
)
def test_breaker_against_the_plate(
    judge: Any, shown: Any, established: Any, breaker: float, says: str | None
) -> None:
    source = {"breaker_a": breaker, "rated_primary_a": 40, "rated_duty_pct": 60}
    result = judge({"source": source})
    table = shown(result)
    assert ("breaker_too_small" in table) is (says is not None)
    assert (established(result) == {"breaker_too_small"}) is (says == "for")
