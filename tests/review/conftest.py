from __future__ import annotations

from datetime import timedelta
from shutil import copytree
from typing import TYPE_CHECKING, Any

import pytest

from tests.review.flight import at, desk_leg
from voice.entries.review import Reviewer
from voice.meaning.grammar import load_grammar
from voice.review.desk import Desk

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime
    from pathlib import Path

SAND = Reviewer(name="R. Sand", role="charge nurse")
MOSS = Reviewer(name="A. Moss", role="physician")


class Clock:
    """A day after the leg; each look is a second later."""

    def __init__(self) -> None:
        self.now = at(24 * 60)

    def __call__(self) -> datetime:
        """The time, in UTC."""
        self.now += timedelta(seconds=1)
        return self.now


def reading(desk: Desk, number: int, nth: int) -> dict[str, Any]:
    """What the page sends of an entry's ``nth`` reading, counted from 0."""
    option = desk.options(number)[nth]
    return {"number": number, "text": option.text, "becomes": option.written or ""}


@pytest.fixture(scope="session")
def flown(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A leg that is over; made once, and only copied."""
    return desk_leg(tmp_path_factory.mktemp("flown"))


@pytest.fixture
def folder(flown: Path, tmp_path: Path) -> Path:
    """A leg that is over."""
    return copytree(flown, tmp_path / flown.name)


@pytest.fixture
def open_desk(folder: Path) -> Iterator[Callable[[], Desk]]:
    """Opens a desk at the leg; more than one may be open at once."""
    opened = []

    def another(*, readonly: bool = False) -> Desk:
        desk = Desk(folder, load_grammar(), Clock(), readonly=readonly)
        opened.append(desk)
        return desk

    yield another
    for desk in opened:
        desk.close()


@pytest.fixture
def desk(open_desk: Callable[[], Desk]) -> Desk:
    """A desk at the leg."""
    return open_desk()
