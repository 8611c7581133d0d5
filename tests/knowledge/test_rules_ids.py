"""The rules name only faults, mechanisms, cards and paths that exist."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import knowledge.rules
from diagnose.case import Case
from knowledge.loader import load
from knowledge.rules import BOOKS, polarity, readings

_FILES = sorted(Path(knowledge.rules.__file__).parent.glob("*.py"))


def _named(kind: str, slot: str) -> set[str]:
    """Return every word that stands in a slot of a kind of fact anywhere in the rules."""
    words: set[str] = set()
    for path in _FILES:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == kind:
                for keyword in node.keywords:
                    if keyword.arg == slot and isinstance(keyword.value, ast.Constant):
                        words.add(str(keyword.value.value))
    return words


def test_evidence_is_about_nodes_that_exist() -> None:
    shows = {name for name in _named("Shows", "node") if ":" not in name} | set(
        polarity.FAULT_WHEN_NEEDED.values()
    )
    assert len(shows) > 25
    assert shows <= set(load().faults) | set(load().mechanisms)


def test_readings_bear_on_nodes_that_exist() -> None:
    # A rule may name the result of a check, as "check:result", through a name of its own.
    text = Path(readings.__file__).read_text("utf-8")
    named = {
        str(node.value)
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant) and re.fullmatch(r"[a-z_]+:[a-z_]+", str(node.value))
    }
    assert len(named) > 10
    assert named <= {
        f"{check.id}:{found.result}"
        for check in load().checks.values()
        for found in check.looks_for
    }


def test_only_faults_are_established() -> None:
    established = _named("Established", "fault") | set(polarity.FAULT_WHEN_NEEDED.values())
    assert established <= set(load().faults)


def test_cards_exist() -> None:
    assert _named("Raised", "card") <= set(load().stop_cards)


def test_attributes_and_their_answers_exist() -> None:
    attributes = load().attributes
    for kind in ("Is", "Settled", "Implied", "Fixed", "Word", "Listed"):
        assert _named(kind, "name") <= set(attributes), kind


@pytest.mark.parametrize("book", BOOKS, ids=lambda book: book.name)
def test_items_and_questions_are_paths_of_the_case(book: object) -> None:
    module = ast.parse(
        next(path for path in _FILES if path.stem == book.name).read_text("utf-8")  # type: ignore[attr-defined]
    )
    for node in ast.walk(module):
        if isinstance(node, ast.Constant) and str(node.value).startswith("station."):
            part: object = Case
            for name in str(node.value).split("."):
                part = _field(part, name)


def _field(model: object, name: str) -> object:
    """Return the model of a field of the case, by its name or alias. Raises AssertionError."""
    fields = model.model_fields  # type: ignore[attr-defined]
    for known, field in fields.items():
        if name in (known, field.alias):
            args = getattr(field.annotation, "__args__", (field.annotation,))
            models = [arg for arg in args if hasattr(arg, "model_fields")]
            return models[0] if models else field
    raise AssertionError(f"{name} is not in {model}")
