"""Phones, what each looks like in time, and the transition ids by which Kaldi names that.

The network is trained with CTC: a phone is one or more frames of its own output, then any number
of frames of the output *blank*. As a hidden Markov model that is a phone of two states, the second
of which shares the blank's output among all phones; Kaldi decodes it like any other model.

A phone has one of four positions in its word (begin, end, inside, single), so that the ends of
words are known; all four share the phone's output.

Source of the numbering rules: Kaldi, ``hmm/hmm-topology.h`` and ``hmm/transition-model.h``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

_PHONE_LINE = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW "
    "V W Y Z ZH"
)
PHONES = tuple(_PHONE_LINE.split())
"""The phones of the CMU Pronouncing Dictionary, without stress."""

BLANK = 0
"""The network's output for "no new phone"; phone ``p`` has output ``OUTPUT[p]``."""
OUTPUT = {phone: index for index, phone in enumerate(PHONES, start=1)}
OUTPUTS = len(PHONES) + 1

Position = Literal["B", "E", "I", "S"]
POSITIONS: tuple[Position, ...] = ("B", "E", "I", "S")
"""Begin, end, inside, single: Kaldi's names for a phone's place in its word."""
BOUNDARY_WORD = {"B": "begin", "E": "end", "I": "internal", "S": "singleton"}

SILENCE_ID = 1
"""Kaldi's id of the silence phone, the only one that is in no word."""
PHONE_ID = {
    (phone, position): SILENCE_ID + 1 + index * len(POSITIONS) + offset
    for index, phone in enumerate(PHONES)
    for offset, position in enumerate(POSITIONS)
}


@dataclass(frozen=True, slots=True)
class PhoneTransitions:
    """The transition ids of one phone in one position.

    On the first state (the phone's own output): stay, go on to the blank state, or leave. On the
    second (blank): stay, or leave.
    """

    stay: int
    to_blank: int
    leave: int
    blank_stay: int
    blank_leave: int


@dataclass(frozen=True, slots=True)
class SilenceTransitions:
    """The transition ids of silence, whose one state has the blank's output."""

    stay: int
    leave: int


SILENCE = SilenceTransitions(stay=1, leave=2)
_PER_PHONE = 5
TRANSITIONS = {
    key: PhoneTransitions(*range(first, first + _PER_PHONE))
    for key, phone_id in PHONE_ID.items()
    for first in [3 + (phone_id - SILENCE_ID - 1) * _PER_PHONE]
}
TRANSITION_COUNT = 2 + _PER_PHONE * len(PHONE_ID)

SELF_LOOP = {SILENCE.leave: SILENCE.stay} | {
    forward: loop
    for t in TRANSITIONS.values()
    for forward, loop in (
        (t.to_blank, t.stay),
        (t.leave, t.stay),
        (t.blank_leave, t.blank_stay),
    )
}
"""For each transition out of a state, the one that stays in that same state."""


def positions(length: int) -> tuple[Position, ...]:
    """The positions of the phones of a word of ``length`` phones."""
    if length == 1:
        return ("S",)
    inside: list[Position] = ["I"] * (length - 2)
    return ("B", *inside, "E")


def word_boundaries() -> str:
    """The text of Kaldi's ``word_boundary.int``: a line for each phone id."""
    lines = [f"{SILENCE_ID} nonword"]
    lines += [f"{number} {BOUNDARY_WORD[position]}" for (_, position), number in PHONE_ID.items()]
    return "\n".join(lines) + "\n"
