"""Whether a second listener hears beside the first, and what is said of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.session.scripted import GRAMMAR
from voice.entries.heard import Alternative, Hearing, Segment
from voice.hearing.second.weights import WeightsError
from voice.meaning.two_opinions import ASKED_IN
from voice.session import second_listener
from voice.session.models import SHIPPED_MODEL, Model
from voice.session.preferences import Preferences, SecondListener
from voice.session.second_listener import FAST_ENOUGH_S, find_second, with_second
from voice.session.setups import Equipment

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from voice.hearing.listener import Listener
    from voice.meaning.listening import Listening


class Nine:
    """Hears a phrase in everything."""

    def hear(self, _: Segment) -> Hearing:
        """It is always the same."""
        return Hearing((Alternative("pressure nine", -1.0),))


@pytest.fixture(autouse=True)
def installed(monkeypatch: pytest.MonkeyPatch) -> None:
    """A second listener that needs no weights."""
    monkeypatch.setattr(second_listener, "_load", lambda *_: dict.fromkeys(ASKED_IN, Nine()))


@pytest.fixture
def absent(monkeypatch: pytest.MonkeyPatch) -> None:
    """None is installed."""

    def fails(*_: object) -> Mapping[Listening, Listener]:
        raise WeightsError("The second listener is not installed.")

    monkeypatch.setattr(second_listener, "_load", fails)


def taking(took_s: float) -> Callable[[], float]:
    """A clock by which it takes so long."""
    times = iter((100.0, 100.0 + took_s))
    return lambda: next(times)


def test_it_is_on_where_the_machine_is_fast_enough() -> None:
    """On a fast machine it is on, and the sentence says how long it took."""
    found = find_second(SecondListener.AUTO, SHIPPED_MODEL, GRAMMAR, clock=taking(0.12))
    assert found.told == "The second listener is on: it took 0.12 s over a short entry."
    assert found.as_chosen
    assert found.beside is not None
    found.beside.close()


def test_it_is_off_where_the_machine_is_too_slow() -> None:
    """On a slow machine it is off unless it is to be on, and either way that is told."""
    slow_s = FAST_ENOUGH_S + 0.01
    found = find_second(SecondListener.AUTO, SHIPPED_MODEL, GRAMMAR, clock=taking(slow_s))
    assert (found.beside, found.as_chosen) == (None, False)
    assert "too slow" in found.told
    found = find_second(SecondListener.ON, SHIPPED_MODEL, GRAMMAR, clock=taking(slow_s))
    assert found.beside is not None
    assert "will often be late" in found.told
    assert not found.as_chosen
    found.beside.close()


@pytest.mark.usefixtures("absent")
def test_where_none_is_installed_the_first_goes_on_alone(tmp_path: Path) -> None:
    """Without the extra there is a sentence, whatever was chosen, and a leg can be kept."""
    found = find_second(SecondListener.AUTO, SHIPPED_MODEL, GRAMMAR)
    assert found == (None, "The second listener is not installed.", False)
    with pytest.raises(WeightsError):
        find_second(SecondListener.ON, SHIPPED_MODEL, GRAMMAR)
    chosen = Preferences(second=SecondListener.ON)
    equipment = Equipment(root=tmp_path, model=SHIPPED_MODEL, grammar=GRAMMAR, preferences=chosen)
    same, told = with_second(equipment)
    assert same is equipment
    assert told == "The second listener is not installed. The first listener goes on alone."


def test_one_that_breaks_down_in_the_trial_is_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """What fails on the recording, or never ends, is taken for too slow; the leg does not wait for it."""

    class Fails:
        """Breaks down."""

        def hear(self, _: Segment) -> Hearing:
            raise RuntimeError

    monkeypatch.setattr(second_listener, "_load", lambda *_: dict.fromkeys(ASKED_IN, Fails()))
    found = find_second(SecondListener.AUTO, SHIPPED_MODEL, GRAMMAR)
    assert found.beside is None
    assert "more than 2 s" in found.told


def test_it_is_off_where_that_was_chosen(tmp_path: Path) -> None:
    """It is not loaded where it is to be off, beside a model that was not measured, or in recordings."""
    assert find_second(SecondListener.OFF, SHIPPED_MODEL, GRAMMAR).beside is None
    other = Model("other", tmp_path)
    assert "shipped model only" in find_second(SecondListener.ON, other, GRAMMAR).told
    equipment = Equipment(root=tmp_path, model=SHIPPED_MODEL, grammar=GRAMMAR)
    same, told = with_second(equipment, recorded=True)
    assert same.second is None
    assert "recordings" in told


def test_a_session_gets_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was found is what the session's ears ask."""
    monkeypatch.setattr(second_listener, "_trial_s", lambda *_: 0.1)
    equipment = Equipment(root=tmp_path, model=SHIPPED_MODEL, grammar=GRAMMAR)
    with_it, told = with_second(equipment)
    assert "is on" in told
    assert with_it.second is not None
    with_it.second.close()
