"""Plain words to symptoms, starts and danger words. What is not understood is said, never guessed.

Denials are counted apart from the words: the same words with the same denial mean yes ('no arc'),
with one denial more or less they mean no ('no porosity', 'gas flows'). Two denials are not guessed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from diagnose.hearing.phrases import LEAST_SAID, Fit, PhraseIndex, Told
from diagnose.hearing.plain_words import (
    EVERYDAY,
    STEADY,
    TOPICS,
    Clause,
    Piece,
    affirms,
    clause,
    holds_sometimes,
    pieces,
    tells,
    weight_class,
)
from knowledge.models import StartKind, StopCard, Symptom

__all__ = [
    "DangerWords",
    "Hearing",
    "Phrasebook",
    "Recognised",
    "RecognisedStart",
    "RecognisedTold",
    "Unrecognised",
    "recognise",
]

SURE_ENOUGH = 0.70
"""A symptom is taken from a clause at this score (judgement, set on half of the bench talk)."""
DENIED_ENOUGH = 0.80
"""A denial needs more: it speaks against faults that nobody then looks for."""
ALSO_DENIED = 0.04
"""A denial nearly as good as the best stands beside it ('feed is smooth': it feeds, and evenly)."""
TOO_CLOSE = 0.02
"""Two symptoms this near to each other, below `CLEAR`, are not decided between."""
CLEAR = 0.90
INDIRECT = 0.97
"""What was said of the clause before, or by praise alone, is trusted a little less."""
JOINED_COSTS = 0.8
"""Pieces joined across a comma must fit a phrase well, or they are worth less than apart."""
START_ENOUGH = 0.90
DANGER_SURE = 0.95
DANGER_PERHAPS = 0.60
DANGER_WHOLE = 0.80
"""Danger words: taken as said, as a near miss in one piece, as a near miss over several pieces."""
_MOST_PIECES_IN_ONE = 4
_EDGES = " \t\r\n,.;:!?\"'"

Seen = Literal["yes", "no"]


@dataclass(frozen=True, order=True)
class Recognised:
    """A symptom that was said to be there, or said not to be there. `score` is 0 to 1."""

    said: str
    symptom: str
    seen: Seen
    score: float


@dataclass(frozen=True, order=True)
class RecognisedStart:
    """How it started, as said: a kind of start within its facet. `score` is 0 to 1."""

    said: str
    facet: str
    kind: str
    score: float


@dataclass(frozen=True, order=True)
class RecognisedTold:
    """What stands on the station or what a check found, as said. `score` is 0 to 1."""

    said: str
    about: str
    value: str
    score: float


@dataclass(frozen=True, order=True)
class Unrecognised:
    """Words that were not understood, with the ids of the three symptoms nearest to them."""

    said: str
    nearest: tuple[str, ...]


@dataclass(frozen=True, order=True)
class DangerWords:
    """Words of a stop card. A near miss has `sure` False and raises the card as 'perhaps'."""

    said: str
    card: str
    sure: bool


@dataclass(frozen=True)
class Hearing:
    """All that was understood and not understood, sorted, whatever the order it was said in."""

    recognised: tuple[Recognised, ...] = ()
    starts: tuple[RecognisedStart, ...] = ()
    told: tuple[RecognisedTold, ...] = ()
    unrecognised: tuple[Unrecognised, ...] = ()
    danger: tuple[DangerWords, ...] = ()


@dataclass(frozen=True)
class _Taken:
    """One symptom taken from a clause, and the weight of the words that it explains."""

    symptom: str
    seen: Seen
    score: float
    covered: float


@dataclass(frozen=True)
class _Meaning:
    """What one stretch of talk was taken for; `worth` compares ways to group the pieces."""

    symptoms: tuple[_Taken, ...] = ()
    starts: tuple[Fit, ...] = ()
    worth: float = 0.0
    left_over: bool = False


@dataclass(frozen=True)
class _Utterance:
    """What one person said in one go, cut into pieces and read piece by piece."""

    text: str
    cut: tuple[Piece, ...]
    read: tuple[Clause, ...]

    def words(self, first: int, last: int) -> str:
        return self.text[self.cut[first].start : self.cut[last].end]

    def topic(self, index: int) -> str:
        """What the pieces before `index` were about, or an empty string."""
        for one in reversed(self.read[:index]):
            for stem in one.stems:
                if stem in TOPICS:
                    return stem
        return ""


class Phrasebook:
    """The phrases of symptoms, starts, stop cards and the set-up, ready to be compared with talk.

    Build it once and ask it often; it never changes and keeps nothing of what it hears.
    """

    def __init__(
        self,
        symptoms: Sequence[Symptom],
        starts: Sequence[StartKind] = (),
        stop_cards: Sequence[StopCard] = (),
        told: Sequence[Told] = (),
    ) -> None:
        """Index the phrases of all entries given; retired ones should be left out by the caller."""
        self._index = PhraseIndex(symptoms, starts, stop_cards, told)
        self._dangers = frozenset(one.id for one in symptoms if one.group == "danger")

    def hear(self, said: Sequence[str]) -> Hearing:
        """Return what `said` means. The order of `said` makes no difference.

        >>> from knowledge.models import Leak
        >>> pores = Symptom(id="porosity", title="Pores", group="bead", question="Are there pores?",
        ...                 phrases=["porosity"], leak=Leak(chance=0.01, basis="judgement"))
        >>> Phrasebook([pores]).hear(["no porousity"]).recognised[0].seen
        'no'
        """
        hearings = [self._hear_one(text) for text in sorted(set(said)) if text.strip()]
        return Hearing(
            recognised=tuple(sorted({one for h in hearings for one in h.recognised})),
            starts=tuple(sorted({one for h in hearings for one in h.starts})),
            told=tuple(sorted({one for h in hearings for one in h.told})),
            unrecognised=tuple(sorted({one for h in hearings for one in h.unrecognised})),
            danger=tuple(sorted({one for h in hearings for one in h.danger})),
        )

    def _hear_one(self, text: str) -> Hearing:
        heard = _utterance(text)
        recognised: list[Recognised] = []
        starts: list[RecognisedStart] = []
        told: list[RecognisedTold] = []
        lost: list[str] = []
        for first, last, meaning in self._best_grouping(heard):
            said = heard.words(first, last).strip(_EDGES)
            recognised += [
                Recognised(said, one.symptom, one.seen, round(one.score, 3))
                for one in meaning.symptoms
            ]
            for fit in meaning.starts:
                row = (said, fit.phrase.facet, fit.phrase.owner, round(fit.recall, 3))
                if fit.phrase.kind == "start":
                    starts.append(RecognisedStart(*row))
                else:
                    told.append(RecognisedTold(*row))
            if meaning.left_over:
                lost.append(said)
        if not (recognised or starts or told or lost):
            lost.append(text.strip())
        unrecognised = [Unrecognised(said, self._index.nearest(clause(said))) for said in lost]
        return Hearing(
            tuple(recognised),
            tuple(starts),
            tuple(told),
            tuple(unrecognised),
            tuple(self._danger(heard)),
        )

    def _best_grouping(self, heard: _Utterance) -> list[tuple[int, int, _Meaning]]:
        """Join neighbouring pieces wherever that explains more; the fewest groups on a tie."""
        best: list[tuple[float, list[tuple[int, int, _Meaning]]]] = [(0.0, [])]
        for end in range(1, len(heard.cut) + 1):
            options = []
            for begin in range(max(0, end - _MOST_PIECES_IN_ONE), end):
                meaning = self._group_meaning(heard, begin, end)
                if meaning is not None:
                    worth, groups = best[begin]
                    groups = [*groups, (begin, end - 1, meaning)]
                    options.append((round(worth + meaning.worth, 6), -len(groups), groups))
            worth, _, groups = max(options, key=lambda option: option[:2])
            best.append((worth, groups))
        return best[-1][1]

    def _group_meaning(self, heard: _Utterance, begin: int, end: int) -> _Meaning | None:
        if end - begin == 1:
            return self._meaning(heard.read[begin], heard.topic(begin))
        meaning = self._meaning(clause(heard.words(begin, end - 1)))
        if not meaning.worth:
            return None
        if max((one.score for one in meaning.symptoms), default=1.0) < 0.95:
            return replace(meaning, worth=JOINED_COSTS * meaning.worth)
        return meaning

    def _meaning(self, heard: Clause, topic: str = "") -> _Meaning:
        heard = self._index.mended(heard)
        telling = tells(heard)
        if heard.unsure:
            return _Meaning(left_over=telling)
        starts, rest = self._starts_in(heard)
        if _is_all_told(starts, rest):
            return _Meaning((), starts, self._index.weight(heard.stems))
        taken = self._symptoms_in(heard)
        if starts and rest.stems:
            taken = max(taken, self._symptoms_in(rest), key=_best_score)
        if starts and not tells(rest):
            taken = tuple(one for one in taken if one.seen == "yes")
        if not (taken or heard.denials) and topic and telling and heard.stems[0] not in TOPICS:
            taken = self._symptoms_about(topic, heard)
        begun = max(self._index.weight(heard.stems) - self._index.weight(rest.stems), 0.0)
        begun = max(begun, 0.3) if starts else 0.0
        worth = begun + (taken[0].covered * taken[0].score ** 2 if taken else 0.0)
        half = 0.5 * self._index.weight(heard.stems)
        most_is_start = bool(starts) and begun >= half
        praise = self._index.weight(heard.praise)
        explained = any(one.seen == "yes" or one.covered + praise >= half for one in taken)
        return _Meaning(taken, starts, worth, telling and not explained and not most_is_start)

    def _symptoms_about(self, topic: str, heard: Clause) -> tuple[_Taken, ...]:
        """'The clamp sparks and gets hot': the second half is about the clamp too."""
        about = self._index.mended(replace(heard, stems=(topic, *heard.stems), turned=()))
        return tuple(replace(one, score=INDIRECT * one.score) for one in self._symptoms_in(about))

    def _symptoms_in(self, heard: Clause) -> tuple[_Taken, ...]:
        said_yes, said_no = self._readings(heard)
        yes, no = _best_per_owner(said_yes), _best_per_owner(said_no)
        top_no = no[0].score if no else 0.0
        if yes and yes[0].score >= max(SURE_ENOUGH, top_no):
            rival = yes[1].score if len(yes) > 1 else 0.0
            if yes[0].score < CLEAR and yes[0].score - rival < TOO_CLOSE:
                return ()
            return (_taken(yes[0], "yes"),)
        enough = max(DENIED_ENOUGH, top_no - ALSO_DENIED)
        return tuple(_taken(fit, "no") for fit in no if fit.score >= enough)[:3]

    def _readings(self, heard: Clause) -> tuple[list[Fit], list[Fit]]:
        """Every way to read the clause as 'it is there', and as 'it is not there'."""
        yes: list[Fit] = []
        no: list[Fit] = []
        judged = heard.praise | heard.blame
        sometimes = heard.conditional and not heard.denials  # 'fine until it warms up'
        for fit in self._index.fits(heard.stems, "symptom"):
            if (heard.denials or sometimes) and not judged <= set(fit.phrase.read.stems):
                continue
            if _crossed(heard, fit.phrase.read):
                continue
            if fit.phrase.read.denials == heard.denials:
                yes.append(fit)
            elif _denies(heard, fit.phrase.read):
                no.append(fit)
        if sometimes:
            return yes, []
        if heard.turned and heard.denials <= 1:
            for fit in self._index.fits(heard.turned, "symptom"):
                if not fit.phrase.read.denials:
                    (yes if heard.denials else no).append(fit)
        if judged and heard.denials <= 1:
            self._add_judgements(heard, yes, no)
        return yes, no

    def _add_judgements(self, heard: Clause, yes: list[Fit], no: list[Fit]) -> None:
        """'Gas is fine' denies 'no gas' and 'weak gas'; 'arc is not steady' says 'unsteady arc'."""
        praised = bool(heard.praise) != bool(heard.denials)
        topic = tuple(stem for stem in heard.stems if stem not in heard.praise | heard.blame)
        if praised:
            for fit in self._index.fits(topic, "symptom"):
                if fit.phrase.read.denials == 1 and not fit.phrase.read.praise:
                    no.append(fit)
        elif not heard.praise & STEADY:
            return
        for fit in self._index.fits(topic, "symptom", any_blame=True):
            read = fit.phrase.read
            if (read.blame or (read.lacks and heard.praise and praised)) and not read.denials:
                (no if praised else yes).append(replace(fit, score=INDIRECT * fit.score))

    def _starts_in(self, heard: Clause) -> tuple[tuple[Fit, ...], Clause]:
        """Starts and set-up that the clause names, one a facet, and the clause without their words."""
        found = {
            one.facet: Fit(one, 1.0, 1.0, one.weight)
            for one in reversed(self._index.idioms)
            if _contains(heard, one.read)
        }
        for fit in (
            *self._index.fits(heard.stems, "start"),
            *self._index.fits(heard.stems, "told"),
        ):
            denied = fit.phrase.read.denials != heard.denials
            if denied or fit.phrase.idiom or fit.recall < START_ENOUGH:
                continue
            if len(fit.phrase.read.stems) == 1 and not _shares_longest(heard, fit.phrase.read):
                continue
            known = found.get(fit.phrase.facet)
            if known is None or _start_order(fit) < _start_order(known):
                found[fit.phrase.facet] = fit
        found = {facet: fit for facet, fit in found.items() if not _is_part_of(fit, found.values())}
        used = {stem for fit in found.values() for stem in fit.phrase.read.stems}
        rest = replace(heard, stems=tuple(s for s in heard.stems if s not in used), turned=())
        return tuple(found[facet] for facet in sorted(found)), rest if found else heard

    def _danger(self, heard: _Utterance) -> list[DangerWords]:
        """Stop cards whose words were said, in one piece or over the whole; a near miss counts."""
        found: dict[str, DangerWords] = {}
        stretches = [(heard.words(index, index), one) for index, one in enumerate(heard.read)]
        if len(stretches) > 1:
            stretches.append((heard.text, clause(heard.text)))
        for number, (words, one) in enumerate(stretches):
            whole = number > 0 and number == len(heard.read)
            for card, sure in self._cards_in(self._index.mended(one), whole):
                known = found.get(card)
                if known is None or (sure and not known.sure):
                    found[card] = DangerWords(words.strip(_EDGES), card, sure)
        return list(found.values())

    def _cards_in(self, heard: Clause, whole: bool) -> Iterable[tuple[str, bool]]:
        """Cards that a stretch names. Over the whole, words far apart must fit better."""
        for fit in self._index.fits(heard.stems, "card"):
            more = heard.denials - fit.phrase.read.denials
            said = fit.score if whole else fit.recall
            near = said >= (DANGER_WHOLE if whole else DANGER_PERHAPS)
            verbatim = _contains(heard, fit.phrase.read)
            exact = verbatim or said >= DANGER_SURE
            telling = fit.covered >= LEAST_SAID and near and not fit.phrase.idiom
            telling = telling and (exact or _names_danger(fit))
            if not (telling or verbatim) or (more == 1 and not heard.unsure):
                continue
            sure = exact and more == 0 and not heard.unsure
            if exact or heard.unsure or not self._better_a_symptom(heard, said):
                yield fit.phrase.owner, sure

    def _better_a_symptom(self, heard: Clause, danger: float) -> bool:
        """'A crack down the middle' is better understood so than as a near miss of 'cracked cable'."""
        if _is_all_told(*self._starts_in(heard)):
            return True
        taken = self._symptoms_in(heard)
        return _best_score(taken) > danger and not any(t.symptom in self._dangers for t in taken)


def recognise(
    said: Sequence[str],
    symptoms: Sequence[Symptom],
    starts: Sequence[StartKind] = (),
    stop_cards: Sequence[StopCard] = (),
) -> Hearing:
    """Return what `said` means; builds a `Phrasebook` for one use.

    >>> recognise([], []).recognised
    ()
    """
    return Phrasebook(symptoms, starts, stop_cards).hear(said)


def _utterance(text: str) -> _Utterance:
    cut = tuple(pieces(text))
    carried = _carried_denials(text, cut)
    read = [
        clause(text[piece.start : piece.end], extra)
        for piece, extra in zip(cut, carried, strict=True)
    ]
    for index, after in enumerate(cut[1:]):
        if after.joiner == "with" or _opens_with_condition(text[after.start : after.end]):
            read[index] = replace(read[index], conditional=True)
    return _Utterance(text, cut, tuple(read))


def _opens_with_condition(text: str) -> bool:
    """'Feeds well, until I bend the cable': the condition belongs to what was said before it."""
    return holds_sometimes(" ".join(text.split()[:3]))


def _carried_denials(text: str, cut: Sequence[Piece]) -> list[int]:
    """'No undercut, pores or spatter': the 'no' holds for every item of a list joined by 'or'."""
    own = [clause(text[piece.start : piece.end]).denials for piece in cut]
    carried = [0] * len(cut)
    for index, piece in enumerate(cut):
        if piece.joiner not in ("or", "nor") or own[index]:
            continue
        back = index - 1
        while back > 0 and not own[back] and cut[back].joiner in (",", "or", "nor"):
            back -= 1
        if own[back] == 1:
            for item in range(back + 1, index + 1):
                carried[item] = 1
    return carried


def _denies(heard: Clause, phrase: Clause) -> bool:
    """'No spatter' denies 'spatter'; 'gas flows' denies 'no gas'."""
    if heard.denials == 1:
        return not phrase.denials
    return not heard.denials and phrase.denials == phrase.parts == 1 and affirms(heard)


def _crossed(heard: Clause, phrase: Clause) -> bool:
    """'Wire but no gas' has the words of 'gas but no wire' and the other one missing."""
    there = {stem for stem in heard.denied - phrase.denied if stem in phrase.stems}
    missing = {stem for stem in phrase.denied - heard.denied if stem in heard.stems}
    return bool(there and missing)


def _names_danger(fit: Fit) -> bool:
    """'Plug it in at the wall' has the place of 'wall plug is hot' and not what is wrong there."""
    return any(weight_class(word) is None and word not in EVERYDAY for word in fit.said)


def _taken(fit: Fit, seen: Seen) -> _Taken:
    return _Taken(fit.phrase.owner, seen, fit.score, fit.covered)


def _best_score(taken: Sequence[_Taken]) -> float:
    return taken[0].score if taken else 0.0


def _is_part_of(fit: Fit, others: Iterable[Fit]) -> bool:
    """'A new tip helps for a day' tells of slow wear, and of no new tip as the change."""
    stems = set(fit.phrase.read.stems)
    return any(
        stems < set(other.phrase.read.stems) and round(other.recall, 6) >= 1 for other in others
    )


def _is_all_told(starts: Sequence[Fit], rest: Clause) -> bool:
    """'Output is on' tells of the set-up; 'output is always on' says more than that."""
    whole = any(fit.phrase.kind == "told" and round(fit.recall, 6) >= 1 for fit in starts)
    return whole and not rest.stems


def _start_order(fit: Fit) -> tuple[float, float, str]:
    return (-round(fit.covered, 6), -round(fit.recall, 6), fit.phrase.owner)


def _best_per_owner(fits: Iterable[Fit]) -> list[Fit]:
    best: dict[str, Fit] = {}
    for fit in fits:
        known = best.get(fit.phrase.owner)
        if known is None or (fit.score, fit.covered) > (known.score, known.covered):
            best[fit.phrase.owner] = fit
    return sorted(best.values(), key=lambda f: (-round(f.score, 6), -f.covered, f.phrase.owner))


def _shares_longest(heard: Clause, phrase: Clause) -> bool:
    """'We moved it' is one word only, and 'the ball moves' has another form of it."""
    return max(phrase.words, key=len) in heard.words


def _contains(heard: Clause, phrase: Clause) -> bool:
    return f" {' '.join(phrase.words)} " in f" {' '.join(heard.words)} "
