"""Wind, surface, joint and thickness."""

from __future__ import annotations

from typing import Any

import pytest

SURFACES = ["clean", "paint", "zinc", "rust", "scale", "oil", "wet"]


@pytest.mark.parametrize(
    ("wire", "wind", "says", "proven"),
    [
        ("ER70S-6", 3.0, "for", True),  # above 5 mph, the limit of the structural code
        ("ER70S-6", 2.0, "against", False),
        ("E71T-11", 3.0, None, False),  # the clause leaves self-shielded wire out
        ("E71T-11", 12.0, "for", False),
        (None, 3.0, None, False),
    ],
)
def test_wind_by_shield(
    *,
    judge: Any,
    shown: Any,
    established: Any,
    wire: str | None,
    wind: float,
    says: Any,
    proven: bool,
) -> None:
    station: dict[str, Any] = {"place": {"wind_m_s": wind}}
    if wire:
        station["wire"] = {"class": wire}
    result = judge(station)
    table = shown(result)
    assert ("wind" in table) is (says is not None)
    if says:
        on, off = table["wind"]
        assert (on > off) is (says == "for")
    assert ("wind" in established(result)) is proven


def test_a_wind_meter_counts_instead_of_the_open_door(judge: Any) -> None:
    # Outdoors and wind are one quantity; it is weighed once, by the better of the two.
    result = judge({"place": {"outdoors": True, "wind_m_s": 1.0}})
    (fact,) = result.all("Shows", node="wind")
    assert fact["item"] == "station.place.wind_m_s"


def test_outdoors_and_indoors_share_one_whole(judge: Any, shown: Any) -> None:
    yes, no = (shown(judge({"place": {"outdoors": out}}))["wind"] for out in (True, False))
    assert yes[0] + no[0] == pytest.approx(1.0)
    assert yes[1] + no[1] == pytest.approx(1.0)
    assert yes[0] > yes[1]


@pytest.mark.parametrize(
    ("named", "fault"),
    [
        ("paint", "surface_paint"),
        ("zinc", "surface_zinc"),
        ("rust", "surface_rust_scale"),
        ("scale", "surface_rust_scale"),
        ("scale", "cut_edge_oxide"),
        ("oil", "surface_oil"),
        ("wet", "surface_moisture"),
        ("rust", "clamp_on_paint"),
        ("paint", "clamp_on_paint"),
    ],
)
def test_what_is_on_the_surface(judge: Any, shown: Any, named: str, fault: str) -> None:
    on, off = shown(judge({"work": {"surface": [named]}}))[fault]
    assert on > off
    clean_on, clean_off = shown(judge({"work": {"surface": ["clean"]}}))[fault]
    assert clean_on < clean_off
    # Named and not named are all there is.
    assert on + clean_on == pytest.approx(1.0)
    assert off + clean_off == pytest.approx(1.0)


def test_a_surface_nobody_described_says_nothing(judge: Any, shown: Any) -> None:
    assert shown(judge({"work": {"metal": "carbon_steel"}})) == {}


def test_several_coatings_under_the_clamp_count_once(judge: Any) -> None:
    result = judge({"work": {"surface": ["paint", "rust", "scale"]}})
    assert len(result.all("Shows", node="clamp_on_paint")) == 1


@pytest.mark.parametrize("node", ["metal_thin_or_gapped", "metal_cold_thick"])
def test_thickness(judge: Any, shown: Any, node: str) -> None:
    # Sheet points at burning through, thick plate at chilling; the middle says little.
    ratios = []
    for thickness in (1.0, 4.0, 8.0, 20.0):
        on, off = shown(judge({"work": {"thickness_mm": thickness}})).get(node, (1.0, 1.0))
        ratios.append(on / off)
    assert ratios == sorted(ratios, reverse=node == "metal_thin_or_gapped")
    assert max(ratios) > 2.0


def test_laps_and_fillets_shut_gas_in(judge: Any, shown: Any) -> None:
    lap, butt = (
        shown(judge({"work": {"joint": joint}}))["trapped_air_or_sealer"]
        for joint in ("lap", "butt")
    )
    assert lap[0] > lap[1]
    assert butt[0] < butt[1]
