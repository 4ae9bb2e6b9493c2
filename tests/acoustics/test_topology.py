"""Phones, positions and transition ids."""

from __future__ import annotations

import pytest

from voice.acoustics import topology


def test_transition_ids_are_the_numbers_from_one_each_used_once() -> None:
    """Kaldi numbers transitions from one without gaps, so ours do too."""
    used = [topology.SILENCE.stay, topology.SILENCE.leave]
    for t in topology.TRANSITIONS.values():
        used += [t.stay, t.to_blank, t.leave, t.blank_stay, t.blank_leave]
    assert sorted(used) == list(range(1, topology.TRANSITION_COUNT + 1))


def test_every_way_out_of_a_state_has_that_states_loop() -> None:
    """Each transition that leaves a state is paired with the loop of the same state."""
    t = topology.TRANSITIONS["T", "E"]
    assert topology.SELF_LOOP[t.to_blank] == t.stay
    assert topology.SELF_LOOP[t.leave] == t.stay
    assert topology.SELF_LOOP[t.blank_leave] == t.blank_stay
    assert t.stay not in topology.SELF_LOOP


@pytest.mark.parametrize(("length", "expected"), [(1, "S"), (2, "BE"), (3, "BIE"), (5, "BIIIE")])
def test_a_word_begins_and_ends(length: int, expected: str) -> None:
    """The positions of a word are begin, inside and end, or single."""
    assert "".join(topology.positions(length)) == expected


def test_word_boundaries_name_every_phone_once() -> None:
    """Kaldi is told the position of every phone id."""
    lines = [line.split() for line in topology.word_boundaries().splitlines()]
    assert [int(number) for number, _ in lines] == list(range(1, len(lines) + 1))
    assert len(lines) == 4 * 39 + 1
