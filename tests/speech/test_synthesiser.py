"""What is spoken, and what is said when nothing can be."""

from __future__ import annotations

import stat
import sys
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.speech import synthesiser
from voice.speech.espeak import EspeakNg
from voice.speech.manner import Manner
from voice.speech.pyttsx3_speech import Pyttsx3
from voice.speech.synthesiser import Remembering, SpeechError, run_child, system_synthesiser
from voice.speech.waveform import PEAK, Waveform

if TYPE_CHECKING:
    from pathlib import Path


def sounding(waveform: Waveform) -> int:
    """How many stretches of sound there are with at least 50 ms of silence between them."""
    step = round(0.01 * waveform.rate_hz)
    size = np.abs(waveform.samples[: len(waveform.samples) // step * step].astype(float))
    loud = size.reshape(-1, step).max(axis=1) > 0.02 * size.max()
    quiet_run, stretches = 5, 0
    for is_loud in loud:
        stretches += bool(is_loud) and quiet_run >= 5
        quiet_run = 0 if is_loud else quiet_run + 1
    return stretches


def strongest_hz(waveform: Waveform) -> float:
    """The pitch of the voice: at which lag, of 70 to 400 Hz, the sound is most like itself."""
    sound = waveform.samples.astype(float)
    lags = range(waveform.rate_hz // 400, waveform.rate_hz // 70)
    alike = [float(sound[lag:] @ sound[:-lag]) / (len(sound) - lag) for lag in lags]
    return waveform.rate_hz / lags[int(np.argmax(alike))]


@pytest.mark.parametrize("voice", [EspeakNg, Pyttsx3])
def test_speaks_twice(voice: type[EspeakNg | Pyttsx3]) -> None:
    """A second sentence is spoken as well as the first."""
    speaker = voice()
    for _ in range(2):
        spoken = speaker.speak("pressure, one four")
        assert 0.8 < spoken.duration_s < 3.0


def test_digits_stand_apart() -> None:
    """Each digit is a stretch of sound of its own."""
    assert sounding(EspeakNg().speak("one nine one")) == 3


@pytest.mark.parametrize("voice", [EspeakNg, Pyttsx3])
def test_rate_is_kept(voice: type[EspeakNg | Pyttsx3]) -> None:
    """Half the words a minute take nearly twice as long."""
    slow, fast = (voice(Manner(rate_wpm=rate)).speak("drain leveled") for rate in (110, 220))
    assert slow.duration_s > 1.5 * fast.duration_s


def test_pitch_is_kept() -> None:
    """A voice that is set high speaks higher."""
    low, high = (EspeakNg(Manner(pitch=pitch)).speak("no") for pitch in (10, 90))
    assert strongest_hz(high) > 1.3 * strongest_hz(low)


def test_text_is_not_taken_for_markup() -> None:
    """Signs that mean something in markup do no harm."""
    assert EspeakNg().speak("a < b & c").duration_s > 0.5


def test_silence_is_cut_off_and_loudness_is_even() -> None:
    """Sound begins and ends at once, and peaks where everything else does."""
    spoken = EspeakNg().speak("confirm")
    size = np.abs(spoken.samples.astype(float))
    assert size.max() == pytest.approx(PEAK * 32767, abs=1)
    edge = round(0.002 * spoken.rate_hz)
    assert size[:edge].max() > 0.005 * size.max()
    assert size[-edge:].max() > 0.005 * size.max()


def test_no_sound_is_an_error() -> None:
    """Where the voice gives no sound at all, that is not taken for speech."""
    with pytest.raises(SpeechError, match="gave no sound"):
        EspeakNg().speak("")


def test_what_was_spoken_is_remembered() -> None:
    """The same text is spoken by the voice only once."""
    texts: list[str] = []

    class Voice:
        def speak(self, text: str) -> Waveform:
            texts.append(text)
            return Waveform(np.zeros(1, dtype=np.int16), 16_000)

    remembering = Remembering(Voice())
    for text in ("kept", "kept", "lost"):
        remembering.speak(text)
    assert texts == ["kept", "lost"]


def test_missing_program_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without espeak-ng the sentence says what to install."""
    monkeypatch.setenv("PATH", "")
    with pytest.raises(SpeechError, match="Install it"):
        EspeakNg()


def test_failure_tells_what_the_program_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the program fails its own last word is told."""
    program = tmp_path / "espeak-ng"
    program.write_text("#!/bin/sh\necho 'no such voice' >&2\nexit 1\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(SpeechError, match=r"espeak-ng cannot speak: no such voice\."):
        EspeakNg().speak("pressure, one four")


def test_hanging_program_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A program that does not end is stopped, and that is said."""
    monkeypatch.setattr(synthesiser, "CHILD_MAY_TAKE_S", 0.2)
    with pytest.raises(SpeechError, match="did not finish"):
        run_child([sys.executable, "-c", "import time; time.sleep(60)"], "", "The voice")


@pytest.mark.parametrize(
    ("platform", "voice"), [("linux", EspeakNg), ("darwin", Pyttsx3), ("win32", Pyttsx3)]
)
def test_voice_of_the_system(
    platform: str, voice: type[object], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Linux speaks through espeak-ng, the others through pyttsx3."""
    made: list[object] = []
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setattr(synthesiser, "Remembering", made.append)
    system_synthesiser()
    assert isinstance(made[0], voice)


def test_no_sound_from_the_system_voice(monkeypatch: pytest.MonkeyPatch) -> None:
    """When the system's voice ends without a sound file, that is said."""
    monkeypatch.setattr("voice.speech.pyttsx3_speech.run_child", lambda *_: b"")
    with pytest.raises(SpeechError, match="gave no sound"):
        Pyttsx3().speak("pressure, one four")
