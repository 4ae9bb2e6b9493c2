"""The microphones and speakers of this machine, and one of them by its name.

Where a sound server runs (PulseAudio, or PipeWire in its place), PortAudio sees one device, "pulse",
and not what is plugged in. There the devices are those of the server, asked of ``pactl``, and one is
chosen by the variable that the server's library reads when a stream is opened. Elsewhere they are
PortAudio's.
"""

from __future__ import annotations

import json
import os
import subprocess
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import StrEnum
from threading import Event, Thread
from typing import TYPE_CHECKING, Any

from voice.capture.portaudio import look_again
from voice.entries.errors import LegbookError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from typing import Self

USUAL = "default"
"""The name of what the machine uses where none was chosen."""
_SERVER = "pulse"
"""The name by which PortAudio knows the sound server."""
_ASKING_S = 5.0
"""A sound server that has not answered by then has none to offer."""


class DeviceError(LegbookError):
    """No device has this name, or several have."""


class Direction(StrEnum):
    """Which way the sound goes."""

    INPUT = "microphone"
    OUTPUT = "speaker"


@dataclass(frozen=True, slots=True)
class Device:
    """A microphone or a speaker."""

    name: str
    """As a person reads it; no two of one direction are alike."""
    opened_as: str | int
    """What PortAudio is to open."""
    served_as: str | None
    """The sound server's own name for it; ``None`` where there is no server."""
    rate_hz: int
    """Its own samples a second."""
    usual: bool
    """Whether it is used where none was chosen."""
    muted: bool = False
    """Whether it is known to be muted."""

    def matches(self, asked: str) -> bool:
        """Whether ``asked`` is a part of its name."""
        return any(asked.casefold() in name.casefold() for name in self._names())

    def is_used(self, chosen: str) -> bool:
        """Whether it is used where a device of the name ``chosen`` was chosen, or ``USUAL``."""
        return self.usual if chosen == USUAL else self.is_called(chosen)

    def is_called(self, asked: str) -> bool:
        """Whether ``asked`` is its whole name."""
        return any(asked.casefold() == name.casefold() for name in self._names())

    def _names(self) -> list[str]:
        return [name for name in (self.name, self.served_as) if name]


def devices(direction: Direction) -> tuple[Device, ...]:
    """What can be chosen now; raises ``DeviceError`` where the PortAudio library is missing."""
    known = _of_portaudio(direction)
    served = _of_server(direction) if any(one.name == _SERVER for one in known) else None
    return known if served is None else served


def find(direction: Direction, asked: str) -> Device:
    """The device whose whole name, or the only one a part of whose name, is ``asked``.

    Raises ``DeviceError``, with what there is, where none or several fit.
    """
    there = devices(direction)
    exact = [one for one in (*there, *_of_portaudio(direction)) if one.is_called(asked)]
    fitting = exact[:1] or [device for device in there if device.matches(asked)]
    if len(fitting) == 1:
        return fitting[0]
    names = ", ".join(f'"{device.name}"' for device in fitting or there)
    if fitting:
        raise DeviceError(f'"{asked}" fits more than one {direction}: {names}. Name one in full.')
    raise DeviceError(
        f'There is no {direction} "{asked}". There {"are: " + names if names else "is none"}. '
        f"Plug it in, or choose another with: legbook devices --{direction} NAME"
    )


@dataclass(frozen=True, slots=True)
class Route:
    """The way to a device."""

    opened_as: str | int | None
    """What PortAudio is to open; ``None`` is its usual device."""
    served_as: str | None
    """The sound server's name for the device at the end; ``None`` where there is no server."""


def routed(direction: Direction, asked: str | int | None, error: type[LegbookError]) -> Route:
    """The way to ``asked``, which the sound server has been told; raises ``error``.

    ``None``, like ``USUAL``, is the machine's usual device, and a number one of PortAudio's own.
    """
    try:
        if asked is None or asked == USUAL:
            usual = (device for device in devices(direction) if device.usual)
            return Route(None, next((device.served_as for device in usual), None))
        if isinstance(asked, int):
            return Route(asked, None)
        device = find(direction, asked)
    except DeviceError as trouble:
        raise error(str(trouble)) from None
    if device.served_as is not None:
        variable = "PULSE_SOURCE" if direction is Direction.INPUT else "PULSE_SINK"
        os.environ[variable] = device.served_as
    return Route(device.opened_as, device.served_as)


class Presence:
    """Watches whether a device of the sound server stays there.

    The server goes on with another device when one is pulled out, and tells no program: a microphone
    at the far end of the cabin would be listened to, or a read-back played to the whole of it.
    """

    def __init__(self, direction: Direction, served_as: str | None) -> None:
        """Watch ``served_as``; where it is ``None``, there is nothing to watch."""
        self.gone = False
        """Whether it has been pulled out."""
        self._direction = direction
        self._served_as = served_as
        self._told: subprocess.Popen[str] | None = None
        self._told_of = Event()  # whether we are told of what happens
        if served_as is not None:
            with suppress(OSError):
                self._told = subprocess.Popen(
                    ["pactl", "subscribe"],
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    text=True,
                    env=_in_english(),
                )
                Thread(target=self._look, args=(self._told.stdout,), daemon=True).start()
                Thread(target=self._stir, daemon=True).start()

    def close(self) -> None:
        """Watch no longer."""
        self._told_of.set()
        if self._told is not None:
            self._told.terminate()
            self._told.wait()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _stir(self) -> None:
        """Make something happen, until we are told of it: of what was before, a busy server tells nothing."""
        while not self._told_of.wait(0.2):
            _asked("info")

    def _look(self, told: Iterable[str]) -> None:
        for event in told:
            if not self._told_of.is_set() or f"'remove' on {_kind(self._direction)} " in event:
                self._told_of.set()
                there = _of_server(self._direction)
                self.gone |= there is not None and not any(
                    device.served_as == self._served_as for device in there
                )
        self._told_of.set()


def _of_portaudio(direction: Direction) -> tuple[Device, ...]:
    """PortAudio's devices; on Windows it knows each several times, and the first counts."""
    sounddevice = look_again(DeviceError)
    way = "input" if direction is Direction.INPUT else "output"
    system = sounddevice.query_hostapis(sounddevice.default.hostapi)
    found: dict[str, Device] = {}
    for index in system["devices"]:
        told = sounddevice.query_devices(index)
        if told[f"max_{way}_channels"] > 0:
            found.setdefault(
                told["name"],
                Device(
                    name=told["name"],
                    opened_as=index,
                    served_as=None,
                    rate_hz=int(told["default_samplerate"]),
                    usual=index == system[f"default_{way}_device"],
                ),
            )
    return tuple(found.values())


def _of_server(direction: Direction) -> tuple[Device, ...] | None:
    """The sound server's devices; ``None`` where it does not answer."""
    kind = _kind(direction)
    told, general = _asked("list", f"{kind}s"), _asked("info")
    if told is None or general is None:
        return None
    found = [
        Device(
            name=one["description"],
            opened_as=_SERVER,
            served_as=one["name"],
            rate_hz=int(one["sample_specification"].split()[-1].removesuffix("Hz")),
            usual=one["name"] == general[f"default_{kind}_name"],
            muted=one["mute"],
        )
        for one in told
        if not one["name"].endswith(".monitor")  # what a speaker plays is no microphone
    ]
    return tuple(_told_apart(found))


def _told_apart(found: list[Device]) -> Iterator[Device]:
    """The same, with the server's own names behind names that stand for several."""
    count = Counter(device.name for device in found)
    for device in found:
        several = count[device.name] > 1
        yield replace(device, name=f"{device.name} ({device.served_as})") if several else device


def _asked(*question: str) -> Any:
    """What the sound server answers; ``None`` where it does not, or there is no ``pactl``."""
    try:
        said = subprocess.run(
            ["pactl", "--format=json", *question],
            check=True,
            capture_output=True,
            timeout=_ASKING_S,
            env=_in_english(),
        )
        return json.loads(said.stdout)
    except (OSError, subprocess.SubprocessError, ValueError):
        return None


def _kind(direction: Direction) -> str:
    """What the sound server calls it."""
    return "source" if direction is Direction.INPUT else "sink"


def _in_english() -> dict[str, str]:
    """In other languages events are told in other words, and numbers have a comma: no JSON."""
    return os.environ | {"LC_ALL": "C"}
