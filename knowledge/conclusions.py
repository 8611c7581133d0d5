"""What the rules hand back: facts as plain data, and every firing that concluded them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

__all__ = ["Because", "Conclusions", "Firing", "Known", "Slot"]

Slot = str | float


@dataclass(frozen=True, order=True, slots=True)
class Known:
    """A fact as plain data: its kind and its slots in the order of the vocabulary."""

    kind: str
    slots: tuple[tuple[str, Slot], ...]

    def __getitem__(self, slot: str) -> Slot:
        for name, value in self.slots:
            if name == slot:
                return value
        raise KeyError(slot)

    def word(self, slot: str) -> str:
        """Return the value of a slot that holds a word."""
        return str(self[slot])

    def number(self, slot: str) -> float:
        """Return the value of a slot that holds a number. Raises ValueError for a word."""
        return float(self[slot])

    def __str__(self) -> str:
        inside = ", ".join(
            f"{name}={value:g}" if isinstance(value, float) else f"{name}={value}"
            for name, value in self.slots
        )
        return f"{self.kind}({inside})"


@dataclass(frozen=True, order=True, slots=True)
class Firing:
    """One firing of a rule: which rule, its reason in words, and the facts that fired it."""

    rule: str
    reason: str
    facts: tuple[Known, ...]


@dataclass(frozen=True, slots=True)
class Because:
    """A fact with the firings that concluded it, walked down to what was told."""

    fact: Known
    firings: tuple[tuple[Firing, tuple[Because, ...]], ...] = ()

    def lines(self, indent: str = "") -> Iterator[str]:
        """Yield the tree as lines of text."""
        yield f"{indent}{self.fact}"
        for firing, below in self.firings:
            yield f"{indent}  {firing.rule}: {firing.reason}"
            for reason in below:
                yield from reason.lines(indent + "    ")


@dataclass(frozen=True)
class Conclusions:
    """What the rules made of a case: told and derived facts, sorted, and every firing."""

    told: tuple[Known, ...]
    derived: tuple[Known, ...]
    firings: Mapping[Known, tuple[Firing, ...]] = field(default_factory=dict)

    def all(self, kind: str, **slots: Slot) -> tuple[Known, ...]:
        """Return the facts of one kind, told or derived, with these values in these slots."""
        return tuple(
            fact
            for fact in (*self.told, *self.derived)
            if fact.kind == kind and all(fact[name] == value for name, value in slots.items())
        )

    def why(self, fact: Known) -> Because:
        """Return the reasons for a fact, down to told facts. Raises KeyError if it is not there."""
        if fact not in self.firings and fact not in self.told:
            raise KeyError(str(fact))
        return self._why(fact, ())

    def _why(self, fact: Known, path: tuple[Known, ...]) -> Because:
        path = (*path, fact)
        return Because(
            fact,
            tuple(
                (firing, tuple(self._why(support, path) for support in firing.facts))
                for firing in self.firings.get(fact, ())
                if not set(firing.facts) & set(path)
            ),
        )
