"""A device that was pulled out never holds up the program."""

from __future__ import annotations

import atexit
import threading
import time
from types import SimpleNamespace
from typing import TYPE_CHECKING, NoReturn

import pytest

from voice.capture import portaudio
from voice.capture.portaudio import begin, let_go, look_again, running
from voice.entries.errors import LegbookError

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


def refuse() -> NoReturn:
    """Somebody else has it."""
    raise OSError("busy")


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


def test_devices_are_not_looked_for_anew_beside_one_that_is_not_closed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """That would close it, and wait as long for it; the next look is had when it has been closed."""
    looks: list[str] = []
    module = SimpleNamespace(_terminate=lambda: None, _initialize=lambda: looks.append("look"))
    monkeypatch.setattr(portaudio, "portaudio", lambda _: module)
    stream = Stream(answers=True)
    with running(stream):
        look_again(LegbookError)
        assert looks == []
    look_again(LegbookError)
    assert looks == ["look"]


def test_a_device_that_does_not_start_is_let_go() -> None:
    """It is closed, and does not stand in the way of the next look."""
    stream = Stream(answers=True)
    stream.start = refuse  # type: ignore[method-assign]
    with pytest.raises(OSError, match="busy"):
        begin(stream)
    assert stream.done == ["closed"]
    assert id(stream) not in portaudio._open
