"""Choosing a microphone and a speaker, as it is typed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from voice import cli
from voice.capture import devices
from voice.capture.devices import Device, DeviceError, Direction
from voice.session import preferences

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(autouse=True)
def machine(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> dict[Direction, list[str]]:
    """A machine with two microphones and a speaker, of which the first are the usual ones."""
    there = {Direction.INPUT: ["Camera", "Crew headset"], Direction.OUTPUT: ["Cabin speaker"]}
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setattr(
        devices,
        "_of_portaudio",
        lambda direction: tuple(
            Device(name, number, None, 48_000, usual=number == 0)
            for number, name in enumerate(there[direction])
        ),
    )
    return there


def typed(*arguments: str) -> list[str]:
    """What ``legbook devices`` shows."""
    done = CliRunner().invoke(cli.app, ["devices", *arguments], catch_exceptions=False)
    return done.output.splitlines()


def test_what_is_used_is_marked() -> None:
    """Without a choice the machine's usual devices are used."""
    assert typed() == [
        "* microphone Camera",
        "  microphone Crew headset",
        "* speaker    Cabin speaker",
    ]


def test_a_choice_is_kept_by_its_full_name_until_it_is_taken_back() -> None:
    """A part of the name is enough, and stays chosen; "default" goes back to the usual device."""
    assert "* microphone Crew headset" in typed("--microphone", "crew")
    assert "  microphone Camera" in typed()
    assert preferences.load().microphone == "Crew headset"
    assert "* microphone Camera" in typed("--microphone", "default")


def test_a_chosen_device_that_is_not_there_is_told(machine: dict[Direction, list[str]]) -> None:
    """Another is not put in its place."""
    typed("--microphone", "crew", "--speaker", "cabin")
    machine[Direction.INPUT].remove("Crew headset")
    machine[Direction.OUTPUT].clear()
    assert typed() == [
        "  microphone Camera",
        "! microphone Crew headset: chosen, but not there. Plug it in, or choose another.",
        "! speaker    Cabin speaker: chosen, but not there. Plug it in, or choose another.",
    ]
    typed("--speaker", "default")
    assert "! speaker    There is none. Plug one in." in typed()


def test_a_name_that_fits_nothing_changes_nothing() -> None:
    """It is refused with what there is, and what was chosen stays."""
    typed("--microphone", "crew")
    with pytest.raises(DeviceError, match="Camera"):
        typed("--microphone", "boom")
    assert preferences.load().microphone == "Crew headset"
