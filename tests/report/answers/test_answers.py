"""What is answered to each question."""

from __future__ import annotations

import time
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.figures.conftest import START, at, entries
from tests.report.answers.legs import SETTINGS, asked, leg_of
from voice.entries.kinds.drain import (
    ChamberReading,
    DrainClamped,
    DrainLevelled,
    DrainOpened,
    DrainZeroed,
    Pressure,
    ZeroFailed,
)
from voice.entries.kinds.drain_care import CatheterOut, Stopcocks
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.kinds.order import OrderDrain, OrderHourlyLimit, OrderPerfusionTarget
from voice.entries.kinds.vitals import ArterialZeroed, BloodPressure, HeartRate, MeanPressure
from voice.entries.leg import EntryState, Leg
from voice.entries.said import About, Question, Statement
from voice.meaning.grammar import load_grammar
from voice.meaning.handoff import load_needs
from voice.report.answers import answer
from voice.report.answers.asking import MOST_WORDS, Asking, duration, in_parts
from voice.report.answers.report import SHORT_OVER, report

if TYPE_CHECKING:
    from voice.entries.kinds import Entry
    from voice.entries.kinds.drain import Reference
    from voice.entries.kinds.vitals import ArterialReference

GRAMMAR = load_grammar()


def icp(value: float) -> Pressure:
    """A pressure in the leg's unit."""
    return Pressure(value=value, unit="mmHg")


def test_last_value_is_told_with_its_time_and_age() -> None:
    """The latest by the time at which it happened, in figures one by one, with its unit if it matters."""
    leg = leg_of((30, icp(15)), (10, icp(22)), (40, DrugGiven(drug="mannitol", dose=50, unit="g")))
    assert (
        asked("last pressure", leg)
        == "pressure, one five, at one four three zero, three zero minutes ago"
    )
    assert asked("last mannitol", leg).startswith(
        "mannitol, five zero grams, at one four four zero"
    )
    assert asked("last sodium", leg) == "no sodium told"


def test_last_value_says_what_is_in_doubt() -> None:
    """An unconfirmed value says so, and a pressure after a failed zero is not to be relied on."""
    leg = leg_of(
        (5, DrainZeroed()), (10, ZeroFailed()), (20, icp(15)), state=EntryState.UNCONFIRMED
    )
    told = asked("last pressure", leg)
    assert "unconfirmed, not to be relied on: zero failed one four one zero" in told
    assert asked("last drain zeroed", leg).endswith(
        "five five minutes ago, zero failed since, at one four one zero, unconfirmed"
    )


def test_a_subject_that_the_grammar_lost_is_not_told() -> None:
    """A question of a journal whose phrases have changed has an answer all the same."""
    lost = Question(about=About.LAST_VALUE, subject="a thing of the past")
    assert answer(lost, leg_of((1, icp(14))), at(2)) == "no a thing of the past told"


def test_an_entry_of_other_phrases_is_told_as_it_is_written() -> None:
    """What no phrase can say any more is told all the same, its numbers digit by digit."""
    leg = leg_of((1, DrugGiven(drug="unheard", dose=15, unit="mg")))
    told = answer(Question(about=About.LAST_ENTRY), leg, at(2))
    assert told == "last, Unheard one five mg, at one four zero one"


@pytest.mark.parametrize(
    ("minute", "told"),
    [
        (30, "clamped for two zero minutes, at one four one zero"),
        (95, "clamped for one hour two five minutes, at one four one zero"),
    ],
)
def test_time_since_clamped_while_it_is(minute: float, told: str) -> None:
    """While it is clamped its time counts, from when it was first said; a repetition starts nothing."""
    leg = leg_of((10, DrainClamped()), (15, DrainClamped(reason="loading")))
    assert asked("time since drain clamped", leg, minute) == told


def test_time_since_clamped_when_it_is_open_again() -> None:
    """Once it is open, for how long it is, and when and for how long it was clamped last."""
    leg = leg_of((10, DrainClamped()), (15, DrainOpened()))
    assert asked("time since drain clamped", leg, 40) == (
        "not clamped: open for two five minutes; last clamped at one four one zero for five minutes"
    )
    assert asked("time since drain clamped", leg_of()) == "no drain clamped told"


def test_a_clamping_that_the_catheter_ended_left_nothing_open() -> None:
    """Asked how long it is clamped, the answer is that the catheter is out, not that the drain is open."""
    leg = leg_of((10, DrainClamped()), (15, CatheterOut()))
    assert asked("time since drain clamped", leg, 40) == (
        "not clamped: catheter out two five minutes ago; last clamped at one four one zero for five minutes"
    )


def test_time_since_clamped_counts_what_else_closes_the_drain() -> None:
    """Both stopcocks turned off close the drain as well."""
    leg = leg_of((10, Stopcocks(position="off")))
    assert asked("time since drain clamped", leg, 30) == (
        "clamped for two zero minutes, at one four one zero"
    )


def test_time_since_anything_else() -> None:
    """How long ago it was comes first."""
    leg = leg_of((0.5, DrainZeroed()), (58, DrugGiven(drug="mannitol", dose=50, unit="g")))
    assert (
        asked("how long since drain zeroed", leg, 1)
        == "just now, drain zeroed, at one four zero zero"
    )
    assert asked("time since the last mannitol", leg, 70).startswith(
        "one two minutes ago, mannitol"
    )


def test_trend_of_a_pressure() -> None:
    """Number, first, last, range, mean, and the slope with its uncertainty, over the time asked for."""
    leg = leg_of((0, icp(99)), (60, icp(12)), (75, icp(14)), (90, icp(15)), (120, icp(18)))
    assert asked("pressure over the last hour", leg, 120) == (
        "pressure over the last hour, four readings, first one two, last one eight, between one two "
        "and one eight, mean one five point one, rising five point eight an hour, plus or minus one point seven"
    )
    assert asked("pressure trend", leg, 120).startswith("pressure over the leg, five readings")
    assert asked("pressure over the last half hour", leg, 151) == (
        "no pressure over the last half hour"
    )


def test_trend_says_what_is_in_doubt() -> None:
    """Gaps, unconfirmed readings, readings after a failed zero and a slope that means nothing are said."""
    told: list[tuple[float, Entry]] = [
        (0, icp(12)),
        (5, ZeroFailed()),
        (10, icp(20)),
        (60, icp(11)),
        (70, icp(19)),
    ]
    spoken = asked("pressure trend", leg_of(*told, state=EntryState.UNCONFIRMED), 80)
    assert spoken.endswith(
        "no clear slope, one gap not bridged, four unconfirmed, three not to be relied on"
    )


def test_trend_converts_a_pressure_said_in_the_other_unit() -> None:
    """Pressures of both units are told in the leg's."""
    leg = leg_of((0, icp(11)), (20, Pressure(value=15, unit="cmH2O")))
    assert "last one one" in asked("pressure trend", leg)


def test_trend_of_few_readings_and_of_none() -> None:
    """One reading is told with its time; where there is none, that is said."""
    leg = leg_of((10, HeartRate(rate_per_min=88)))
    assert asked("heart rate trend", leg) == (
        "heart rate over the leg, one reading, eight eight, at one four one zero"
    )
    assert asked("heart rate over the last half hour", leg) == (
        "no heart rate over the last half hour"
    )


def test_trend_of_a_blood_pressure_is_of_the_systolic() -> None:
    """A pair of numbers has no course; which of the two is told is said."""
    leg = leg_of((10, BloodPressure(systolic_mmhg=124, diastolic_mmhg=76)))
    assert "systolic" in asked("blood pressure trend", leg)


def test_output_against_the_order() -> None:
    """This hour and the hour before stand against the ordered limit."""
    leg = leg_of(
        (0, OrderHourlyLimit(volume_ml=15)), (0, ChamberReading(volume_ml=0)),
        (60, ChamberReading(volume_ml=18)), (70, ChamberReading(volume_ml=20)),
    )  # fmt: skip
    assert asked("output against the order", leg, 75) == (
        "ordered, one five mils an hour, this hour, two mils, last hour, one eight mils, "
        "three mils over the order"
    )
    assert asked("output against the order", leg_of()) == (
        "no hourly limit told, this hour, not told, last hour, not told"
    )


def test_the_order_is_told_aspect_by_aspect() -> None:
    """Each aspect stands as it was told last."""
    leg = leg_of(
        (1, OrderDrain(state="open", level_cmh2o=15, reference="tragus")),
        (2, OrderHourlyLimit(volume_ml=20)), (3, OrderHourlyLimit(volume_ml=15)),
    )  # fmt: skip
    assert asked("what is the order", leg) == (
        "order drain open level above tragus, one five, at one four zero one. "
        "order hourly limit, one five mils, at one four zero three"
    )
    assert asked("what is the order", leg_of()) == "no order told"


def test_perfusion_now_with_the_ages_of_both() -> None:
    """The last one is told with its order, and how old each of its pressures is."""
    leg = leg_of(
        (1, OrderPerfusionTarget(value_mmhg=60)), (10, MeanPressure(value_mmhg=82)), (12, icp(14)),
    )  # fmt: skip
    assert asked("c p p now", leg, 15) == (
        "perfusion pressure, six eight, ordered, six zero, "
        "mean pressure, eight two, five minutes ago, pressure, one four, three minutes ago, "
        "where the arterial line is zeroed, not told"
    )


@pytest.mark.parametrize(
    ("arterial", "drain", "told"),
    [
        ("tragus", "tragus", ""),
        (
            "heart",
            "tragus",
            ", arterial line at heart, drain at tragus, reads too high with the head up",
        ),
        ("midbrow", "tragus", ", arterial line at midbrow, drain at tragus"),
        ("heart", None, ", arterial line at heart, where the drain is leveled, not told"),
    ],
)
def test_perfusion_says_where_its_pressures_are_zeroed(
    arterial: ArterialReference, drain: Reference | None, told: str
) -> None:
    """Unless both are zeroed at one level, the answer says at which each is."""
    leg = leg_of(
        (8, ArterialZeroed(reference=arterial)), (9, DrainLevelled(reference=drain)),
        (10, MeanPressure(value_mmhg=82)), (12, icp(14)),
    )  # fmt: skip
    assert asked("c p p now", leg, 12).endswith(f"pressure, one four, just now{told}")


def test_no_perfusion_is_told_where_there_is_none_now() -> None:
    """An old arterial pressure makes no perfusion pressure now, whatever was worked out before."""
    far: list[tuple[float, Entry]] = [(0, MeanPressure(value_mmhg=82)), (1, icp(10)), (30, icp(14))]
    told = asked("c p p now", leg_of(*far))
    assert told.startswith("no perfusion pressure now, mean pressure, eight two, one hour ago")
    assert told.endswith("more than five minutes apart")
    assert asked("c p p now", leg_of()) == "no perfusion pressure: no pressure told"
    assert "no arterial pressure told" in asked("c p p now", leg_of((1, icp(14))))


def test_perfusion_after_a_failed_zero_is_in_doubt() -> None:
    """A perfusion pressure out of a pressure that is not to be relied on says so."""
    leg = leg_of((1, ZeroFailed()), (2, MeanPressure(value_mmhg=82)), (3, icp(14)))
    assert "pressure, one four, not to be relied on" in asked("c p p now", leg)


def test_unconfirmed_are_listed() -> None:
    """Each is told with its time, and how it is confirmed."""
    leg = leg_of((10, icp(15)), (20, DrainClamped()), state=EntryState.UNCONFIRMED)
    assert asked("what is unconfirmed", leg) == (
        "two entries unconfirmed; to confirm, say read unconfirmed. "
        "pressure, one five, at one four one zero. drain clamped, at one four two zero"
    )
    assert asked("what is unconfirmed", leg_of((1, icp(14)))) == "nothing is unconfirmed"


def test_what_is_left_tells_open_states_first() -> None:
    """What is open stands before what was never told, and the unconfirmed are counted."""
    leg = leg_of((10, ZeroFailed()), (12, icp(15)), state=EntryState.UNCONFIRMED)
    told = asked("what is left", leg)
    assert told.startswith("Zero failed at one four one zero")
    assert told.endswith("two entries unconfirmed")
    assert all(need.name in told for need in load_needs() if need.name != "pressure")
    assert "zeroed, pressure" not in told


def test_report_goes_through_the_leg_in_parts() -> None:
    """First what is needed most, then all of it, to what is left; each part says if more follows."""
    leg = leg_of((1, DrainOpened()), (10, icp(15)), (20, DrainClamped()))
    parts = [asked("read the report", leg, 60, part) for part in range(20)]
    told = parts[: parts.index("no more to read")]
    assert told[0].startswith("leg: one hour. open: Drain in use since one four zero one")
    assert f"{SHORT_OVER}; say next part" in told[1]
    assert told[2].startswith("leg: started at one four zero zero, one hour. three entries")
    assert any(part.startswith("pressure: pressure over the leg, one reading") for part in told)
    assert "clamped: drain clamped since one four two zero" in " ".join(told)
    assert all(part.endswith("; say next part") for part in told[:-1])
    assert not told[-1].endswith("; say next part")


SAID = [e.meaning.entry for e in GRAMMAR.examples if isinstance(e.meaning, Statement)]
"""An entry of every kind that can be said."""


def test_every_entry_has_its_place_in_the_report() -> None:
    """Whatever is said, the report tells the latest of it."""
    told = [(n, entry) for n, entry in enumerate(SAID) if not isinstance(entry, Pressure)]
    asking = Asking(leg_of(*told), at(len(SAID)))
    spoken = " ".join(report(Question(about=About.REPORT), asking))
    for name, entries_about in asking.subjects.items():
        assert asking.told(entries_about[-1]) in spoken, name


legs = st.lists(
    st.tuples(st.sampled_from(SAID), st.integers(-10, 130), st.sampled_from(EntryState)),
    max_size=25,
)
questions = st.builds(
    Question,
    about=st.sampled_from(About),
    subject=st.sampled_from([*GRAMMAR.subjects.by_name, "nothing", None]),
    minutes=st.sampled_from([None, 30, 60, 180]),
)


@given(legs, questions, st.integers(-5, 200))
def test_every_question_has_an_answer(
    told: list[tuple[Entry, int, EntryState]], question: Question, minute: int
) -> None:
    """Whatever happened in whatever order, nothing that is asked fails, and no part is endless."""
    numbered = entries(*((at_min, entry) for entry, at_min, _ in told))
    leg = Leg(
        id="any",
        settings=SETTINGS,
        started_at=START,
        entries=tuple(
            e.model_copy(update={"state": state})
            for e, (_, _, state) in zip(numbered, told, strict=True)
        ),
    )
    spoken = answer(question, leg, START + timedelta(minutes=minute))
    assert spoken
    assert len(spoken.split()) <= 2 * MOST_WORDS
    assert not any(figure in spoken for figure in "0123456789")


@pytest.mark.parametrize("about", About)
def test_an_answer_takes_no_time(about: About) -> None:
    """A leg of 1,500 entries is answered for in little of a processor's time, on whatever machine."""
    leg = leg_of(*((n / 10, SAID[n % len(SAID)]) for n in range(1500)))
    began_s = time.process_time()
    answer(Question(about=about, subject="pressure"), leg, at(200))
    assert time.process_time() - began_s < 1.0


@pytest.mark.parametrize(
    ("seconds", "told"),
    [
        (0, "zero minutes"), (59, "zero minutes"), (60, "one minute"), (900, "one five minutes"),
        (3600, "one hour"), (7500, "two hours five minutes"),
    ],
)  # fmt: skip
def test_durations(seconds: float, told: str) -> None:
    """A time is told in hours and whole minutes, digit by digit."""
    assert duration(seconds) == told


def test_parts_hold_whole_sentences() -> None:
    """A part ends before it grows too long, and a sentence is never cut."""
    sentences = [" ".join(["word"] * length) for length in (30, 30, 30, 100)]
    assert [len(part.split()) for part in in_parts(sentences)] == [60, 30, 100]
