"""The report in short: what a handoff needs first, in at most a minute and a half.

Each sentence has a rank. Where all of them would take too long, those of the highest ranks are left
to the rest of the report; what is said keeps the order of a handoff.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from voice.entries.kinds.drain import CsfClarity, CsfColour, DrainLevel, DrainZeroed, ZeroFailed
from voice.entries.kinds.drugs import LastDose, Weight
from voice.entries.kinds.patient import Diagnosis
from voice.entries.said import About, Question
from voice.figures.drain import clamp_periods, standing
from voice.figures.order import order, perfusion_targets_mmhg, pressure_limits
from voice.figures.perfusion import perfusion
from voice.figures.pressure import burden, linear, pressure_figures, readings
from voice.figures.units import convert
from voice.meaning.numbers import digit_words
from voice.report.answers.asking import counted, doubt, in_parts, length, number, whole
from voice.report.answers.left import lacking, waiting
from voice.report.answers.output import total_output

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from voice.entries.leg import LegEntry
    from voice.figures.pressure import Reading
    from voice.report.answers.asking import Asking

MOST_WORDS = 180
"""All parts together. At the default rate espeak-ng speaks them in less than 90 s, which a test
measures on invented legs; a slower manner takes longer."""


class Sentence(NamedTuple):
    """Something to be said."""

    rank: int
    """The lower, the sooner it has its place."""
    about: str
    text: str


def short_report(asking: Asking) -> tuple[str, ...]:
    """Its parts, each no longer than a part of any answer."""
    sentences = list(_sentences(asking))
    told: list[Sentence] = []
    words = 0
    for sentence in sorted(sentences, key=lambda one: one.rank):
        length = len(sentence.text.split()) + 1
        if words + length <= MOST_WORDS:
            told.append(sentence)
            words += length
    in_order = [sentence for sentence in sentences if sentence in told]
    return in_parts([f"{about}: {text}" for about, text in _by_subject(in_order)])


def _by_subject(sentences: list[Sentence]) -> list[tuple[str, str]]:
    """The name of each subject once, before what is said of it first."""
    found: dict[str, list[str]] = {}
    for sentence in sentences:
        found.setdefault(sentence.about, []).append(sentence.text)
    return [(about, ", ".join(texts)) for about, texts in found.items()]


def _sentences(asking: Asking) -> Iterator[Sentence]:
    """All that a handoff needs first, in its order."""
    leg = asking.leg
    until = leg.ended_at or asking.now
    yield Sentence(3, "leg", length((until - leg.started_at).total_seconds() / 60))
    for entry in asking.entries:
        if isinstance(entry.entry, Diagnosis):
            yield Sentence(1, "leg", _words(asking, entry))
    for state in asking.open_states:
        yield Sentence(0, "open", state)
    by_number = {entry.number: entry for entry in asking.entries}
    for fact in order(leg.entries).told():
        text = asking.words(by_number[fact.number]).removeprefix("order ")
        yield Sentence(2, "order", f"{text}{doubt(fact.confirmed)}")
    yield from _drain(asking)
    yield from _pressure(asking)
    yield Sentence(0, "output", _first_of(total_output(_ASKED, asking)))
    for kind in (CsfColour, CsfClarity):
        for entry in _last_of(asking, kind):
            yield Sentence(1, "output", _words(asking, entry))
    yield from _latest(asking, 1, "neuro", "neuro checks", timed=True)
    yield from _latest(asking, 3, "vitals", "vital signs", timed=False)
    yield from _latest(asking, 2, "drugs", "drugs", timed=True)
    yield from _latest(asking, 4, "laboratory", "laboratory", timed=False)
    for rank, text in ((1, lacking(asking)), (0, waiting(asking))):
        if text:
            yield Sentence(rank, "left", text)


_ASKED = Question(about=About.REPORT)


def _drain(asking: Asking) -> Iterator[Sentence]:
    """Whether it is open, its level, its last zero, and for how long it was closed."""
    leg = asking.leg
    now = standing(leg.entries)
    if now is not None:
        text = f"{now.told.kind.replace('_', ' ')} since {asking.clock(now.at)}"
        yield Sentence(0, "drain", f"{text}{doubt(now.confirmed)}")
    for entry in _last_of(asking, DrainLevel):
        yield Sentence(0, "drain", _words(asking, entry))
    for entry in _last_of(asking, DrainZeroed, ZeroFailed):
        yield Sentence(1, "drain", f"{_words(asking, entry)}, {asking.at(entry.happened_at)}")
    if periods := clamp_periods(leg.entries):
        closed_min = sum(period.minutes(leg.ended_at or asking.now) for period in periods)
        times = counted(len(periods), "time", "times")
        yield Sentence(2, "drain", f"clamped {times}, {length(closed_min)} in all")


def _pressure(asking: Asking) -> Iterator[Sentence]:
    """The last, the range, the time above the order, and the perfusion pressure."""
    entries = asking.leg.entries
    series = readings(entries, asking.leg.settings.pressure_unit)
    found = pressure_figures(series)
    if found is None:
        yield Sentence(0, "pressure", "not told")
        return
    unit = asking.leg.settings.pressure_unit
    limits = pressure_limits(entries, unit)
    last = found.last
    unsure = "" if asking.reliable(last.number) else ", not to be relied on"
    told = f"last {number(last.told, *limits)}{doubt(last.confirmed)}{unsure}, {asking.at(last.at)}"
    yield Sentence(0, "pressure", told)
    if found.count > 1:
        lowest, highest = (number(one.told, *limits) for one in (found.lowest, found.highest))
        mean = "" if found.mean is None else f", mean {number(found.mean)}"
        yield Sentence(1, "pressure", f"between {lowest} and {highest}{mean}")
    limit = order(entries).not_above
    if limit is not None:
        value = convert(limit.told.value, limit.told.unit, unit)
        yield Sentence(1, "pressure", _above(series, value))
    if cpp := perfusion(entries):
        at = asking.at(cpp[-1].at)
        sure = "" if asking.reliable(cpp[-1].icp.number) else ", not to be relied on"
        cpp_words = whole(cpp[-1].cpp_mmhg, *perfusion_targets_mmhg(entries))
        text = f"{cpp_words}{doubt(cpp[-1].confirmed)}{sure}, {at}"
        yield Sentence(1, "perfusion pressure", text)


def _above(series: Sequence[Reading], limit: float) -> str:
    """How many readings are above the order, and for how long where another is near enough to tell."""
    count = sum(round(one.told - limit, 6) > 0 for one in series)
    if not count:
        return "no reading above the order"
    minutes = burden(linear(series), limit).minutes
    lasted = length(minutes) if minutes >= 1 else "less than one minute"
    lasting = f"for {lasted}" if minutes else "for how long is not known"
    return f"above the order, {digit_words(count)} of {counted(len(series), 'reading', 'readings')}, {lasting}"


def _latest(
    asking: Asking, rank: int, module: str, about: str, *, timed: bool
) -> Iterator[Sentence]:
    """The latest about each subject of a module of kinds."""
    for entries in asking.subjects.values():
        last = entries[-1]
        if type(last.entry).__module__.endswith(f".{module}") and not isinstance(
            last.entry, Weight | LastDose
        ):
            at = f", {asking.at(last.happened_at)}" if timed else ""
            yield Sentence(rank, about, f"{_words(asking, last)}{at}")


def _last_of(asking: Asking, *kinds: type[object]) -> list[LegEntry]:
    return [e for e in asking.entries if isinstance(e.entry, kinds)][-1:]


def _words(asking: Asking, entry: LegEntry) -> str:
    return f"{asking.words(entry)}{doubt(entry.confirmed)}"


def _first_of(parts: tuple[str, ...]) -> str:
    return parts[0].removeprefix("total out, ")
