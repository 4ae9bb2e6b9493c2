"""What the job needs to be said, against what the grammar, the entries and the summary make of it.

    python -m voice.training.needs > docs/needs.md

The needs are listed in ``grammar/needs/needs.toml``, in the words of the job and apart from the
phrases, so that a need without a phrase is seen. Everything else in the table is made: the phrase
is an example of the phrase files, the entry is what it means, the read-back is the grammar's, and
the line of the summary is what the summary of a leg gains by this one entry.
"""

from __future__ import annotations

import sys
import tomllib
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

from voice.entries.errors import LegbookError
from voice.entries.leg import EntryState, Leg, LegEntry, LegSettings
from voice.entries.said import Correction, Question, Several, Statement
from voice.meaning.grammar import GRAMMAR_FOLDER, load_grammar
from voice.meaning.readback import read_back
from voice.report.summary import summary_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.kinds import Entry
    from voice.entries.said import Meaning
    from voice.meaning.grammar import Example, Grammar

NEEDS = GRAMMAR_FOLDER / "needs" / "needs.toml"
"""The list of needs."""

_START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
_SAID = _START + timedelta(minutes=10)
_EVERYTHING = "Every entry"
"""The section in which each entry stands anyhow."""

_HEAD = """\
# What can be said

What the job needs, a phrase for it, the entry that it makes, how it is read back and the line that
it gives the summary. Made from the grammar; do not edit. To make it again:
`python -m voice.training.needs > docs/needs.md`.

legbook records and reminds; it never orders care: local protocol, the written order and licensed
judgement come first.

The phrase is one example of many wordings: numbers may be said as words or digit by digit, and the
phrase files in `grammar/` have them all. Phrases and read-backs are spelled as the model spells them
(“color”, “leveled”); typed in another spelling they are read as the same."""


class NeedError(LegbookError):
    """A need that is not met; the sentence says which, and what is missing."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that has to be sayable."""

    subject: str
    need: str
    """In the words of the job."""
    kind: str
    """What meets it: a kind of entry, else the ``form`` of a meaning."""
    where: dict[str, Any]
    """Fields that it must have; "*" for any value."""


@dataclass(frozen=True, slots=True)
class Met:
    """A need and all that meets it."""

    need: Need
    phrase: str
    entry: str
    read_back: str
    summary: str


def needs() -> tuple[Need, ...]:
    """The list, in its order."""
    told = tomllib.loads(NEEDS.read_text("utf-8"))
    return tuple(
        Need(subject, row.pop("need"), row.pop("kind"), row)
        for subject, rows in told.items()
        for row in rows
    )


def meet(need: Need, grammar: Grammar) -> Met:
    """The phrase, the entry, the read-back and the summary's line for a need.

    Raises NeedError where one of them is missing.
    """
    example = next((e for e in grammar.examples if _meets(e, need)), None)
    if example is None:
        raise NeedError(
            f"No example of the grammar says “{need.need}” ({need.kind}, {need.where})."
        )
    settings = LegSettings()
    match example.meaning:
        case Statement(entry=entry) | Correction(statement=Statement(entry=entry)):
            line, made = _line(need, entry), _made(entry)
        case Several(statements=statements):
            line = "; ".join(_line(need, one.entry) for one in statements)
            made = "; ".join(_made(one.entry) for one in statements)
        case Question(about=about):
            line, made = "answered aloud", f"none: it asks, `{about}`"
        case _:
            line, made = "", "none: it steers the talk"
    spoken = read_back(example.meaning, settings, grammar)
    return Met(need, example.text, made, spoken, line)


def _line(need: Need, entry: Entry) -> str:
    line = summary_line(entry)
    if line is None:
        raise NeedError(f"The summary has no line of its own for “{need.need}”.")
    return line


def _made(entry: Entry) -> str:
    fields = entry.model_dump(exclude={"kind"}, exclude_none=True)
    told = ", ".join(f"{name} {value}" for name, value in fields.items())
    return f"`{entry.kind}`" + (f": {told}" if told else "")


def _meets(example: Example, need: Need) -> bool:
    meaning: Meaning = example.meaning
    match meaning:
        case Statement(entry=entry):
            return entry.kind == need.kind and _has(entry.model_dump(), need.where)
        case _:
            return meaning.form == need.kind and _has(meaning.model_dump(), need.where)


def _has(fields: dict[str, Any], wanted: dict[str, Any]) -> bool:
    return all(
        fields.get(name) is not None if value == "*" else fields.get(name) == value
        for name, value in wanted.items()
    )


def summary_line(entry: Entry) -> str | None:
    """What the summary of a leg gains by this entry, outside the list of all entries."""
    before = set(_lines(()))
    return next((line for line in _lines((entry,)) if line not in before), None)


def _lines(entries: tuple[Entry, ...]) -> Iterator[str]:
    """The paragraphs of a leg's summary without the list of all entries, each on one line."""
    leg = Leg(
        id="needs",
        settings=LegSettings(),
        started_at=_START,
        entries=tuple(
            LegEntry(
                number=number,
                entry=entry,
                heard="",
                spoken_at=_SAID,
                happened_at=_SAID,
                state=EntryState.CONFIRMED,
            )
            for number, entry in enumerate(entries, 1)
        ),
    )
    section = ""
    paragraph = ""
    for line in [*summary_text(leg, _SAID).splitlines(), ""]:
        goes_on = line.startswith("    ")
        if paragraph and not goes_on:
            if section != _EVERYTHING and not paragraph.startswith("Entries: "):
                yield paragraph
            paragraph = ""
        if line.startswith(" "):
            paragraph = f"{paragraph} {line.strip()}".strip()
        elif line:
            section = line


def page() -> str:
    """The whole page. Raises NeedError where a need is not met."""
    grammar = load_grammar()
    lines = [_HEAD]
    subject = ""
    for need in needs():
        if need.subject != subject:
            subject = need.subject
            lines += [
                "",
                f"## {subject}",
                "",
                "| need | say | entry | read back | in the summary |",
            ]
            lines += ["|---|---|---|---|---|"]
        met = meet(need, grammar)
        cells = (need.need, f"“{met.phrase}”", met.entry, f"“{met.read_back}”", met.summary)
        lines.append("| " + " | ".join(cells) + " |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.write(page())
