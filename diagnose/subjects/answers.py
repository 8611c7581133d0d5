"""The sums by subject, for a person with a question: inputs with units in, results with working out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, ValidationError

from diagnose.readings.points import find_point
from diagnose.reckon.result import Limit, Result, Verdict
from diagnose.subjects import sums
from diagnose.subjects.inputs import (
    ArcInputs,
    CircuitInputs,
    DutyInputs,
    GasInputs,
    Inputs,
    JointInputs,
    LocaliseInputs,
    NetworkInputs,
    SupplyInputs,
    short_name,
)
from diagnose.us_units import beside_us, in_us, to_us
from knowledge.errors import CaseError, UnknownId
from knowledge.loader import Knowledge
from knowledge.models import Basis
from knowledge.nearest import nearest

__all__ = [
    "SUBJECTS",
    "LimitGiven",
    "Reckoning",
    "ResultGiven",
    "Subject",
    "read_inputs",
    "reckon",
    "reckoned",
    "subject_named",
]

Units = Literal["metric", "us"]


@dataclass(frozen=True)
class Subject:
    """A subject: what it answers, what it takes, the sum, and an example that can be typed."""

    title: str
    takes: type[Inputs]
    sum: Callable[[Any, Knowledge], list[Result]]
    example: tuple[str, ...]


SUBJECTS: Mapping[str, Subject] = {
    "circuit": Subject(
        "Volts and heat lost in leads and joints, and the cable that would do",
        CircuitInputs,
        sums.circuit,
        ("current=200A", "electrode_length=30m", "work_length=30m", "area=35mm2"),
    ),
    "network": Subject(
        "Current that goes home by steel instead of the work lead",
        NetworkInputs,
        sums.network,
        (
            *("current=200A", "work_length=30m", "area=35mm2"),
            *("clamp=10mohm", "steel=20mohm", "tied=yes"),
        ),
    ),
    "joint": Subject(
        "One joint under current: ohms, heat, hottest spot, and what is sound",
        JointInputs,
        sums.joint,
        ("drop=2V", "current=200A"),
    ),
    "localise": Subject(
        "Several drops along one side: which joint is out",
        LocaliseInputs,
        sums.localise_drops,
        (
            *("current=200A", "length=30m", "area=35mm2"),
            *("work_stud-work_plug=0.05V", "work_plug-work_lug=3.3V", "work_lug-clamp=0.06V"),
            "clamp-work=2V",
        ),
    ),
    "duty": Subject(
        "How long at which current: machine and cable, and after a stop",
        DutyInputs,
        sums.duty,
        ("rated=250A", "rated_duty=60%", "current=300A"),
    ),
    "arc": Subject(
        "Volts at the arc against the feed: stubs, runs or burns back",
        ArcInputs,
        sums.arc,
        ("volts=17V", "lost=3V", "feed=300ipm", "diameter=0.035in"),
    ),
    "gas": Subject(
        "Flow, meter, nozzle, wind and cylinder",
        GasInputs,
        sums.gas,
        ("flow=15l/min", "gas=CO2", "bore=12.7mm", "tip=8mm", "run=short_arc"),
    ),
    "supply": Subject(
        "Supply current, feeder of a group, cord, sag and lost phase",
        SupplyInputs,
        sums.supply,
        ("machines=80A 100%, 70A 90% mg, 60A 70%, 50A 80%, 4x 40A 60% mg, 4x 25A 40%",),
    ),
}
"""Subject -> what it is, in the order in which they are listed."""


class Given(BaseModel):
    """A part of what is given out: frozen and closed."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class LimitGiven(Given):
    """A figure that a value was held against, and where it comes from."""

    name: str
    value: float
    unit: str
    source: str
    basis: Basis
    where: str = ""


class HowSureGiven(Given):
    """How far to trust a value: in words, and as a share (0.1 is 10 %)."""

    text: str
    relative: float


class ResultGiven(Given):
    """One reckoned quantity with its limits and its working; `value` is null where none is honest."""

    quantity: str
    value: float | None
    unit: str
    says: str
    verdict: Verdict
    how_sure: HowSureGiven
    limits: list[LimitGiven]
    working: list[str]
    notes: list[str]


class Reckoning(Given):
    """What a sum came to: `wontweld reckon SUBJECT --json` and the body of POST /v1/reckon/{subject}."""

    subject: str
    results: list[ResultGiven]
    disclaimer: str = (
        "Sums, not a certificate. "
        "Local codes, the manufacturer's instructions and licensed people come first."
    )


def subject_named(name: str) -> Subject:
    """Return a subject. Raises UnknownId with the nearest."""
    if name not in SUBJECTS:
        close = nearest(name, SUBJECTS)
        raise UnknownId("subject", name, [close] if close else list(SUBJECTS))
    return SUBJECTS[name]


def read_inputs(subject: str, told: Mapping[str, object]) -> Inputs:
    """Return the inputs of a subject. Raises UnknownId, and CaseError naming input and nearest."""
    takes = subject_named(subject).takes
    try:
        return takes.model_validate(_with_drops(takes, told))
    except ValidationError as error:
        raise _refused(subject, takes, error) from None


def reckon(subject: str, told: Mapping[str, object], knowledge: Knowledge) -> list[Result]:
    """Return the results of a subject for inputs by name, with or without a unit.

    Raises
    ------
    UnknownId : no such subject
    CaseError : an input that is missing, unknown or not a quantity of that kind
    QuantityError : a number outside what the sum is good for

    >>> from knowledge.loader import load
    >>> [one.verdict for one in reckon("joint", {"drop": "2 V", "current": "200 A"}, load())]
    ['bad', 'suspect']
    """
    inputs = read_inputs(subject, told)
    return subject_named(subject).sum(inputs, knowledge)


def reckoned(
    subject: str, told: Mapping[str, object], knowledge: Knowledge, units: Units = "metric"
) -> Reckoning:
    """Return a subject's results as they are given out, in metric or US units. Raises as `reckon`."""
    if units == "us" and "sizes" in subject_named(subject).takes.model_fields:
        told = {"sizes": "awg", **told}
    rows = reckon(subject, told, knowledge)
    return Reckoning(
        subject=subject, results=[_given(_in_us(row) if units == "us" else row) for row in rows]
    )


def _given(row: Result) -> ResultGiven:
    return ResultGiven.model_validate(asdict(row))


def _in_us(row: Result) -> Result:
    """Return a result for a US reader. The working stays in SI, with US units beside it."""
    value, unit = to_us(row.value or 0.0, row.unit)
    return replace(
        row,
        value=None if row.value is None else value,
        unit=unit,
        says=in_us(row.says),
        how_sure=replace(row.how_sure, text=in_us(row.how_sure.text)),
        limits=tuple(_limit_us(limit) for limit in row.limits),
        working=tuple(beside_us(step) for step in row.working),
        notes=tuple(in_us(note) for note in row.notes),
    )


def _limit_us(limit: Limit) -> Limit:
    value, unit = to_us(limit.value, limit.unit)
    return replace(limit, name=in_us(limit.name), value=value, unit=unit)


def _with_drops(takes: type[Inputs], told: Mapping[str, object]) -> dict[str, object]:
    """Return the inputs with names that are two points, as `work_lug-work`, moved under `drops`."""
    if takes is not LocaliseInputs:
        return dict(told)
    drops = told.get("drops")
    moved: dict[str, object] = dict(drops) if isinstance(drops, Mapping) else {}
    kept: dict[str, object] = {}
    for name, value in told.items():
        if "-" in name and any(find_point(part) for part in name.split("-")):
            moved[name] = value
        elif name != "drops" or not isinstance(value, Mapping):
            kept[name] = value
    return kept | ({"drops": moved} if moved else {})


def _refused(subject: str, takes: type[Inputs], error: ValidationError) -> CaseError:
    first = min(error.errors(), key=lambda one: one["type"] != "extra_forbidden")
    name = ".".join(str(part) for part in first["loc"])
    names = sorted({short_name(field) for field in takes.model_fields})
    match first["type"]:
        case "extra_forbidden":
            close = nearest(name, [*takes.model_fields, *names])
            what = f"'{subject}' takes no '{name}'"
            hint = f"nearest: '{close}'" if close else f"It takes {', '.join(names)}."
        case "missing":
            what = f"'{subject}' needs '{short_name(name)}'"
            hint = f"For example: {' '.join(subject_named(subject).example)}"
        case _:
            what = str(first["msg"]).removeprefix("Value error, ").replace("Input should", "should")
            hint = f"'{subject}' takes {', '.join(names)}."
    return CaseError(what, where=name, next_step=hint)
