"""Figures in the words of the bench. No probability is ever put as a certainty."""

from __future__ import annotations

from diagnose.in_words import chance_in_words, lower_first

__all__ = [
    "HAZARD",
    "WHO",
    "chance_in_words",
    "lower_first",
    "minutes_in_words",
    "weight_in_words",
]

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
