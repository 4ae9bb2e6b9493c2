from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.entries.said import Command, Talk
from voice.meaning.decision import Accept
from voice.meaning.decision import Heard as HeardWords
from voice.record.events import Clip, Confirmed, Heard, Kept, LegEnded, ScoredText
from voice.record.journal import Journal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from numpy.typing import NDArray

START = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)


def at(minutes: float) -> datetime:
    """So many minutes after the leg's start."""
    return START + timedelta(minutes=minutes)


def kept(number: int, value: float = 14, *, replaces: int | None = None, minute: float = 1) -> Kept:
    """A pressure that was taken down."""
    return Kept(
        at=at(minute),
        number=number,
        entry=Pressure(value=value, unit="mmHg"),
        heard="pressure",
        spoken_at=at(minute),
        happened_at=at(minute),
        replaces=replaces,
    )


def heard(clip: Clip | None = None) -> Heard:
    """A command that was understood."""
    words = HeardWords(text="total out", meaning=Command(talk=Talk.TOTAL_OUT))
    return Heard(
        at=at(1),
        start_at=at(1),
        end_at=at(1.05),
        alternatives=(ScoredText(text="total out", score=-12.25),),
        decision=Accept(heard=words),
        dialogue_state="listening",
        clip=clip,
    )


def sound(seed: int = 1) -> NDArray[np.int16]:
    """Half a second of noise."""
    return np.random.default_rng(seed).integers(-9000, 9000, 8000, dtype=np.int16)


def fill(journal: Journal, entries: int = 3) -> None:
    """Confirmed pressures, each heard in a clip of its own."""
    for number in range(1, entries + 1):
        journal.append(heard(journal.add_clip(sound(number))))
        journal.append(kept(number, 10 + number, minute=number))
        journal.append(Confirmed(at=at(number), number=number))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Where the leg will lie."""
    return tmp_path / "legs" / "2026-05-01-1400"


@pytest.fixture
def spare(tmp_path: Path) -> Path:
    """Where it may go on."""
    return tmp_path / "spare" / "2026-05-01-1400"


@pytest.fixture
def create(folder: Path) -> Iterator[Callable[[Path | None], Journal]]:
    """Starts the leg, with or without a spare folder."""
    made = []

    def start(spare: Path | None = None) -> Journal:
        journal = Journal.create(
            folder,
            LegSettings(),
            START,
            grammar_digest="g" * 64,
            model_digest="m" * 64,
            spare=spare,
        )
        made.append(journal)
        return journal

    yield start
    for journal in made:
        journal.close()


@pytest.fixture
def journal(create: Callable[[], Journal]) -> Journal:
    """A leg that was just started."""
    return create()


@pytest.fixture
def kept_leg(journal: Journal, folder: Path) -> Path:
    """The folder of a leg that was written and closed: start, three times heard, kept and confirmed, end."""
    fill(journal)
    journal.append(LegEnded(at=at(40)))
    journal.close()
    return folder
