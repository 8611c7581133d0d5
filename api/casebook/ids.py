"""Names for cases and stations that can be said across a shop floor, and keys for entries."""

from __future__ import annotations

import secrets
from collections.abc import Callable

IdSource = Callable[[], str]
_CONSONANTS = "bdfghjklmnprstvz"
_VOWELS = "aiou"


def sayable(number: int) -> str:
    """Return 32 bits as two words of consonants and vowels, read as they are written.

    >>> sayable(0), sayable(0xDEADBEEF)
    ('babab-babab', 'tupot-ruroz')
    """
    return f"{_word(number >> 16 & 0xFFFF)}-{_word(number & 0xFFFF)}"


def _word(number: int) -> str:
    return (
        _CONSONANTS[number >> 12 & 15]
        + _VOWELS[number >> 10 & 3]
        + _CONSONANTS[number >> 6 & 15]
        + _VOWELS[number >> 4 & 3]
        + _CONSONANTS[number & 15]
    )


def random_sayable() -> str:
    """Return a name drawn at random from 4,294,967,296."""
    return sayable(secrets.randbits(32))


def random_key() -> str:
    """Return an idempotency key of 128 random bits."""
    return secrets.token_hex(16)
