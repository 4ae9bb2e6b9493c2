"""Recordings are cut into stretches of speech without a talk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile

from tests.session.cabin import FIXTURES, noise, speech
from voice.capture.recordings import TAIL_S
from voice.entries.heard import SAMPLE_RATE
from voice.hearing.segmenter import HANGOVER_S
from voice.session.segments import segments_in, segments_of
from voice.speech.espeak import EspeakNg

if TYPE_CHECKING:
    from pathlib import Path

CLIPS = FIXTURES / "demo_leg" / "clips"


def test_speech_up_to_the_end_of_a_file_is_found_whole(tmp_path: Path) -> None:
    """A recording that ends with its last word has one segment, not cut, and none is lost."""
    file = tmp_path / "said.wav"
    said = EspeakNg().speak("drain clamped").at_rate(SAMPLE_RATE)
    soundfile.write(file, said.samples, SAMPLE_RATE)
    (segment,) = segments_of(file)
    assert not segment.cut
    assert 0 <= segment.start_s + 0.3 <= segment.speech_end_s <= said.duration_s + 0.1


def test_silence_after_a_recording_ends_a_phrase() -> None:
    """What is put after a recording is longer than the silence that ends a phrase, with time to spare."""
    assert TAIL_S >= HANGOVER_S + 0.1


def test_a_phrase_is_found_from_its_beginning_after_others_have_talked() -> None:
    """What the detector remembers of one voice must not hide the first word of the next."""
    others, phrase = speech(CLIPS / "020.opus"), speech(CLIPS / "089.opus")
    cabin = np.resize(noise(), 18 * SAMPLE_RATE)
    sound = np.concatenate([others, 0 * cabin, phrase, 0 * cabin[: 2 * SAMPLE_RATE]])
    (alone,) = segments_in(np.concatenate([phrase, cabin[: 2 * SAMPLE_RATE]]))
    *_, last = segments_in(sound + np.resize(cabin, len(sound)))
    began_s = (len(others) + len(cabin)) / SAMPLE_RATE
    assert last.start_s - began_s == pytest.approx(alone.start_s, abs=0.1)
