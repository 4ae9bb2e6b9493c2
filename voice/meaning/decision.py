"""What is to be done with one hearing: take it, ask between two, or let it go."""

from __future__ import annotations

from enum import StrEnum
from typing import Literal

from voice.entries.frozen import Frozen
from voice.entries.said import ConfirmAnd, Meaning


class Heard(Frozen):
    """One reading of the sound: the words and what they mean."""

    text: str
    meaning: Meaning


class Accept(Frozen):
    """Clear enough to be read back."""

    outcome: Literal["accept"] = "accept"
    heard: Heard


class AskBetween(Frozen):
    """Two readings are too close together: the nurse chooses."""

    outcome: Literal["ask"] = "ask"
    first: Heard
    second: Heard


class Doubt(StrEnum):
    """Why something for us was not understood."""

    NO_WORDS = "no words were made out"
    CLOSE = "too many readings are equally near"
    FAINT = "it was too unlike any phrase"
    CUT = "it went on too long"
    UNFINISHED = "it broke off"
    """It is the beginning of a phrase, and no rest of it came."""
    TOO_SOON = "what it answers had not been spoken yet"
    OVER_US = "it was said while the program spoke"


class NotUnderstood(Frozen):
    """It was for us, but no reading stands out."""

    outcome: Literal["not_understood"] = "not_understood"
    doubt: Doubt


class NotForUs(Frozen):
    """Other talk: it is passed over without a word."""

    outcome: Literal["not_for_us"] = "not_for_us"


Decision = Accept | AskBetween | NotUnderstood | NotForUs
"""What is to be done with one hearing."""


def confirms_and(decision: Decision) -> bool:
    """Whether it is a "confirm" with an entry behind it."""
    match decision:
        case Accept(heard=heard) | AskBetween(first=heard):
            return isinstance(heard.meaning, ConfirmAnd)
    return False
