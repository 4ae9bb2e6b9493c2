"""The commands, as they are typed."""

from __future__ import annotations

import errno
import json
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from unittest.mock import Mock

import pytest
import soundfile
from typer.testing import CliRunner

from tests.record.planting import cut_off
from voice import cli
from voice.commands import demo, kept
from voice.commands.doctor import Finding, State
from voice.commands.handoff import SummaryError
from voice.entries.errors import LegbookError
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.record.errors import JournalError
from voice.record.events import Confirmed, Kept, LegEnded, Noticed
from voice.record.journal import Journal
from voice.record.part import Part
from voice.record.proof import CodeError
from voice.record.shelf import spare_folder
from voice.session.progress import LegOver, Progress
from voice.speech.manner import Manner

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from voice.session.preferences import Preferences
    from voice.session.setups import Equipment

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
CLIPS = Path(__file__).parents[2] / "audio_fixtures" / "demo_leg" / "clips"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, move_in: Callable[[Path], Path], monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine on which no leg was ever kept."""
    monkeypatch.setenv("COLUMNS", "200")
    return move_in(tmp_path)


@pytest.fixture
def leg(home: Path) -> str:
    """A leg with one confirmed and one unconfirmed pressure."""
    folder = home / "legs" / "2031-05-01-1400"
    with Journal.create(
        folder, LegSettings(), START, grammar_digest="0" * 64, model_digest="0" * 64
    ) as journal:
        for number in (1, 2):
            at = START + timedelta(minutes=number)
            journal.append(
                Kept(
                    at=at,
                    number=number,
                    entry=Pressure(value=13 + number, unit="mmHg"),
                    heard="pressure",
                    spoken_at=at,
                    happened_at=at,
                )
            )
        journal.append(Confirmed(at=at, number=1))
        journal.append(LegEnded(at=START + timedelta(minutes=40)))
    return folder.name


def run(*arguments: str, expect: int = 0) -> str:
    """What the command printed; its exit status has to be ``expect``."""
    result = CliRunner().invoke(cli.app, list(arguments))
    assert result.exit_code == expect, result.output
    return result.output


def test_legs_lists_each_leg_with_what_is_unconfirmed(leg: str) -> None:
    """The list names the leg, its times, and how many entries nobody confirmed."""
    line = next(line for line in run("legs").splitlines() if leg in line)
    told = line.split()
    assert told == [leg, "14:00", "14:40", "2", "1", "not", "yet", "as", "written"]


def test_legs_without_a_leg_says_how_to_begin() -> None:
    """On a new machine the list says how to start a leg."""
    assert "legbook listen" in run("legs")


def test_a_damaged_leg_is_listed_as_damaged(leg: str, home: Path) -> None:
    """A leg whose journal cannot be read stands in the list, as damaged."""
    (home / "legs" / leg / "journal.sqlite").write_bytes(b"no journal")
    assert "damaged" in run("legs")


def test_summary_takes_a_part_of_the_id_and_writes_a_file(leg: str, tmp_path: Path) -> None:
    """A leg is found by a part of its id, and the file holds what was shown."""
    file = tmp_path / "summary.txt"
    shown = run("summary", "1400", "--file", str(file))
    assert leg in shown
    assert "it never orders care" in " ".join(shown.split())
    assert file.read_text(encoding="utf-8").split() == shown.split()


def test_the_summary_bears_what_verify_needs(leg: str, home: Path) -> None:
    """By the code on the summary verify tells whether the journal was cut off since."""
    shown, checked = run("summary", leg).splitlines(), run("verify", leg)
    code, seal = shown[-3].strip(), shown[-1].strip()
    assert len(seal) == 64
    assert code in checked
    assert checked.rstrip().endswith(seal)
    assert "up to there nothing was changed" in run("verify", leg, "--code", code)
    number, rest = code.split("-", 1)
    slip = f"{number}-{'A' if rest[0] != 'A' else 'B'}{rest[1:]}"
    assert isinstance(
        CliRunner().invoke(cli.app, ["verify", leg, "--code", slip]).exception, CodeError
    )
    folder = home / "legs" / leg
    rolled_back = [line for line in (folder / "head").read_text().splitlines() if line][:-2]
    (folder / "head").write_text("\n".join(rolled_back))
    cut_off(folder, len(rolled_back))
    assert "is as it was written" in run("verify", leg)
    assert "The end was cut off" in run("verify", leg, "--code", code, expect=1)


def test_a_summary_that_cannot_be_written_says_where_the_leg_is(leg: str) -> None:
    """Where the file cannot be written, the sentence says so and that nothing is lost."""
    result = CliRunner().invoke(cli.app, ["summary", leg, "--file", "/proc/nowhere/summary.txt"])
    assert isinstance(result.exception, SummaryError)
    assert "The leg itself is safe" in str(result.exception)


def test_verify_tells_a_whole_journal_from_a_changed_one(leg: str, home: Path) -> None:
    """A journal as it was written passes, and one with a changed byte fails with status 1."""
    assert "is as it was written" in run("verify", leg)
    journal = home / "legs" / leg / "journal.sqlite"
    journal.write_bytes(journal.read_bytes().replace(b'"value":15', b'"value":16'))
    assert "NOT as it was written" in run("verify", leg, expect=1)


def test_hear_gives_a_line_of_json_for_each_stretch_of_speech() -> None:
    """The line holds place, words, scored alternatives, decision and entry."""
    lines = run("hear", "--json", str(CLIPS / "006.opus"), str(CLIPS / "020.opus")).splitlines()
    entry, talk = (json.loads(line) for line in lines)
    assert entry["file"].endswith("006.opus")
    assert 0.3 < entry["start_s"] < 1.2
    assert 1.5 < entry["end_s"] < 3.5
    assert entry["text"] == entry["alternatives"][0]["text"] == "pressure fourteen"
    assert entry["decision"]["outcome"] == "accept"
    assert entry["entry"] == {"kind": "pressure", "value": 14, "unit": "mmHg"}
    assert (talk["decision"]["outcome"], talk["entry"]) == ("not_for_us", None)


def test_hear_goes_on_after_a_file_that_cannot_be_used(tmp_path: Path) -> None:
    """One bad file is told of by its name, and those after it are heard all the same."""
    bad = tmp_path / "notes.wav"
    bad.write_text("no sound")
    result = CliRunner().invoke(cli.app, ["hear", str(bad), str(CLIPS / "006.opus")])
    assert result.exit_code == 2
    assert '"pressure fourteen": accept' in result.stdout
    assert "notes.wav" in result.stderr


def test_hear_says_it_in_words_as_well() -> None:
    """Without --json a person can read what was heard."""
    assert '"pressure fourteen": accept' in run("hear", str(CLIPS / "006.opus"))


def clips(*numbers: int) -> list[str]:
    """Recordings of the demo leg: 1 start leg, 6 pressure fourteen, 7 confirm, 102 end leg."""
    return [str(CLIPS / f"{number:03}.opus") for number in numbers]


def test_listen_takes_recordings_for_the_microphone(home: Path) -> None:
    """What is said in recordings is shown, kept, summed up, and mixed with what was spoken."""
    wav = home / "leg.wav"
    told = run("listen", "--audio", *clips(1, 6, 7, 102, 102), "--fast", "--mix", str(wav))
    assert "entry 1: ICP 14 mmHg, unconfirmed" in told
    assert "entry 1: confirmed" in told
    (folder,) = (home / "legs").iterdir()
    assert "Last 14 at" in (folder / "summary.txt").read_text(encoding="utf-8")
    assert "has not ended" not in told
    assert soundfile.info(wav).duration > sum(
        soundfile.info(clip).duration for clip in clips(1, 6, 7, 102)
    )


def test_listen_takes_pressures_in_the_unit_of_the_monitor() -> None:
    """With --unit cmH2O a bare pressure is one in centimetres of water."""
    told = run("listen", "--audio", *clips(1, 6), "--fast", "--unit", "cmH2O")
    assert "entry 1: ICP 14 cmH2O" in told


def test_listen_offers_the_usual_level_of_the_programme(monkeypatch: pytest.MonkeyPatch) -> None:
    """The usual level and its reference are those of the command, else as shipped."""
    taken: list[tuple[float, str]] = []

    def live(equipment: Equipment, *_: object, **__: object) -> Played:
        settings = equipment.settings
        taken.append((settings.usual_level_cmh2o, settings.usual_reference))
        return Played([])

    monkeypatch.setattr(cli, "live", live)
    run("listen")
    run("listen", "--usual-level", "10", "--usual-reference", "midbrow")
    run("listen", "--usual-level", "41", expect=2)
    assert taken == [(15, "tragus"), (10, "midbrow")]


def test_settings_are_kept_and_listen_may_differ(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is chosen holds until it is chosen anew; a sitting may have it otherwise."""
    taken: list[Preferences] = []

    def live(equipment: Equipment, *_: object, **__: object) -> Played:
        taken.append(equipment.preferences)
        return Played([])

    monkeypatch.setattr(cli, "live", live)
    told = run("settings", "--attention", "word", "--word", "Umbrella", "--volume", "90")
    assert 'It listens to what begins with "umbrella"' in told
    assert run("settings") == told
    assert 'begins with "umbrella"' in run("listen")
    run("listen", "--attention", "button", "--style", "long", "--rate", "120", "--pitch", "60")
    kept, other = taken
    assert (kept.attention, kept.word, kept.manner.volume_percent) == ("word", "umbrella", 90)
    assert (other.attention, other.style) == ("button", "long")
    assert other.manner == Manner(rate_wpm=120, pitch=60, volume_percent=90)
    assert run("settings") == told


@pytest.mark.parametrize(
    "arguments",
    [
        ["--rate", "79"], ["--rate", "fast"], ["--pitch", "100"], ["--volume", "9"],
        ["--attention", "sometimes"], ["--style", "curt"],
    ],
)  # fmt: skip
def test_settings_out_of_range_are_refused(arguments: list[str]) -> None:
    """What cannot be is refused with its range, and nothing is kept."""
    before = run("settings")
    assert f"Invalid value for '{arguments[0]}'" in run("settings", *arguments, expect=2)
    assert run("settings") == before


def test_a_word_that_cannot_be_heard_is_not_kept() -> None:
    """The word is looked up before it is kept."""
    result = CliRunner().invoke(cli.app, ["settings", "--word", "abracadabra"])
    assert "cannot hear" in str(result.exception)
    assert "abracadabra" not in run("settings", "--attention", "word")


def test_the_screen_shows_the_leg_at_a_glance() -> None:
    """With --screen the leg is shown in place of the log, and its summary at the end."""
    told = run(
        "listen", "--audio", *clips(1, 6, 7, 102, 102), "--fast", "--screen", "--style", "long"
    )
    assert "WAITS FOR CONFIRM" in told
    assert "1 UNCONFIRMED" in told
    assert "legbook  pressure" not in told
    assert "Last 14 at" in told


def test_a_leg_that_was_broken_off_says_how_to_go_on(home: Path) -> None:
    """Where the recordings end before the leg does, the command that goes on is shown."""
    told = run("listen", "--audio", *clips(1, 6), "--fast")
    (folder,) = (home / "legs").iterdir()
    assert f"legbook listen --go-on {folder.name}" in told


@pytest.mark.parametrize(
    "arguments",
    [
        ["--audio"], clips(1), ["--audio", "nowhere.wav"],
        ["--audio", *clips(1), "--attention", "button"],
    ],
)  # fmt: skip
def test_listen_refuses_recordings_that_it_cannot_take(arguments: list[str]) -> None:
    """Recordings without --audio, or the reverse, files that are not there, and keys for them fail."""
    run("listen", *arguments, expect=2)


class Played:
    """A session that only tells what happened in another."""

    def __init__(self, events: list[Progress], *, stopped: bool = False) -> None:
        self._events = events
        self._stopped = stopped

    def run(self) -> Iterator[Progress]:
        """Tell it, and then be stopped by the keyboard."""
        yield from self._events
        if self._stopped:
            raise KeyboardInterrupt


def test_listen_goes_on_with_a_leg_and_ends_by_the_keyboard(
    monkeypatch: pytest.MonkeyPatch, home: Path
) -> None:
    """A leg goes on in its own unit and by its own clock, and stopping is no failure."""
    settings = LegSettings(pressure_unit="cmH2O", utc_offset_min=345)
    folder = home / "legs" / "2031-05-01-1945"
    Journal.create(folder, settings, START, grammar_digest="0" * 64, model_digest="0" * 64).close()
    opened: list[Journal] = []

    def live(equipment: Equipment, *_: object, journal: Journal, **__: object) -> Played:
        assert equipment.settings == settings
        opened.append(journal)
        return Played([], stopped=True)

    monkeypatch.setattr(cli, "live", live)
    told = run("listen", "--go-on", "1945")
    opened[0].close()
    assert opened[0].leg_id == folder.name
    assert f"legbook listen --go-on {folder.name}" in told


def test_what_cannot_go_on_is_refused(leg: str) -> None:
    """A leg that has ended takes nothing more, and none goes on with recordings."""
    result = CliRunner().invoke(cli.app, ["listen", "--go-on", leg])
    assert "has ended" in str(result.exception)
    run("listen", "--audio", *clips(1), "--go-on", leg, expect=2)


def test_a_leg_that_went_on_on_another_disk_is_found_there(
    monkeypatch: pytest.MonkeyPatch, home: Path, leg: str
) -> None:
    """With LEGBOOK_SPARE the commands see a leg to its end, and without it they say what lacks."""
    monkeypatch.setenv("LEGBOOK_SPARE", str(home / "other disk"))
    folder = home / "legs" / leg
    notice = Noticed(at=START + timedelta(minutes=41), text="The disk was changed.")
    with Journal.open(folder, START, spare=spare_folder(folder)) as journal:
        with monkeypatch.context() as failing:
            failing.setattr(Part, "append", Mock(side_effect=OSError(errno.EIO, "no answer")))
            with pytest.raises(JournalError):
                journal.append(notice)
        journal.carry_on(notice.at)
        journal.append(notice)
    assert notice.text in run("summary")
    assert notice.text in run("summary", "--file", str(home / "summary.txt"))
    assert "is as it was written" in run("verify")
    assert "as written" in run("legs")
    monkeypatch.delenv("LEGBOOK_SPARE")
    assert "bring that disk back" in run("verify", expect=1)


def test_the_demo_fails_where_its_leg_is_not_as_meant(
    monkeypatch: pytest.MonkeyPatch, home: Path, leg: str
) -> None:
    """A wrong journal is told entry by entry, after its summary, and the command fails."""
    over = LegOver(datetime.now(UTC), home / "legs" / leg)
    monkeypatch.setattr(demo, "session", lambda *_, **__: Played([over]))
    told = run("demo", "--fast", expect=1)
    assert "Last 15 at" in told
    assert 'Entry 1, "drain level ten above tragus", is kind=' in told
    assert 'Entry 46, "handed over", is missing.' in told


def test_the_demo_flies_the_leg_that_is_named(
    monkeypatch: pytest.MonkeyPatch, home: Path, leg: str
) -> None:
    """With --leg troubled what happened is compared with what is meant in that leg."""
    over = LegOver(datetime.now(UTC), home / "legs" / leg)
    monkeypatch.setattr(demo, "session", lambda *_, **__: Played([over]))
    told = run("demo", "--fast", "--leg", "troubled", expect=1)
    assert '"handed over to receiving nurse", is missing.' in told


def test_a_demo_that_cannot_be_kept_says_where(home: Path) -> None:
    """Where the demo's folder cannot be made, a sentence says so."""
    (home / "demo").write_text("")
    result = CliRunner().invoke(cli.app, ["demo", "--fast"])
    assert str(result.exception).startswith(f"The demo cannot be kept in {home / 'demo'}")


def test_the_demo_fails_where_its_leg_never_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    """A demo without an end is no success."""
    monkeypatch.setattr(demo, "session", lambda *_, **__: Played([]))
    result = CliRunner().invoke(cli.app, ["demo"])
    assert isinstance(result.exception, LegbookError)
    assert "never ended" in str(result.exception)


def test_the_demo_shows_its_scenes_and_says_where_its_sound_lies(
    monkeypatch: pytest.MonkeyPatch, home: Path, leg: str
) -> None:
    """A leg as meant ends with its summary, the recording's place, and success."""
    over = LegOver(datetime.now(UTC) + timedelta(minutes=40), home / "legs" / leg)
    monkeypatch.setattr(demo, "session", lambda *_, **__: Played([over]))
    monkeypatch.setattr(demo, "differences", lambda *_: ())
    told = run("demo", "--fast")
    assert told.index("At the bedside") < told.index("In the air") < told.index("Last 15 at")
    assert f"How it sounded: {home / 'demo'}" in told
    assert "All 46 entries are as they were meant." in told
    assert told.endswith("Look at it on the reviewer's desk: legbook review demo\n")


def test_the_leg_of_the_demo_can_be_asked_for(home: Path, leg: str) -> None:
    """It is no leg in the list, and "demo" is its name for every command; without one a sentence says so."""
    with pytest.raises(LegbookError, match="legbook demo"):
        demo.last_flown()
    (home / "legs").rename(home / "demo")
    assert f"Leg {leg}" in run("summary", "demo")
    assert f"Leg {leg}" in run("summary", leg)
    assert "No leg has been kept" in run("legs")


@pytest.mark.parametrize(
    "command", ["listen", "demo", "summary", "legs", "verify", "hear", "doctor", "settings"]
)
def test_each_command_explains_itself(command: str) -> None:
    """Every command has its help."""
    assert "Usage: legbook" in run(command, "--help")


@pytest.mark.parametrize(("state", "status"), [("works", 0), ("look", 0), ("broken", 1)])
def test_doctor_fails_only_where_something_is_broken(
    monkeypatch: pytest.MonkeyPatch, state: State, status: int
) -> None:
    """What a person should look at is told, and only what does not work fails the command."""
    finding = Finding("microphone", State(state), "A sentence on what to do.")
    monkeypatch.setattr(cli, "examine", lambda *_, **__: iter([finding]))
    told = run("doctor", expect=status)
    assert told.split() == [state, "microphone", "A", "sentence", "on", "what", "to", "do."]


@pytest.fixture
def typed(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The arguments of the program itself."""
    arguments = ["legbook", "legs"]
    monkeypatch.setattr(sys, "argv", arguments)
    return arguments


def test_a_failure_that_a_person_can_act_on_ends_with_its_sentence(
    typed: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """An unknown leg gets one sentence on standard error and status 2."""
    typed[1:] = ["summary", "nowhere"]
    with pytest.raises(SystemExit, match="2"):
        cli.main()
    assert capsys.readouterr().err == (
        "legbook: No leg has been kept yet. Start one with: legbook listen\n"
    )


@pytest.mark.usefixtures("typed")
def test_a_failure_of_the_program_itself_leads_to_the_log(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], home: Path
) -> None:
    """What nobody foresaw gets a sentence too, and its traceback goes into the log."""

    def broken(*_: Path | None) -> None:
        raise ZeroDivisionError("a mistake of ours")

    monkeypatch.setattr(kept, "kept_legs", broken)
    with pytest.raises(SystemExit, match="70"):
        cli.main()
    told = capsys.readouterr().err
    assert str(home / "legbook.log") in told
    assert "Traceback" not in told
    assert "ZeroDivisionError: a mistake of ours" in (home / "legbook.log").read_text()
