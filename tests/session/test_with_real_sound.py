"""A leg with real sound, a real recogniser and a real voice."""

from __future__ import annotations

import time
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest

from tests.pulse import DEVICE
from tests.session.conftest import until, until_spoken
from voice.capture.recordings import read_recording
from voice.dialogue.actions import Confirm, Keep
from voice.entries.heard import SAMPLE_RATE, Block
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import EntryState
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.meaning.listening import Listening
from voice.record.shelf import load, verify
from voice.session.progress import InTrouble, LegBegan, LegOver, SegmentHeard, Spoken, Written
from voice.session.setups import Equipment, live, recorded

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.pulse import SoundServer

START = datetime(2030, 5, 1, 12, tzinfo=UTC)


def texts_in(recording: Path) -> list[str]:
    """What our own hearing makes of a recording."""
    ears = Equipment().ears()
    segmenter = Segmenter(SileroVad())
    silence = [np.zeros(SAMPLE_RATE, dtype=np.int16)]
    start_s, texts = 0.0, []
    for samples in [*silence, *read_recording(recording), *silence]:
        block = Block(start_s, samples)
        start_s = block.end_s
        for segment in segmenter.feed(block):
            hearing, _ = ears.make_out(segment, Listening.CONFIRMING)
            texts += [one.text for one in hearing.alternatives[:1]]
    return texts


def test_recordings_become_a_leg(
    spoken: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Spoken words come out as confirmed entries, and it all can be listened to afterwards."""
    words = [
        "start leg",
        "pressure fourteen",
        "confirm",
        "drain clamped",
        "confirm",
        *["end leg"] * 2,
    ]
    mix = tmp_path / "mix.wav"
    session = recorded(
        Equipment(root=tmp_path / "legs"), map(spoken, words), START, mixdown_file=mix
    )
    (folder,) = [one.folder for one in session.run() if isinstance(one, LegOver)]
    leg = load(folder)
    assert [(entry.entry.kind, entry.state) for entry in leg.entries] == [
        ("pressure", EntryState.CONFIRMED),
        ("drain_clamped", EntryState.CONFIRMED),
    ]
    assert verify(folder).intact
    assert verify(folder).notes == ()
    # the read-back begins as soon as a phrase counts as over, so only a shorter pause parts the two
    monkeypatch.setattr("voice.hearing.segmenter.HANGOVER_S", 0.4)
    heard = texts_in(mix)
    assert heard.index("pressure fourteen") < heard.index("pressure one four")


def test_a_breath_of_three_and_a_check_are_heard(
    spoken: Callable[..., Path], tmp_path: Path
) -> None:
    """Three entries in one breath, and the answers of a check, come out as confirmed entries."""
    words = [
        "start leg", "heart rate eighty eight pressure fourteen pupils four and reactive",
        "confirm", "check before the move", "yes", "no", "tubing secured", "confirm", "stop check",
        "confirm", "end leg", "end leg",
    ]  # fmt: skip
    recordings = {text: spoken(text) for text in words}
    session = recorded(Equipment(root=tmp_path / "legs"), [recordings[w] for w in words], START)
    (folder,) = [one.folder for one in session.run() if isinstance(one, LegOver)]
    entries = load(folder).entries
    assert {entry.state for entry in entries} == {EntryState.CONFIRMED}
    assert [entry.entry.kind for entry in entries] == [
        "heart_rate", "pressure", "pupils",
        "drain_clamped", "check_answer", "tubing_secured", "check_answer",
    ]  # fmt: skip
    assert len({entry.clip for entry in entries[:3]}) == 1
    assert verify(folder).intact


@pytest.mark.slow
@pytest.mark.usefixtures("_time_limit")
@pytest.mark.parametrize("level_db", [-20, 0])
def test_microphone_and_speaker(
    spoken: Callable[..., Path], server: SoundServer, tmp_path: Path, level_db: float
) -> None:
    """Words into a microphone are read back through a speaker, and however loud that is in it, it hears not itself."""
    server.play_speaker_into_microphone(level_db)
    record = tmp_path / "speaker.wav"
    recorder = server.record_speaker(record)
    answers = {"leg started": "pressure fourteen", "pressure, one four": "confirm"}
    session = live(
        Equipment(root=tmp_path / "legs"),
        lambda: datetime.now(UTC),
        microphone=DEVICE,
        speaker=DEVICE,
    )
    written: list[Keep | Confirm] = []
    heard: list[str] = []
    with closing(session.run()) as progress:
        server.speak_into_microphone(spoken("start leg", after_s=1.5))
        for one in progress:
            if isinstance(one, SegmentHeard):
                heard.append(one.text)
            if isinstance(one, Spoken):
                for told, answer in answers.items():
                    if one.text.startswith(told):
                        server.speak_into_microphone(spoken(answer, after_s=4.0))
            if isinstance(one, Written) and isinstance(one.action, Keep | Confirm):
                written.append(one.action)
            if isinstance(one, Written) and isinstance(one.action, Confirm):
                break
    time.sleep(1)
    recorder.terminate()
    recorder.wait()
    assert heard == ["start leg", *answers.values()]
    keep, confirm = written
    assert isinstance(keep, Keep)
    assert keep.statement.entry == Pressure(value=14, unit="mmHg")
    assert confirm == Confirm(1)
    assert "pressure one four" in texts_in(record)


@pytest.mark.slow
@pytest.mark.usefixtures("_time_limit")
def test_a_headset_that_is_pulled_out_and_plugged_in_again(
    spoken: Callable[..., Path],
    server: SoundServer,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What goes in mid-leg is told, nothing that was kept is lost, and the leg goes on by itself."""
    for variable in ("PULSE_SOURCE", "PULSE_SINK"):  # set when a device is named: taken back
        monkeypatch.setenv(variable, "")

    def plug_in() -> list[str]:
        ear = server.plug_in_speaker("phones", "Crew headset, ear")
        return [*ear, *server.plug_in_microphone("headset", "Crew headset, boom")]

    plugged_in = plug_in()
    session = live(
        Equipment(root=tmp_path / "legs"),
        lambda: datetime.now(UTC),
        microphone="headset",
        speaker="phones",
    )
    with closing(session.run()) as progress:
        server.speak_into_microphone(spoken("start leg", after_s=1.5), "headset")
        (began,) = [one for one in until(LegBegan, progress) if isinstance(one, LegBegan)]
        server.speak_into_microphone(spoken("drain clamped", after_s=4.5), "headset")
        until(Written, progress)
        server.pull_out(plugged_in)
        until(InTrouble, progress)
        plug_in()
        until_spoken("The microphone is back", progress)
        server.speak_into_microphone(spoken("drain open", after_s=9.0), "headset")
        until(Written, progress)
    leg = load(began.folder)
    assert [entry.entry.kind for entry in leg.entries] == ["drain_clamped", "drain_opened"]
    assert any("microphone has gone" in notice.text for notice in leg.notices)
