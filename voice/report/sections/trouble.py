"""What went wrong with the drain, and what was done about it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import (
    CsfClarity,
    CsfColour,
    DrainLevelMmhg,
    Flushed,
    NoDrip,
    Waveform,
    ZeroFailed,
)
from voice.entries.kinds.drain_care import (
    CatheterOut,
    DisconnectionStep,
    DrainLeak,
    FilterWet,
    LineDisconnected,
    Occlusion,
)
from voice.entries.kinds.leg import UnitCalled
from voice.figures.consequences.fluid import WORTH_A_CALL, look
from voice.figures.consequences.pressures import failed_zero_runs
from voice.figures.drip_test import drip_tests
from voice.report.sections.entries import notices

if TYPE_CHECKING:
    from voice.entries.leg import LegEntry
    from voice.report.telling import Telling

TROUBLE = (
    CatheterOut,
    LineDisconnected,
    DisconnectionStep,
    Occlusion,
    Flushed,
    DrainLeak,
    FilterWet,
    ZeroFailed,
    NoDrip,
    DrainLevelMmhg,
    Waveform,
)


def trouble(told: Telling) -> list[str]:
    """A line for each trouble and each step against it; then the program's own troubles.

    A level without a drip is no trouble where it ends a drip test, nor is a waveform that is seen
    where it was never lost. Steps are calls after the first trouble, and the zero that held after
    one that failed.
    """
    tests = [test for test in drip_tests(told.leg.entries) if test.dripped_cmh2o is not None]
    tested = {step.number for test in tests for step in test.steps}
    waveforms = told.counting(Waveform)
    fine = all(isinstance(e.entry, Waveform) and e.entry.state == "seen" for e in waveforms)

    def is_one(e: LegEntry) -> bool:
        return e.number not in tested and not (fine and isinstance(e.entry, Waveform))

    wrong = [e for e in told.counting(*TROUBLE) if is_one(e)]
    wrong += [e for e in told.counting(CsfColour, CsfClarity) if look(e) in WORTH_A_CALL]
    held = [run.end for run in failed_zero_runs(told.leg) if run.end is not None]
    first_at = min((e.happened_at for e in wrong), default=told.until)
    called = [e for e in told.counting(UnitCalled) if e.happened_at >= first_at]
    lines = sorted([*wrong, *held, *called], key=lambda e: (e.happened_at, e.number))
    return [*map(told.line, lines), *notices(told)] if wrong else notices(told)
