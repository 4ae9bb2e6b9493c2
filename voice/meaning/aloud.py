"""Written sentences made ready to be spoken: numbers digit by digit, units in words."""

from __future__ import annotations

import re

from voice.meaning.numbers import digit_words

UNITS = {
    "mmHg": "millimetres of mercury",
    "cmH2O": "centimetres of water",
    "mL": "mils",
    "min": "minutes",
    "CSF": "C S F",
    "ICP": "I C P",
}
"""How what is written short is said."""

_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?!\w)")
_SHORT = re.compile(rf"\b(?:{'|'.join(map(re.escape, UNITS))})\b")


def aloud(sentence: str) -> str:
    """``sentence`` as it is spoken: "at most 15 mL" is "at most one five mils".

    Digit by digit since fifteen and fifty sound alike; see ``voice.meaning.numbers.digit_words``.
    """
    spoken = _SHORT.sub(lambda short: UNITS[short[0]], sentence)
    return _NUMBER.sub(lambda number: digit_words(float(number[0])), spoken)
