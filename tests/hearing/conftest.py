"""Sound for the tests of hearing."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numpy.typing import NDArray

from voice.capture.recordings import read_recording
from voice.meaning.acceptor import Acceptor, Arc

if TYPE_CHECKING:
    from pathlib import Path

Say = Callable[[str], NDArray[np.int16]]


@pytest.fixture
def say(tmp_path: Path) -> Say:
    """Speak words with espeak-ng: samples at 16 kHz."""

    def speak(text: str) -> NDArray[np.int16]:
        file = tmp_path / "said.wav"
        subprocess.run(["espeak-ng", "-v", "en-us", "-s", "140", "-w", str(file), text], check=True)
        return np.concatenate(list(read_recording(file)))

    return speak


def acceptor_of(*phrases: str) -> Acceptor:
    """The acceptor of a list of phrases, as a tree of words."""
    nodes: list[dict[str, int]] = [{}]
    ends = set()
    for phrase in phrases:
        node = 0
        for word in phrase.split():
            if word not in nodes[node]:
                nodes.append({})
                nodes[node][word] = len(nodes) - 1
            node = nodes[node][word]
        ends.add(node)
    arcs = tuple(tuple(Arc(w, to) for w, to in sorted(node.items())) for node in nodes)
    return Acceptor(arcs, dict.fromkeys(ends, 0.0))
