"""Probabilities and titles inside a sentence. No probability is ever put as a certainty."""

from __future__ import annotations


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


def lower_first(text: str) -> str:
    """Return the text with a small first letter, unless it starts with an abbreviation.

    >>> lower_first("Arc is erratic"), lower_first("DC"), lower_first("A joint")
    ('arc is erratic', 'DC', 'a joint')
    """
    word = text.split(" ", 1)[0]
    return text if len(word) > 1 and word[1:] != word[1:].lower() else text[:1].lower() + text[1:]
