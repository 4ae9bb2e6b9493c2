"""The demo legs: their recordings, what is meant by them, and how a run is compared with that."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tomllib
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
import soundfile

from voice.commands import demo
from voice.commands.demo import (
    DemoLeg,
    Expected,
    differences,
    expected_entries,
    length_s,
    seconds,
    utterances,
)
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import EntryState, Leg, LegEntry, LegSettings
from voice.entries.said import Correction, Meaning, Several, Statement
from voice.meaning.grammar import load_grammar
from voice.record.shelf import load, verify
from voice.session.progress import LegOver, SegmentHeard

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.kinds import Entry

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
CREW = {"rms", "awb", "slt"}
FIRST, TROUBLED = DemoLeg.FIRST, DemoLeg.TROUBLED

each_leg = pytest.mark.parametrize("demo_leg", DemoLeg)


def rows(demo_leg: DemoLeg) -> list[dict[str, Any]]:
    """What is said in the leg, as its script has it."""
    said: list[dict[str, Any]] = tomllib.loads((demo_leg.folder / "leg.toml").read_text("utf-8"))[
        "said"
    ]
    return said


def meant(row: dict[str, Any]) -> list[dict[str, Any]]:
    """The entries that are meant by one row of a script."""
    return row.get("entries") or ([row["entry"]] if "entry" in row else [])


def as_expected(demo_leg: DemoLeg = FIRST) -> Leg:
    """A leg in which everything went as it has to."""
    start_s = utterances(demo_leg)[0].cue.start_s

    def entry(one: Expected) -> LegEntry:
        spoken_at = START + timedelta(seconds=seconds(one.at) - start_s + 4)
        return LegEntry(
            number=one.number,
            entry=one.entry,
            heard=one.said,
            spoken_at=spoken_at,
            happened_at=spoken_at - timedelta(minutes=one.ago_min),
            state=one.state,
            replaces=one.replaces,
        )

    entries = tuple(entry(one) for one in expected_entries(demo_leg))
    return Leg(id="demo", settings=LegSettings(), started_at=START, entries=entries)


def changed(number: int, **fields: object) -> Leg:
    """The same leg with one entry changed."""
    leg = as_expected()
    entries = list(leg.entries)
    entries[number - 1] = entries[number - 1].model_copy(update=fields)
    return leg.model_copy(update={"entries": tuple(entries)})


@each_leg
def test_a_leg_as_meant_has_no_differences(demo_leg: DemoLeg) -> None:
    """What has to be in the journal, and only that, is as expected."""
    assert differences(as_expected(demo_leg), demo_leg, expected_entries(demo_leg)) == ()


@pytest.mark.parametrize(
    ("number", "fields", "sentence"),
    [
        (3, {"entry": SpokenNote()}, r'Entry 3, "pressure fourteen", is kind=.*, not kind='),
        (3, {"state": EntryState.UNCONFIRMED}, r"state unconfirmed, not confirmed"),
        (17, {"replaces": None}, r"corrects entry None, not 16"),
        (3, {"happened_at": START}, r"happened before it was said by 2 min, not 0 min"),
        (3, {"spoken_at": START, "happened_at": START}, r"is -90 s off its time"),
    ],
)
def test_each_way_to_go_wrong_is_told(
    number: int, fields: dict[str, object], sentence: str
) -> None:
    """An entry that differs in value, state, link or time is named, and nothing else is."""
    (told,) = differences(changed(number, **fields), FIRST, expected_entries(FIRST))
    assert told.startswith(f"Entry {number}, ")
    assert re.search(sentence, told)


def test_missing_and_added_entries_are_told() -> None:
    """An entry that is not there, and one that should not be there, are both named."""
    leg, expected = as_expected(), expected_entries(FIRST)
    short = leg.model_copy(update={"entries": leg.entries[:-1]})
    (missing,) = differences(short, FIRST, expected)
    assert missing == f'Entry {len(expected)}, "handed over", is missing.'
    (added,) = differences(leg, FIRST, expected[:-1])
    assert added == f'Entry {len(expected)}, heard as "handed over", is one too many.'


def test_the_leg_is_as_long_and_as_full_as_a_real_one() -> None:
    """It has at least 45 utterances over 40 minutes, and shows each turn that a talk can take."""
    assert len(rows(FIRST)) >= 45
    assert length_s(FIRST) >= 40 * 60
    assert {row["snr_db"] for row in rows(FIRST)} == {20, 15, 10}


def test_the_troubled_leg_is_longer() -> None:
    """It has at least 70 utterances over an hour, and asks, checks, and says three in a breath."""
    assert len(rows(TROUBLED)) >= 70
    assert length_s(TROUBLED) >= 60 * 60
    assert {row["snr_db"] for row in rows(TROUBLED)} == {20, 15}
    said = {row["text"] for row in rows(TROUBLED)}
    assert {"check before leaving", "yes", "what is left", "total out"} <= said
    assert max(len(meant(row)) for row in rows(TROUBLED)) == 3


@each_leg
def test_entries_end_up_in_every_state(demo_leg: DemoLeg) -> None:
    """In each leg something ends in every state that a voice can bring about."""
    by_voice = set(EntryState) - {EntryState.REVIEWED}
    assert {one.state for one in expected_entries(demo_leg)} == by_voice


@pytest.mark.parametrize(
    ("trouble", "answer"),
    [
        ("clamped for transfer", "drain open"),
        ("zero failed", "drain zeroed"),
        ("dripping at twenty seven", "no drip at twenty nine"),
        ("drain closed for reading", "drain open"),
        ("occlusion suspected", "occlusion cleared"),
        ("emptied the chamber twenty two mils", "chamber stopcock closed"),
        ("color bright red", "called the accepting unit"),
    ],
)
def test_each_trouble_is_answered(trouble: str, answer: str) -> None:
    """In the troubled leg what goes wrong is told, and afterwards what was done about it."""
    said = [one.said for one in expected_entries(TROUBLED)]
    assert answer in said[said.index(trouble) :]


@each_leg
def test_cues_come_in_order(demo_leg: DemoLeg) -> None:
    """No recording is due before the one that precedes it."""
    cues = [utterance.cue.start_s for utterance in utterances(demo_leg)]
    assert cues == sorted(set(cues))


@each_leg
def test_every_phrase_means_what_is_written_beside_it(demo_leg: DemoLeg) -> None:
    """The grammar reads each phrase as the entries that are meant, and no crew talk as anything."""
    grammar, settings = load_grammar(), LegSettings()
    expected = iter(expected_entries(demo_leg))
    for row in rows(demo_leg):
        text = row.get("stands_for", row["text"])
        meanings = grammar.parse(text, settings)
        wanted = [next(expected).entry for _ in meant(row)]
        if row["voice"] in CREW or wanted == [SpokenNote()]:
            assert meanings == (), text
        elif wanted:
            (meaning,) = meanings
            assert entries_of(meaning) == wanted, text
        else:
            assert meanings, text
    assert next(expected, None) is None


def entries_of(meaning: Meaning) -> list[Entry]:
    """The entries that a phrase makes."""
    match meaning:
        case Several(statements=statements):
            return [statement.entry for statement in statements]
        case Correction(statement=statement) | (Statement() as statement):
            return [statement.entry]
        case _:
            return []


@each_leg
def test_the_expected_entries_are_those_of_the_script(demo_leg: DemoLeg) -> None:
    """The golden file says nothing that the script does not mean."""
    golden = json.loads((demo_leg.folder / "expected_entries.json").read_text("utf-8"))
    assert [(g["at"], g["said"], g["entry"]) for g in golden] == [
        (row["at"], row["text"], entry) for row in rows(demo_leg) for entry in meant(row)
    ]


@each_leg
def test_every_recording_is_there_and_none_is_long(demo_leg: DemoLeg) -> None:
    """Each utterance has its recording, 16 kHz mono and no longer than ten seconds."""
    files = [utterance.cue.file for utterance in utterances(demo_leg)]
    assert sorted(files) == sorted((demo_leg.folder / "clips").iterdir())
    for file in files:
        info = soundfile.info(file)
        assert (info.samplerate, info.channels) == (16_000, 1)
        assert 2 < info.duration < 10


@each_leg
def test_golden_files_are_not_overwritten_unasked(demo_leg: DemoLeg) -> None:
    """Speaking the leg again needs --force where there is something to lose."""
    script = demo.FIXTURES / "speak.py"
    done = subprocess.run(
        [sys.executable, script, demo_leg.folder.name, "1"],
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1
    assert "Not overwritten without --force: expected_entries.json, 001.opus" in done.stderr


@pytest.mark.slow
@pytest.mark.parametrize(
    ("demo_leg", "asked"), [(FIRST, ["fentanyl fifty micrograms"]), (TROUBLED, [])]
)
def test_the_leg_is_heard_as_it_was_meant(
    tmp_path: Path, demo_leg: DemoLeg, asked: list[str]
) -> None:
    """From the recordings alone, the journal comes to hold exactly what was meant in them."""
    wav = tmp_path / "leg.wav"
    session = demo.session(demo_leg, tmp_path, LegSettings(), START, fast=True, mixdown_file=wav)
    events = list(session.run())
    (folder,) = {event.folder for event in events if isinstance(event, LegOver)}
    assert differences(load(folder), demo_leg, expected_entries(demo_leg)) == ()
    assert verify(folder).intact
    heard = [event for event in events if isinstance(event, SegmentHeard)]
    assert [event.text for event in heard if event.decision.outcome == "ask"] == asked
    assert {event.decision.outcome for event in heard} >= {"accept", "not_for_us"}
    heard_s = sum(soundfile.info(u.cue.file).duration for u in utterances(demo_leg))
    assert soundfile.info(wav).duration > heard_s
