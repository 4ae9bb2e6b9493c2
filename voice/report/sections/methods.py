"""How the figures of the summary were worked out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain_care import DisconnectionStep, Stopcocks
from voice.entries.kinds.drugs import InfusionChanged, InfusionStarted
from voice.entries.kinds.fluids import BloodGiven, FluidIn, UrineOut
from voice.figures.drip_test import TEST_S, drip_tests
from voice.figures.effects import WINDOW_S as EFFECT_S
from voice.figures.lumps import LUMP_MIN, lumps
from voice.figures.output import output_of
from voice.figures.perfusion import WINDOW_S
from voice.figures.pressure import GAP_S
from voice.figures.units import convert, level_error_mmhg
from voice.report.sections.effects import answers
from voice.report.wording import number

if TYPE_CHECKING:
    from voice.report.telling import Telling

ALWAYS = (
    """
    Figures take confirmed and unconfirmed entries, by the time at which they happened. Corrected
    and withdrawn entries are left out.
    """,
    f"""
    Mean and median pressure, time and area on one side of an ordered limit: time-weighted, straight
    from one reading to the next. Gaps of more than {number(GAP_S / 60)} min are not bridged. What was said in the other unit is converted: 1 mmHg is
    {number(convert(1, "mmHg", "cmH2O"))} cmH2O. For each cm that a transducer stands too low it reads
    {level_error_mmhg(1):.2g} mmHg too high.
    """,
    f"""
    CPP: mean arterial pressure less ICP, the two nearest in time within {number(WINDOW_S / 60)}
    min. A mean that was not said is diastolic plus a third of the pulse pressure. It holds as
    written where both were zeroed at one level: an arterial transducer at the heart reads more than one
    at the tragus, by {level_error_mmhg(1):.2g} mmHg for each cm from the one up to the other, and a cuff
    measures at the arm. Nothing is taken off for it.
    """,
    """
    Output: what the chamber rose by between readings, and volumes said since the last reading. The
    first reading is where counting starts. What was flushed in comes off what drained afterwards.
    What drained between two moments is spread evenly over the time between them.
    """,
)


DRIP_TEST = f"""
    Drip test: at least the pressure of the highest level at which it dripped, and below that of the
    lowest at which it did not, over the reference to which the drain was levelled. Steps at most
    {number(TEST_S / 60)} min apart are one test.
    """
LUMPS = f"""
    Lumps: the drain was open for {number(LUMP_MIN)} min at most, and closed for longer before it.
    What drained is spread evenly over the time for which it was open.
    """
EFFECTS = f"""
    What was done, and the pressure: the last reading within {number(EFFECT_S / 60)} min before it,
    the lowest within {number(EFFECT_S / 60)} min after it, and the last of the leg. It tells what
    followed, not what was caused.
    """
CLOSED = """
    Stopcocks that are off, and a line that was clamped because it came apart, count as the drain
    clamped.
    """
FLUIDS = """
    Fluid balance: in is what was told by its volume, doses in mL among it; infusions are not
    counted. Out is urine and what drained.
    """
INFUSIONS = """
    Infusions: the rate that was told, times the time for which it ran, times the weight where it is
    per kilogram. What is left in the line, and what the pump counted, are not known here.
    """


def methods(told: Telling) -> list[str]:
    """What always holds, then what holds for figures that this leg has."""
    leg = told.leg
    increments = output_of(leg).increments
    where_used = {
        EFFECTS: answers(told),
        CLOSED: told.counting(Stopcocks, DisconnectionStep),
        LUMPS: lumps(leg.entries, increments),
        DRIP_TEST: drip_tests(leg.entries),
        INFUSIONS: told.counting(InfusionStarted, InfusionChanged),
        FLUIDS: told.counting(FluidIn, BloodGiven, UrineOut),
    }
    return [*ALWAYS, *(method for method, used in where_used.items() if used)]
