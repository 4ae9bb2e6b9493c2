"""The seal of a journal as a short code for paper, and what it proves later.

Whoever can write to a leg's folder can also cut rows off its end together with their heads, or work out
a wholly new chain. Nothing inside the folder tells of that: the code outside it does.
"""

from __future__ import annotations

import re
from hashlib import sha256
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.record.chain import Head

if TYPE_CHECKING:
    from collections.abc import Iterable

    from voice.record.chain import Row

_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Digits and letters without I, L, O and U, which are mistaken by eye and by hand (Crockford's base 32)."""
_MISTAKEN = str.maketrans("ILO", "110")
_GROUP = 4
_LENGTH = 20
"""Letters of a code: 19 for 95 bits of the hash, and one by which a slip in copying is told."""
_LETTERS_OF_CODE = re.compile(rf"[{_LETTERS}]{{{_LENGTH}}}")
_NUMBER = re.compile(r"[0-9]{1,9}")
_HASH = re.compile(r"[0-9a-f]{64}")


class CodeError(LegbookError):
    """What was given is no code: it was copied wrongly."""


def code(head: Head) -> str:
    """The seal for paper: the number of the last event, then five groups of four letters and digits.

    It stands for 95 bits of the hash: another journal with the same code is not to be found by trying.
    The full hash has 256.
    """
    bits = int(head.hash, 16) >> (256 - 5 * (_LENGTH - 1))
    letters = "".join(_LETTERS[bits >> 5 * n & 31] for n in reversed(range(_LENGTH - 1)))
    letters += _check_letter(head.number, letters)
    return _written(head.number, letters)


def _check_letter(number: int, letters: str) -> str:
    return _LETTERS[sha256(f"{number} {letters}".encode()).digest()[0] & 31]


def contradiction(noted: str, rows: Iterable[Row]) -> str | None:
    """What a noted code, or a whole hash, proves against a journal, in a whole sentence.

    ``None`` where the journal had that seal once, so that all up to there is as it was then.

    Raises:
        CodeError: where ``noted`` is neither, or was copied wrongly (told in 31 of 32 cases).
    """
    heads = [Head(row.number, row.hash) for row in rows]
    if _HASH.fullmatch(noted.strip().lower()):
        if noted.strip().lower() in {head.hash for head in heads}:
            return None
        return "The journal never had the seal that was noted: it was changed or cut off since."
    number, wanted = _parsed(noted)
    head = next((head for head in heads if head.number == number), None)
    if head is None:
        last = heads[-1].number if heads else 0
        return (
            f"The end was cut off: the code was noted at event {number}, "
            f"but the journal ends with event {last}."
        )
    if code(head) != wanted:
        return f"The journal up to event {number} is not the one whose code was noted."
    return None


def _parsed(noted: str) -> tuple[int, str]:
    number, *groups = re.split(r"[\s-]+", noted.strip().upper().translate(_MISTAKEN))
    letters = "".join(groups)
    known = _NUMBER.fullmatch(number) and _LETTERS_OF_CODE.fullmatch(letters)
    if not known or _check_letter(int(number), letters[:-1]) != letters[-1]:
        raise CodeError(
            f'"{noted}" is no code of a journal: it was copied wrongly. '
            "It is a number and five groups of four letters and digits, as on the summary."
        )
    return int(number), _written(int(number), letters)


def _written(number: int, letters: str) -> str:
    groups = (letters[n : n + _GROUP] for n in range(0, _LENGTH, _GROUP))
    return "-".join((str(number), *groups))
