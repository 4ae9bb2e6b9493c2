"""The demo leg: its recordings, what is meant by them, and how a run is compared with that."""

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
from voice.commands.demo import Expected, differences, expected_entries, seconds, utterances
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import EntryState, Leg, LegEntry, LegSettings
from voice.entries.said import Correction, Statement
from voice.meaning.grammar import load_grammar
from voice.record.shelf import load, verify
from voice.session.progress import LegOver, SegmentHeard

if TYPE_CHECKING:
    from pathlib import Path

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
ROWS: list[dict[str, Any]] = tomllib.loads((demo.FOLDER / "leg.toml").read_text("utf-8"))["said"]
CREW = {"rms", "awb", "slt"}


def as_expected() -> Leg:
    """A leg in which everything went as it has to."""
    start_s = utterances()[0].cue.start_s

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

    entries = tuple(entry(one) for one in expected_entries())
    return Leg(id="demo", settings=LegSettings(), started_at=START, entries=entries)


def changed(number: int, **fields: object) -> Leg:
    """The same leg with one entry changed."""
    leg = as_expected()
    entries = list(leg.entries)
    entries[number - 1] = entries[number - 1].model_copy(update=fields)
    return leg.model_copy(update={"entries": tuple(entries)})


def test_a_leg_as_meant_has_no_differences() -> None:
    """What has to be in the journal, and only that, is as expected."""
    assert differences(as_expected(), expected_entries()) == ()


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
    (told,) = differences(changed(number, **fields), expected_entries())
    assert told.startswith(f"Entry {number}, ")
    assert re.search(sentence, told)


def test_missing_and_added_entries_are_told() -> None:
    """An entry that is not there, and one that should not be there, are both named."""
    leg, expected = as_expected(), expected_entries()
    short = leg.model_copy(update={"entries": leg.entries[:-1]})
    (missing,) = differences(short, expected)
    assert missing == f'Entry {len(expected)}, "handed over", is missing.'
    (added,) = differences(leg, expected[:-1])
    assert added == f'Entry {len(expected)}, heard as "handed over", is one too many.'


def test_the_leg_is_as_long_and_as_full_as_a_real_one() -> None:
    """It has at least 45 utterances over 40 minutes, and shows each turn that a talk can take."""
    assert len(ROWS) >= 45
    assert seconds(ROWS[-1]["at"]) >= 40 * 60
    assert {row["snr_db"] for row in ROWS} == {20, 15, 10}
    states = {one.state for one in expected_entries()}
    assert states == set(EntryState)


def test_cues_come_in_order() -> None:
    """No recording is due before the one that precedes it."""
    cues = [utterance.cue.start_s for utterance in utterances()]
    assert cues == sorted(set(cues))


def test_every_phrase_means_what_is_written_beside_it() -> None:
    """The grammar reads each phrase as the entry that is meant, and no crew talk as anything."""
    grammar, settings = load_grammar(), LegSettings()
    expected = iter(expected_entries())
    for row in ROWS:
        meanings = grammar.parse(row["text"], settings)
        if row["voice"] in CREW:
            assert meanings == (), row["text"]
        if "entry" not in row:
            continue
        meant = next(expected).entry
        if isinstance(meant, SpokenNote):
            assert meanings == (), row["text"]
            continue
        (meaning,) = meanings
        statement = meaning.statement if isinstance(meaning, Correction) else meaning
        assert isinstance(statement, Statement)
        assert statement.entry == meant, row["text"]
    assert next(expected, None) is None


def test_the_expected_entries_are_those_of_the_script() -> None:
    """The golden file says nothing that the script does not mean."""
    rows = [row for row in ROWS if "entry" in row]
    golden = json.loads((demo.FOLDER / "expected_entries.json").read_text("utf-8"))
    assert [(g["at"], g["said"], g["entry"]) for g in golden] == [
        (row["at"], row["text"], row["entry"]) for row in rows
    ]


def test_every_recording_is_there_and_none_is_long() -> None:
    """Each utterance has its recording, 16 kHz mono and no longer than ten seconds."""
    files = [utterance.cue.file for utterance in utterances()]
    assert sorted(files) == sorted((demo.FOLDER / "clips").iterdir())
    for file in files:
        info = soundfile.info(file)
        assert (info.samplerate, info.channels) == (16_000, 1)
        assert 2 < info.duration < 10


def test_golden_files_are_not_overwritten_unasked() -> None:
    """Speaking the leg again needs --force where there is something to lose."""
    script = demo.FOLDER / "speak.py"
    done = subprocess.run(
        [sys.executable, script, "1"], check=False, capture_output=True, text=True
    )
    assert done.returncode == 1
    assert "Not overwritten without --force: expected_entries.json, 001.opus" in done.stderr


@pytest.mark.slow
def test_the_leg_is_heard_as_it_was_meant(tmp_path: Path) -> None:
    """From the recordings alone, the journal comes to hold exactly what was meant in them."""
    wav = tmp_path / "leg.wav"
    session = demo.session(tmp_path, LegSettings(), START, fast=True, mixdown_file=wav)
    events = list(session.run())
    (folder,) = {event.folder for event in events if isinstance(event, LegOver)}
    leg = load(folder)
    assert differences(leg, expected_entries()) == ()
    assert verify(folder).intact
    asked = [e for e in events if isinstance(e, SegmentHeard) and e.decision.outcome == "ask"]
    assert [event.text for event in asked] == ["fentanyl fifty micrograms"]
    outcomes = {e.decision.outcome for e in events if isinstance(e, SegmentHeard)}
    assert outcomes >= {"accept", "ask", "not_for_us"}
    heard_s = sum(soundfile.info(utterance.cue.file).duration for utterance in utterances())
    assert soundfile.info(wav).duration > heard_s
