"""The session itself: show a step, take a line, keep it, reason again."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from api.cli import chase_show as show
from api.cli.chase_log import CaseLog, minutes_since
from api.cli.chase_talk import Reader, Said, understood
from api.cli.show.page import Page
from api.errors import CaseClosed, EntryRefused, StorageError, VersionConflict
from api.exit_codes import ExitCode
from diagnose.reason import Reasoned, reason
from diagnose.session.answers import SKIP, UNKNOWN, Entry, closing, entries_of
from diagnose.session.history import as_it_stands
from diagnose.session.moves import hand_over, leaders, next_move
from diagnose.session.steps import Choice, Step, proved_by
from knowledge.loader import Knowledge

Put = Callable[[Callable[[Page], None]], None]
_DANGERS = "dangers"
_OVERTAKEN = (
    "NOT kept: somebody else has added to this case meanwhile. This is how it stands now; "
    "give your answer again if it still holds."
)


class Session:
    """One guided session on one case, line by line. `put` writes a page where the user reads it."""

    def __init__(
        self,
        log: CaseLog,
        knowledge: Knowledge,
        reader: Reader,
        put: Put,
        learned: Mapping[str, float] | None = None,
    ) -> None:
        self._log = log
        self._knowledge = knowledge
        self._reader = reader
        self._put = put
        self._learned = learned
        self._hazard: str | None = None
        self._before: show.Odds | None = None
        self._first = log.events[-1].seq
        self._reasoned: Reasoned
        self._step: Step

    def run(self) -> ExitCode:
        """Go from step to step until the case is closed, handed over, or the user stops.

        Ctrl+C at any moment says what is kept and how to go on, and is raised again.
        """
        try:
            return self._to_the_end()
        except KeyboardInterrupt:
            self._stopped()
            raise

    def _to_the_end(self) -> ExitCode:
        self._think(words=self._log.case.said)
        while (code := self._ended()) is None:
            line = self._reader.line()
            said = Said("quit") if line is None else understood(line, self._step)
            if said.act == "quit":
                return self._stopped()
            try:
                self._do(said)
            except (VersionConflict, CaseClosed):
                self._log.reload()
                self._say(_OVERTAKEN)
                self._think()
                if not self._reader.typed:
                    return ExitCode.CONFLICT
            except EntryRefused as error:
                self._say(f"Not taken: {error}")
            except StorageError:
                self._say("NOT kept: the casebook cannot be written. What was kept before stands.")
                raise
        return code

    def _reason(self) -> Reasoned:
        case = as_it_stands(self._log.case, self._log.history, self._knowledge)
        return reason(case, self._knowledge, self._learned)

    def _think(self, words: Sequence[str] = ()) -> None:
        """Reason about the case as it stands, and put what was understood of `words` and the next step."""
        self._reasoned = self._reason()
        self._step = next_move(self._reasoned, self._log.history)
        if words:
            self._put(lambda page: show.put_understood(page, self._reasoned, words))
        if self._step.kind == "cured":
            self._close()
        elif self._log.closed is None:
            self._put(self._put_all)
        self._before = show.Odds.of(self._reasoned)

    def _put_all(self, page: Page) -> None:
        if self._step.kind not in ("words", "stop"):
            show.put_leaders(page, leaders(self._reasoned), self._before)
        self._put_step(page)

    def _put_step(self, page: Page) -> None:
        show.put_step(page, self._step, hazard_before=self._hazard)
        self._hazard = self._step.hazard or self._hazard

    def _say(self, text: str) -> None:
        self._put(lambda page: page.put(text))

    def _do(self, said: Said) -> None:
        acts: dict[str, Callable[[Said], None]] = {
            "repeat": lambda _: self._put(self._put_step),
            "help": lambda _: self._put(show.put_help),
            "why": lambda _: self._put(lambda page: show.put_why(page, self._step)),
            "not_taken": lambda said: self._say(said.text),
            "undo": self._undo,
            "words": self._words,
            "danger": self._danger,
            "hand_over": self._hand_over,
            "reading": self._reading,
        }
        acts.get(said.act, self._answer)(said)

    def _answer(self, said: Said) -> None:
        """Keep an answer to the step and go on."""
        step = self._step
        passed = {"skip": SKIP, "unknown": UNKNOWN}.get(said.act)
        if step.kind == "proof" and passed:
            self._say("A remedy counts when it is proved. q keeps the case until it can be.")
            return
        if step.kind == "symptom" and passed == UNKNOWN:
            self._say("Noted: not known. Was it no? Then - takes this back, and 2 is no.")
        key = passed or (step.choices[said.number - 1].key if said.act == "choice" else "")
        text = said.text if said.act == "text" else ""
        proof = self._proof_of(step.id) if step.kind == "proof" else ""
        entries = entries_of(step, key, self._log.history, proved_by=proof, text=text)
        if entries:
            self._log.add(self._timed(entries), who=said.text if step.takes_name else None)
        self._think(words=[text] if text and step.kind == "words" else [])

    def _proof_of(self, fault: str) -> str:
        return proved_by(self._knowledge, fault, self._reasoned.case.user.may)

    def _timed(self, entries: Sequence[Entry]) -> list[Entry]:
        """Return the entries with the minutes that the check, or remedy and proof, took."""
        back = 2 if self._step.kind == "proof" else 1
        minutes = minutes_since(self._log.events, self._step.minutes, back)
        if minutes is None:
            return list(entries)
        return [
            Entry(kind, {**body, "minutes": minutes} if kind in ("found", "remedied") else body)
            for kind, body in entries
        ]

    def _undo(self, _: Said) -> None:
        taken_back = self._log.undo()
        if not taken_back:
            self._say("Nothing to take back but the first report. w adds words.")
            return
        last = taken_back[-1]
        self._put(lambda page: show.put_taken_back(page, self._knowledge, last.kind, last.body))
        self._think()

    def _words(self, said: Said) -> None:
        text = said.text
        if not text:
            self._say("What else does the welder say?")
            text = " ".join((self._reader.line() or "").split())
        if text:
            self._log.add([Entry("reported", {"said": [text]})])
            self._think(words=[text])

    def _danger(self, said: Said) -> None:
        """Keep a danger that is reported; where no card knows the words, offer the list of them."""
        if said.text:
            self._log.add([Entry("reported", {"said": [said.text]})])
            self._think(words=[said.text])
            if self._step.kind == "stop":
                return
        rows = self._knowledge.stop_cards.values()
        self._step = Step(
            kind="words",
            id=_DANGERS,
            title="Stop. Which danger is it?",
            choices=tuple(Choice(key=card.raised_by[0], says=card.title) for card in rows),
        )
        self._put(self._put_step)

    def _hand_over(self, _: Said) -> None:
        self._step = hand_over(self._reasoned, self._log.history)
        self._put(self._put_step)

    def _reading(self, said: Said) -> None:
        """Keep a reading and say what it comes to; where it is used, it settles the check."""
        step = self._step
        self._log.add([Entry("read", said.reading or {})])
        reasoned = self._reason()
        item = f"readings[{len(reasoned.case.readings) - 1}]"
        why_not = next((note.why for note in reasoned.sums.unused if note.item == item), "")
        if why_not:
            self._say(f"Kept, but not used: {why_not}.")
        elif says := reasoned.sums.says.get(item):
            self._say(says)
            if step.kind == "check":
                body = {"check": step.id, "result": "not_sure", "note": "told by a reading"}
                self._log.add([Entry("found", body)])
        else:
            self._say("Kept. By itself it says nothing about these faults.")
        self._think()

    def _close(self) -> None:
        """Add what is missing after a cure, should an earlier session have been cut off there."""
        if self._log.closed is None:
            fault = self._step.id
            self._log.add(closing(fault, self._log.history, self._proof_of(fault)))

    def _ended(self) -> ExitCode | None:
        if closed := self._log.closed:
            self._put(
                lambda page: show.put_closed(page, self._knowledge, closed.body, self._log.case_id)
            )
            cured = closed.body["outcome"] == "cured"
            return ExitCode.ANSWERED if cured else ExitCode.CANT_TELL
        last = self._log.events[-1]
        if last.kind == "handed_over" and last.seq > self._first:
            to = str(last.body["to"])
            self._put(lambda page: show.put_handed_over(page, to, self._log.case_id))
            return ExitCode.ANSWERED
        return None

    def _stopped(self) -> ExitCode:
        self._put(lambda page: show.put_kept(page, self._log.case_id))
        return ExitCode.ANSWERED
