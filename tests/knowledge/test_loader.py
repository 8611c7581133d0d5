"""The loader: compiled form and schemas agree with the YAML; every trouble has file, line and hint."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import jsonschema
import pytest

from knowledge import loader, models
from knowledge.errors import KnowledgeError
from knowledge.loader import ENTRIES, Knowledge, load, read, schemas, write_compiled


@pytest.fixture(scope="module")
def from_yaml() -> Knowledge:
    return read([ENTRIES])


def test_the_compiled_form_agrees_with_the_yaml(from_yaml: Knowledge, tmp_path: Path) -> None:
    write_compiled(from_yaml, tmp_path / "anew.json")
    assert (tmp_path / "anew.json").read_bytes() == loader.COMPILED.read_bytes()
    compiled = loader._read_compiled(from_yaml.digest)
    assert compiled is not None
    for kind in models.KINDS:
        assert dict(compiled.entries(kind)) == dict(from_yaml.entries(kind))


def test_a_compiled_form_of_other_yaml_is_not_used() -> None:
    assert loader._read_compiled("sha256:" + "0" * 64) is None


def test_the_schemas_are_those_of_the_models() -> None:
    for kind, schema in schemas().items():
        written = json.loads((ENTRIES / "schema" / f"{kind}.json").read_text("utf-8"))
        assert written == schema
        jsonschema.Draft202012Validator.check_schema(schema)
    assert {path.stem for path in (ENTRIES / "schema").glob("*.json")} == set(models.KINDS)


def test_the_schema_takes_what_the_loader_takes(from_yaml: Knowledge) -> None:
    for kind, schema in schemas().items():
        rows = [
            entry.model_dump(mode="json", exclude_defaults=True)
            for entry in from_yaml.entries(kind).values()
        ]
        jsonschema.Draft202012Validator(schema).validate(rows)


MECHANISM = """\
- id: {id}
  title: Something happens in between
  physics: One thing moves another.
  leads_to:
    - {{effect: {effect}, strength: 0.5, basis: judgement}}
"""


def _trouble(folder: Path, name: str, text: str) -> str:
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    with pytest.raises(KnowledgeError) as caught:
        read([ENTRIES, folder])
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        (
            "mechanisms.yaml",
            MECHANISM.format(id="mine", effect="porosty"),
            "mechanisms.yaml:5: effect 'porosty' is not defined\n  nearest: 'porosity'",
        ),
        ("mechanisms.yaml", "- id: x\n  physics: y\n", "mechanisms.yaml:1: title: Field required"),
        (
            "mechanism/a.yaml",
            "[]\n",
            "there is no kind of entry 'mechanism'\n  nearest: 'mechanisms'",
        ),
        ("sources.yaml", "- {id: a, title: abc, seen: memory, seen: memory}\n", "sources.yaml:1: "),
        ("sources.yaml", "id: a\n", "sources.yaml:1: a file is a list of entries"),
        ("sources.yaml", "- just words\n", "sources.yaml:1: an entry is a mapping"),
        (
            "sources.yaml",
            "- {id: a_source, titel: Some source, seen: memory}\n",
            "sources.yaml:1: titel: Extra inputs are not permitted\n  nearest: 'title'",
        ),
        (
            "sources.yaml",
            "- {id: twice, title: abc, seen: memory}\n- {id: twice, title: abc, seen: memory}\n",
            "sources.yaml:2: id 'twice' stands already at sources.yaml:1",
        ),
        ("sources.yaml", "- {id: [}\n", "sources.yaml:1: "),
        ("sources.yaml", "- {id: Big, title: abc, seen: memory}\n", "sources.yaml:1: id: "),
    ],
)
def test_every_trouble_names_file_line_and_hint(
    tmp_path: Path, name: str, text: str, said: str
) -> None:
    assert said in _trouble(tmp_path, name, text)


@pytest.mark.parametrize(
    "text",
    [
        MECHANISM.format(id="mine", effect="zzzzzz"),
        MECHANISM.format(id="mine", effect="porosity") + "  when: {qqqqqq: yes}\n",
        MECHANISM.format(id="mine", effect="porosity") + "  when: {outdoors: qqqqqq}\n",
    ],
)
def test_where_nothing_is_near_nothing_is_said_to_be(tmp_path: Path, text: str) -> None:
    assert "nearest" not in _trouble(tmp_path, "mechanisms.yaml", text)


def test_a_cycle_is_refused_and_shown(tmp_path: Path) -> None:
    text = MECHANISM.format(id="one_way", effect="other_way") + MECHANISM.format(
        id="other_way", effect="one_way"
    )
    assert "a cycle: one_way -> other_way" in _trouble(tmp_path, "mechanisms.yaml", text)


def test_a_number_that_is_published_must_name_its_source(tmp_path: Path) -> None:
    text = MECHANISM.format(id="mine", effect="porosity").replace("judgement", "published")
    assert "basis 'published' needs a source" in _trouble(tmp_path, "mechanisms.yaml", text)


def test_yes_and_no_and_off_stay_words(tmp_path: Path) -> None:
    text = "- {id: off_state, title: off, seen: memory, address: no}\n"
    (tmp_path / "sources.yaml").write_text(text, "utf-8")
    source = read([ENTRIES, tmp_path]).sources["off_state"]
    assert (source.title, source.address) == ("off", "no")


def test_a_folder_of_ones_own_adds_changes_and_retires(
    tmp_path: Path, from_yaml: Knowledge
) -> None:
    mine = tmp_path / "second"
    mine.mkdir()
    (mine / "mechanisms.yaml").write_text(MECHANISM.format(id="mine", effect="porosity"), "utf-8")
    changed = from_yaml.starts["hooked_up"].model_copy(update={"base": 0.07})
    row = json.dumps([changed.model_dump(mode="json", exclude_defaults=True)])
    (mine / "starts.yaml").write_text(row, "utf-8")
    (mine / "faults").mkdir()
    odd = models.Fault.model_validate(
        from_yaml.faults["tip_worn"].model_dump() | {"id": "odd_fault", "excludes": []}
    )
    (tmp_path / "first").mkdir()
    row = json.dumps([odd.model_dump(mode="json", exclude_defaults=True)])
    (tmp_path / "first" / "faults.yaml").write_text(row, "utf-8")
    fault = odd.model_copy(update={"status": "retired"})
    row = json.dumps([fault.model_dump(mode="json", exclude_defaults=True)])
    (mine / "faults" / "mine.yaml").write_text(row, "utf-8")
    assert "odd_fault" in load(tmp_path / "first").faults
    own = load(tmp_path / "first", mine)
    assert own.mechanisms["mine"].leads_to[0].effect == "porosity"
    assert own.starts["hooked_up"].base == 0.07
    assert "odd_fault" not in own.faults
    assert own.digest != from_yaml.digest
    assert own.faults.keys() == from_yaml.faults.keys()


def test_an_id_that_others_use_cannot_be_retired(tmp_path: Path, from_yaml: Knowledge) -> None:
    symptom = from_yaml.symptoms["porosity"].model_copy(update={"status": "retired"})
    row = json.dumps([symptom.model_dump(mode="json", exclude_defaults=True)])
    assert "'porosity' is not defined" in _trouble(tmp_path, "symptoms/mine.yaml", row)


def test_a_missing_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="there is no such folder"):
        load(tmp_path / "nowhere")


def test_a_copy_of_the_shipped_folder_reads_the_same(tmp_path: Path, from_yaml: Knowledge) -> None:
    shutil.copytree(ENTRIES, tmp_path / "copy")
    assert read([tmp_path / "copy"]).digest == from_yaml.digest


def test_every_number_says_where_it_comes_from(from_yaml: Knowledge) -> None:
    """No basis, no merge: the models ask for it; here nothing claims a source that was not seen."""
    for kind in models.KINDS:
        for entry in from_yaml.entries(kind).values():
            for stated in _stated(entry):
                if stated.basis == "published":
                    assert from_yaml.sources[stated.source or ""].seen != "memory", entry.id


def _stated(value: object) -> list[models.Stated]:
    if isinstance(value, list):
        return [one for item in value for one in _stated(item)]
    if not hasattr(type(value), "model_fields"):
        return []
    found = [value] if isinstance(value, models.Stated) else []
    for name in type(value).model_fields:  # type: ignore[attr-defined]
        found += _stated(getattr(value, name))
    return found
