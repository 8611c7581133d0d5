"""The rule engine: the only module that imports experta, and the safe way to use it.

experta 1.9.4 does not import on Python 3.10 and later, adds a handler to the root logger, can fire
activations that no longer hold, and orders equal saliences by hash seed. What keeps that out:

- a shim around the import, and its log handler taken off again;
- a strategy that cannot miss when it removes an activation, and a matcher with a cache of its own;
- every rule has a salience of its own, so order is that of the books and of the rules in them;
- rules are flat lists of patterns, NOT(pattern) and TEST, checked when they are written down;
- NOT looks only at facts that no rule at its own place or later can still add, checked when an
  `Expert` is built;
- rules only add facts; one engine a process works behind a lock and is reset for every case.

A rule names its reason in its docstring. Every firing is kept with the facts that fired it.
"""

from __future__ import annotations

import collections
import collections.abc
import inspect
import logging
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import TYPE_CHECKING, Any, ClassVar, Protocol

from knowledge.conclusions import Because, Conclusions, Firing, Known, Slot

__all__ = [
    "AS",
    "MATCH",
    "NOT",
    "TEST",
    "Because",
    "Conclude",
    "Conclusions",
    "Expert",
    "Fact",
    "Firing",
    "Known",
    "L",
    "P",
    "Rule",
    "RuleBook",
    "RuleError",
    "W",
    "WrittenRule",
    "known",
    "one_of",
    "think",
]


def _import_experta() -> Any:
    """Return experta, leaving `collections` and the root logger as they were."""
    root = logging.getLogger()
    handlers = list(root.handlers)
    lent = not hasattr(collections, "Mapping")
    if lent:
        collections.Mapping = collections.abc.Mapping  # type: ignore[attr-defined]
    try:
        import frozendict  # type: ignore[import-untyped]  # noqa: F401
    finally:
        if lent:
            del collections.Mapping  # type: ignore[attr-defined]
    import experta  # type: ignore[import-untyped]

    for handler in [added for added in root.handlers if added not in handlers]:
        root.removeHandler(handler)
        handler.close()
    if not hasattr(experta, "KnowledgeEngine"):
        raise ImportError("experta is there, but one of the packages it needs is not")
    return experta


_experta = _import_experta()
from experta.matchers import ReteMatcher  # type: ignore[import-untyped]  # noqa: E402
from experta.strategies import DepthStrategy  # type: ignore[import-untyped]  # noqa: E402

MATCH: Any = _experta.MATCH
AS: Any = _experta.AS
W: Any = _experta.W
L: Any = _experta.L
P: Any = _experta.P
NOT: Any = _experta.NOT
TEST: Any = _experta.TEST
Rule: Any = _experta.Rule

if TYPE_CHECKING:
    _Base = Any

    class Fact(dict[str, Any]):
        """A fact or a pattern; a vocabulary class derives from it directly and stays flat."""

        def __init__(self, **slots: Any) -> None: ...

else:
    _Base = _experta.KnowledgeEngine
    Fact = _experta.Fact


_TAKES_ANYTHING = inspect.signature(lambda engine, **bound: None)


class RuleError(Exception):
    """A rule is written in a way that the engine does not do reliably."""


def one_of(*words: str, bind: str | None = None) -> Any:
    """Return a constraint: the slot is one of these words; `bind` captures which.

    Use it rather than `L("a") | L("b")`, which fires once for every branch that is true.
    """
    wanted = frozenset(words)
    return P(lambda actual: actual in wanted, bind)


@cache
def slots_of(kind: type[Fact]) -> Mapping[str, str]:
    """Return the slots of a vocabulary class and what each holds, 'str' or 'float'."""
    return {
        name: holds
        for name, holds in inspect.get_annotations(kind).items()
        if not holds.startswith("ClassVar")
    }


def known(fact: Fact) -> Known:
    """Return a fact as plain data. Raises RuleError if it does not have the slots of its kind."""
    kind = type(fact)
    slots: list[tuple[str, Slot]] = []
    for name, holds in slots_of(kind).items():
        value = fact.get(name)
        if holds == "float" and isinstance(value, int | float) and not isinstance(value, bool):
            slots.append((name, float(value)))
        elif holds == "str" and isinstance(value, str):
            slots.append((name, value))
        else:
            raise RuleError(f"{kind.__name__}.{name} must hold a {holds}, not {value!r}")
    extra = {name for name in fact if not str(name).startswith("__")} - slots_of(kind).keys()
    if extra:
        raise RuleError(f"{kind.__name__} has no slot {', '.join(sorted(map(str, extra)))}")
    return Known(kind.__name__, tuple(slots))


class Conclude(Protocol):
    """What a rule calls to add a fact."""

    def __call__(self, fact: Fact, /) -> None:
        """Add a fact to what is known."""


@dataclass(frozen=True)
class WrittenRule:
    """A rule as written in a book: `rule` is the experta object without its salience yet."""

    id: str
    book: str
    reason: str
    patterns: tuple[Any, ...]
    concludes: frozenset[type[Fact]]
    body: Callable[..., None]
    support: tuple[str, ...]
    takes: frozenset[str]

    def uses(self) -> Iterator[type[Fact]]:
        """Yield the kinds of fact that its patterns look at, negated or not."""
        for pattern in self.patterns:
            if isinstance(pattern, NOT):
                yield type(pattern[0])
            elif not isinstance(pattern, TEST):
                yield type(pattern)

    def refuses(self) -> Iterator[type[Fact]]:
        """Yield the kinds of fact that stand under a NOT."""
        return (type(pattern[0]) for pattern in self.patterns if isinstance(pattern, NOT))

    def as_experta(self, salience: int) -> Any:
        """Return a fresh experta Rule; its action hands conclusions to the engine it runs in."""

        def fire(engine: Any, **bound: Any) -> None:
            because = tuple(known(bound[name]) for name in self.support)
            wanted = {name: bound[name] for name in self.takes}
            self.body(partial(engine.conclude, self, because), **wanted)

        fire.__name__ = self.id
        fire.__signature__ = _TAKES_ANYTHING  # type: ignore[attr-defined]  # asked for a dozen times
        return Rule(*(_fresh(pattern) for pattern in self.patterns), salience=salience)(fire)


class RuleBook:
    """The rules of one area, in the order in which they are written.

    >>> book = RuleBook("polarity")
    >>> [rule.id for rule in book.rules]
    []
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self.rules: list[WrittenRule] = []

    def rule(
        self, *patterns: Any, concludes: Sequence[type[Fact]]
    ) -> Callable[[Callable[..., None]], Callable[..., None]]:
        """Write a rule down. The docstring of the function is the reason that is printed.

        Raises RuleError: no reason, an unknown slot, a variable used before it is bound, a NOT over
        more than one pattern, or a condition of another kind than pattern, NOT(pattern), TEST.
        """

        def write(body: Callable[..., None]) -> Callable[..., None]:
            self.rules.append(_written(self.name, patterns, frozenset(concludes), body))
            return body

        return write


def _written(
    book: str,
    patterns: tuple[Any, ...],
    concludes: frozenset[type[Fact]],
    body: Callable[..., None],
) -> WrittenRule:
    name = body.__name__
    reason = " ".join((body.__doc__ or "").split())
    if not reason:
        raise RuleError(f"rule {name}: a rule says its reason in its docstring")
    bound: set[str] = set()
    support: list[str] = []
    ready: list[Any] = []
    for pattern in patterns:
        if isinstance(pattern, TEST):
            _need(name, set(inspect.signature(pattern[0]).parameters) <= bound, "TEST is unbound")
            ready.append(pattern)
        elif isinstance(pattern, NOT):
            alone = len(pattern) == 1 and isinstance(pattern[0], Fact)
            _need(name, alone, "NOT takes one pattern")
            _need(
                name,
                set(_variables(name, pattern[0])) <= bound,
                "NOT uses a variable not bound yet",
            )
            ready.append(pattern)
        elif isinstance(pattern, Fact):
            bound |= set(_variables(name, pattern))
            as_name = pattern.get("__bind__") or f"f{len(support)}"
            support.append(as_name)
            ready.append(as_name << _fresh(pattern, bind=False))
        else:
            raise RuleError(f"rule {name}: {pattern!r} is no pattern, NOT(pattern) or TEST")
    _need(name, bool(support), "a rule rests on at least one fact")
    _need(name, len(set(support)) == len(support), "two patterns have the same name")
    first, *rest = inspect.signature(body).parameters
    _need(name, first == "conclude", "the first parameter is 'conclude'")
    _need(name, set(rest) <= bound, f"takes {set(rest) - bound}, which no pattern binds")
    _need(name, bool(concludes), "a rule concludes something")
    return WrittenRule(
        name, book, reason, tuple(ready), concludes, body, tuple(support), frozenset(rest)
    )


def _need(rule: str, holds: bool, what: str) -> None:
    if not holds:
        raise RuleError(f"rule {rule}: {what}")


def _fresh(pattern: Any, bind: bool = True) -> Any:
    """Return a copy of a pattern, as experta writes into the one it is given."""
    if isinstance(pattern, TEST):
        return pattern
    if isinstance(pattern, NOT):
        return NOT(_fresh(pattern[0]))
    copy = pattern.copy()
    if bind and pattern.get("__bind__"):
        copy.__bind__ = pattern["__bind__"]
    return copy


def _variables(rule: str, pattern: Fact) -> Iterator[str]:
    """Yield the variables that a pattern captures; refuse slots that its kind does not have."""
    slots = slots_of(type(pattern))
    for slot, wanted in pattern.items():
        if slot == "__bind__":
            continue
        if slot not in slots:
            raise RuleError(f"rule {rule}: {type(pattern).__name__} has no slot '{slot}'")
        yield from _captured(wanted)


def _captured(constraint: Any) -> Iterator[str]:
    bind = getattr(constraint, "__bind__", None)
    if isinstance(bind, str):
        yield bind
    if isinstance(constraint, _experta.fieldconstraint.FieldConstraint) and not isinstance(
        constraint, L | P | W
    ):
        for part in constraint:
            yield from _captured(part)


class _SafeStrategy(DepthStrategy):  # type: ignore[misc]
    """Depth first, but removing an activation cannot miss it, and nothing is shared by a cache."""

    def get_key(self, activation: Any) -> Any:
        """Return what the agenda is sorted by: salience, then the newest facts."""
        ids = sorted((fact["__factid__"] for fact in activation.facts), reverse=True)
        return activation.rule.salience, ids

    def _update_agenda(self, agenda: Any, added: Any, removed: Any) -> None:
        for activation in removed:
            activation.key = self.get_key(activation)
            if activation in agenda.activations:
                agenda.activations.remove(activation)
        super()._update_agenda(agenda, added, ())


class _SafeMatcher(ReteMatcher):  # type: ignore[misc]
    """Keeps its list of conflict-set nodes itself rather than in a cache shared by all engines."""

    def _get_conflict_set_nodes(self) -> Any:
        if not hasattr(self, "_own_nodes"):
            self._own_nodes = ReteMatcher._get_conflict_set_nodes.__wrapped__(self)
        return self._own_nodes


class _Engine(_Base):  # type: ignore[misc]
    """An experta engine that remembers why. No properties: experta evaluates them at each reset."""

    __matcher__: ClassVar[Any] = _SafeMatcher
    __strategy__: ClassVar[Any] = _SafeStrategy

    def __init__(self) -> None:
        self.reasons: dict[Known, set[Firing]] = {}
        super().__init__()
        self._own_deffacts = super().get_deffacts()

    def get_deffacts(self) -> Any:
        if hasattr(self, "_own_deffacts"):
            return self._own_deffacts
        return super().get_deffacts()

    def reset(self, **slots: Any) -> None:
        self.reasons = {}
        super().reset(**slots)

    def conclude(self, rule: WrittenRule, because: tuple[Known, ...], fact: Fact) -> None:
        """Add a fact with its reason; a fact that is there already gets a further reason."""
        if type(fact) not in rule.concludes:
            raise RuleError(f"rule {rule.id} did not say that it concludes {type(fact).__name__}")
        derived = known(fact)
        if derived not in self.reasons:
            self.declare(type(fact)(**dict(derived.slots)))
        self.reasons.setdefault(derived, set()).add(Firing(rule.id, rule.reason, because))


class Expert:
    """The books put together: an engine behind a lock. Build once; `think` as often as needed.

    Raises RuleError: two rules have the same id, or a NOT looks at facts that a rule at its own
    place or later can still add.
    """

    def __init__(self, books: Iterable[RuleBook]) -> None:
        self.written = tuple(rule for book in books for rule in book.rules)
        _check_ids(self.written)
        _check_layers(self.written)
        top = len(self.written)
        self.rules = tuple(rule.as_experta(top - at) for at, rule in enumerate(self.written))
        self._lock = threading.Lock()
        named = {
            f"rule_{rule.id}": made for rule, made in zip(self.written, self.rules, strict=True)
        }
        self._kind: type[Any] = type("WeldingRules", (_Engine,), named)
        self._engine: Any = self._kind()

    def think(self, facts: Iterable[Fact]) -> Conclusions:
        """Return what follows from the facts; the order in which they come does not matter."""
        given = {known(fact): type(fact) for fact in facts}
        told = tuple(sorted(given))
        with self._lock:
            try:
                self._engine.reset()
                self._engine.declare(*(given[fact](**dict(fact.slots)) for fact in told))
                self._engine.run()
                reasons = self._engine.reasons
                self._engine.reset()
            except BaseException:
                self._engine = self._kind()
                raise
        derived = tuple(sorted(reasons))
        return Conclusions(told, derived, {fact: tuple(sorted(reasons[fact])) for fact in derived})


def _check_ids(rules: Sequence[WrittenRule]) -> None:
    counted = collections.Counter(rule.id for rule in rules)
    if twice := sorted(name for name, count in counted.items() if count > 1):
        raise RuleError(f"two rules have the same id: {', '.join(twice)}")


def _check_layers(rules: Sequence[WrittenRule]) -> None:
    """Refuse a NOT over facts that are not complete when its rule gets its turn."""
    for place, rule in enumerate(rules):
        for kind in rule.refuses():
            for source in _sources(kind, rules):
                if source >= place:
                    raise RuleError(
                        f"rule {rule.id}: NOT({kind.__name__}) comes before rule "
                        f"{rules[source].id}, which can still bring one about"
                    )


def _sources(kind: type[Fact], rules: Sequence[WrittenRule]) -> set[int]:
    """Return the places of all rules that facts of this kind can rest on."""
    wanted, seen, places = [kind], {kind}, set[int]()
    while wanted:
        looked_for = wanted.pop()
        for place, rule in enumerate(rules):
            if looked_for in rule.concludes and place not in places:
                places.add(place)
                for used in rule.uses():
                    if used not in seen:
                        seen.add(used)
                        wanted.append(used)
    return places


@cache
def _expert() -> Expert:
    from knowledge.rules import BOOKS

    return Expert(BOOKS)


_building = threading.Lock()


def think(facts: Iterable[Fact]) -> Conclusions:
    """Return what the rule base makes of these facts, sorted, with every firing.

    The same facts give the same conclusions under any hash seed, in any order and from any thread.
    """
    with _building:
        expert = _expert()
    return expert.think(facts)
