"""Where an utterance begins and ends, and when it may not be trusted."""

from __future__ import annotations

import itertools
import random
import tracemalloc
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice.entries.heard import SAMPLE_RATE, Block, Segment
from voice.hearing.segmenter import (
    AROUND_S,
    FRAME_S,
    HANGOVER_S,
    LONGEST_S,
    PAUSE_LEFT_S,
    Segmenter,
    joined,
)
from voice.hearing.vad import FRAME_SAMPLES, SileroVad

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from tests.hearing.conftest import Say


class LoudIsVoice:
    """Takes every loud frame for speech."""

    def probability(self, frame: NDArray[np.int16]) -> float:
        """One or nothing."""
        return float(np.abs(frame).max() > 1000)

    def reset(self) -> None:
        """There is nothing to forget."""


def voice(duration_s: float) -> NDArray[np.int16]:
    """Loud sound in whole frames."""
    return np.full(round(duration_s / FRAME_S) * FRAME_SAMPLES, 5000, dtype=np.int16)


def quiet(duration_s: float) -> NDArray[np.int16]:
    """Silence in whole frames."""
    return np.zeros(round(duration_s / FRAME_S) * FRAME_SAMPLES, dtype=np.int16)


def blocks(*sounds: NDArray[np.int16], start_s: float = 0.0) -> list[Block]:
    """One block of the sounds after each other."""
    return [Block(start_s, np.concatenate(sounds))]


def segments(stream: Iterable[Block], segmenter: Segmenter | None = None) -> list[Segment]:
    """All that a segmenter makes of a stream."""
    segmenter = segmenter or Segmenter(LoudIsVoice())
    return [s for block in stream for s in segmenter.feed(block)] + list(segmenter.flush())


def test_a_phrase_is_kept_with_sound_around_it() -> None:
    """A segment starts AROUND_S before the speech and ends AROUND_S after it."""
    (segment,) = segments(blocks(quiet(2), voice(1), quiet(2)))
    assert segment.start_s == pytest.approx(2 - AROUND_S, abs=FRAME_S)
    assert segment.speech_end_s == pytest.approx(3, abs=FRAME_S)
    assert segment.end_s == pytest.approx(3 + AROUND_S, abs=FRAME_S)
    assert not segment.cut


def test_a_short_pause_does_not_part_a_phrase() -> None:
    """Silence shorter than the hangover stays inside the segment."""
    (segment,) = segments(blocks(quiet(1), voice(1), quiet(HANGOVER_S - 0.05), voice(1), quiet(1)))
    assert segment.speech_end_s - segment.start_s > 2


def test_a_long_pause_parts_two_phrases() -> None:
    """Silence longer than the hangover ends a segment, and neither is cut."""
    found = segments(blocks(quiet(1), voice(1), quiet(HANGOVER_S + 0.05), voice(1), quiet(1)))
    assert [segment.cut for segment in found] == [False, False]
    assert found[0].end_s <= found[1].start_s + AROUND_S


def test_what_was_said_tells_how_long_a_pause_ends_it() -> None:
    """Each pause is asked about once, when the segment is as it will be, and it ends as was answered."""
    asked: list[Segment] = []

    def hangover_s(so_far: Segment) -> float:
        asked.append(so_far)
        return 1.0 if len(asked) == 1 else AROUND_S

    sound = blocks(
        quiet(1), voice(1), quiet(0.9), voice(0.5), quiet(AROUND_S + FRAME_S), voice(1), quiet(1)
    )
    (first, second) = Segmenter(LoudIsVoice()).feed(sound[0], hangover_s)
    assert [first, second] == asked[1:]
    assert asked[0].speech_end_s == pytest.approx(2, abs=FRAME_S)
    assert first.speech_end_s == pytest.approx(3.4, abs=2 * FRAME_S)
    assert np.array_equal(first.samples[: len(asked[0].samples)], asked[0].samples)
    assert not first.cut
    assert not second.cut


def test_what_may_not_be_trusted_is_not_asked_about() -> None:
    """A click, and speech whose beginning is missing, end as they would unasked."""

    def hangover_s(so_far: Segment) -> float:
        raise AssertionError(so_far)

    segmenter = Segmenter(LoudIsVoice())
    segmenter.deaf_until(1.5)
    (sound,) = blocks(quiet(1), voice(1), quiet(1), voice(0.06), quiet(1))
    (segment,) = segmenter.feed(sound, hangover_s)
    assert segment.cut


def test_a_click_is_no_phrase() -> None:
    """A sound shorter than any word makes no segment."""
    assert segments(blocks(quiet(1), voice(0.06), quiet(1))) == []


def test_long_speech_is_cut_and_all_its_parts_say_so() -> None:
    """No segment exceeds the greatest length, and no part of a long talk passes for a phrase."""
    found = segments(blocks(quiet(1), voice(20), quiet(0.2), voice(1), quiet(1)))
    assert len(found) == 3
    assert all(segment.cut for segment in found)
    assert all(len(s.samples) <= LONGEST_S * SAMPLE_RATE + FRAME_SAMPLES for s in found)


def test_after_long_speech_and_a_pause_phrases_are_taken_again() -> None:
    """What follows a cut talk after a real pause is whole."""
    found = segments(blocks(quiet(1), voice(8.5), quiet(1), voice(1), quiet(1)))
    assert [segment.cut for segment in found] == [True, True, False]


def test_sound_lost_within_a_phrase_cuts_both_halves() -> None:
    """Neither half of a phrase with a gap in time passes for a phrase."""
    stream = blocks(quiet(1), voice(1)) + blocks(voice(1), quiet(1), start_s=2.5)
    assert [segment.cut for segment in segments(stream)] == [True, True]


def test_a_jump_between_phrases_harms_neither() -> None:
    """Recordings that are joined with silence around them stay whole."""
    stream = blocks(quiet(1), voice(1), quiet(1)) + blocks(
        quiet(0.2), voice(1), quiet(1), start_s=60
    )
    first, second = segments(stream)
    assert not first.cut
    assert not second.cut
    assert second.start_s == pytest.approx(60)


def test_what_is_said_while_the_microphone_is_deaf_is_passed_over() -> None:
    """Speech that lies wholly before the end of deafness leaves no segment."""
    segmenter = Segmenter(LoudIsVoice())
    segmenter.deaf_until(2.5)
    assert segments(blocks(quiet(1), voice(1), quiet(2)), segmenter) == []


def test_speech_that_began_while_deaf_is_cut() -> None:
    """A phrase whose beginning was not heard does not pass for a phrase."""
    segmenter = Segmenter(LoudIsVoice())
    segmenter.deaf_until(1.5)
    (segment,) = segments(blocks(quiet(1), voice(1), quiet(1)), segmenter)
    assert segment.cut
    assert segment.start_s >= 1.5


def test_speech_that_the_program_falls_upon_is_cut() -> None:
    """A phrase during which the microphone turns deaf ends there, as cut."""
    segmenter = Segmenter(LoudIsVoice())
    (sound,) = blocks(quiet(1), voice(1))
    assert segmenter.feed(sound) == ()
    segmenter.deaf_until(4)
    (segment,) = segments(blocks(voice(1), quiet(2), start_s=sound.end_s), segmenter)
    assert segment.cut
    assert segment.end_s <= 2 + FRAME_S


@given(st.lists(st.integers(1, 3000), min_size=1, max_size=60))
def test_the_size_of_blocks_does_not_matter(sizes: list[int]) -> None:
    """However the stream is chopped into blocks, the segments are the same."""
    sound = np.concatenate((quiet(0.5), voice(0.5), quiet(1), voice(0.3), quiet(1)))
    ends = [0, *(e for e in itertools.accumulate(sizes) if e < len(sound)), len(sound)]
    chopped = [Block(a / SAMPLE_RATE, sound[a:b]) for a, b in itertools.pairwise(ends) if b > a]
    whole, parts = segments([Block(0.0, sound)]), segments(chopped)
    for one, other in zip(whole, parts, strict=True):
        assert other.speech_end_s == pytest.approx(one.speech_end_s)
        assert np.array_equal(one.samples, other.samples)
        assert not other.cut


class Doubtful:
    """Speech and silence at random, in long and short runs."""

    def __init__(self) -> None:
        self._random = random.Random(3)
        self._left = 0
        self._now = 0.0

    def probability(self, frame: NDArray[np.int16]) -> float:  # noqa: ARG002
        """Heeds no sound."""
        if self._left == 0:
            self._now = self._random.choice([0.0, 0.4, 1.0])
            self._left = self._random.randint(1, 40)
        self._left -= 1
        return self._now

    def reset(self) -> None:
        """There is nothing to forget."""


def test_three_hours_of_noise_stay_bounded() -> None:
    """Neither memory nor any segment grows with the length of the noise."""
    segmenter = Segmenter(Doubtful())
    frame = np.random.default_rng(1).normal(0, 3000, FRAME_SAMPLES).astype(np.int16)
    longest_samples = count = 0
    tracemalloc.start()
    for number in range(round(3 * 3600 / FRAME_S)):
        for segment in segmenter.feed(Block(number * FRAME_S, frame)):
            longest_samples = max(longest_samples, len(segment.samples))
            count += 1
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert count > 1000
    assert longest_samples <= LONGEST_S * SAMPLE_RATE + FRAME_SAMPLES
    assert peak < 5e6


def test_silero_finds_a_spoken_phrase_and_no_rotor(say: Say) -> None:
    """Speech makes one segment around it; a rotor's beat and hiss make none."""
    spoken = say("pressure fourteen")
    sound = np.concatenate((quiet(1), spoken, quiet(1)))
    (segment,) = segments([Block(0.0, sound)], Segmenter(SileroVad()))
    assert not segment.cut
    assert 0.7 <= segment.start_s <= 1.1
    assert segment.end_s == pytest.approx(1 + len(spoken) / SAMPLE_RATE, abs=0.35)
    assert segments([Block(0.0, rotor(20))], Segmenter(SileroVad())) == []


def rotor(duration_s: float) -> NDArray[np.int16]:
    """Broad noise that a blade beats 17 times a second."""
    time_s = np.arange(round(duration_s * SAMPLE_RATE)) / SAMPLE_RATE
    hiss = np.random.default_rng(2).normal(0, 1500, len(time_s))
    return (hiss * (1 + 0.7 * np.sin(2 * np.pi * 17 * time_s))).astype(np.int16)


def test_two_segments_become_one_with_less_silence() -> None:
    """No speech of either is lost; PAUSE_LEFT_S of the silence between them stays, and nothing of its length."""
    for pause_s in (0.7, 2.0):
        sound = blocks(quiet(0.5), voice(1.0), quiet(pause_s), voice(0.5), quiet(1.0))
        first, rest = segments(sound)
        whole = joined(first, rest)
        loud = np.flatnonzero(whole.samples)
        assert len(loud) == len(voice(1.0)) + len(voice(0.5))
        silence = int(np.diff(loud).max())
        assert silence == pytest.approx(PAUSE_LEFT_S * SAMPLE_RATE, abs=2 * FRAME_SAMPLES)
        assert whole.start_s == first.start_s
        assert whole.end_s - whole.speech_end_s == pytest.approx(rest.end_s - rest.speech_end_s)
        assert not whole.cut


def test_what_is_cut_makes_the_whole_cut() -> None:
    """Where a part may be missing in either, it may be in both together."""
    one = Segment(0.0, quiet(1.0), 0.7)
    cut = Segment(2.0, quiet(1.0), 2.7, cut=True)
    assert joined(one, cut).cut
    assert joined(cut, one).cut
