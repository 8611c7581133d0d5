"""Figures in the words of the bench. No probability is ever put as a certainty."""

from __future__ import annotations

WHO = {
    "operator": "the operator",
    "maintenance": "maintenance",
    "electrician": "an electrician",
    "service": "service",
}
HAZARD = {
    "look": "Only looking.",
    "touch_machine_off": "Hands on, machine off.",
    "live_weld_circuit": "Live weld circuit.",
    "covers_off_or_supply": "Covers off or supply side: not for an operator.",
}


def chance_in_words(probability: float) -> str:
    """Return a probability as people say it.

    >>> chance_in_words(0.999), chance_in_words(0.62), chance_in_words(0.04), chance_in_words(0.001)
    ('better than 9 in 10', 'about 6 in 10', 'about 1 in 20', 'less than 1 in 100')
    """
    if probability >= 0.95:
        return "better than 9 in 10"
    if probability >= 0.075:
        return f"about {max(1, round(probability * 10))} in 10"
    for least, words in ((0.035, "about 1 in 20"), (0.015, "about 1 in 50")):
        if probability >= least:
            return words
    return "about 1 in 100" if probability >= 0.005 else "less than 1 in 100"


def minutes_in_words(minutes: float) -> str:
    """Return minutes as people say them.

    >>> minutes_in_words(0.5), minutes_in_words(3.2), minutes_in_words(95)
    ('half a minute', '3 min', '1 h 35 min')
    """
    if minutes < 0.75:
        return "half a minute"
    whole = round(minutes)
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def weight_in_words(factor: float) -> str:
    """Return what an item of evidence does to the odds, in words and as a figure.

    >>> weight_in_words(22.0), weight_in_words(0.07)
    ('strong, odds times 22', 'strong, odds divided by 14')
    """
    size = max(factor, 1 / factor)
    words = (
        "strong" if size >= 10 else "clear" if size >= 3 else "some" if size >= 1.5 else "slight"
    )
    figure = f"{size:.0f}" if size >= 10 else f"{size:.1f}".removesuffix(".0")
    figure = figure if size < 1000 else "1000 or more"
    return f"{words}, odds {'times' if factor > 1 else 'divided by'} {figure}"


def lower_first(text: str) -> str:
    """Return the text with a small first letter, unless it starts with an abbreviation.

    >>> lower_first("Arc is erratic"), lower_first("DC"), lower_first("A joint")
    ('arc is erratic', 'DC', 'a joint')
    """
    word = text.split(" ", 1)[0]
    return text if len(word) > 1 and word[1:] != word[1:].lower() else text[:1].lower() + text[1:]
