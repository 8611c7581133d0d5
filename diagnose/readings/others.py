"""Temperatures of joints, feed by the watch, and amperes by the clamp meter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diagnose.readings.measured import Measured, Note, Taken, best_of, measured, points_of
from diagnose.readings.station_sums import StationSums
from diagnose.reckon.evidence import STATIONS, Meter, Spread, Stations, likelihoods

__all__ = ["currents", "feeds", "temperatures"]

Found = Measured | Note | tuple[str, str]

JOINTS: Mapping[str, tuple[str, str]] = {
    "clamp": ("clamp_rise_k", "work_cable"),
    "work_lug": ("clamp_lug_rise_k", "work_cable"),
    "work_stud": ("work_plug_rise_k", "work_cable"),
    "work_plug": ("work_plug_rise_k", "work_cable"),
    "electrode_stud": ("electrode_plug_rise_k", "electrode_cable"),
    "electrode_plug": ("electrode_plug_rise_k", "electrode_cable"),
    "feeder": ("gun_socket_rise_k", "electrode_cable"),
    "gun_pin": ("gun_socket_rise_k", "electrode_cable"),
    "supply_plug": ("supply_plug_rise_k", ""),
}
"""Joint -> the quantity the rules know, and the cable its warmth is held against."""
USUAL_CABLE_C = 32.0
USUAL_CABLE_ERROR_K = 10.0
"""What a lead in work is taken to be at where nobody felt it. Judgement."""
SPOT_K = 2.0
FASTER = Stations(
    "measured feed over the dial",
    "1",
    Spread("lognormal", 1.0, 0.04),
    Spread("lognormal", 1.25, 0.18),
)
CURRENT_FOR_FEED = Stations(
    "amperes over what this feed melts at",
    "1",
    Spread("lognormal", 1.0, 0.17),
    Spread("lognormal", 0.68, 0.22),
    note="the balance itself is good to 20 %",
)
EARTH_WIRE = Stations(
    "weld current in an earth wire", "A", Spread("normal", 0.0, 1.5), Spread("normal", 25.0, 15.0)
)
SHARE_AWAY = Stations(
    "share of the current missing in the work lead",
    "1",
    Spread("normal", 0.0, 0.035),
    Spread("normal", 0.35, 0.20),
)
"""Judgement."""


def temperatures(rows: Iterable[Taken]) -> Iterator[Found]:
    """Yield how far each joint is above the cable beside it."""
    cables: dict[str, list[Taken]] = {}
    joints: dict[str, list[Taken]] = {}
    for row in rows:
        joint = points_of(row, *JOINTS)
        if joint is not None:
            joints.setdefault(JOINTS[joint][0], []).append(row)
        elif along := points_of(row, "work_cable", "electrode_cable"):
            cables.setdefault(along, []).append(row)
        else:
            yield Note(row.item, "a temperature is told of a joint or of the cable beside it")
    beside: dict[str, Taken] = {}
    for along, same in sorted(cables.items()):
        beside[along], notes = best_of(same)
        yield from notes
    used = set()
    for quantity, same in sorted(joints.items()):
        hottest = max(same, key=lambda row: (row.value, row.item))
        joint = points_of(hottest, *JOINTS) or ""
        cable = beside.get(JOINTS[joint][1])
        if cable is not None:
            used.add(cable.item)
        yield from _rise(quantity, joint, hottest, cable)
        for row in same:
            if row is not hottest:
                yield Note(row.item, f"{hottest.item} is the hotter end of the same joint")
    for row in beside.values():
        if row.item not in used:
            yield Note(row.item, "no joint on this cable was read to hold it against")


def _rise(quantity: str, joint: str, row: Taken, cable: Taken | None) -> Iterator[Found]:
    error = SPOT_K
    if row.reading.to is not None:
        rise, what = row.value, f"{row.value:.0f} K above {row.points[1]}"
    elif cable is not None:
        rise, error = row.value - cable.value, 1.4 * SPOT_K
        what = f"{row.value:.0f} °C beside a cable at {cable.value:.0f} °C: {rise:.0f} K above it"
    else:
        rise, error = row.value - USUAL_CABLE_C, USUAL_CABLE_ERROR_K
        what = f"{row.value:.0f} °C; its cable was not read, and one in work has about 30 °C"
    odds = likelihoods(rise, STATIONS["joint_rise"], Meter(absolute=error))
    yield measured(quantity, row.item, rise, odds)
    yield row.item, f"{joint}: {what}. Within 10 to 15 K is good, 25 K is suspect."


def feeds(rows: Iterable[Taken], sums: StationSums) -> Iterator[Found]:
    """Yield the feed by the watch against the dial."""
    same = list(rows)
    if not same:
        return
    best, notes = best_of(same)
    yield from notes
    dial = sums.station.settings.feed_m_min if sums.station.settings else None
    if not dial:
        yield Note(best.item, "no feed is dialled that it could be held against")
        return
    share = max(best.value / dial, 0.01)
    meter = Meter(max(best.relative, 0.02))
    yield measured(
        "feed_slower_than_dial", best.item, share,
        likelihoods(share, STATIONS["feed_over_dial"], meter),
    )  # fmt: skip
    yield measured("feed_faster_than_dial", best.item, share, likelihoods(share, FASTER, meter))
    yield (
        best.item,
        f"{best.shown} by the watch against {dial:g} m/min on the dial ({share:.0%}). "
        "Within 5 % is good, a tenth off is suspect.",
    )


def currents(rows: Iterable[Taken], sums: StationSums) -> tuple[list[Found], Taken | None]:
    """Return what the amperes come to, and the reading that tells the weld current, if one does."""
    found: list[Found] = []
    placed: dict[str, list[Taken]] = {}
    for row in rows:
        place = points_of(row, "earth_wire", "work_lead", "electrode_lead", "PE")
        if place is None and row.points and points_of(row, "arc", "studs") is None:
            found.append(Note(row.item, "current is read in a lead or in the earth wire"))
            continue
        placed.setdefault({"PE": "earth_wire", None: "weld"}.get(place, place or ""), []).append(
            row
        )
    best: dict[str, Taken] = {}
    for place, same in sorted(placed.items()):
        best[place], notes = best_of(same)
        found += notes
    if earth := best.get("earth_wire"):
        odds = likelihoods(earth.value, EARTH_WIRE, Meter(0.03, 1.0))
        found.append(measured("earth_wire_a", earth.item, earth.value, odds))
        found.append((earth.item, f"{earth.shown} in an earth wire; it must carry none at all."))
    out, home = best.get("electrode_lead"), best.get("work_lead")
    if out is not None and home is not None and out.value > 0.0:
        found += _away(out, home)
    flowing = best.get("weld") or out or home
    if flowing is not None:
        found += _for_feed(flowing, sums)
    return found, flowing


def _away(out: Taken, home: Taken) -> Iterator[Found]:
    share = 1.0 - home.value / out.value
    if share < -0.10:
        why = (
            f"{home.shown} in the work lead is more than {out.shown} in the electrode lead; "
            "read both on the same bead, or look for another machine's current"
        )
        yield Note(home.item, why)
        yield Note(out.item, why)
        return
    odds = likelihoods(share, SHARE_AWAY, Meter(absolute=0.03))
    yield measured("current_away_share", home.item, share, odds)
    yield (
        home.item,
        f"{out.shown} go out and {home.shown} come home by the work lead "
        f"({share:.0%} missing). Both must read alike.",
    )


def _for_feed(row: Taken, sums: StationSums) -> Iterator[Found]:
    if sums.balance_a is None or row.value <= 0.0:
        yield row.item, f"{row.shown} flow."
        return
    share = row.value / sums.balance_a
    odds = likelihoods(share, CURRENT_FOR_FEED, Meter(max(row.relative, 0.03)))
    yield measured("current_over_balance", row.item, share, odds)
    yield (
        row.item,
        f"{row.shown} flow; this feed is melted by about {sums.balance_a:.0f} A, give or take a fifth.",
    )
