"""A device that was pulled out never holds up the program."""

from __future__ import annotations

import atexit
import threading
import time
from typing import TYPE_CHECKING

import pytest

from voice.capture import portaudio
from voice.capture.portaudio import let_go, running

if TYPE_CHECKING:
    from collections.abc import Callable


class Stream:
    """One whose device answers, or not until it may."""

    def __init__(self, *, answers: bool) -> None:
        self.may = threading.Event()
        self.done: list[str] = []
        if answers:
            self.may.set()

    def start(self) -> None:
        """It runs."""
        self.done.append("started")

    def close(self) -> None:
        """Once it may."""
        self.may.wait(20)
        self.done.append("closed")


def test_a_working_device_is_closed_when_it_is_let_go() -> None:
    """What follows finds it closed, also after a failure."""
    stream = Stream(answers=True)
    with pytest.raises(KeyError), running(stream):
        raise KeyError
    assert stream.done == ["started", "closed"]


def test_a_device_that_never_answers_is_left_behind(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is waited for a moment only, then and when the program ends."""
    left: list[Callable[..., object]] = []
    monkeypatch.setattr(atexit, "unregister", left.append)
    monkeypatch.setattr(portaudio, "CLOSING_S", 0.05)
    stream = Stream(answers=False)
    pytest.importorskip("sounddevice")
    began_s = time.monotonic()
    assert not let_go(stream)
    assert time.monotonic() - began_s < 5
    assert len(left) == 1
    stream.may.set()
