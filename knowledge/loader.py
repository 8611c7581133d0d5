"""Reading the knowledge: YAML for people, a compiled form for start-up, one `Knowledge` for the program.

The compiled form is used only while its digest equals that of the YAML files, so it can't go stale.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any, NamedTuple

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError

from knowledge import models
from knowledge.errors import KnowledgeError
from knowledge.nearest import nearest

ENTRIES = Path(__file__).parent / "entries"
PROOF_WELD = "proof_weld"
"""What proves a remedy where no check does: a weld like the one that failed."""
FACETS = ("change", "pattern", "only")
COMPILED = Path(__file__).parent / "compiled.json"


@dataclass(frozen=True, eq=False)
class Knowledge:
    """All entries that are active, by kind and id, in the order of the files."""

    version: str
    digest: str
    sources: Mapping[str, models.Source]
    attributes: Mapping[str, models.Attribute]
    starts: Mapping[str, models.StartKind]
    outfits: Mapping[str, models.Outfit]
    faults: Mapping[str, models.Fault]
    mechanisms: Mapping[str, models.Mechanism]
    symptoms: Mapping[str, models.Symptom]
    checks: Mapping[str, models.Check]
    stop_cards: Mapping[str, models.StopCard]
    consumables: Mapping[str, models.Consumable]
    gases: Mapping[str, models.Gas]
    cables: Mapping[str, models.Cable]
    walk_round: Mapping[str, models.WalkLine]

    def entries(self, kind: str) -> Mapping[str, Any]:
        """Return the entries of one kind by id. Raises KeyError for a kind there is not."""
        if kind not in models.KINDS:
            raise KeyError(kind)
        return getattr(self, kind)  # type: ignore[no-any-return]

    def title(self, node: str) -> str:
        """Return the title of a fault, mechanism, symptom or check; of anything else its id."""
        for kind in (self.faults, self.mechanisms, self.symptoms, self.checks):
            if node in kind:
                return str(kind[node].title)
        return node


class _Compiled(BaseModel):
    """The compiled form: what `write_compiled` wrote, checked again when read."""

    model_config = ConfigDict(extra="forbid")

    digest: str
    sources: list[models.Source]
    attributes: list[models.Attribute]
    starts: list[models.StartKind]
    outfits: list[models.Outfit]
    faults: list[models.Fault]
    mechanisms: list[models.Mechanism]
    symptoms: list[models.Symptom]
    checks: list[models.Check]
    stop_cards: list[models.StopCard]
    consumables: list[models.Consumable]
    gases: list[models.Gas]
    cables: list[models.Cable]
    walk_round: list[models.WalkLine]


def files(folder: Path) -> list[Path]:
    """Return the YAML files of a knowledge folder, in a fixed order."""
    return sorted(folder.rglob("*.yaml"), key=lambda path: path.relative_to(folder).as_posix())


def digest(folders: Sequence[Path]) -> str:
    """Return 'sha256:…' over names and bytes of all YAML files of the folders."""
    sum_ = hashlib.sha256()
    for folder in folders:
        for path in files(folder):
            sum_.update(path.relative_to(folder).as_posix().encode() + b"\0")
            sum_.update(path.read_bytes().replace(b"\r\n", b"\n") + b"\0")
    return f"sha256:{sum_.hexdigest()}"


@lru_cache(maxsize=4)
def load(*own: Path) -> Knowledge:
    """Return the shipped knowledge with the folders `own` laid over it, in order.

    Raises KnowledgeError naming file, line and the nearest known id for everything that is wrong.
    """
    if not own and (compiled := _read_compiled(digest([ENTRIES]))):
        return compiled
    return read([ENTRIES, *own])


def read(folders: Sequence[Path]) -> Knowledge:
    """Return the knowledge read from YAML, later folders over earlier ones. Raises KnowledgeError."""
    problems: list[str] = []
    placed: dict[str, dict[str, _Placed]] = {kind: {} for kind in models.KINDS}
    for folder in folders:
        if not folder.is_dir():
            raise KnowledgeError([f"{folder}: there is no such folder"])
        seen: dict[tuple[str, str], str] = {}
        for path in files(folder):
            for kind, entry in _read_file(path, folder, problems):
                key = (kind, entry.model.id)  # type: ignore[attr-defined]
                if key in seen:
                    problems.append(f"{entry.at()}: id '{key[1]}' stands already at {seen[key]}")
                seen[key] = entry.at()
                placed[kind][key[1]] = entry
    if problems:
        raise KnowledgeError(sorted(problems))
    active = {
        kind: {name: at for name, at in entries.items() if at.model.status == "active"}  # type: ignore[attr-defined]
        for kind, entries in placed.items()
    }
    if found := _cross_references(active):
        raise KnowledgeError(sorted(found))
    by_kind = {kind: {n: at.model for n, at in at_id.items()} for kind, at_id in active.items()}
    return Knowledge(version=_version(), digest=digest(folders), **by_kind)  # type: ignore[arg-type]


def write_compiled(knowledge: Knowledge, path: Path = COMPILED) -> None:
    """Write the compiled form of shipped knowledge."""
    body: dict[str, object] = {"digest": knowledge.digest}
    for kind in models.KINDS:
        body[kind] = [
            entry.model_dump(mode="json", exclude_defaults=True)
            for entry in knowledge.entries(kind).values()
        ]
    path.write_text(json.dumps(body, ensure_ascii=False, separators=(",", ":")) + "\n", "utf-8")


def _read_compiled(wanted: str, path: Path = COMPILED) -> Knowledge | None:
    try:
        text = path.read_bytes()
    except OSError:
        return None
    if wanted.encode() not in text[:200]:
        return None
    compiled = _Compiled.model_validate_json(text)
    by_kind = {kind: {e.id: e for e in getattr(compiled, kind)} for kind in models.KINDS}
    return Knowledge(version=_version(), digest=wanted, **by_kind)


def _version() -> str:
    try:
        return version("wontweld")
    except PackageNotFoundError:
        return "0"


@dataclass(frozen=True)
class _Placed:
    """An entry, and where every part of it stands."""

    model: BaseModel
    raw: Any
    file: str

    def at(self, *path: str | int) -> str:
        """Return 'file:line' of a part of the entry, or of the nearest part around it."""
        return f"{self.file}:{_line(self.raw, path)}"


def _line(raw: Any, path: Sequence[str | int]) -> int:
    line = raw.lc.line
    for key in path:
        try:
            places = raw.lc
            line = (places.key(key) if isinstance(raw, dict) else places.item(key))[0]
            raw = raw[key]
        except (AttributeError, KeyError, IndexError, TypeError):
            break
    return int(line) + 1


def _read_file(path: Path, folder: Path, problems: list[str]) -> Iterable[tuple[str, _Placed]]:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    name = path.relative_to(folder).as_posix()
    kind = name.removesuffix(".yaml").split("/")[0]
    if kind not in models.KINDS:
        hint = _hint(kind, models.KINDS)
        problems.append(f"{name}:1: there is no kind of entry '{kind}'{hint}")
        return
    try:
        rows: Any = YAML(typ="rt").load(path.read_text("utf-8"))
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        problems.append(f"{name}:{line}: {error.problem or error.context}")
        return
    except (YAMLError, UnicodeDecodeError) as error:
        problems.append(f"{name}:1: cannot be read as YAML: {error}")
        return
    if rows is None:
        return
    if not isinstance(rows, list):
        problems.append(f"{name}:1: a file is a list of entries")
        return
    places: Any = rows
    for index, row in enumerate(rows):
        if not isinstance(row, dict):
            problems.append(f"{name}:{places.lc.item(index)[0] + 1}: an entry is a mapping")
            continue
        try:
            yield kind, _Placed(models.KINDS[kind].model_validate(_plain(row)), row, name)
        except ValidationError as error:
            for detail in error.errors():
                where = f"{name}:{_line(row, detail['loc'])}"
                what = ".".join(str(part) for part in detail["loc"]) or "entry"
                hint = ""
                if detail["type"] == "extra_forbidden":
                    hint = _hint(str(detail["loc"][-1]), models.KINDS[kind].model_fields)
                problems.append(f"{where}: {what}: {detail['msg']}{hint}")


def _hint(name: str, known: Iterable[str]) -> str:
    """Return a line with the nearest known name, or nothing where none is near."""
    close = nearest(name, known)
    return f"\n  nearest: '{close}'" if close else ""


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [_plain(item) for item in value]
    if isinstance(value, bool) or value is None:
        return value
    for kind in (int, float, str):
        if isinstance(value, kind):
            return kind(value)
    return value


_MapOfPlaced = Mapping[str, Mapping[str, _Placed]]


def _cross_references(active: _MapOfPlaced) -> list[str]:
    """Return a line for every id that is used and not defined, and for cycles."""
    found: list[str] = []
    for entries in active.values():
        for entry in entries.values():
            for use in _uses(entry):
                if not any(use.name in active[kind] for kind in use.kinds):
                    found.append(_undefined(use, entry, active))
            for path, when in _whens(entry.model):
                found.extend(_when_problems(when, active["attributes"], entry.at(*path)))
    found.extend(_start_problems(active))
    return found or _cycles(active)


class _Use(NamedTuple):
    """An id that an entry uses: where, as what, and the kinds of entry it may be."""

    name: str
    kinds: tuple[str, ...]
    path: tuple[str | int, ...]
    as_what: str


def _uses(entry: _Placed) -> Iterator[_Use]:
    model: Any = entry.model
    for index, cited in enumerate(getattr(model, "sources", ())):
        yield _Use(cited.ref, ("sources",), ("sources", index), "source")
    for source, path in _stated_sources(model):
        yield _Use(source, ("sources",), path, "source")
    for index, link in enumerate(getattr(model, "leads_to", ())):
        yield _Use(link.effect, ("mechanisms", "symptoms"), ("leads_to", index), "effect")
    if isinstance(model, models.Fault):
        yield from _uses_of_fault(model)
    if isinstance(model, models.Check):
        for index, result in enumerate(model.looks_for):
            for node in result.shows:
                yield _Use(node, ("faults", "mechanisms"), ("looks_for", index), "node")
        for tool in (*model.tools, *([model.opens] if model.opens else [])):
            yield _Use(tool, ("outfits",), ("tools",), "outfit")
    if isinstance(model, models.WalkLine):
        for index, fault in enumerate(model.faults):
            yield _Use(fault, ("faults",), ("faults", index), "fault")
        if model.stop_card:
            yield _Use(model.stop_card, ("stop_cards",), ("stop_card",), "stop card")
    if isinstance(model, models.StopCard):
        for symptom in model.raised_by:
            yield _Use(symptom, ("symptoms",), ("raised_by",), "symptom")


def _uses_of_fault(fault: models.Fault) -> Iterator[_Use]:
    for other in fault.excludes:
        yield _Use(other, ("faults",), ("excludes",), "fault")
    if fault.remedy.proved_by != PROOF_WELD:
        yield _Use(fault.remedy.proved_by, ("checks",), ("remedy", "proved_by"), "check")
    for facet in FACETS:
        for start in getattr(fault.starts, facet):
            yield _Use(start, ("starts",), ("starts", facet), "start")


def _undefined(use: _Use, entry: _Placed, active: _MapOfPlaced) -> str:
    ids = {name: other for kind in use.kinds for name, other in active[kind].items()}
    close = nearest(use.name, ids)
    hint = f"\n  nearest: '{close}' ({ids[close].at()})" if close else ""
    return f"{entry.at(*use.path)}: {use.as_what} '{use.name}' is not defined{hint}"


def _start_problems(active: _MapOfPlaced) -> Iterator[str]:
    for entry in active["faults"].values():
        fault: Any = entry.model
        for facet in FACETS:
            for start in getattr(fault.starts, facet):
                row: Any = active["starts"].get(start)
                if row and row.model.facet != facet:
                    at = entry.at("starts", facet)
                    yield f"{at}: '{start}' is a kind of {row.model.facet}, not of {facet}"


def _stated_sources(model: BaseModel) -> Iterable[tuple[str, tuple[str | int, ...]]]:
    if isinstance(model, models.Stated) and model.source:
        yield model.source, ("source",)
    for name in type(model).model_fields:
        value = getattr(model, name)
        items = value if isinstance(value, list) else [value]
        for index, item in enumerate(items):
            if isinstance(item, (models.Stated, models.Imperfection)) and item.source:
                yield item.source, (name, index) if isinstance(value, list) else (name,)


def _whens(model: Any) -> Iterable[tuple[tuple[str | int, ...], models.When]]:
    if getattr(model, "when", None):
        yield ("when",), model.when
    for index, link in enumerate(getattr(model, "leads_to", ())):
        if link.when:
            yield ("leads_to", index), link.when


def _when_problems(when: models.When, attributes: Mapping[str, _Placed], at: str) -> Iterable[str]:
    for name, wanted in when.items():
        if name not in attributes:
            yield f"{at}: attribute '{name}' is not defined{_hint(name, attributes)}"
            continue
        answers = attributes[name].model.answers  # type: ignore[attr-defined]
        for value in [wanted] if isinstance(wanted, str) else wanted:
            if value not in answers:
                yield f"{at}: '{value}' is no answer of '{name}'{_hint(value, answers)}"


def _cycles(active: _MapOfPlaced) -> list[str]:
    import networkx

    graph: networkx.DiGraph[str] = networkx.DiGraph()
    for name, entry in active["mechanisms"].items():
        graph.add_edges_from((name, link.effect) for link in entry.model.leads_to)  # type: ignore[attr-defined]
    try:
        cycle = networkx.find_cycle(graph)
    except networkx.NetworkXNoCycle:
        return []
    first = active["mechanisms"][cycle[0][0]]
    return [f"{first.at('leads_to')}: a cycle: {' -> '.join(edge[0] for edge in cycle)}"]


def schemas() -> dict[str, dict[str, Any]]:
    """Return the JSON Schema of each kind of file, by kind."""
    return {
        kind: {"$schema": "https://json-schema.org/draft/2020-12/schema"}
        | TypeAdapter(list[model]).json_schema()  # type: ignore[valid-type]
        for kind, model in models.KINDS.items()
    }
