"""The figures of a leg worked out anew from its CSV alone, in the plainest way, with numpy.

It shares no line with ``voice.figures``: a row is a row of the table, a time is a minute, and what is
not obvious is counted minute by minute.
"""

from __future__ import annotations

import csv
import itertools
from dataclasses import dataclass
from datetime import datetime
from io import StringIO

import numpy as np

Row = dict[str, str]
CM_PER_MM = 133.322 / 98.0665
"""cmH2O in one mmHg (UCUM)."""


def read(text: str) -> list[Row]:
    """The rows that figures take, in the order in which they happened."""
    rows = [row for row in csv.DictReader(StringIO(text)) if row["entry_counts"] == "true"]
    return sorted(rows, key=lambda row: (minute(row), int(row["entry_number"])))


def minute(row: Row) -> float:
    """Of the leg."""
    return float(row["after_start_s"]) / 60


def pressures(rows: list[Row], unit: str) -> list[tuple[float, float]]:
    """Minute and value of each."""
    found = []
    for row in rows:
        if row["kind"] == "pressure":
            factor = {("mmHg", "cmH2O"): CM_PER_MM, ("cmH2O", "mmHg"): 1 / CM_PER_MM}
            found.append((minute(row), float(row["value"]) * factor.get((row["unit"], unit), 1)))
    return found


def mean_and_minutes_above(
    points: list[tuple[float, float]], limit: float
) -> tuple[float, float] | None:
    """By a grid of a hundredth of a minute within every gap of 30 min or less."""
    grid: list[np.ndarray] = []
    for (a, first), (b, last) in itertools.pairwise(points):
        if b - a <= 30:
            steps = round((b - a) * 100)
            grid.append(first + (last - first) * (np.arange(steps) + 0.5) / max(steps, 1))
    values = np.concatenate(grid) if grid else np.array([])
    return None if not values.size else (values.mean(), (values > limit).sum() / 100)


def perfusions(rows: list[Row]) -> list[float]:
    """For each ICP the nearest mean within 5 min: of two as near a mean that was said, then the earlier."""
    means: list[tuple[float, bool, float]] = []
    for row in rows:
        if row["kind"] == "mean_pressure":
            means.append((minute(row), False, float(row["value_mmhg"])))
        elif row["kind"] == "blood_pressure":
            high, low = float(row["systolic_mmhg"]), float(row["diastolic_mmhg"])
            means.append((minute(row), True, (high + 2 * low) / 3))
    found = []
    for at, icp in pressures(rows, "mmHg"):
        near = sorted((abs(m - at), worked_out, m, v) for m, worked_out, v in means)
        if near and near[0][0] <= 5:
            found.append(near[0][3] - icp)
    return found


def closed_minutes(rows: list[Row], until: int) -> int:
    """Each minute before ``until`` in which the drain was closed, counted one by one."""
    turns = [
        row for row in rows if row["kind"] in {"drain_clamped", "drain_opened", "catheter_out"}
    ]
    closed = 0
    for now in range(-60, until):
        by_then = [row["kind"] for row in turns if minute(row) <= now]
        closed += by_then[-1:] == ["drain_clamped"]
    return closed


def infused(rows: list[Row], drug: str, until: int) -> float:
    """What ran in by the hour's rate, minute by minute."""
    turns = [row for row in rows if row["kind"].startswith("infusion") and row["drug"] == drug]
    amount = 0.0
    for now in range(-60, until):
        by_then = [row for row in turns if minute(row) <= now]
        amount += float(by_then[-1]["rate"] or 0) / 60 if by_then else 0.0
    return amount


@dataclass
class Chamber:
    """What a chamber tells, as a person would add it up on paper."""

    net_ml: float = 0.0
    owed_ml: float = 0.0
    """Flushed in, and not come off yet."""
    scale_ml: float | None = None
    said_ml: float = 0.0
    """Since the scale was read."""
    flushed_since_ml: float = 0.0
    before: tuple[float, float] = (0.0, 0.0)
    """Net and owed when the scale was read."""

    def take(self, row: Row) -> None:
        """The next row."""
        volume = float(row["volume_ml"]) if row["volume_ml"] else None
        match row["kind"]:
            case "flushed":
                self.owed_ml += volume or 0
                self.flushed_since_ml += volume or 0
            case "drained":
                self.said_ml += volume or 0
                self._add(volume or 0)
            case "chamber_reading":
                self._read(volume or 0)
            case "chamber_emptied":
                if volume is not None:
                    self._read(volume)
                self._stands(0)

    def _add(self, volume_ml: float) -> None:
        off_ml = min(volume_ml, self.owed_ml)
        self.owed_ml -= off_ml
        self.net_ml += volume_ml - off_ml

    def _read(self, volume_ml: float) -> None:
        if self.scale_ml is None:
            self._stands(volume_ml)
        elif volume_ml >= self.scale_ml:
            rise_ml = volume_ml - self.scale_ml
            if self.said_ml > rise_ml:  # the chamber decides: what was said never was
                self.net_ml, self.owed_ml = self.before
                self.owed_ml += self.flushed_since_ml
                self._add(rise_ml)
            else:
                self._add(rise_ml - self.said_ml)
            self._stands(volume_ml)

    def _stands(self, scale_ml: float) -> None:
        self.scale_ml, self.said_ml, self.flushed_since_ml = scale_ml, 0.0, 0.0
        self.before = (self.net_ml, self.owed_ml)


def drained_ml(rows: list[Row]) -> float:
    """The output, in the order of things told for one moment: flushed, drained, read, emptied."""
    kinds = ["flushed", "drained", "chamber_reading", "chamber_emptied"]
    told = [row for row in rows if row["kind"] in kinds]
    chamber = Chamber()
    for row in sorted(
        told, key=lambda r: (minute(r), kinds.index(r["kind"]), float(r["volume_ml"] or -1))
    ):
        chamber.take(row)
    return chamber.net_ml


def clock_minute(row: Row) -> datetime:
    """When it happened, by the leg's clock."""
    return datetime.fromisoformat(row["happened_at_local"])
