"""Perfusion pressure, and at which levels its two pressures were zeroed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.drain import Pressure
from voice.figures.consequences.table import FAILED_ZERO
from voice.figures.facts import Fact
from voice.figures.levels import too_high_mmhg
from voice.figures.order import order, perfusion_targets_mmhg
from voice.figures.perfusion import WINDOW_S, Perfusion, arterial
from voice.figures.perfusion import perfusion as perfusions
from voice.figures.pressure import burden_below, carried_forward, linear
from voice.figures.units import level_error_mmhg
from voice.report.sections.pressure import Past
from voice.report.telling import doubt, tenths, whole
from voice.report.wording import number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from voice.figures.levels import Levels
    from voice.report.telling import Telling

_ALONG_CM = 10
"""For how much of the body, in cm, it is told what a transducer at the heart reads too much."""


def perfusion(told: Telling) -> list[str]:
    """Last, range and all values of the cerebral perfusion pressure."""
    found = perfusions(told.leg.entries)
    if not found:
        both = arterial(told.leg.entries) and told.counting(Pressure)
        apart = f"No ICP within {number(WINDOW_S / 60)} min of a mean arterial pressure."
        return [apart] if both else []
    return [*perfusion_sums(told), f"In order: {'; '.join(_cpp(told, one) for one in found)}."]


def perfusion_sums(told: Telling) -> list[str]:
    """Last, the levels that it holds for, range and burden of the cerebral perfusion pressure."""
    found = perfusions(told.leg.entries)
    if not found:
        return []
    lines = [f"Last {_cpp(told, found[-1])}.", *_levels(found), *_cpp_range(told, found)]
    sure = [one for one in found if one.confirmed]
    if len(sure) < len(found):
        alone = ["The others alone:", *_cpp_range(told, sure)] if sure else ["None is confirmed."]
        lines.append(f"Unconfirmed: {len(found) - len(sure)} of {len(found)}. {' '.join(alone)}")
    return [*lines, *_without_unreliable(told, found)]


def _without_unreliable(told: Telling, found: Sequence[Perfusion]) -> list[str]:
    """What they are without those whose pressure was read after a failed zero."""
    sure = [one for one in found if not told.is_marked(one.icp, FAILED_ZERO)]
    if len(sure) == len(found):
        return []
    alone = ["The others alone:", *_cpp_range(told, sure)] if sure else ["There is no other."]
    return [
        f"Not to be relied on: {len(found) - len(sure)} of {len(found)} values. {' '.join(alone)}"
    ]


def _cpp_range(told: Telling, found: Sequence[Perfusion]) -> list[str]:
    values = [one.cpp_mmhg for one in found]
    targets = perfusion_targets_mmhg(told.leg.entries)
    lowest, highest = whole(min(values), *targets), whole(max(values), *targets)
    return [f"Range {lowest} to {highest}.", *_below_target(told, found)]


def _below_target(told: Telling, found: Sequence[Perfusion]) -> list[str]:
    """How long and how far it was below what was ordered; no line where nothing was."""
    target = order(told.leg.entries).perfusion_target
    if target is None:
        return []
    limit_mmhg = target.told.value_mmhg
    series = [Fact(one.at, one.cpp_mmhg, one.icp.number, one.confirmed) for one in found]
    stretches = linear(series)
    past = Past(
        sum(round(one.cpp_mmhg, 6) < limit_mmhg for one in found),
        len(found),
        burden_below(stretches, limit_mmhg),
        burden_below(carried_forward(series), limit_mmhg),
    )
    minutes = sum(stretch.duration_s for stretch in stretches) / 60
    over = f", over {minutes:.0f} min" if stretches else ""
    return [f"Below the ordered {limit_mmhg}{doubt(target)}{over}: {past.text('mmHg', 'value')}"]


def _levels(found: Sequence[Perfusion]) -> list[str]:
    """What the levels of the two pressures do to the values, each way of standing once."""
    values: dict[str, int] = {}
    for one in found:
        told = _level(one.levels)
        values[told] = values.get(told, 0) + 1
    if len(values) == 1:
        return [f"{next(iter(values))}."]
    return [f"{told} ({count} of {len(found)} values)." for told, count in values.items()]


def _level(levels: Levels) -> str:
    if levels.arterial is None:
        return "Where MAP was zeroed is not told: zeroed at the heart with the head up, CPP reads too high"
    if levels.icp is None:
        return f"MAP zeroed at the {levels.arterial}; to what the drain was levelled is not told"
    if levels.agree:
        return f"MAP zeroed at the {levels.arterial}, as ICP"
    zeroed = f"MAP zeroed at the {levels.arterial}, ICP at the {levels.icp}"
    each_cm = f"by {level_error_mmhg(1):.2g} mmHg for each cm"
    if levels.arterial != "heart":
        return f"{zeroed}: CPP is off {each_cm} of height between the two"
    return f"{zeroed}: CPP reads too high {each_cm} from heart up to {levels.icp}{_slope(levels)}"


def _slope(levels: Levels) -> str:
    """The same along the body, where it was told how steep that lies."""
    if levels.head_of_bed_deg is None:
        return ""
    too_high = tenths(too_high_mmhg(_ALONG_CM, levels.head_of_bed_deg))
    return (
        f"; head of bed {levels.head_of_bed_deg} degrees: {too_high} mmHg for each {_ALONG_CM} cm "
        "along the body"
    )


def _cpp(told: Telling, one: Perfusion) -> str:
    mean = one.mean_arterial.told
    worked_out = " worked out" if mean.worked_out else ""
    parts = f"MAP {mean.mmhg:.0f}{worked_out}, ICP {tenths(one.icp.told)}{told.marked(one.icp)}"
    cpp = whole(one.cpp_mmhg, *perfusion_targets_mmhg(told.leg.entries))
    return f"{cpp} at {told.time(one.at)} from {parts}{doubt(one)}"
