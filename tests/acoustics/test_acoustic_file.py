"""The model as Vosk reads it."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import soundfile
import vosk

from voice.acoustics import topology
from voice.acoustics.acoustic_file import FEATURES, Layer, Network, write_acoustic_model
from voice.acoustics.shipped import MODEL_FOLDER

if TYPE_CHECKING:
    from typing import Any

    from numpy.typing import NDArray

HERE = Path(__file__).parent


def hear(folder: Path, samples: NDArray[np.int16]) -> dict[str, Any]:
    """What Vosk hears with the model in ``folder``."""
    vosk.SetLogLevel(-1)
    recogniser = vosk.KaldiRecognizer(vosk.Model(str(folder)), 16_000)
    recogniser.SetWords(True)
    recogniser.AcceptWaveform(samples.tobytes())
    result: dict[str, Any] = json.loads(recogniser.FinalResult())
    return result


def test_the_shipped_model_hears_a_phrase_and_when_each_word_was_said() -> None:
    """Both words of a spoken phrase are heard, in order, inside the sound that was spoken."""
    samples, _ = soundfile.read(HERE / "pressure_fourteen.flac", dtype="int16")
    heard = hear(MODEL_FOLDER, samples)
    assert heard["text"] == "pressure fourteen"
    pressure, fourteen = heard["result"]
    assert 0.2 <= pressure["start"] < pressure["end"] <= fourteen["start"] < fourteen["end"]
    assert fourteen["end"] <= len(samples) / 16_000


def test_a_network_made_by_hand_speaks_its_biases(tmp_path: Path) -> None:
    """A network that always says one phone is heard as that phone's word and as nothing else."""
    shutil.copytree(MODEL_FOLDER, tmp_path / "model")
    bias = np.zeros(topology.OUTPUTS)
    bias[topology.OUTPUT["OW"]] = 20.0
    layer = Layer(
        name="low0",
        offsets=(-1, 0, 1),
        linear=np.zeros((4, 3 * FEATURES)),
        weights=np.zeros((8, 4)),
        bias=np.zeros(8),
        skip=False,
    )
    network = Network(
        layers=[layer],
        output_weights=np.zeros((topology.OUTPUTS, 8)),
        output_bias=bias,
        priors=np.ones(topology.OUTPUTS),
    )
    write_acoustic_model(tmp_path / "model" / "am" / "final.mdl", network)
    silence = np.zeros(16_000, dtype=np.int16)
    assert hear(tmp_path / "model", silence)["text"] in {"oh", "o", "owe"}
