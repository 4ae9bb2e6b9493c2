"""PortAudio, or a sentence on why it is not there; and streams that are let go whatever became of their device."""

from __future__ import annotations

import atexit
import sys
import threading
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.errors import LegbookError

CLOSING_S = 1.0
"""So long closing a device may take; a working one takes some hundredths."""

_open: set[int] = set()  # the streams that were begun and are not closed


def portaudio(error: type[LegbookError]) -> Any:
    """The ``sounddevice`` module; raises ``error`` where the PortAudio library is missing."""
    try:
        import sounddevice  # noqa: PLC0415  (its import fails without the system's library)
    except OSError:
        raise error(
            "Sound cannot be used: the PortAudio library is missing. "
            "Install it (on Debian: apt install libportaudio2) and start again."
        ) from None
    return sounddevice


def look_again(error: type[LegbookError]) -> Any:
    """``portaudio``, knowing the devices of now, unless a stream is open; raises ``error``.

    PortAudio looks for devices when it begins, and never again: what was plugged in later, or a sound server that was started
    later, is not there for it. Beginning anew closes all streams.
    """
    sounddevice = portaudio(error)
    if not _open:
        sounddevice._terminate()  # noqa: SLF001 - it has no other name
        sounddevice._initialize()  # noqa: SLF001
    return sounddevice


def begin(stream: Any) -> None:
    """Start a stream, which is to be let go; raises PortAudioError, and lets it go, where it does not start."""
    _open.add(id(stream))
    try:
        stream.start()
    except Exception:
        let_go(stream)
        raise


def let_go(stream: Any) -> bool:
    """Close a stream; whether that was done within ``CLOSING_S``.

    Where a device was pulled out, ALSA's way to PulseAudio may wait for it for ever (seen once in some hundred times). Then a
    thread of its own goes on waiting, and not the talk; it ends with the program.
    """

    def close() -> None:
        stream.close()
        _open.discard(id(stream))

    closing = threading.Thread(target=close, daemon=True, name="letting a device go")
    closing.start()
    closing.join(CLOSING_S)
    if closing.is_alive():
        # the library would close it once more when the program ends, and wait as long
        atexit.unregister(sys.modules["sounddevice"]._exit_handler)  # noqa: SLF001 - it has no other name
    return not closing.is_alive()


@contextmanager
def running(stream: Any) -> Iterator[None]:
    """A stream that has begun, and is let go in the end; raises PortAudioError where it does not start."""
    begin(stream)
    try:
        yield
    finally:
        let_go(stream)
