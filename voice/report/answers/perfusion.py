"""The cerebral perfusion pressure as it is now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.entries.kinds.order import OrderPerfusionTarget
from voice.figures.facts import last
from voice.figures.order import perfusion_targets_mmhg, pressure_limits
from voice.figures.perfusion import WINDOW_S, arterial, perfusion
from voice.figures.pressure import readings
from voice.report.answers.asking import doubt, duration, number, whole

if TYPE_CHECKING:
    from voice.entries.said import Question
    from voice.figures.facts import Fact
    from voice.figures.levels import Levels
    from voice.figures.perfusion import Arterial
    from voice.report.answers.asking import Asking


def perfusion_now(_: Question, asking: Asking) -> tuple[str, ...]:
    """The one of the last intracranial pressure, how old both its pressures are, and their levels.

    Where no arterial pressure is near enough to that, there is none: an earlier one is not now.
    """
    entries = asking.leg.entries
    pressures, means = readings(entries, "mmHg"), arterial(entries)
    if not pressures:
        return ("no perfusion pressure: no pressure told",)
    if not means:
        return ("no perfusion pressure: no arterial pressure told",)
    found = perfusion(entries)
    if not found or found[-1].icp.number != pressures[-1].number:
        parts = [_mean(means[-1], asking), _icp(pressures[-1], asking)]
        apart = f"more than {duration(WINDOW_S)} apart"
        return (", ".join(["no perfusion pressure now", *parts, apart]),)
    now = found[-1]
    targets = perfusion_targets_mmhg(entries)
    parts = [f"perfusion pressure, {whole(now.cpp_mmhg, *targets)}"]
    target = last(entries, OrderPerfusionTarget)
    if target is not None:
        parts.append(f"ordered, {number(target.told.value_mmhg)}{doubt(target.confirmed)}")
    parts += [_mean(now.mean_arterial, asking), _icp(now.icp, asking), *_level(now.levels)]
    return (", ".join(parts),)


def _level(levels: Levels) -> list[str]:
    """Whether the two are zeroed at one level; nothing where they are."""
    if levels.agree:
        return []
    if levels.arterial is None:
        return ["where the arterial line is zeroed, not told"]
    if levels.icp is None:
        return [f"arterial line at {levels.arterial}", "where the drain is leveled, not told"]
    high = ", reads too high with the head up" if levels.arterial == "heart" else ""
    return [f"arterial line at {levels.arterial}, drain at {levels.icp}{high}"]


def _mean(mean: Fact[Arterial], asking: Asking) -> str:
    worked_out = " worked out" if mean.told.worked_out else ""
    told = f"mean pressure{worked_out}, {whole(mean.told.mmhg)}{doubt(mean.confirmed)}"
    return f"{told}, {asking.ago(mean.at)}"


def _icp(icp: Fact[float], asking: Asking) -> str:
    unsure = "" if asking.reliable(icp.number) else ", not to be relied on"
    limits = pressure_limits(asking.leg.entries, "mmHg")
    return (
        f"pressure, {number(icp.told, *limits)}{doubt(icp.confirmed)}{unsure}, {asking.ago(icp.at)}"
    )
