"""All phrases of the knowledge, indexed by word, and how well a clause fits each of them.

A clause and a phrase are compared word by word. A word weighs by how few entries use it, so that
'wire' counts for little and 'undercut' for much. How much of the phrase was said comes first, how
much of the clause the entry explains comes second.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import log
from typing import Literal

from rapidfuzz import fuzz, process
from rapidfuzz.distance import OSA

from diagnose.hearing.plain_words import ALIASES, Clause, clause, kin, tells, weight_class
from knowledge.models import StartKind, StopCard, Symptom

__all__ = ["Fit", "Kind", "Phrase", "PhraseIndex", "Told"]

Kind = Literal["symptom", "start", "told", "card"]
_Alike = tuple[tuple[str, float], ...]

UNKNOWN_WORD = 0.55
"""Weight of a word that no phrase uses (judgement: between 'wire' and 'undercut')."""
LEAST_SAID = 0.6
"""Part of a phrase counts only from this weight on: 'arc' alone or 'hot' alone says nothing."""
SLIP_COSTS = 0.6
"""How much of the difference in spelling counts as a difference in meaning."""
FAMILIAR = 0.6
"""Credit for a word of the clause that only another phrase of the same symptom uses."""


@dataclass(frozen=True, order=True)
class Told:
    """Words that tell what stands on the station or what a check found: `about` has that `value`."""

    about: str
    value: str
    phrase: str


@dataclass(frozen=True)
class Phrase:
    """One phrase of one entry, read like a clause. `weight` is the sum over its words."""

    kind: Kind
    owner: str
    facet: str
    text: str
    read: Clause
    weight: float

    @property
    def idiom(self) -> bool:
        """Whether it is made of small words only ('comes and goes'), so that order matters."""
        return not tells(self.read)


@dataclass(frozen=True)
class Fit:
    """How a clause fits a phrase, each 0 to 1; `covered` is the weight of the words explained.

    `said` are the words of the phrase that were said.
    """

    phrase: Phrase
    recall: float
    score: float
    covered: float
    said: frozenset[str] = frozenset()


class PhraseIndex:
    """Every phrase of the symptoms, starts and stop cards. It never changes once built."""

    def __init__(
        self,
        symptoms: Sequence[Symptom],
        starts: Sequence[StartKind],
        stop_cards: Sequence[StopCard],
        told: Sequence[Told] = (),
    ) -> None:
        """Read and weigh all phrases; the order of the entries makes no difference."""
        raw = [(*one, clause(one[3])) for one in sorted(_all(symptoms, starts, stop_cards, told))]
        self.ids = tuple(sorted({symptom.id for symptom in symptoms}))
        self._words = frozenset(stem for *_, read in raw for stem in read.stems)
        self._joined = _joined_words(read for *_, read in raw)
        raw = [(kind, owner, facet, text, self.mended(r)) for kind, owner, facet, text, r in raw]
        self._weight = _weights(raw, len(self.ids))
        self.phrases = tuple(
            Phrase(*one, weight=sum(self._weight[stem] for stem in one[4].stems)) for one in raw
        )
        self.idioms = tuple(one for one in self.phrases if one.kind == "start" and one.idiom)
        self._postings: dict[tuple[Kind, str], list[int]] = defaultdict(list)
        self._vocabulary: dict[str, set[str]] = defaultdict(set)
        for index, phrase in enumerate(self.phrases):
            for stem in phrase.read.stems:
                self._postings[phrase.kind, stem].append(index)
                if phrase.kind == "symptom":
                    self._vocabulary[phrase.owner].add(stem)
        self._aliases = {word: stem for word, stem in ALIASES.items() if stem in self._weight}
        self._spellings = tuple(sorted({*self._weight, *self._joined, *self._aliases}))
        self._texts = {i: p.text for i, p in enumerate(self.phrases) if p.kind == "symptom"}

    def weight(self, stems: Iterable[str]) -> float:
        """Return what the words weigh together."""
        return sum(self._weight.get(stem, UNKNOWN_WORD) for stem in stems)

    def fits(self, stems: Sequence[str], kind: Kind, any_blame: bool = False) -> list[Fit]:
        """Compare the words with every phrase of one kind that shares a word with them.

        With `any_blame` a word of blame in the phrase ('uneven', 'weak') counts as said.
        """
        said: dict[int, dict[str, float]] = defaultdict(dict)
        explained: dict[int, float] = defaultdict(float)
        meant: list[tuple[float, _Alike]] = []
        for stem in stems:
            alike = self._alike(stem)
            weight = self._weight.get(stem) or self._heaviest(alike)
            meant.append((weight, alike))
            best: dict[int, float] = {}
            for word, sim in alike:
                for index in self._postings.get((kind, word), ()):
                    best[index] = max(best.get(index, 0.0), sim)
                    said[index][word] = max(said[index].get(word, 0.0), sim)
            for index, sim in best.items():
                explained[index] += weight * sim
        found = (self._fit(i, words, explained[i], meant, any_blame) for i, words in said.items())
        return [fit for fit in found if fit]

    def _fit(
        self,
        index: int,
        words: dict[str, float],
        explained: float,
        meant: Sequence[tuple[float, _Alike]],
        any_blame: bool,
    ) -> Fit | None:
        phrase = self.phrases[index]
        if any_blame:
            words = words | dict.fromkeys(phrase.read.blame | phrase.read.lacks, 1.0)
        said = sum(self._weight[word] * sim for word, sim in words.items())
        recall = min(1.0, said / phrase.weight)
        little = phrase.kind == "symptom" and recall < 0.9 and explained < LEAST_SAID
        if recall < 0.5 or little:
            return None
        total = sum(weight for weight, _ in meant)
        precision = explained / total
        if precision < 1.0 and phrase.kind == "symptom":
            known = self._vocabulary[phrase.owner]
            familiar = sum(
                weight * max((sim for word, sim in alike if word in known), default=0.0)
                for weight, alike in meant
            )
            precision += FAMILIAR * (familiar / total - precision)
        score = recall * (0.6 + 0.4 * min(1.0, precision))
        return Fit(phrase, recall, score, explained, frozenset(words))

    def nearest(self, heard: Clause, count: int = 3) -> tuple[str, ...]:
        """Return the symptoms nearest to words that were not understood, best first, then by id."""
        score: dict[str, float] = {}
        for fit in self.fits(self.mended(heard).stems, "symptom"):
            score[fit.phrase.owner] = max(score.get(fit.phrase.owner, 0.0), 1.0 + fit.score)
        if len(score) < count:
            plain = " ".join(heard.words)[:200]
            for _, ratio, index in process.extract(
                plain, self._texts, scorer=fuzz.token_sort_ratio, limit=30
            ):
                owner = self.phrases[index].owner
                score[owner] = max(score.get(owner, 0.0), ratio / 100)
        ranked = sorted(score, key=lambda owner: (-round(score[owner], 6), owner))
        return tuple((ranked + [one for one in self.ids if one not in score])[:count])

    def mended(self, heard: Clause) -> Clause:
        """Write compounds the way the phrases do: 'worm holes' and 'wormholes' are one word."""
        return replace(
            heard, stems=self._mended_stems(heard.stems), turned=self._mended_stems(heard.turned)
        )

    def _mended_stems(self, stems: Sequence[str]) -> tuple[str, ...]:
        split: list[str] = []
        for stem in stems:
            known = stem in self._words or stem not in self._joined
            split += (stem,) if known else self._joined[stem]
        out: list[str] = []
        for stem in split:
            if out and out[-1] + stem in self._words:
                out[-1] += stem
            else:
                out.append(stem)
        return tuple(dict.fromkeys(out))

    def _alike(self, stem: str) -> _Alike:
        """Words of the phrases that `stem` may stand for: itself, its kin, or a slip of the pen."""
        near = tuple((word, sim) for word, sim in kin(stem) if word in self._weight)
        if stem in self._weight:
            return ((stem, 1.0), *near)
        if near or len(stem) < 4:
            return near
        found = process.extract(
            stem, self._spellings, scorer=OSA.normalized_similarity, score_cutoff=0.75, limit=4
        )
        alike: dict[str, float] = {}
        for spelling, sim, _ in sorted(found, key=lambda hit: (-hit[1], hit[0])):
            if spelling[0] != stem[0] and len(stem) < 7:
                continue
            for part in self._joined.get(spelling, (spelling,)):
                word = self._aliases.get(part, part)
                if word in self._weight:
                    alike[word] = max(alike.get(word, 0.0), 1.0 - SLIP_COSTS * (1.0 - sim))
        return tuple(alike.items())

    def _heaviest(self, alike: _Alike) -> float:
        return max((self._weight[word] for word, _ in alike), default=UNKNOWN_WORD)


def _all(
    symptoms: Sequence[Symptom],
    starts: Sequence[StartKind],
    stop_cards: Sequence[StopCard],
    told: Sequence[Told],
) -> Iterable[tuple[Kind, str, str, str]]:
    for symptom in symptoms:
        yield from (("symptom", symptom.id, "", text) for text in symptom.phrases)
    for start in starts:
        yield from (("start", start.id, start.facet, text) for text in start.phrases)
    for card in stop_cards:
        yield from (("card", card.id, "", text) for text in card.phrases)
    yield from (("told", one.value, one.about, one.phrase) for one in told)


def _weights(
    read: Iterable[tuple[Kind, str, str, str, Clause]], entries: int
) -> Mapping[str, float]:
    """Word -> weight: 1 for a word of one entry only, falling with the log of how many use it."""
    users: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for kind, owner, _, _, one in read:
        for stem in one.stems:
            users[stem].add((kind, owner))
    most = log(1 + max(entries, 1))
    return {
        stem: fixed
        if (fixed := weight_class(stem)) is not None
        else min(1.0, max(0.12, log(1 + entries / len(by)) / most))
        for stem, by in users.items()
    }


def _joined_words(read: Iterable[Clause]) -> dict[str, tuple[str, str]]:
    """Two neighbouring words written as one -> the two: 'birdsnest' -> ('bird', 'nest')."""
    joined: dict[str, tuple[str, str]] = {}
    for one in read:
        for left, right in zip(one.stems, one.stems[1:], strict=False):
            if len(left) > 2 and len(right) > 2:
                joined.setdefault(left + right, (left, right))
                joined.setdefault(left + "s" + right, (left, right))
    return joined
