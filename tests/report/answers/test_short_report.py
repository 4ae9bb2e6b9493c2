from __future__ import annotations

import pytest

from tests.figures.conftest import at
from tests.report.answers.legs import leg_of
from tests.report.legs import GOLDEN, read_leg
from voice.entries.kinds.drain import DrainOpened, Pressure, ZeroFailed
from voice.entries.kinds.laboratory import Laboratory
from voice.entries.kinds.order import OrderPressureLimit
from voice.entries.kinds.vitals import HeartRate, MeanPressure
from voice.entries.leg import EntryState
from voice.report.answers.asking import MOST_WORDS as MOST_WORDS_OF_A_PART
from voice.report.answers.asking import Asking
from voice.report.answers.short_report import MOST_WORDS, short_report
from voice.speech.espeak import EspeakNg


def told(asking: Asking) -> str:
    """All of it at once."""
    return " ".join(short_report(asking))


@pytest.mark.parametrize("name", ["quiet", "troubled", "long"])
def test_it_takes_a_minute_and_a_half_at_most(name: str) -> None:
    """Spoken at the default rate, the short report of an invented leg takes less than 90 s."""
    leg, now = read_leg(GOLDEN / f"{name}.toml")
    parts = short_report(Asking(leg, leg.ended_at or now))
    spoken = EspeakNg()
    assert sum(spoken.speak(f"{part}; say next part").duration_s for part in parts) < 90


def test_each_subject_has_its_words() -> None:
    """Of a small leg, all of it is said, in the order of a handoff."""
    leg = leg_of(
        (1, DrainOpened()),
        (2, OrderPressureLimit(side="above", value=20, unit="mmHg")),
        (10, Pressure(value=18, unit="mmHg")),
        (11, MeanPressure(value_mmhg=84)),
        (20, Pressure(value=24, unit="mmHg")),
        (21, HeartRate(rate_per_min=88)),
        (30, Laboratory(analyte="sodium", value=142, unit="mmol/L")),
    )
    spoken = told(Asking(leg, at(40)))
    assert spoken.startswith("leg: four zero minutes. open: ")
    for words in (
        "order: pressure limit above, two zero",
        "drain: drain opened since one four zero one",
        "pressure: last two four, at one four two zero, between one eight and two four, mean two one",
        "above the order, one of two readings, for seven minutes. perfusion pressure: six six, at one four one zero.",
        "output: no output told yet",
        "vital signs: mean pressure, eight four, heart rate, eight eight",
        "laboratory: sodium, one four two",
        "left: not told: ",
    ):
        assert words in spoken
    order = [spoken.index(f"{about}: ") for about in ("order", "drain", "output", "left")]
    assert order == sorted(order)


def test_doubt_is_said() -> None:
    """What was never confirmed, or was read after a failed zero, does not sound like a sure value."""
    leg = leg_of(
        (1, ZeroFailed()),
        (2, MeanPressure(value_mmhg=84)),
        (3, Pressure(value=18, unit="mmHg")),
        state=EntryState.UNCONFIRMED,
    )
    spoken = told(Asking(leg, at(40)))
    assert "pressure: last one eight, unconfirmed, not to be relied on, at one four zero three" in (
        spoken
    )
    assert "perfusion pressure: six six, unconfirmed, not to be relied on" in spoken
    assert "zero failed, unconfirmed" in spoken
    assert "three entries unconfirmed" in spoken


def test_where_there_is_much_the_laboratory_waits() -> None:
    """Of a leg of which much was told, what is ranked least is left to the rest of the report."""
    leg, now = read_leg(GOLDEN / "long.toml")
    parts = short_report(Asking(leg, leg.ended_at or now))
    assert sum(len(part.split()) for part in parts) <= MOST_WORDS + len(parts)
    assert all(len(part.split()) <= MOST_WORDS_OF_A_PART for part in parts)
    spoken = " ".join(parts)
    assert "laboratory" not in spoken
    assert "drain: drain opened since" in spoken
    assert "one entry unconfirmed" in spoken


def test_nothing_told_is_said() -> None:
    """A leg of which nothing was told has a short report too."""
    spoken = told(Asking(leg_of(), at(5)))
    assert "pressure: not told" in spoken
    assert "output: no output told yet" in spoken
