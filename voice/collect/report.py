"""The report across legs: what the views of the database say, as text and as CSV.

Every line is one `Figure`; the text and the file hold the same.
"""

from __future__ import annotations

import csv
from io import StringIO
from textwrap import fill
from typing import TYPE_CHECKING, Any, NamedTuple

from psycopg import IsolationLevel
from psycopg.rows import DictRow, dict_row

from voice.report.telling import CAUTION
from voice.report.wording import number

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from typing import LiteralString

    from psycopg import Connection

WIDTH = 78
"""Columns of the text."""

LIMITS = (
    "pressure above the order",
    "pressure below the order",
    "perfusion below the order",
    "output at the order",
    "flushed beyond the order",
)
"""Those states of docs/consequences.md that are an ordered limit that was passed."""

NOT_IN_IT = (
    "Legs that nobody has sent, that had not ended, or that were not as they were written.",
    "What nobody said aloud: a limit is passed here only where a reading told so.",
    "Which leg, whose, when and by whom: nothing here names a patient, a day or a person.",
    "No entry is left out because it was never confirmed: how many those are is told above.",
    "Corrected and withdrawn entries are in no figure but their own counts.",
    "Errors that no reviewer found: what was misheard or missed is the least that there was.",
    "Confusions on legs whose reviewer does not let them be told; the weight and the diagnosis.",
)
"""Stands at the end of every report."""


class Figure(NamedTuple):
    """One line of the report."""

    section: str
    what: str
    value: float | None = None
    """``None`` where the line is a sentence."""
    unit: str = ""
    note: str = ""


def report(connection: Connection) -> tuple[Figure, ...]:
    """All figures of one moment, in order. Raises what psycopg raises."""
    connection.isolation_level = IsolationLevel.REPEATABLE_READ
    with connection.transaction():
        (total,) = _rows(connection, "SELECT * FROM legbook.report_total")
        states = _rows(connection, "SELECT * FROM legbook.report_state ORDER BY times DESC, rule")
        reminders = _rows(
            connection, "SELECT * FROM legbook.report_reminder ORDER BY said DESC, rule"
        )
        confusions = _rows(
            connection,
            "SELECT * FROM legbook.report_confusion ORDER BY times DESC, meant, heard NULLS LAST",
        )
    limits = [state for state in states if state["rule"] in LIMITS]
    others = [state for state in states if state["rule"] not in LIMITS]
    return (
        *_legs(total),
        *_entries(total),
        *_clamped(total),
        *_states("Ordered limits passed", limits),
        *_corrections(total),
        *_confusions(total, confusions),
        *_reminders(reminders),
        *_states("Other states", others),
        *(Figure("What is not in it, and what is", sentence) for sentence in NOT_IN_IT),
        Figure("Caution", CAUTION),
    )


def _rows(connection: Connection, query: LiteralString) -> list[DictRow]:
    return connection.cursor(row_factory=dict_row).execute(query).fetchall()


def _legs(total: Mapping[str, Any]) -> Iterator[Figure]:
    yield Figure("Legs", "Legs", total["legs"])
    yield Figure("Legs", "Of these signed off by a reviewer", total["signed_legs"])
    yield Figure("Legs", "Of these sealed", total["sealed_legs"])
    yield Figure("Legs", "Time on legs", _tenth(total["minutes"]), "min")


def _entries(total: Mapping[str, Any]) -> Iterator[Figure]:
    yield Figure("Entries", "Entries", total["entries"])
    for state, what in (
        ("confirmed", "Confirmed aloud"),
        ("reviewed", "Found right or put right by a reviewer"),
        ("unconfirmed", "Never confirmed"),
        ("corrected", "Corrected"),
        ("withdrawn", "Withdrawn"),
        ("notes", "Free notes, kept as sound, which nobody has to confirm"),
    ):
        yield Figure("Entries", what, total[state])
    yield Figure("Entries", "Stretches of speech not understood", total["not_understood"])


def _clamped(total: Mapping[str, Any]) -> Iterator[Figure]:
    section = "Drain clamped"
    yield Figure(section, "Times clamped", total["clamp_periods"])
    yield Figure(
        section,
        "Time clamped",
        _tenth(total["clamped_min"]),
        "min",
        _of(total["clamped_min"], total["minutes"], "of the time on legs"),
    )
    yield Figure(
        section,
        "Of it resting on an entry never confirmed",
        _tenth(total["clamped_in_doubt_min"]),
        "min",
    )
    yield Figure(section, "Longest", _tenth(total["longest_clamp_min"]), "min")
    yield Figure(
        section, "Still clamped when the leg ended, counted up to then", total["still_clamped"]
    )


def _states(section: str, states: Sequence[Mapping[str, Any]]) -> Iterator[Figure]:
    if not states:
        yield Figure(section, "None was told.")
    for state in states:
        legs = f"on {_counted(state['legs'], 'leg')}"
        lasting = f", {number(_tenth(state['minutes']))} min in all"
        held = f", {state['still_hold']} held when the leg ended" if state["still_hold"] else ""
        yield Figure(
            section, _sentence(state["rule"]), state["times"], "times", legs + lasting + held
        )


def _corrections(total: Mapping[str, Any]) -> Iterator[Figure]:
    section = "Corrections"
    yield from _rate(
        section, "Corrected by voice", total["corrected_by_voice"], total["said"], "said"
    )
    said = total["said_on_signed"]
    on = "said on legs signed off"
    yield from _rate(
        section, "Misheard, as a reviewer found", total["misheard_on_signed"], said, on
    )
    yield from _rate(section, "Missed, as a reviewer found", total["missed_on_signed"], said, on)


def _rate(section: str, what: str, count: int, of: int, of_what: str) -> Iterator[Figure]:
    """How many, and how many of a hundred entries; no rate where there are no entries."""
    yield Figure(section, what, count, "", f"of {_counted(of, 'entry', 'entries')} {of_what}")
    if of:
        yield Figure(section, f"{what}, of 100 entries", round(100 * count / of, 2))


def _confusions(
    total: Mapping[str, Any], confusions: Sequence[Mapping[str, Any]]
) -> Iterator[Figure]:
    section = f"Confusions, of {_counted(total['teaching_legs'], 'leg')} that may be told"
    if not confusions:
        yield Figure(section, "None was found.")
    for one in confusions:
        heard = f'"{one["heard"]}"' if one["heard"] else "nothing that was made out"
        yield Figure(section, f'"{one["meant"]}", heard: {heard}', one["times"], "times")


def _reminders(reminders: Sequence[Mapping[str, Any]]) -> Iterator[Figure]:
    section = "Reminders said"
    if not reminders:
        yield Figure(section, "None was said.")
    for one in reminders:
        note = f"{one['acknowledged']} acknowledged, {one['postponed']} postponed"
        yield Figure(section, _sentence(one["rule"]), one["said"], "times", note)


def _of(part: float, whole: float, of_what: str) -> str:
    return f"{number(_tenth(100 * part / whole))} % {of_what}" if whole else ""


def _counted(count: int, one: str, several: str = "") -> str:
    return f"{count} {one if count == 1 else several or f'{one}s'}"


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _tenth(value: float) -> float:
    return round(float(value), 1)


def to_text(figures: Sequence[Figure]) -> str:
    """The report to be read, at most `WIDTH` columns wide."""
    lines: list[str] = []
    section = ""
    for figure in figures:
        if figure.section != section:
            section = figure.section
            lines += ["", section] if lines else [section]
        lines.append(fill(_line(figure), WIDTH, initial_indent="  ", subsequent_indent="    "))
    return "\n".join(lines)


def _line(figure: Figure) -> str:
    if figure.value is None:
        return figure.what
    unit = "time" if figure.unit == "times" and figure.value == 1 else figure.unit
    told = f"{figure.what}: {number(figure.value)}{f' {unit}' if unit else ''}"
    return f"{told} ({figure.note})." if figure.note else f"{told}."


def to_csv(figures: Sequence[Figure]) -> str:
    """The same as a table: RFC 4180, a row a line of the report."""
    text = StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(Figure._fields)
    for figure in figures:
        value = "" if figure.value is None else number(figure.value)
        writer.writerow([figure.section, figure.what, value, figure.unit, figure.note])
    return text.getvalue()
