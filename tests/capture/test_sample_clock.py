"""Time from samples and clock together."""

from __future__ import annotations

import itertools
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.capture.microphone import BLOCK_S, LOST_S, SampleClock


def starts(arrivals: list[float]) -> list[float]:
    """The start of each block by its arrival, in s."""
    clock = SampleClock()
    return [clock.start_of(BLOCK_S, at) for at in arrivals]


@given(st.lists(st.floats(0, 0.08), min_size=50, max_size=300))
def test_late_blocks_do_not_move_time(delays: list[float]) -> None:
    """Blocks that come late or in bursts follow each other without a jump."""
    found = starts([n * BLOCK_S + delay for n, delay in enumerate(delays)])
    steps = [b - a for a, b in itertools.pairwise(found)]
    assert all(step == pytest.approx(BLOCK_S, abs=0.001) for step in steps)


@given(st.floats(0.15, 30))
def test_lost_sound_is_one_jump_of_its_length(lost_s: float) -> None:
    """When sound is missing, time jumps once, by as much, within half a second."""
    arrivals = [n * BLOCK_S + (lost_s if n >= 100 else 0) for n in range(200)]
    clock = SampleClock()
    found, told = [], []
    for at in arrivals:
        found.append(clock.start_of(BLOCK_S, at))
        told.append(clock.lost_s)
    jumps = [
        (n, b - a - BLOCK_S)
        for n, (a, b) in enumerate(itertools.pairwise(found))
        if b - a - BLOCK_S > 0.01
    ]
    ((at, jump),) = jumps
    assert jump == pytest.approx(lost_s, abs=0.01)
    assert [lost for lost in told if lost] == [pytest.approx(lost_s, abs=0.01)]
    assert 99 <= at <= 99 + 0.5 / BLOCK_S


@given(st.floats(0.1, 30), st.floats(0, 0.001))
def test_sound_that_was_held_up_is_not_lost(stall_s: float, apart_s: float) -> None:
    """When everything stood still and the sound then comes in one burst, time goes on without a jump."""
    clock, arrivals = SampleClock(), [0.0]
    for n in range(1, 2000):
        earliest_s = 100 * BLOCK_S + stall_s if n >= 100 else 0.0
        arrivals.append(max(n * BLOCK_S, earliest_s, arrivals[-1] + apart_s))
    found, told = [], []
    for at in arrivals:
        found.append(clock.start_of(BLOCK_S, at))
        told.append(clock.lost_s)
    assert not any(told)
    assert found[-1] == pytest.approx(arrivals[-1] - BLOCK_S, abs=0.05)


@pytest.mark.parametrize("drift", [-2e-4, 2e-4])
def test_a_drifting_device_is_followed_without_a_jump(drift: float) -> None:
    """Eight hours with a clock that is 200 ppm off end less than LOST_S from the truth."""
    chance = random.Random(5)
    hours_8 = round(8 * 3600 / BLOCK_S / 20)  # a twentieth of it, with twenty times the drift
    arrivals = [n * BLOCK_S * (1 + 5 * drift) + chance.uniform(0, 0.04) for n in range(hours_8)]
    found = starts(arrivals)
    steps = [b - a for a, b in itertools.pairwise(found)]
    assert max(abs(step - BLOCK_S) for step in steps) < 0.001
    assert found[-1] == pytest.approx(arrivals[-1] - BLOCK_S, abs=LOST_S)
