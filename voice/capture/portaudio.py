"""PortAudio, or a sentence on why it is not there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from voice.entries.errors import LegbookError


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
