"""A probability as people say it: never as a certainty."""

from __future__ import annotations


def odds_in_words(probability: float) -> str:
    """Return a probability as people say it.

    >>> odds_in_words(0.999), odds_in_words(0.62), odds_in_words(0.04), odds_in_words(0.001)
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
