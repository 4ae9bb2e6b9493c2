"""What drained, and what only a person can settle."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import BagChanged, CsfClarity, CsfColour
from voice.figures.facts import confirmed_only
from voice.figures.output import OutputFigures
from voice.figures.output import output as output_of
from voice.report.telling import ml

if TYPE_CHECKING:
    from voice.report.telling import Telling


def output(told: Telling) -> list[str]:
    """What drained, in total and by clock hour, and how it looked."""
    found = _figures(told)
    lines = []
    if found.up_to is not None:
        lines.append(f"Total {ml(found.total_ml)} up to {told.time(found.up_to)}.")
    if found.by_hour:
        hours = (f"{ml(volume_ml)} from {told.time(hour)}" for hour, volume_ml in found.by_hour)
        lines.append(f"By clock hour: {'; '.join(hours)}.")
    if found.unconfirmed:
        sure = output_of(
            confirmed_only(told.leg.entries), told.leg.started_at, told.leg.settings.zone
        )
        lines.append(
            f"Unconfirmed entries behind the total: {found.unconfirmed}. Without them: "
            f"{ml(sure.total_ml)}."
        )
    if found.starting is not None:
        lines.append(
            "Counting starts at the first chamber reading, "
            f"{ml(found.starting.told.volume_ml)} at {told.time(found.starting.at)}."
        )
    if found.flushed_ml:
        lines.append(
            f"Flushed in {ml(found.flushed_ml)}: {ml(found.flushed_ml - found.flush_left_ml)} "
            "came off the output."
        )
    looks = told.series(CsfColour, CsfClarity)
    return [*lines, *looks, *told.in_order(BagChanged)]


def questions(told: Telling) -> list[str]:
    """What only a person can settle."""
    early = [e for e in told.leg.counting() if e.happened_at < told.leg.started_at]
    return [
        *(f"Entry {q.number}, {told.time(q.at)}: {q.text}" for q in _figures(told).questions),
        *(f"Said to have happened before the leg started: {told.row(e)}" for e in early),
    ]


def _figures(told: Telling) -> OutputFigures:
    leg = told.leg
    return output_of(leg.entries, leg.started_at, leg.settings.zone)
