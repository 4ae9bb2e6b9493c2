"""One phrase of the grammar: its words, what they mean, and how that is read back."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from voice.entries.errors import LegbookError
from voice.meaning.expression import Expression, Slot, Value
from voice.meaning.listening import Listening
from voice.meaning.numbers import plain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.leg import LegSettings
    from voice.entries.said import About, Meaning, Talk

STATEMENT_STATES = frozenset({Listening.LISTENING, Listening.CONFIRMING, Listening.CHECKING})
"""When entries, corrections and times are legal."""


class GrammarError(LegbookError):
    """A phrase file that cannot be used; the sentence names the file and the line or phrase."""


@dataclass(frozen=True, eq=False)
class ValueSlot(Slot):
    """A slot that also knows how each value is read back."""

    spoken: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Phrase:
    """One table ``[[phrase]]`` of a phrase file."""

    file: str
    say: str
    expression: Expression
    slots: Mapping[str, ValueSlot]
    entry: str | None = None
    """Kind of the entry it makes, if it makes one."""
    time: str | None = None
    """``minutes_ago`` or ``clock_time``, if it tells when."""
    place: str | None = None
    """Where a time may stand: ``before`` or ``after`` the entry."""
    talk: Talk | None = None
    question: About | None = None
    """What it asks about, if it is a question."""
    check: str | None = None
    """Name of the check list that it starts."""
    choice: bool = False
    correction: bool = False
    lead_in: bool = False
    """Whether it may stand before an entry or a question and means nothing, as "okay"."""
    joined: bool = False
    """Whether its entry may be said in one breath with others."""
    timeless: bool = False
    """Whether no other time may be told with it: its words tell one of their own."""
    states: frozenset[Listening] = STATEMENT_STATES
    fixed: Mapping[str, Value] = field(default_factory=dict)
    default: Mapping[str, str] = field(default_factory=dict)
    """Fields that take a setting of the leg where they are not said."""
    cost: float = 0.0
    """How much rarer it is said than the rest, as a natural logarithm."""
    misgiven: bool = False
    """Whether it gives drugs in a unit in which they are not given: it is heard, and refused."""
    read: str | None = None
    long: str | None = None
    """How it is read back in the long style; ``None``: as ever."""
    asked: Expression | None = None
    """By which name its entry is asked for; ``None`` where it has none of its own."""

    def read_back(
        self, fields: Mapping[str, Value | None], settings: LegSettings, *, long: bool = False
    ) -> str | None:
        """``fields`` in the words of this phrase; ``None`` where it cannot tell all of them.

        ``long`` is with the name in full, and with the unit though it is the leg's own.
        """
        if self.read is None:
            return None
        template = self.long if long and self.long else self.read
        told = {name: value for name, value in fields.items() if value is not None}
        for name, value in self.fixed.items():
            if told.pop(name, None) != value:
                return None
        for name, setting in self.default.items():
            own = told.get(name) == getattr(settings, setting)
            if own and not (long and f"<{name}>" in template):
                del told[name]
        words: dict[str, str] = {}
        for name, value in told.items():
            slot = self.slots.get(name)
            spoken = slot.spoken.get(key_of(value)) if slot else None
            if spoken is None:
                return None
            words[name] = spoken
        return _fill(template, words)


@dataclass(frozen=True, eq=False)
class Example:
    """A phrase and what it must mean, as its file says."""

    file: str
    text: str
    meaning: Meaning


def key_of(value: Value) -> str:
    """A value as slots are keyed: 14 and 14.0 are the same, true is "true"."""
    if isinstance(value, bool):
        return str(value).lower()
    return value if isinstance(value, str) else str(plain(value))


def _fill(template: str, words: Mapping[str, str]) -> str | None:
    """``template`` with its slots filled; a part in [ ] goes where a slot in it has no words.

    ``None`` where a slot outside [ ] has no words, or where words found no place.
    """
    placed: set[str] = set()

    def put(text: str) -> str | None:
        names = re.findall(r"<(\w+)>", text)
        if not all(name in words for name in names):
            return None
        placed.update(names)
        return re.sub(r"<(\w+)>", lambda m: words[m[1]], text)

    text = put(re.sub(r"\[([^\]]*)\]", lambda m: put(m[1]) or "", template))
    if text is None or placed != set(words):
        return None
    return " ".join(text.split()).replace(" ,", ",").strip(" ,")
