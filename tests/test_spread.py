from __future__ import annotations

import os
from functools import partial

import pytest

from tests.record.faults.disk import shares
from tests.spread import seeds, spread, told


def test_seeds_are_one_or_from_one_to_another() -> None:
    """A single seed, or all from the first to the last."""
    assert list(seeds("7")) == [7]
    assert list(seeds("3-5")) == [3, 4, 5]
    assert [told(seeds("7")), told(seeds("3-5"))] == ["seed 7", "seeds 3 to 5"]
    with pytest.raises(ValueError, match="many"):
        seeds("many")


def test_work_is_done_in_other_processes_and_given_in_order() -> None:
    """Each part is worked once, not by this process, and what it gives comes in its place."""
    assert list(spread(abs, (-3, 2, -1), processes=2)) == [3, 2, 1]
    assert os.getpid() not in set(spread(partial(_whose, "process"), range(2), processes=2))


def _whose(_what: str, _number: int) -> int:
    return os.getpid()


@pytest.mark.parametrize("processes", [1, 3])
def test_shares_together_are_every_call_once(processes: int) -> None:
    """However many work side by side, the same calls fail, each in one leg."""
    by_fault: dict[object, list[int]] = {}
    for one in shares(7, processes, protected=False):
        by_fault.setdefault((one.fault, one.spare), []).extend(range(one.first, 100, one.every))
    assert len(by_fault) == 14
    assert {tuple(sorted(calls)) for calls in by_fault.values()} == {tuple(range(3, 100, 7))}
