"""What tests with real sound share."""

from __future__ import annotations

import signal
from functools import partial
from typing import TYPE_CHECKING, NoReturn

import numpy as np
import pytest
import soundfile

from voice.entries.heard import SAMPLE_RATE
from voice.session.progress import Progress, Spoken
from voice.speech.espeak import EspeakNg

if TYPE_CHECKING:
    from collections.abc import Callable, Generator, Iterator
    from pathlib import Path


def speak(folder: Path, text: str, after_s: float = 0.0) -> Path:
    """Words as a recording in ``folder``, after so many seconds of silence."""
    path = folder / f"{text}.wav"
    sound = EspeakNg().speak(text).at_rate(SAMPLE_RATE).samples // 2
    silence = np.zeros(round(after_s * SAMPLE_RATE), np.int16)
    soundfile.write(path, np.concatenate((silence, sound)), SAMPLE_RATE)
    return path


@pytest.fixture
def spoken(tmp_path: Path) -> Callable[..., Path]:
    """Words as a recording, after so many seconds of silence."""
    return partial(speak, tmp_path)


@pytest.fixture
def _time_limit() -> Iterator[None]:
    """A test that waits in vain for words to be heard fails, and does not hang."""

    def give_up(*_: object) -> NoReturn:
        raise TimeoutError("nothing more was heard")

    signal.signal(signal.SIGALRM, give_up)
    signal.alarm(100)
    yield
    signal.alarm(0)


def until(kind: type[Progress], progress: Generator[Progress]) -> list[Progress]:
    """What is told up to the first of a kind."""
    told = []
    for one in progress:
        told.append(one)
        if isinstance(one, kind):
            return told
    raise AssertionError(told)


def until_spoken(text: str, progress: Generator[Progress]) -> None:
    """Wait for words to be spoken."""
    assert any(isinstance(one, Spoken) and one.text.startswith(text) for one in progress)
