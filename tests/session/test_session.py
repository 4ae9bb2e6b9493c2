"""A leg as it happens, with made-up sound and a real journal."""

from __future__ import annotations

import errno
from contextlib import closing
from datetime import timedelta
from itertools import count
from typing import TYPE_CHECKING, NoReturn

import pytest
import soundfile

from tests.session.scripted import ZERO_AT, Said, Sitting, says
from voice.capture.microphone import MicrophoneError
from voice.capture.recordings import RecordingError
from voice.dialogue.standing import END_ASKED
from voice.entries.leg import EntryState
from voice.record import clips
from voice.record.events import Together, from_text
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.shelf import legs, verify
from voice.report.summary import summary_text
from voice.session.mouth import Silent
from voice.session.progress import InTrouble, LegBegan, LegOver, SegmentHeard, Spoken
from voice.session.session import LOOK_AGAIN_S
from voice.speech.synthesiser import SpeechError

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.chain import Row

STARTED = "leg started, pressures in millimetres of mercury"
HEARD, KEPT, LOW, TROUBLE = "(heard)", "(kept)", "(not understood)", "(trouble)"
DEAD = "No journal can be written any more: write by hand from now on."


def states(sitting: Sitting) -> list[tuple[str, EntryState]]:
    """What was heard of each entry and how it stands."""
    return [(entry.heard, entry.state) for entry in sitting.leg().entries]


def disk_full(*_: object) -> NoReturn:
    """What a full disk does."""
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_leg_is_spoken_kept_and_read_back(tmp_path: Path) -> None:
    """What is said is read back, kept as confirmed only on "confirm", and the journal is whole."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "pressure fourteen", "confirm", "how is the weather",
            Said("heart rate eighty eight", 60), Said("drain zeroed", 120), "confirm", "end leg",
            "end leg",
        ),
    ).run()  # fmt: skip
    assert sitting.spoken == [
        HEARD, HEARD, STARTED, "pressure, one four", KEPT, "heart rate, eight eight",
        "heart rate, eight eight: unconfirmed.", "drain zeroed", KEPT, END_ASKED.text,
        "leg ended, 1 unconfirmed",
    ]  # fmt: skip
    assert states(sitting) == [
        ("pressure fourteen", EntryState.CONFIRMED),
        ("heart rate eighty eight", EntryState.UNCONFIRMED),
        ("drain zeroed", EntryState.CONFIRMED),
    ]
    assert verify(sitting.keeper.folder).intact
    assert verify(sitting.keeper.folder).notes == ()


def test_a_breath_is_written_as_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Several entries of one breath are kept by one event, and confirmed by one."""
    append, rows = Part.append, list[str]()

    def note(part: Part, row: Row) -> None:
        rows.append(row.text)
        append(part, row)

    monkeypatch.setattr(Part, "append", note)
    breath = "heart rate eighty eight pressure fourteen pupils four and reactive"
    sitting = Sitting(
        tmp_path,
        says("start leg", breath, "correction pressure eighteen", "confirm", *["end leg"] * 2),
    ).run()
    assert sitting.spoken[3:] == [
        "heart rate, eight eight; pressure, one four; pupils reactive, four",
        "heart rate, eight eight; correction, pressure, one eight; pupils reactive, four",
        KEPT,
        END_ASKED.text,
        "leg ended, all confirmed",
    ]
    assert states(sitting) == [
        (breath, EntryState.CONFIRMED),
        (breath, EntryState.CORRECTED),
        (breath, EntryState.CONFIRMED),
        ("correction pressure eighteen", EntryState.CONFIRMED),
    ]
    first, *others, last = sitting.leg().entries
    assert {entry.clip for entry in others} == {first.clip}
    assert last.happened_at == first.happened_at
    assert verify(sitting.keeper.folder).intact
    events = [from_text(text) for text in rows]
    assert [len(event.parts) for event in events if isinstance(event, Together)] == [3, 3]


def test_a_breath_that_cannot_be_written_is_not_kept_by_half(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the disk fails, no entry of a breath is kept, and none is read back."""
    sitting = Sitting(tmp_path, says("start leg", "heart rate eighty eight pressure fourteen"))
    append = Part.append

    def fail(part: Part, row: Row) -> None:
        if "together" in row.text:
            disk_full()
        append(part, row)

    monkeypatch.setattr(Part, "append", fail)
    sitting.run()
    assert sitting.leg().entries == ()
    assert not [text for text in sitting.spoken if "heart rate" in text]


def test_every_utterance_is_kept_with_its_sound(tmp_path: Path) -> None:
    """Whatever was said in the leg, "start leg" and other talk too, lies there as sound."""
    sitting = Sitting(tmp_path, says("start leg", "how is the weather", "drain open")).run()
    assert len(clips.names([sitting.keeper.folder])) == 3
    assert sitting.leg().passed_over == 1
    (entry,) = sitting.leg().entries
    assert entry.clip is not None
    samples, rate_hz = soundfile.read(sitting.keeper.folder / clips.FOLDER / entry.clip)
    assert 1.5 < len(samples) / rate_hz < 1.7


def test_watchers_are_told_of_the_leg(tmp_path: Path) -> None:
    """Beginning and end of the leg are told with its folder, and each segment with its words."""
    sitting = Sitting(tmp_path, says("start leg", "drain open", "end leg", "end leg")).run()
    folder = tmp_path / "2030-05-01-1200"
    assert [one.folder for one in sitting.progress if isinstance(one, LegBegan | LegOver)] == [
        folder, folder,
    ]  # fmt: skip
    assert [one.text for one in sitting.progress if isinstance(one, SegmentHeard)] == [
        "start leg", "drain open", "end leg", "end leg",
    ]  # fmt: skip


def test_nothing_is_kept_without_a_leg(tmp_path: Path) -> None:
    """Before "start leg" nothing is written, and what is said is refused aloud."""
    sitting = Sitting(tmp_path, says("pressure fourteen")).run()
    assert sitting.spoken == [HEARD, LOW, "no leg; say start leg"]
    assert legs(tmp_path) == ()


def test_two_legs_in_one_sitting(tmp_path: Path) -> None:
    """A leg that is started after another has a journal of its own."""
    Sitting(tmp_path, says("start leg", "end leg", "start leg", "drain open", "end leg")).run()
    assert [len(one.leg.entries) for one in legs(tmp_path) if one.leg] == [0, 1]


def test_deaf_while_speaking(tmp_path: Path) -> None:
    """What is said into the read-back, or a quarter of a second after it, is not heard."""
    events = says("start leg", "pressure fourteen", Said("confirm", lasts_s=0.3, barges_in=True))
    sitting = Sitting(tmp_path, events).run()
    assert states(sitting) == [("pressure fourteen", EntryState.UNCONFIRMED)]


class Slipping(Silent):
    """A speaker that ran dry: all that is played ends later than was told."""

    def slipped_s(self) -> float:
        """Long enough for a sentence."""
        return 4.0


@pytest.mark.parametrize(
    ("player", "heard"),
    [(Silent(), ["pressure fourteen", "pressure forty"]), (Slipping(), ["pressure fourteen"])],
)
def test_own_words_that_sound_late_are_nobody_elses(
    tmp_path: Path, player: Silent, heard: list[str]
) -> None:
    """On a machine so busy that the speaker runs dry, the end of our own words is no entry."""
    events = says(
        "start leg",
        Said("pressure fourteen", pause_s=3.0),
        Said("pressure forty", barges_in=True, pause_s=9.0),
        "end leg",
        "end leg",
    )
    sitting = Sitting(tmp_path, events, player=player).run()
    assert [entry.heard for entry in sitting.leg().entries] == heard


def test_standing_by_keeps_no_sound(tmp_path: Path) -> None:
    """What is said between "stand by" and "resume" is not kept."""
    sitting = Sitting(
        tmp_path, says("start leg", "stand by", "a private word", "drain open", "resume")
    ).run()
    assert len(clips.names([sitting.keeper.folder])) == 3
    assert sitting.leg().entries == ()
    assert sitting.spoken[-1] == "listening"


def test_time_that_was_said(tmp_path: Path) -> None:
    """An entry happened when it was said to have happened."""
    sitting = Sitting(tmp_path, says("start leg", "drain clamped five minutes ago")).run()
    (entry,) = sitting.leg().entries
    assert entry.spoken_at - entry.happened_at == timedelta(minutes=5)


def test_correction_happened_when_the_corrected_entry_did(tmp_path: Path) -> None:
    """A correction puts the value right, not the time."""
    sitting = Sitting(
        tmp_path, says("start leg", "pressure fourteen", Said("correction pressure eighteen", 90))
    ).run()
    old, new = sitting.leg().entries
    assert new.happened_at == old.happened_at
    assert new.spoken_at > old.spoken_at + timedelta(seconds=60)
    assert (old.state, new.replaces) == (EntryState.CORRECTED, 1)


def test_choice_keeps_time_and_sound_of_the_utterance(tmp_path: Path) -> None:
    """An entry that was asked about was spoken when it was spoken, not when it was chosen."""
    sitting = Sitting(
        tmp_path,
        says("start leg", Said("pressure fifteen/pressure fifty", 30), Said("one five", 40)),
    ).run()
    (entry,) = sitting.leg().entries
    assert entry.heard == "pressure fifteen"
    assert entry.spoken_at < ZERO_AT + timedelta(seconds=32)
    assert entry.clip == "0002.flac"


def test_note_is_kept_with_all_its_sound(tmp_path: Path) -> None:
    """A note goes on over short pauses, and its sound is kept as one clip."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "take a note", Said("the line was bent", lasts_s=3),
            Said("now it runs", lasts_s=2), Said("confirm", 60), "end leg", "end leg",
        ),
    ).run()  # fmt: skip
    (note,) = sitting.leg().entries
    assert note.entry.kind == "spoken_note"
    assert note.state is EntryState.CONFIRMED
    assert note.clip is not None
    samples, rate_hz = soundfile.read(sitting.keeper.folder / clips.FOLDER / note.clip)
    loud_s = (abs(samples) > 0.1).sum() / rate_hz
    assert loud_s == pytest.approx(5, abs=0.1)
    assert verify(sitting.keeper.folder).notes == ()


def test_note_at_the_end_of_the_sound_is_kept(tmp_path: Path) -> None:
    """A note that the sound breaks off in is kept as far as it goes."""
    sitting = Sitting(tmp_path, says("start leg", "take a note", Said("the line", lasts_s=3))).run()
    assert [entry.entry.kind for entry in sitting.leg().entries] == ["spoken_note"]


def test_endless_note_is_cut(tmp_path: Path) -> None:
    """After a minute a note is ended: the talk must not be lost in it."""
    sitting = Sitting(
        tmp_path, says("start leg", "take a note", Said("on and on", lasts_s=70), "confirm")
    ).run()
    (note,) = sitting.leg().entries
    assert note.clip is not None
    samples, rate_hz = soundfile.read(sitting.keeper.folder / clips.FOLDER / note.clip)
    assert 60 <= len(samples) / rate_hz < 70


# --- remarks -----------------------------------------------------------------------------------

CLOSED = "the drain was closed for the reading; is it open again? say drain open"


def test_remark_is_made_before_the_read_back(tmp_path: Path) -> None:
    """What an entry brings with it is said first, so that "confirm" follows the read-back."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "drain clamped for reading", "confirm", "pressure fourteen", "confirm",
            "heart rate eighty eight temperature thirty eight", "confirm",
        ),
    ).run()  # fmt: skip
    assert sitting.spoken[-3:] == [
        CLOSED,
        "heart rate, eight eight; temperature, three eight",
        KEPT,
    ]
    assert {state for _, state in states(sitting)} == {EntryState.CONFIRMED}


# --- checks ------------------------------------------------------------------------------------


def test_a_check_is_asked_answered_and_kept(tmp_path: Path) -> None:
    """The questions are asked one by one, an entry may come in between, one "confirm" keeps all."""
    sitting = Sitting(
        tmp_path,
        says(
            "start leg", "check before the move", "yes", "pressure fourteen", "confirm", "no",
            Said("tubing secured", 30), "confirm", "yes", "confirm", "end leg",
            "end leg",
        ),
    ).run()  # fmt: skip
    assert sitting.spoken[3:] == [
        "check before the move. is the drain clamped?",
        "drain clamped for, transfer. are both stopcocks off?",
        "pressure, one four",
        KEPT,
        "are both stopcocks off?",
        "both stopcocks off, no. is the tubing coiled and taped?",
        "tubing secured",
        KEPT,
        "is the chamber upright?",
        "chamber upright. check before the move done; say confirm to keep the 3 answers",
        KEPT,
        END_ASKED.text,
        "leg ended, all confirmed",
    ]
    assert {state for _, state in states(sitting)} == {EntryState.CONFIRMED}
    assert verify(sitting.keeper.folder).intact
    text = summary_text(sitting.leg(), ZERO_AT)
    assert "Before the move, 12:00: both stopcocks off no." in text


# --- trouble -----------------------------------------------------------------------------------


def test_microphone_that_goes_is_told_and_waited_for(tmp_path: Path) -> None:
    """A lost microphone is told once, looked for again, and told when it is back."""
    gone = MicrophoneError("The microphone has gone.")
    sitting = Sitting(
        tmp_path,
        says("start leg", gone, MicrophoneError("There is no microphone."), "drain zeroed"),
    ).run()
    assert sitting.spoken[3:] == [
        TROUBLE, "The microphone has gone.", TROUBLE, "The microphone is back.", "drain zeroed",
    ]  # fmt: skip
    assert sitting.slept_s == [LOOK_AGAIN_S, LOOK_AGAIN_S]
    told = [notice.text for notice in sitting.leg().notices]
    assert told == ["The microphone has gone.", "The microphone is back."]


def test_no_microphone_from_the_start(tmp_path: Path) -> None:
    """Without any microphone at the start there is nothing to wait for."""
    with pytest.raises(MicrophoneError, match="There is no microphone"):
        Sitting(tmp_path, says(MicrophoneError("There is no microphone."))).run()


def test_bad_recording_is_told_and_the_next_is_heard(tmp_path: Path) -> None:
    """A recording that cannot be used is told; the others are heard."""
    sitting = Sitting(
        tmp_path, says("start leg", RecordingError("a.wav holds no sound."), "drain open")
    ).run()
    assert [entry.heard for entry in sitting.leg().entries] == ["drain open"]
    assert [notice.text for notice in sitting.leg().notices] == ["a.wav holds no sound."]


def test_trouble_before_the_first_leg_is_told(tmp_path: Path) -> None:
    """Trouble is told aloud even where there is no journal to write it to."""
    sitting = Sitting(tmp_path, says(RecordingError("a.wav holds no sound."))).run()
    assert sitting.spoken == [HEARD, TROUBLE, "a.wav holds no sound."]


def test_failed_journal_goes_on_in_a_new_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When a write fails the journal goes on in a new file, nothing is lost, and that is said."""
    append, rows = Part.append, count(1)

    def fail_once(part: Part, row: Row) -> None:
        if next(rows) == 6:  # the first "confirm"
            disk_full()
        append(part, row)

    monkeypatch.setattr(Part, "append", fail_once)
    sitting = Sitting(
        tmp_path, says("start leg", "pressure fourteen", "confirm", "drain open", "confirm")
    ).run()
    assert [state for _, state in states(sitting)] == [EntryState.CONFIRMED] * 2
    assert sum("goes on in a new file" in text for text in sitting.spoken) == 1
    assert (sitting.keeper.folder / "journal-2.sqlite").exists()
    assert verify(sitting.keeper.folder).intact


def test_dead_journal_is_never_told_as_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When nothing can be written, no "kept" sounds, and the nurse is told to write by hand."""
    sitting = Sitting(tmp_path, says("start leg", "pressure fourteen", "confirm", "drain open"))
    progress = sitting.session.run()
    for one in progress:
        sitting.progress.append(one)
        if sitting.spoken[-1:] == ["pressure, one four"]:
            break
    monkeypatch.setattr(Part, "append", disk_full)
    sitting.progress.extend(progress)
    after = sitting.spoken[sitting.spoken.index("pressure, one four") + 1 :]
    assert KEPT not in after
    assert "drain open" not in after
    assert after.count(DEAD) == 2  # once for "confirm", once for the entry
    assert states(sitting) == [("pressure fourteen", EntryState.UNCONFIRMED)]


def test_leg_that_cannot_be_started(tmp_path: Path) -> None:
    """When the leg's folder cannot be made, that is said, and no leg runs."""
    (tmp_path / "legs").write_text("a file in the way")
    sitting = Sitting(tmp_path / "legs", says("start leg", "drain open")).run()
    assert sitting.spoken[1] == TROUBLE
    assert sitting.spoken[2].startswith("The leg cannot be started")
    assert sitting.spoken[3:] == [LOW, "no leg; say start leg"]


def test_entry_is_kept_though_its_sound_cannot_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When sound cannot be written the entry is kept all the same; it is told once."""
    monkeypatch.setattr(clips, "write", disk_full)
    sitting = Sitting(tmp_path, says("start leg", "drain open", "confirm")).run()
    (entry,) = sitting.leg().entries
    assert (entry.clip, entry.state) == (None, EntryState.CONFIRMED)
    sentence = "The sound was not kept: the disk is full."
    assert sitting.spoken.count(sentence) == 1


def test_failing_recogniser_costs_one_utterance(tmp_path: Path) -> None:
    """When the recogniser fails its utterance is kept as sound, told, and the leg goes on."""
    sitting = Sitting(tmp_path, says("start leg", "crash", "drain open")).run()
    assert any("say it again" in text for text in sitting.spoken)
    assert len(clips.names([sitting.keeper.folder])) == 3
    assert [entry.heard for entry in sitting.leg().entries] == ["drain open"]


def test_unspoken_read_back_cannot_be_confirmed(tmp_path: Path) -> None:
    """When the voice fails the entry stays unconfirmed whatever is said, and a tone sounds."""
    sitting = Sitting(tmp_path, says("start leg", "drain open", "confirm", "drain zeroed"))
    progress = sitting.session.run()
    for one in progress:
        sitting.progress.append(one)
        if sitting.spoken[-1:] == [STARTED]:
            sitting.voice.fails = SpeechError("espeak-ng gave no sound.")
    assert {state for _, state in states(sitting)} == {EntryState.UNCONFIRMED}
    assert set(sitting.spoken[3:]) == {TROUBLE}
    assert [notice.text for notice in sitting.leg().notices] == ["espeak-ng gave no sound."]
    assert any(isinstance(one, InTrouble) for one in sitting.progress)


def test_leg_goes_on_after_a_break(tmp_path: Path) -> None:
    """A leg that broke off is taken up where it was: numbers go on, old entries can be confirmed."""
    first = Sitting(tmp_path, says("start leg", "pressure fourteen", "drain open"))
    with closing(first.session.run()) as progress:
        assert any(isinstance(one, Spoken) and "drain open" in one.text for one in progress)
    journal = Journal.open(first.keeper.folder, ZERO_AT)
    second = Sitting(
        tmp_path, says("read last", "confirm", "heart rate eighty eight", "confirm"), journal
    ).run()
    assert second.spoken[1] == "the leg goes on, two unconfirmed"
    assert second.leg().id == first.keeper.folder.name
    assert [(entry.number, entry.state) for entry in second.leg().entries] == [
        (1, EntryState.UNCONFIRMED), (2, EntryState.CONFIRMED), (3, EntryState.CONFIRMED),
    ]  # fmt: skip


@pytest.fixture(autouse=True)
def _no_real_sleep(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test may wait for real."""
    monkeypatch.setattr("time.sleep", lambda _: pytest.fail("a scripted session sleeps"))
