"""Recordings are cut into stretches of speech without a talk."""

from __future__ import annotations

from typing import TYPE_CHECKING

import soundfile

from voice.capture.recordings import TAIL_S
from voice.entries.heard import SAMPLE_RATE
from voice.hearing.segmenter import HANGOVER_S
from voice.session.segments import segments_of
from voice.speech.espeak import EspeakNg

if TYPE_CHECKING:
    from pathlib import Path


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
