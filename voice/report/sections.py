"""The sections of the summary: each gives its paragraphs, and none where nothing was told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

from voice.entries import kinds
from voice.entries.leg import EntryState
from voice.figures.drain import clamp_periods, failed_zeros, standing
from voice.figures.facts import confirmed_only
from voice.figures.output import output
from voice.figures.perfusion import WINDOW_S, Perfusion, arterial, perfusion
from voice.figures.pressure import PressureFigures, Reading, pressure_figures, readings
from voice.report.wording import entry_text, label, number, value

if TYPE_CHECKING:
    from datetime import datetime

    from voice.entries.leg import Leg, LegEntry


class Sections:
    """The sections of one leg's summary."""

    def __init__(self, leg: Leg, until: datetime) -> None:
        """``until`` (aware) is the moment up to which what has not ended counts."""
        self._leg = leg
        self._until = until
        self._output = output(leg.entries, leg.started_at, leg.settings.zone)

    # --- whatever entries tell, as it was told ---------------------------------------------------

    def in_order(self, *of: type[kinds.Entry]) -> list[str]:
        """A line an entry of these kinds."""
        return [
            f"{self._time(e.happened_at)} {entry_text(e.entry)}{_doubt(e)}."
            for e in self._counting(*of)
        ]

    def series(self, *of: type[kinds.Entry]) -> list[str]:
        """A line for each thing that was measured, with all its values in order."""
        lines: dict[str, list[str]] = {}
        for e in self._counting(*of):
            told = f"{value(e.entry)} at {self._time(e.happened_at)}{_doubt(e)}"
            lines.setdefault(label(e.entry), []).append(told)
        return [f"{about}: {'; '.join(values)}." for about, values in lines.items()]

    def of_state(self, state: EntryState) -> list[str]:
        """A line an entry in this state, with the words that were heard."""
        chosen = (e for e in self._leg.entries if e.state is state)
        return [f"{self._row(e)} Heard: “{e.heard}”." for e in chosen]

    def every_entry(self) -> list[str]:
        """A line an entry, whatever its state, in the order in which they were said."""
        return [self._row(e) for e in self._leg.entries]

    def notes(self) -> list[str]:
        """A line a spoken note, with the name of its sound."""
        return [
            f"{self._time(e.happened_at)} {e.clip or 'the sound was lost'}."
            for e in self._counting(kinds.SpokenNote)
        ]

    def notices(self) -> list[str]:
        """A line for each trouble of the program itself."""
        return [f"{self._time(notice.at)} Program: {notice.text}" for notice in self._leg.notices]

    # --- the leg and its drain -------------------------------------------------------------------

    def frame(self) -> list[str]:
        """When the leg began and ended, what happened to it, and how much was heard."""
        leg = self._leg
        start = leg.local(leg.started_at)
        minutes = f"{(self._until - leg.started_at).total_seconds() / 60:.0f} min"
        end = (
            f"ended {self._time(leg.ended_at)} after {minutes}."
            if leg.ended_at
            else f"still running {self._time(self._until)}, {minutes} so far."
        )
        states = [e.state for e in leg.entries]
        counts = ", ".join(f"{states.count(state)} {state}" for state in EntryState)
        other = f"taken for other talk: {leg.passed_over}"
        return [
            f"Started {start.day} {start:%B %Y %H:%M}, {end} Clock: {start.tzname()}.",
            *self.in_order(kinds.LegMark),
            f"Entries: {counts}.",
            f"Speech not understood: {leg.not_understood}, {other}.",
        ]

    def drain(self) -> list[str]:
        """How the drain stands."""
        now = standing(self._leg.entries)
        lines = [
            f"{entry_text(now.told)} since {self._time(now.at)}{_doubt(now)}."
            if now
            else "Whether it is open was not told.",
            self._last(kinds.DrainLevel, "Drain level not told."),
            self._last(kinds.DrainLevelled, "Levelling not told."),
            self._last(kinds.DrainZeroed, "Zeroing not told."),
            self._last(kinds.HeadOfBed, "Head of bed not told."),
        ]
        failed = failed_zeros(self._leg.entries)[-1:]
        lines += [f"Zero failed {self._time(f.at)}, and has not held since." for f in failed]
        return lines

    def clamped(self) -> list[str]:
        """The times for which the drain was closed."""
        lines = []
        total_min = 0.0
        for period in clamp_periods(self._leg.entries):
            end = f"to {self._time(period.end_at)}" if period.end_at else "and still clamped"
            reason = f" for {period.reason}" if period.reason else ""
            minutes = period.minutes(self._until)
            total_min += minutes
            lines.append(
                f"{self._time(period.start_at)} {end}, {minutes:.0f} min{reason}{_doubt(period)}."
            )
        return [*lines, f"In all {total_min:.0f} min."] if lines else []

    # --- figures ---------------------------------------------------------------------------------

    def pressure(self) -> list[str]:
        """Last, range, time-weighted mean and all readings of the intracranial pressure."""
        series = readings(self._leg.entries, self._leg.settings.pressure_unit)
        found = pressure_figures(series)
        if found is None:
            return []
        lines = [f"Last {self._reading(found.last)}.", _range_and_mean(found)]
        lines += [f"Not bridged: {self._time(a.at)} to {self._time(b.at)}." for a, b in found.gaps]
        if found.unconfirmed:
            sure = pressure_figures([r for r in series if r.confirmed])
            alone = f"The others alone: {_range_and_mean(sure)}" if sure else "None is confirmed."
            lines.append(f"Unconfirmed: {found.unconfirmed} of {found.count} readings. {alone}")
        return [*lines, f"In order: {'; '.join(map(self._reading, series))}."]

    def perfusion(self) -> list[str]:
        """Last, range and all values of the cerebral perfusion pressure."""
        found = perfusion(self._leg.entries)
        if not found:
            both = arterial(self._leg.entries) and self._counting(kinds.Pressure)
            apart = f"No ICP within {number(WINDOW_S / 60)} min of a mean arterial pressure."
            return [apart] if both else []
        values = [one.cpp_mmhg for one in found]
        return [
            f"Last {self._cpp(found[-1])}.",
            f"Range {min(values):.0f} to {max(values):.0f}.",
            f"In order: {'; '.join(map(self._cpp, found))}.",
        ]

    def output(self) -> list[str]:
        """What drained, in total and by clock hour, and how it looked."""
        found = self._output
        lines = []
        if found.up_to is not None:
            lines.append(f"Total {_ml(found.total_ml)} up to {self._time(found.up_to)}.")
        if found.by_hour:
            hours = (f"{_ml(ml)} from {self._time(hour)}" for hour, ml in found.by_hour)
            lines.append(f"By clock hour: {'; '.join(hours)}.")
        if found.unconfirmed:
            sure = output(
                confirmed_only(self._leg.entries), self._leg.started_at, self._leg.settings.zone
            )
            lines.append(
                f"Unconfirmed entries behind the total: {found.unconfirmed}. Without them: "
                f"{_ml(sure.total_ml)}."
            )
        if found.starting is not None:
            lines.append(
                "Counting starts at the first chamber reading, "
                f"{_ml(found.starting.told.volume_ml)} at {self._time(found.starting.at)}."
            )
        if found.flushed_ml:
            lines.append(
                f"Flushed in {_ml(found.flushed_ml)}: {_ml(found.flushed_ml - found.flush_left_ml)} "
                "came off the output."
            )
        looks = self.series(kinds.CsfColour, kinds.CsfClarity)
        return [*lines, *looks, *self.in_order(kinds.BagChanged)]

    def questions(self) -> list[str]:
        """What only a person can settle."""
        early = [e for e in self._leg.counting() if e.happened_at < self._leg.started_at]
        return [
            *(f"Entry {q.number}, {self._time(q.at)}: {q.text}" for q in self._output.questions),
            *(f"Said to have happened before the leg started: {self._row(e)}" for e in early),
        ]

    # --- words -----------------------------------------------------------------------------------

    def _counting(self, *of: type[kinds.Entry]) -> list[LegEntry]:
        return [e for e in self._leg.counting() if isinstance(e.entry, of)]

    def _last(self, of: type[kinds.Entry], untold: str) -> str:
        for e in self._counting(of)[-1:]:
            return f"{entry_text(e.entry)}, {self._time(e.happened_at)}{_doubt(e)}."
        return untold

    def _time(self, at: datetime) -> str:
        """By the leg's clock, with the date on any other day than that of its start."""
        local = self._leg.local(at)
        same_day = local.date() == self._leg.local(self._leg.started_at).date()
        return f"{local:%H:%M}" if same_day else f"{local.day} {local:%B %H:%M}"

    def _row(self, e: LegEntry) -> str:
        said = "" if e.spoken_at == e.happened_at else f", said {self._time(e.spoken_at)}"
        corrects = f", corrects {e.replaces}" if e.replaces else ""
        state = "" if e.state is EntryState.CONFIRMED else f", {e.state}"
        by = f" by {e.replaced_by}" if e.replaced_by else ""
        told = f"{self._time(e.happened_at)} {entry_text(e.entry)}"
        return f"{e.number}: {told}{said}{corrects}{state}{by}."

    def _reading(self, reading: Reading) -> str:
        """A pressure in the leg's unit; where it was said in the other, as it was said too."""
        told = next(e.entry for e in self._leg.entries if e.number == reading.number)
        assert isinstance(told, kinds.Pressure)
        said = "" if told.unit == self._leg.settings.pressure_unit else f", said as {value(told)}"
        return f"{_tenths(reading.told)} at {self._time(reading.at)}{said}{_doubt(reading)}"

    def _cpp(self, one: Perfusion) -> str:
        mean = one.mean_arterial.told
        worked_out = " worked out" if mean.worked_out else ""
        parts = f"MAP {mean.mmhg:.0f}{worked_out}, ICP {_tenths(one.icp.told)}"
        return f"{one.cpp_mmhg:.0f} at {self._time(one.at)} from {parts}{_doubt(one)}"


class _Told(Protocol):
    @property
    def confirmed(self) -> bool: ...


def _doubt(told: _Told) -> str:
    return "" if told.confirmed else " (unconfirmed)"


def _range_and_mean(found: PressureFigures) -> str:
    mean = (
        "No mean: no two readings are near enough."
        if found.mean is None
        else f"Mean {found.mean:.1f}, time-weighted over {found.covered_min:.0f} min."
    )
    return f"Range {_tenths(found.lowest.told)} to {_tenths(found.highest.told)}. {mean}"


def _tenths(told: float) -> str:
    return number(round(told, 1))


def _ml(volume_ml: float) -> str:
    return f"{_tenths(volume_ml)} mL"
