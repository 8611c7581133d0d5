"""The handover sheet in Markdown. Everything that people entered is escaped."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from api.handover import words
from diagnose.handover.sheet import AskedOf, HandoverSheet, Task

_ACTS_ANYWHERE = re.compile(r"([\\`*_\[\]<>|~&@$])")
_ACTS_IN_FRONT = re.compile(r"^([#+=-])|^(\d+)(?=[.)](?:\s|$))")
_LINKS_ITSELF = re.compile(r"(?i)(https?|ftp|www)(:|\.)")


def plain(text: str) -> str:
    r"""Return text that Markdown shows as it is: one line, nothing in it acts.

    >>> plain("arc *dead*\n# <b>now</b>")
    'arc \\*dead\\* # \\<b\\>now\\</b\\>'
    >>> plain("- www.example"), plain("1. now"), plain("0.4 V")
    ('\\- www\\.example', '1\\. now', '0.4 V')
    """
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    line = _LINKS_ITSELF.sub(r"\1\\\2", _ACTS_ANYWHERE.sub(r"\\\1", line))
    return _ACTS_IN_FRONT.sub(_held, line)


def _held(match: re.Match[str]) -> str:
    return f"\\{match[1]}" if match[1] else f"{match[2]}\\"


def as_markdown(sheet: HandoverSheet) -> str:
    """Return the sheet as Markdown text, with a newline at its end."""
    return "\n".join(_lines(sheet)).rstrip("\n") + "\n"


def _lines(sheet: HandoverSheet) -> Iterator[str]:
    yield f"# Handover: {plain(sheet.station or sheet.case_id or 'station')}"
    yield ""
    yield from _table(("", ""), words.facts(sheet))
    yield from _stop_cards(sheet)
    yield from _list("Complaint, in the welder's words", (f"“{said}”" for said in sheet.complaint))
    noticed = [words.noticed(row) for row in sheet.symptoms]
    yield from _list("Noticed", [*noticed, *(f"started: {one}" for one in sheet.started)])
    if sheet.plate:
        yield from _titled(
            "Station", _table(("", ""), [(row.what, row.says) for row in sheet.plate])
        )
    yield from _list("Not known yet", sheet.not_known)
    yield from _list("Entered, but not in this program's knowledge", sheet.lost)
    if sheet.done:
        rows = [
            (words.clock(row.at), row.who or "", row.what, words.done_line(row))
            for row in sheet.done
        ]
        yield from _titled(
            "What was done", _table(("When (UTC)", "Who", "What", "What came of it"), rows)
        )
    yield from _list(
        "Hardly to blame, and why",
        (f"{words.ruled_out_line(row)}. {row.why}" for row in sheet.ruled_out),
    )
    yield from _left(sheet)
    for person in sheet.asked_of:
        yield from _asked(person)
    yield from _list("Open safety points", sheet.open_safety)
    yield from _list("Bring", [*sheet.bring.tools, *sheet.bring.parts])
    yield ""
    yield plain(sheet.disclaimer)


def _titled(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield ""
    yield f"## {title}"
    yield ""
    yield from lines


def _list(title: str, items: Iterable[str]) -> Iterator[str]:
    lines = [f"- {plain(item)}" for item in items]
    if lines:
        yield from _titled(title, lines)


def _table(heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> Iterator[str]:
    yield f"| {' | '.join(heads)} |"
    yield f"|{'---|' * len(heads)}"
    for row in rows:
        yield f"| {' | '.join(plain(cell) for cell in row)} |"


def _stop_cards(sheet: HandoverSheet) -> Iterator[str]:
    if not sheet.stop_cards:
        return
    yield from _titled("Stop cards", [])
    for card in sheet.stop_cards:
        yield f"- **{card.signal_word}: {plain(card.title)}**: {plain(words.card_state(card))}"
        if card.state != "made_safe":
            yield from (f"  - {plain(step)}" for step in card.do)


def _left(sheet: HandoverSheet) -> Iterator[str]:
    if sheet.state == "closed":
        return
    rows = [
        (
            row.title + words.left_note(row),
            row.place,
            row.in_words,
            words.PEOPLE[row.who],
        )
        for row in sheet.left
    ]
    rows.append(("A fault not in our list", "", sheet.not_in_our_list, ""))
    heads = ("Fault", "Where", "How likely", "Whose job")
    yield from _titled("What is left", _table(heads, rows))
    yield from _list("Explained by none of these", sheet.unexplained)
    yield from _list("Also wrong, though not the cause of this complaint", sheet.also_wrong)


def _asked(person: AskedOf) -> Iterator[str]:
    yield from _titled(f"Asked of: {words.PEOPLE[person.who]}", [])
    if only := words.ONLY.get(person.who):
        yield f"**{only}**"
        yield ""
    for number, task in enumerate(person.tasks, start=1):
        yield from _task(number, task)


def _task(number: int, task: Task) -> Iterator[str]:
    minutes = f"{task.minutes:g} min" if task.minutes else ""
    about = ", ".join(part for part in (minutes, words.HAZARDS[task.hazard]) if part)
    yield f"{number}. **{plain(task.title)}**" + (f" ({about})" if about else "")
    if task.waits:
        yield "   - **Not before the stop cards are lifted.**"
    for step in task.steps:
        yield f"   - {plain(step)}"
    if task.good:
        yield f"   - Good: {plain(task.good)}"
    if task.proved_by:
        yield f"   - Proved by: {plain(task.proved_by)}"
