"""Twenty prompts, and what is made of them."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pytest
import soundfile
from typer.testing import CliRunner

from tests.hearing.tiny_model.build import tones
from voice import cli
from voice.capture.recordings import RecordingError
from voice.entries.heard import SAMPLE_RATE, Alternative, Block, Hearing, Segment
from voice.entries.leg import LegSettings
from voice.entries.said import Command, Statement
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import FRAME_SAMPLES
from voice.meaning.drug_list import DrugList
from voice.meaning.grammar import Grammar, load_grammar
from voice.meaning.twins import TEN_FOR_TEEN
from voice.session.models import SHIPPED_MODEL, Model
from voice.speech.espeak import EspeakNg
from voice.training import checking
from voice.training.checking import PromptsError, check_live, check_recordings
from voice.training.kept_checks import KeptCheckError, checks_root, keep, last_check
from voice.training.telling import told_check
from voice.training.voice_check import (
    PATIENCE_S,
    STATE,
    Outcome,
    Reading,
    Risk,
    VoiceCheck,
    live_utterances,
    pairs,
    prompts,
    readings,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from numpy.typing import NDArray

    from voice.meaning.listening import Listening

GRAMMAR = load_grammar()
PROMPTS = prompts(GRAMMAR)
AT = datetime(2031, 5, 1, 14, tzinfo=UTC)
SOUND = Segment(0.0, np.zeros(1600, np.int16), 0.1)


# --- prompts -----------------------------------------------------------------------------------


def test_there_are_twenty_prompts_and_each_means_one_thing() -> None:
    """Every prompt is legal where it is heard, with just one meaning, and none comes twice."""
    assert len(PROMPTS) == len(set(PROMPTS)) == 20
    for prompt in PROMPTS:
        assert len(GRAMMAR.parse(prompt, LegSettings(), STATE)) == 1, prompt


def test_every_teen_and_its_ten_are_read_in_the_same_phrase_but_far_apart() -> None:
    """All seven pairs are there, alike but for the number, with other prompts between the two."""
    for teen, ten in TEN_FOR_TEEN.items():
        (first,) = (n for n, prompt in enumerate(PROMPTS) if teen in prompt.split())
        (second,) = (n for n, prompt in enumerate(PROMPTS) if ten in prompt.split())
        assert PROMPTS[first].replace(teen, ten) == PROMPTS[second]
        assert second - first > 10


def test_prompts_hold_the_answers_and_several_kinds_of_entry() -> None:
    """Besides numbers, what answers a read-back and what every leg has is asked for."""
    meanings = [GRAMMAR.parse(prompt, LegSettings(), STATE)[0] for prompt in PROMPTS]
    kinds = {m.entry.kind for m in meanings if isinstance(m, Statement)}
    assert {"pressure", "drained", "drug_given", "drain_clamped", "drain_opened"} <= kinds
    assert {m.talk.value for m in meanings if isinstance(m, Command)} == {"confirm", "no"}


def test_a_grammar_without_such_examples_is_told() -> None:
    """Prompts cannot be made of phrase files without examples."""
    with pytest.raises(ValueError, match="no example"):
        prompts(
            Grammar(
                phrases=GRAMMAR.phrases,
                examples=(),
                refused=(),
                spellings={},
                digest="",
                subjects=GRAMMAR.subjects,
                drug_list=DrugList({}, {}, {}),
            )
        )


# --- what is made of one hearing ---------------------------------------------------------------


class Scripted:
    """Hears what it was told to."""

    def __init__(self, hearing: Hearing) -> None:
        self._hearing = hearing

    def hear(self, _: Segment) -> Hearing:
        """The same each time."""
        return self._hearing


def one_reading(
    monkeypatch: pytest.MonkeyPatch, prompt: str, *heard: tuple[str, float], nothing: bool = False
) -> Reading:
    """What is made of ``prompt`` where the recogniser comes up with ``heard``."""
    hearing = Hearing(tuple(Alternative(text, score) for text, score in heard))

    def listener(_: Model, _grammar: Grammar, _state: Listening) -> Scripted:
        return Scripted(hearing)

    monkeypatch.setattr(Model, "listener", listener)
    (reading,) = readings(SHIPPED_MODEL, GRAMMAR, [(prompt, None if nothing else SOUND)])
    return reading


def test_a_prompt_that_is_taken_is_right(monkeypatch: pytest.MonkeyPatch) -> None:
    """What was read, far ahead and without its twin, is right, and its lead is told."""
    reading = one_reading(
        monkeypatch,
        "pressure sixteen",
        ("pressure sixteen", 90.0),
        ("pressure one six", 89.0),
        ("pressure seventeen", 80.5),
        ("[unk]", 10.0),
    )
    assert (reading.heard, reading.outcome) == ("pressure sixteen", Outcome.RIGHT)
    assert (reading.lead, reading.twin_lead) == (9.5, None)


def test_a_twin_that_is_taken_is_wrong(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the ten alone is made out for the teen, the prompt is wrong."""
    reading = one_reading(monkeypatch, "pressure sixteen", ("pressure sixty", 90.0))
    assert (reading.outcome, reading.lead, reading.twin_lead) == (Outcome.WRONG, None, None)


def test_a_question_with_the_prompt_in_it_is_asked_and_without_it_wrong(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of two that come near each other, one must be what was read."""
    near = (("pressure sixty", 90.0), ("pressure sixteen", 88.0))
    reading = one_reading(monkeypatch, "pressure sixteen", *near)
    assert (reading.outcome, reading.twin_lead) == (Outcome.ASKED, -2.0)
    reading = one_reading(monkeypatch, "pressure nine", *near)
    assert (reading.outcome, reading.lead) == (Outcome.WRONG, None)


@pytest.mark.parametrize(
    "heard", [[("[unk]", 90.0), ("no", 88.0)], [("no", 88.0), ("[unk]", 87.5)], []]
)
def test_what_is_not_taken_is_missed(
    monkeypatch: pytest.MonkeyPatch, heard: list[tuple[str, float]]
) -> None:
    """Other talk, what is too faint, and no words at all have to be said again."""
    assert one_reading(monkeypatch, "no", *heard).outcome is Outcome.MISSED


def test_a_prompt_that_nobody_read_is_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any sound nothing was heard, whatever the recogniser would say."""
    reading = one_reading(monkeypatch, "no", ("no", 90.0), nothing=True)
    assert (reading.outcome, reading.heard, reading.lead) == (Outcome.MISSED, "", None)


# --- what is made of all -----------------------------------------------------------------------


def check_of(outcomes: dict[str, Outcome], *, voice: str = "", at: datetime = AT) -> VoiceCheck:
    """A check in which every prompt is right but those named by a word of theirs."""
    made = []
    for prompt in PROMPTS:
        named = [outcome for word, outcome in outcomes.items() if word in prompt.split()]
        outcome = named[0] if named else Outcome.RIGHT
        lead = 4.0 if named else 20.0
        made.append(
            Reading(
                prompt=prompt, model="m", heard=prompt, outcome=outcome, lead=lead, twin_lead=lead
            )
        )
    return VoiceCheck(at=at, voice=voice, readings=tuple(made))


def test_a_pair_stands_as_its_worse_half() -> None:
    """Wrong outweighs missed, missed outweighs asked, and only two right halves are clear."""
    check = check_of(
        {
            "thirteen": Outcome.ASKED,
            "fourteen": Outcome.MISSED,
            "forty": Outcome.ASKED,
            "fifty": Outcome.WRONG,
            "fifteen": Outcome.MISSED,
        }
    )
    found = {pair.teen: (pair.risk, pair.least_lead) for pair in pairs(check, "m")}
    assert found["thirteen"] == (Risk.ASKS, 4.0)
    assert found["fourteen"] == (Risk.REPEAT, 4.0)
    assert found["fifteen"] == (Risk.SWAPPED, 4.0)
    assert found["sixteen"] == (Risk.CLEAR, 20.0)
    assert len(found) == 7


def test_a_check_is_told_beside_the_one_before() -> None:
    """What was not right, the pairs, and how many were right this time and last time are told."""
    now = check_of({"fifty": Outcome.WRONG})
    lines = "\n".join(told_check(now, check_of({"no": Outcome.MISSED, "confirm": Outcome.MISSED})))
    assert "m: 19 of 20 prompts taken rightly (18 on 2031-05-01)." in lines
    assert '"insulin fifty units": heard "insulin fifty units": wrong (lead +4.0)' in lines
    assert "fifteen   / fifty   SWAPPED (lead +4.0)" in lines
    assert "sixteen   / sixty   clear (lead +20.0)" in lines
    assert "taken rightly.\n" in "\n".join(told_check(now, None))


# --- kept checks -------------------------------------------------------------------------------


def test_a_check_is_kept_for_its_owner_alone() -> None:
    """The file and its folder can be read by nobody else, and the check comes back whole."""
    check = check_of({}, voice="mine")
    file = keep(check)
    assert file.stat().st_mode & 0o777 == 0o600
    assert file.parent.stat().st_mode & 0o777 == 0o700
    assert last_check("mine") == check


def test_the_last_check_is_that_of_the_same_voice() -> None:
    """Another voice's check, though later, is not compared with."""
    assert last_check("mine") is None
    for day, voice in enumerate(("mine", "mine", "another")):
        keep(check_of({}, voice=voice, at=AT + timedelta(days=day)))
    found = last_check("mine")
    assert found is not None
    assert found.at == AT + timedelta(days=1)


def test_a_check_that_cannot_be_read_is_named() -> None:
    """A damaged file is told with its place."""
    file = keep(check_of({}))
    file.write_text("{}")
    with pytest.raises(KeptCheckError, match=str(file)):
        last_check("")


def test_a_check_that_cannot_be_kept_says_so() -> None:
    """Where the folder cannot be made, the sentence says what to do."""
    checks_root().write_text("in the way")
    with pytest.raises(KeptCheckError, match="cannot be kept"):
        keep(check_of({}))


# --- from sound --------------------------------------------------------------------------------


class LoudIsVoice:
    """Takes every loud frame for speech."""

    def probability(self, frame: NDArray[np.int16]) -> float:
        """One or nothing."""
        return float(np.abs(frame).max() > 1000)

    def reset(self) -> None:
        """There is nothing to forget."""


def stream(*parts: tuple[float, int]) -> Iterator[Block]:
    """Sound of so many seconds and so loud, one part after the other."""
    start_s = 0.0
    for duration_s, level in parts:
        for _ in range(round(duration_s * SAMPLE_RATE / FRAME_SAMPLES)):
            block = Block(start_s, np.full(FRAME_SAMPLES, level, np.int16))
            start_s = block.end_s
            yield block


def test_what_is_said_again_at_once_takes_the_place_of_a_slip() -> None:
    """A prompt is over when it is quiet; until then the last thing said counts."""
    shown: list[str] = []
    blocks = stream((1, 0), (1, 2000), (0.8, 0), (1, 3000), (2.5, 0), (1, 4000), (2.5, 0))
    said = live_utterances(blocks, Segmenter(LoudIsVoice()), shown.append, ["one", "two"])
    first = next(said)
    assert shown == ["one"]
    second = next(said)
    assert shown == ["one", "two"]
    assert [int(s.samples.max()) for s in (first, second) if s] == [3000, 4000]


def test_a_prompt_that_nobody_reads_is_passed_over() -> None:
    """After a while of silence the next prompt comes, and there is no sound for the first."""
    blocks = stream((PATIENCE_S + 1, 0), (1, 2000), (2.5, 0))
    said = list(live_utterances(blocks, Segmenter(LoudIsVoice()), lambda _: None, ["one", "two"]))
    assert said[0] is None
    assert said[1] is not None


def test_a_microphone_that_ends_leaves_the_rest_unheard() -> None:
    """Where sound ends without an error, what is left counts as not read."""
    said = list(live_utterances(stream((1, 0)), Segmenter(LoudIsVoice()), lambda _: None, ["one"]))
    assert said == [None]


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The prompts as espeak-ng reads them, one file each, named in their order."""
    folder = tmp_path_factory.mktemp("prompts")
    for number, prompt in enumerate(PROMPTS, start=1):
        sound = EspeakNg().speak(prompt).at_rate(SAMPLE_RATE)
        soundfile.write(folder / f"{number:02}.wav", sound.samples, SAMPLE_RATE)
    return folder


def run(*arguments: str) -> str:
    """What the command printed."""
    result = CliRunner().invoke(cli.app, list(arguments))
    assert result.exit_code == 0, (result.output, result.exception)
    return result.output


def test_a_voice_is_checked_by_recordings(recordings: Path) -> None:
    """Read by a synthetic voice, most prompts are taken rightly, none wrongly, and it is kept."""
    shown = run("voice-check", "--audio", str(recordings), "--voice", "synthetic")
    check = last_check("synthetic")
    assert check is not None
    assert [reading.prompt for reading in check.readings] == list(PROMPTS)
    outcomes = [reading.outcome for reading in check.readings]
    assert outcomes.count(Outcome.RIGHT) >= 14
    assert Outcome.WRONG not in outcomes
    assert f"shipped: {check.right('shipped')} of 20 prompts taken rightly." in shown
    (file,) = checks_root().iterdir()
    assert str(file) in shown
    assert set(json.loads(file.read_text())) == {"at", "voice", "readings"}


def test_every_model_of_the_machine_is_checked(recordings: Path, elsewhere: Path) -> None:
    """A model that was brought in listens too, and what it lacks words for it misses."""
    run("model", "use", str(elsewhere))
    shown = run("voice-check", "--audio", *sorted(map(str, recordings.iterdir())))
    check = last_check("")
    assert check is not None
    assert check.models() == ("shipped", "tiny")
    assert check.of("tiny")["insulin fifteen units"].outcome is Outcome.MISSED
    assert "tiny: 0 of 20" in shown


def test_prompts_and_recordings_must_be_as_many(recordings: Path) -> None:
    """With one recording too few, the prompts are listed in their order."""
    with pytest.raises(PromptsError, match="here are 19") as refused:
        check_recordings(sorted(recordings.iterdir())[1:], AT, "")
    assert " 1 drained thirteen mils" in str(refused.value)


def test_a_file_that_is_no_recording_is_named(recordings: Path, tmp_path: Path) -> None:
    """One bad file ends the check with its name."""
    bad = tmp_path / "bad.wav"
    bad.write_text("no sound")
    with pytest.raises(RecordingError, match=r"bad\.wav"):
        check_recordings([bad, *sorted(recordings.iterdir())[1:]], AT, "")


def test_a_silent_recording_is_a_prompt_that_nobody_read(recordings: Path, tmp_path: Path) -> None:
    """Silence in the place of a prompt is missed, and the others are heard all the same."""
    silent = tmp_path / "silent.wav"
    soundfile.write(silent, np.zeros(SAMPLE_RATE, np.int16), SAMPLE_RATE)
    check = check_recordings([silent, *sorted(recordings.iterdir())[1:]], AT, "")
    assert check.readings[0].outcome is Outcome.MISSED
    assert check.readings[0].heard == ""
    assert check.right("shipped") >= 12


class Reader:
    """A microphone before which the recordings are read, each after a pause."""

    folder: Path

    def __init__(self, *_: object) -> None:
        pass

    def blocks(self) -> Iterator[Block]:
        """All of it as one stream."""
        start_s = 0.0
        for file in sorted(self.folder.iterdir()):
            samples, _ = soundfile.read(file, dtype="int16")
            sound = np.concatenate((np.zeros(SAMPLE_RATE * 6 // 10, np.int16), samples,
                                    np.zeros(SAMPLE_RATE * 22 // 10, np.int16)))  # fmt: skip
            for first in range(0, len(sound), FRAME_SAMPLES):
                block = Block(start_s, sound[first : first + FRAME_SAMPLES])
                start_s = block.end_s
                yield block


def test_a_voice_is_checked_live(recordings: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each prompt is shown when the one before has been read, and heard as from recordings."""
    monkeypatch.setattr(Reader, "folder", recordings, raising=False)
    monkeypatch.setattr(checking, "Microphone", Reader)
    shown: list[str] = []
    live = check_live(AT, "", shown.append, None)
    assert tuple(shown) == PROMPTS
    by_files = check_recordings([recordings], AT, "")
    same = sum(a.heard == b.heard for a, b in zip(live.readings, by_files.readings, strict=True))
    assert same >= 18
    assert all(reading.outcome is not Outcome.WRONG for reading in live.readings)


# --- the commands ------------------------------------------------------------------------------


def test_the_commands_show_and_change_the_model(elsewhere: Path) -> None:
    """What is used, what there is, and what is lacking are shown; a choice is told."""
    assert "Hearing with: shipped" in run("model")
    assert "Hearing with tiny from now on." in run("model", "use", str(elsewhere))
    shown = run("model")
    assert "Hearing with: tiny" in shown
    assert "shipped: " in shown
    assert "NOT AT ALL" in shown
    assert "Hearing with shipped from now on." in run("model", "use", "shipped")


def test_a_fetched_model_is_shown_with_how_to_use_it(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After fetching, the command that uses it is named and nothing has been chosen."""

    def fetched(_: Grammar, progress: object) -> Model:
        assert callable(progress)
        progress(1, 0)
        progress(2, 2)
        return Model("tiny", folder)

    run("model", "use", str(elsewhere))
    run("model", "use", "shipped")
    folder = checks_root().parent / "models" / "tiny"
    monkeypatch.setattr(cli, "fetch", fetched)
    assert "legbook model use tiny" in run("model", "fetch")
    assert "Hearing with: shipped" in run("model")


def test_a_leg_with_another_model_begins_with_a_warning(elsewhere: Path, tmp_path: Path) -> None:
    """Before listening, the nurse is told that thresholds are not measured and phrases lack."""
    run("model", "use", str(elsewhere))
    file = tmp_path / "tones.wav"
    soundfile.write(file, tones("start leg"), SAMPLE_RATE)
    assert "thresholds nobody has measured" in run("listen", "--audio", str(file), "--fast")


def test_recordings_need_their_option(recordings: Path) -> None:
    """Files without --audio are refused, as they are by the other commands."""
    result = CliRunner().invoke(cli.app, ["voice-check", str(recordings)])
    assert result.exit_code == 2


@pytest.mark.parametrize(
    "command", [["model"], ["model", "use"], ["model", "fetch"], ["voice-check"]]
)
def test_each_command_explains_itself(command: list[str]) -> None:
    """Every command has its help."""
    assert "Usage: legbook" in run(*command, "--help")
