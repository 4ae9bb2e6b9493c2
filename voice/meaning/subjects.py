"""What can be asked about: all that can be said, by the name with which it is read back.

A name is the first part of a read-back, without what may be left out and without numbers:
"pressure, <value> [<unit>]" is asked for as "pressure", "<drug>, <dose> grams" by each drug. Other
names stand in the phrase, under ``ask``. So whatever is added to the grammar can be asked about,
and nobody keeps a second list. Kinds of entry that no phrase makes have their names in the table
``[ask]`` of a file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import product, takewhile
from typing import TYPE_CHECKING

from voice.entries.measured import MEASURED
from voice.meaning.expression import Either, Marked, Row, Slot, Word, slots_of
from voice.meaning.phrase import ValueSlot, key_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from voice.entries.kinds import Entry
    from voice.meaning.expression import Expression, Value
    from voice.meaning.phrase import Phrase

_Texts = tuple[str, ...]
_Way = tuple[tuple[str, ...], tuple[tuple[str, "Value"], ...]]
"""A wording, and the values of the slots in it."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Entries of one kind in which some fields have these values."""

    kind: str
    fields: frozenset[tuple[str, str]]
    """Names and values, as slots are keyed."""

    def fits(self, entry: Entry) -> bool:
        """Whether it is about this entry."""
        return entry.kind == self.kind and all(
            (told := getattr(entry, name)) is not None and key_of(told) == value
            for name, value in self.fields
        )


@dataclass(frozen=True, slots=True)
class Subject:
    """Something that can be asked about."""

    name: str
    """As it is read back: "sodium"."""
    patterns: frozenset[Pattern]

    def fits(self, entry: Entry) -> bool:
        """Whether the entry is about it."""
        return any(pattern.fits(entry) for pattern in self.patterns)

    @property
    def measured(self) -> bool:
        """Whether there are measurements of it, so that its course can be asked for."""
        return any(pattern.kind in MEASURED for pattern in self.patterns)


class Subjects:
    """All that can be asked about with the phrases of a grammar."""

    def __init__(
        self, phrases: Iterable[Phrase], unsaid: Iterable[tuple[str, Expression]] = ()
    ) -> None:
        """The names of what ``phrases`` make, and of kinds that none makes, ``unsaid``."""
        self._names: dict[tuple[str, ...], str] = {}
        patterns: dict[str, set[Pattern]] = {}
        named = [one for phrase in phrases for one in _named(phrase)]
        named += [
            ([words for words, _ in _ways(name)], Pattern(kind, frozenset()))
            for kind, name in unsaid
        ]
        for ways, pattern in named:
            known = [self._names[way] for way in ways if way in self._names]
            name = known[0] if known else " ".join(ways[0])
            for way in ways:
                self._names.setdefault(way, name)
            patterns.setdefault(name, set()).add(pattern)
        self.by_name: Mapping[str, Subject] = {
            name: Subject(name, frozenset(found)) for name, found in patterns.items()
        }
        self._by_fields: dict[str, dict[_Texts, dict[_Texts, Subject]]] = {}
        """By kind, by the names of the fields that tell its subjects apart, and by their values."""
        for subject in self.by_name.values():
            for pattern in subject.patterns:
                names, values = (
                    zip(*sorted(pattern.fields), strict=True) if pattern.fields else ((), ())
                )
                subjects = self._by_fields.setdefault(pattern.kind, {}).setdefault(names, {})
                subjects.setdefault(values, subject)

    def of(self, entry: Entry) -> Subject | None:
        """The first subject that an entry is about; ``None`` for what no phrase says."""
        for names, subjects in self._by_fields.get(entry.kind, {}).items():
            told = [getattr(entry, name) for name in names]
            values = tuple("" if value is None else key_of(value) for value in told)
            if values in subjects:
                return subjects[values]
        return None

    def slots(self) -> dict[str, Expression]:
        """The slots ``<subject>``, of all of them, and ``<measured>``, of the measurements."""
        return {
            "subject": self._slot(self.by_name.values()),
            "measured": self._slot(s for s in self.by_name.values() if s.measured),
        }

    def _slot(self, subjects: Iterable[Subject]) -> Slot:
        names = {subject.name for subject in subjects}
        forms: dict[tuple[str, ...], Value] = {
            way: name for way, name in self._names.items() if name in names
        }
        return ValueSlot("subject", forms, {name: name for name in names})


def name_in(read: str, slots: Mapping[str, Expression]) -> str:
    """The name in a read-back, in the notation of phrases; empty where it begins with a number."""
    first, _, _ = re.sub(r"\[[^\]]*\]", "", read).partition(",")
    return " ".join(takewhile(lambda word: not _holds_numbers(word, slots), first.split()))


def _holds_numbers(word: str, slots: Mapping[str, Expression]) -> bool:
    node = slots.get(word[1:-1]) if word.startswith("<") else None
    return node is not None and any(
        not isinstance(value, str) for slot in slots_of(node) for value in slot.forms.values()
    )


def _named(phrase: Phrase) -> Iterator[tuple[list[tuple[str, ...]], Pattern]]:
    """The names of what the phrase says, with the entries that each is for."""
    if phrase.asked is None or phrase.entry is None:
        return
    ways: dict[tuple[tuple[str, Value], ...], list[tuple[str, ...]]] = {}
    for words, fields in _ways(phrase.asked):
        ways.setdefault(fields, []).append(words)
    for fields, wordings in ways.items():
        held = frozenset((name, key_of(value)) for name, value in (*phrase.fixed.items(), *fields))
        yield wordings, Pattern(phrase.entry, held)


def _ways(node: Expression) -> list[_Way]:
    """Every wording of a name, in the order in which it is written, with the values in it."""
    match node:
        case Word(text):
            return [((text,), ())]
        case Row(parts):
            return [
                (
                    tuple(word for words, _ in row for word in words),
                    tuple(field for _, fields in row for field in fields),
                )
                for row in product(*map(_ways, parts))
            ]
        case Either(parts):
            return [way for part in parts for way in _ways(part)]
        case Slot(field, forms):
            return [(form, ((field, value),)) for form, value in forms.items()]
        case Marked(part):
            return _ways(part)
