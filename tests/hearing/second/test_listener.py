"""Whisper kept to a grammar, with the real weights."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.hearing.conftest import Say, acceptor_of
from voice.capture.recordings import read_recording
from voice.entries.heard import Segment
from voice.hearing.second.features import log_mel
from voice.hearing.second.listener import WhisperListener, WhisperModel

PHRASES = ("pressure fourteen", "pressure forty", "drain clamped", "clamped")
CLIP = Path(__file__).parents[3] / "audio_fixtures" / "demo_leg" / "clips" / "006.opus"


@pytest.fixture(scope="module")
def listener(model: WhisperModel) -> WhisperListener:
    """The listener of a handful of phrases."""
    return WhisperListener(model, acceptor_of(*PHRASES))


def segment(samples: np.ndarray) -> Segment:
    """A segment of nothing but ``samples``."""
    return Segment(start_s=0.0, samples=samples, speech_end_s=len(samples) / 16_000)


def clip() -> Segment:
    """A voice that says "pressure fourteen"."""
    return segment(np.concatenate(list(read_recording(CLIP))))


def test_a_phrase_is_heard_whole(listener: WhisperListener) -> None:
    """The likeliest phrase is what was said, far ahead of its twin, and scores fall down the list."""
    heard = listener.hear(clip()).alternatives
    scores = {one.text: one.score for one in heard}
    ahead = scores.pop("pressure fourteen")
    assert all(score < ahead - 2 for text, score in scores.items() if text != "[unk]")
    scores["pressure fourteen"] = ahead
    assert [one.score for one in heard] == sorted(scores.values(), reverse=True)


def test_only_legal_phrases_come_out(listener: WhisperListener) -> None:
    """Every alternative is a phrase of the grammar or [unk], even of silence."""
    for sound in (clip(), segment(np.zeros(0, np.int16)), segment(np.zeros(16_000, np.int16))):
        texts = {one.text for one in listener.hear(sound).alternatives}
        assert "[unk]" in texts
        assert texts <= {*PHRASES, "[unk]"}


def test_other_speech_is_farther_from_a_phrase(listener: WhisperListener, say: Say) -> None:
    """[unk] leads the best phrase by more where something else was said than where a phrase was."""

    def lead(sound: Segment) -> float:
        heard = listener.hear(sound).alternatives
        unknown = next(one.score for one in heard if one.text == "[unk]")
        return unknown - max(one.score for one in heard if one.text != "[unk]")

    other = segment(say("take the bag to the other side of the street"))
    assert lead(other) > lead(clip()) + 5


def test_a_text_weighs_the_same_among_others(model: WhisperModel) -> None:
    """What texts told before is kept for each: neither its row nor its neighbours change what follows."""
    sound = model.decoder.look_at(model.encoder.encode(log_mel(clip().samples, 3.0)))
    one, two, three, other = 10, 20, 30, 40
    _, begun = model.decoder.weigh([one], sound)
    _, alone = model.decoder.weigh([two], sound, begun)
    expected, _ = model.decoder.weigh([three], sound, alone)
    _, both = model.decoder.weigh([other, two], sound, begun.of([0, 0]))
    swapped, told = model.decoder.weigh([three, three], sound, both.of([1, 0]))
    assert told.length == 3
    assert swapped[0] == pytest.approx(expected[0], abs=1e-3)
    assert np.abs(swapped[1] - expected[0]).max() > 0.1


def test_letters_together_are_known(model: WhisperModel) -> None:
    """What the letters of the grammar are written as together can be followed, however rare it is."""
    assert all(model.places(text) for text in (" CSF", " EVD", " EBD"))
    assert model.places(" PTT") is None  # no letters of these grammars


def test_what_is_written_freely_can_be_read(listener: WhisperListener, model: WhisperModel) -> None:
    """Beside the phrases stands what Whisper writes without a grammar, in figures as it likes."""
    phrases, free = listener.search(clip())
    assert phrases[0].words == ("pressure", "fourteen")
    assert model.text(free.tokens).startswith("Pressure 14")
