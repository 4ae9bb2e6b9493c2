"""The course of a leg, drawn: pressures, the drain, drugs and output over one time axis.

Drawn in black on white and told apart by shape alone: solid line and dots are ICP, broken line and
squares CPP, hatching is a closed drain; what is drawn is named beside it, not in a legend.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from io import BytesIO
from typing import TYPE_CHECKING, Any

from matplotlib import style
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator, MultipleLocator

from voice.report.page.course import Course, Mark, course
from voice.report.telling import tenths

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from voice.report.page.course import Points, Reading, Table
    from voice.report.telling import Telling

WIDTH_MM, HEIGHT_MM = 190.0, 84.0
DPI = 220
_MM_PER_INCH = 25.4
_FONT_PT = 7.0
_APART = 0.022
"""How far apart two values have to stand to be written both, as a share of the time axis."""
_ROWS = 4
"""How many labels may stand under each other among what was done."""

_BEHIND: dict[str, Any] = {"facecolor": "white", "edgecolor": "none", "pad": 0.4}
_STYLE: dict[str, Any] = {"color": "black", "linewidth": 1.0, "markersize": 3.5}


@dataclass(frozen=True, slots=True)
class Chart:
    """A picture, and what it shows in words."""

    png: bytes
    alt: str
    tables: tuple[Table, ...]
    """The same in numbers."""


def chart(told: Telling) -> Chart | None:
    """The chart of a leg; ``None`` where neither pressure nor output was told."""
    found = course(told)
    if found is None:
        return None
    with style.context("default"):  # whatever style this machine's user has chosen for charts
        png = _drawn(found, told)
    return Chart(png, found.in_words(told.time), found.tables(told.time))


def _drawn(found: Course, told: Telling) -> bytes:
    figure = Figure(figsize=(WIDTH_MM / _MM_PER_INCH, HEIGHT_MM / _MM_PER_INCH), dpi=DPI)
    icp, cpp, done, output = figure.subplots(
        4, 1, sharex=True, gridspec_kw={"height_ratios": [3.2, 2, 1.9, 1.5], "hspace": 0.1}
    )
    _time_axis(output, found, told)
    _pressures(icp, found, found.icp, f"ICP\n{found.unit}", "o-")
    _limit(icp, found, found.icp_limit, "ordered limit")
    _pressures(cpp, found, found.cpp, "CPP\nmmHg", "s--")
    _limit(cpp, found, found.cpp_target, "ordered")
    for axes in (icp, cpp):
        _closed(axes, found)
    _say_closed(icp, found)
    _done(done, found)
    _output(output, found)
    figure.subplots_adjust(left=0.08, right=0.982, top=0.985, bottom=0.07)
    picture = BytesIO()
    FigureCanvasAgg(figure)
    figure.savefig(picture, format="png", pil_kwargs={"optimize": True})
    return picture.getvalue()


def _time_axis(axes: Axes, found: Course, told: Telling) -> None:
    """Minutes since the start of the leg, written as times of its clock."""
    start = told.leg.local(found.started_at)
    axes.set_xlim(0, found.length_min)
    steps = (step for step in (5, 10, 15, 30, 60, 120, 240) if found.length_min / step <= 14)
    step = next(steps, 24 * 60)
    first = -((start.hour * 60 + start.minute) % step) - start.second / 60
    axes.xaxis.set_major_locator(MultipleLocator(step, offset=first))

    def clock(minute: float, _: int | None = None) -> str:
        return f"{start + timedelta(minutes=round(minute, 3)):%H:%M}"

    axes.xaxis.set_major_formatter(FuncFormatter(clock))
    axes.tick_params(axis="x", labelsize=_FONT_PT)


def _pressures(axes: Axes, found: Course, points: Points, name: str, shapes: str) -> None:
    """Lines between readings that are near enough; what is in doubt is hollow or crossed."""
    _name(axes, name)
    marker, line = shapes[0], shapes[1:]
    for stretch in points.stretches:
        axes.plot(*zip(*stretch, strict=True), line, **_STYLE)
    for minute, value, doubt in points.readings:
        face = "black" if doubt is None else "white"
        shape = "x" if doubt == "not to be relied on" else marker
        axes.plot(
            minute, value, shape, markerfacecolor=face, markeredgewidth=0.9, zorder=4, **_STYLE
        )
    for minute, value, _ in _named(points.readings, found.length_min * _APART):
        axes.annotate(
            points.label(value), (minute, value), (0, 4), textcoords="offset points", ha="center",
            fontsize=_FONT_PT - 1, bbox=_BEHIND, zorder=3,
        )  # fmt: skip
    values = [value for _, value, _ in points.readings]
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 5, 10], integer=True))
    if values:
        room = max(4.0, (max(values) - min(values)) * 0.25)
        axes.set_ylim(min(values) - room, max(values) + 1.6 * room)
    else:
        axes.set_yticks([])
        axes.text(
            0.5, 0.5, "none told", transform=axes.transAxes, ha="center", fontsize=_FONT_PT, bbox=_BEHIND
        )  # fmt: skip


def _named(readings: Sequence[Reading], apart_min: float) -> list[Reading]:
    """Those whose values can be written without covering each other, what matters most first."""
    if not readings:
        return []
    highest = max(readings, key=lambda one: one.value)
    lowest = min(readings, key=lambda one: one.value)
    chosen: list[Reading] = []
    for one in (readings[-1], highest, lowest, *readings):
        if all(abs(one.minute - other.minute) >= apart_min for other in chosen):
            chosen.append(one)
    return chosen


def _limit(axes: Axes, found: Course, limit: float | None, name: str) -> None:
    if limit is None or not axes.lines:
        return
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, limit - 2), max(high, limit + 2))
    axes.axhline(limit, color="black", linewidth=0.8, linestyle=":")
    axes.annotate(
        f"{name} {limit:g}", (found.length_min, limit), (-2, 1.5), textcoords="offset points",
        ha="right", fontsize=_FONT_PT - 1, bbox=_BEHIND,
    )  # fmt: skip


def _closed(axes: Axes, found: Course) -> None:
    """Hatching while the drain was closed."""
    for start, end in found.closed:
        span = axes.axvspan(start, end, facecolor="none", edgecolor="0.5", hatch="////", zorder=0)
        span.set_linewidth(0.4)
        span.set_hatch_linewidth(0.4)


def _say_closed(axes: Axes, found: Course) -> None:
    for start, end in found.closed:
        axes.annotate(
            "closed", ((start + end) / 2, 1), (0, -1), xycoords=axes.get_xaxis_transform(),
            textcoords="offset points", ha="center", va="top", fontsize=_FONT_PT - 1, bbox=_BEHIND,
        )  # fmt: skip


def _done(axes: Axes, found: Course) -> None:
    """A tick for each level and each thing given, its name beside it in the first free row."""
    _name(axes, "drain,\ndrugs")
    axes.set_ylim(_ROWS, 0)
    axes.set_yticks([])
    rows = _in_rows(found.done, found.length_min)
    for mark, row in rows:
        axes.vlines(mark.minute, row + 0.2, _ROWS, color="black", linewidth=0.7)
        near_end = mark.minute + _length(mark, found.length_min) > found.length_min
        axes.annotate(
            mark.text, (mark.minute, row + 0.5), (-2 if near_end else 2, 0), fontsize=_FONT_PT - 1,
            textcoords="offset points", ha="right" if near_end else "left", va="center",
            bbox=_BEHIND,
        )  # fmt: skip


def _in_rows(marks: Sequence[Mark], length_min: float) -> list[tuple[Mark, int]]:
    """Each mark with the first row in which its name covers no other; in none: only its tick."""
    taken: list[list[tuple[float, float]]] = [[] for _ in range(_ROWS)]
    placed = []
    for mark in marks:
        length = _length(mark, length_min)
        start = mark.minute if mark.minute + length <= length_min else mark.minute - length
        span = (start, start + length)
        for row, spans in enumerate(taken):
            if all(span[1] <= a or b <= span[0] for a, b in spans):
                spans.append(span)
                placed.append((mark, row))
                break
        else:
            placed.append((Mark(mark.minute, ""), _ROWS - 1))
    return placed


def _length(mark: Mark, length_min: float) -> float:
    """About how many minutes of the axis a name covers: a letter is half as wide as it is high."""
    letters_across = WIDTH_MM * 0.92 / (_FONT_PT * 0.353 * 0.52)
    return (len(mark.text) + 2) / letters_across * length_min


def _output(axes: Axes, found: Course) -> None:
    """A bar for each clock hour, as wide as the hour."""
    _name(axes, "mL an\nhour")
    axes.set_yticks([])
    limits = [] if found.hourly_limit is None else [found.hourly_limit]
    for start, volume_ml in found.output:
        (bar,) = axes.bar(
            start, volume_ml, width=60, align="edge", facecolor="0.93", edgecolor="black",
            linewidth=0.8, hatch="..",
        )  # fmt: skip
        bar.set_hatch_linewidth(0.3)
        middle = (max(start, 0) + min(start + 60, found.length_min)) / 2
        axes.annotate(
            tenths(volume_ml, *limits), (middle, volume_ml), (0, 1.5), textcoords="offset points",
            ha="center", fontsize=_FONT_PT - 1, bbox=_BEHIND,
        )  # fmt: skip
    highest = max([ml for _, ml in found.output] + [found.hourly_limit or 0.0, 1.0])
    axes.set_ylim(0, highest * 1.45)
    if found.hourly_limit is not None:
        axes.axhline(found.hourly_limit, color="black", linewidth=0.8, linestyle=":")
        axes.annotate(
            f"ordered {found.hourly_limit:g}", (0, found.hourly_limit), (2, 1.5),
            textcoords="offset points", fontsize=_FONT_PT - 1, bbox=_BEHIND,
        )  # fmt: skip


def _name(axes: Axes, name: str) -> None:
    axes.annotate(
        name, (0, 0.5), (-17, 0), xycoords="axes fraction", textcoords="offset points",
        ha="right", va="center", fontsize=_FONT_PT,
    )  # fmt: skip
    axes.tick_params(axis="y", labelsize=_FONT_PT - 1, length=2, pad=1)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
