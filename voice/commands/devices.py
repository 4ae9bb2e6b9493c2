"""Which microphone and speaker are used, and which there are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.capture.devices import USUAL, Direction, devices, find
from voice.session import preferences

if TYPE_CHECKING:
    from collections.abc import Iterator


def choose(microphone: str | None, speaker: str | None) -> None:
    """Use these from now on; ``None`` leaves one as it was, ``USUAL`` is the machine's own.

    Raises ``DeviceError`` where a name fits nothing or several, and ``PreferencesError`` where the
    choice cannot be kept.
    """
    chosen = preferences.load().changed(
        microphone=_in_full(Direction.INPUT, microphone),
        speaker=_in_full(Direction.OUTPUT, speaker),
    )
    preferences.save(chosen)


def told() -> Iterator[str]:
    """A line for each device, with a mark where it is the one that is used."""
    chosen = preferences.load()
    for direction, name in (
        (Direction.INPUT, chosen.microphone),
        (Direction.OUTPUT, chosen.speaker),
    ):
        there = devices(direction)
        for device in there:
            yield f"{'*' if device.is_used(name) else ' '} {direction:10} {device.name}"
        if name != USUAL and not any(device.is_called(name) for device in there):
            yield f"! {direction:10} {name}: chosen, but not there. Plug it in, or choose another."
        elif not there:
            yield f"! {direction:10} There is none. Plug one in."


def _in_full(direction: Direction, asked: str | None) -> str | None:
    return asked if asked is None or asked == USUAL else find(direction, asked).name
