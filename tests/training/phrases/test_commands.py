"""The trainer's commands, as they are typed: the way of a phrase from nothing to another machine."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest
import soundfile
from typer.testing import CliRunner

from voice import cli
from voice.commands import phrases as commands
from voice.entries.errors import LegbookError
from voice.session.own_phrases import drafts, own_layer, phrases_root
from voice.training.phrases import workshop
from voice.training.phrases.proof import Proof, Said
from voice.training.phrases.voices import in_noise
from voice.training.voice_check import Outcome

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from voice.training.phrases.proof import Trial
    from voice.training.phrases.voices import Voice

ADD = ("--say", "brain pressure <value>", "--like", "pressure twelve")
ADDED = ("add", "trial", *ADD, "--example", "brain pressure six", "--refused", "brain pressure")


@pytest.fixture(autouse=True)
def _machine(small: Path, espeak: tuple[Voice, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    assert small.is_dir()
    monkeypatch.setattr(workshop, "voices", lambda: espeak)


def typed(*words: str, answer: str = "", code: int = 0) -> str:
    """What ``legbook phrases`` shows for these words."""
    done = CliRunner().invoke(cli.app, ["phrases", *words], input=answer)
    if isinstance(done.exception, LegbookError):
        raise done.exception
    assert done.exit_code == code, done.output
    return " ".join(done.output.split())


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> Callable[[Outcome], None]:
    """Take a proof's outcome as given; the real one is tried in test_proof.py."""

    def take(outcome: Outcome) -> None:
        def proof(trial: Trial, at: datetime, _: object) -> Proof:
            said = Said(text=trial.new[0], voice="b", snr_db=None, outcome=outcome, heard="c")
            return Proof(
                at=at,
                grammar="g",
                grammar_before="h",
                model="m",
                voices=("b",),
                new=(said,),
                old=(),
                files=dict(trial.files),
            )

        monkeypatch.setattr(commands, "prove", proof)

    return take


def test_a_phrase_goes_from_nothing_to_another_machine(
    quick: Callable[[Outcome], None], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Added, proven, listed, packed, installed elsewhere, and taken away again."""
    quick(Outcome.RIGHT)
    shown = typed(*ADDED, answer="y\n")
    assert 'is read back as "pressure, six"' in shown
    assert "No fault" in shown
    assert "Blessed, and listened for from now on: trial.toml" in typed("prove")
    assert "listened for: " in typed("list")
    assert "Packed 2 files" in typed("pack", "ward", str(tmp_path))
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path / "other"))
    pack = str(tmp_path / "ward.legpack")
    assert "Nothing was installed" in typed("install", pack, answer="n\n", code=1)
    assert "another key" in typed("install", pack, "--key", "0000", code=1)
    assert "packs/ward" in typed("install", pack, answer="y\n")
    assert "pack ward any more" in typed("remove", "ward")


def test_a_taught_word_is_taken_away_unless_a_phrase_needs_it() -> None:
    """A word is known as before once it is taken away; while a phrase would lack it, that is refused."""
    file = own_layer().folder / "lexicon.txt"
    file.parent.mkdir(parents=True)
    file.write_text("gasket G AE S K AH T\nzeroed Z IH R OW D AH D\n")
    phrase = 'about = "A."\n[[phrase]]\nentry = "drain_zeroed"\nsay = "gasket zeroed"\n'
    (file.parent / "trial.toml").write_text(phrase)
    with pytest.raises(LegbookError, match=r'"gasket" is said in trial\.toml'):
        typed("remove", "gasket")
    assert "known as before" in typed("remove", "zeroed")
    (file.parent / "trial.toml").unlink()
    typed("remove", "gasket")
    assert own_layer().words == {}
    assert "gasket" not in workshop.known_words()
    assert "zeroed" in workshop.known_words()


def own_phrase(entry: str, say: str, folder: Path | None = None, name: str = "trial") -> None:
    """A phrase that is listened for, as if it had been proven."""
    place = folder or own_layer().folder
    place.mkdir(parents=True, exist_ok=True)
    text = f'about = "A."\n[[phrase]]\nentry = "{entry}"\nsay = "{say}"\n'
    (place / f"{name}.toml").write_text(text)


def test_a_pack_is_not_taken_away_with_a_word_that_another_phrase_needs() -> None:
    """A pack whose word an own phrase says stays, for without it no leg could begin; then it can go."""
    pack = phrases_root() / "packs" / "ward"
    own_phrase("drain_opened", "gasket opened")
    own_phrase("drain_zeroed", "gasket zeroed", pack, "packed")
    (pack / "lexicon.txt").write_text("gasket G AE S K AH T\n")
    with pytest.raises(LegbookError, match=r'"gasket" is said in trial\.toml.*Nothing was taken'):
        typed("remove", "ward")
    assert pack.is_dir()
    typed("remove", "trial")
    typed("remove", "ward")
    assert not pack.exists()


def test_a_phrase_is_not_taken_away_that_a_list_asks_for() -> None:
    """A phrase with which "yes" is kept in a check of one's own stays while the check is there."""
    own_phrase("drain_opened", "gasket opened")
    own_phrase("drain_zeroed", "other zeroed", name="other")
    (own_layer().folder / "start.toml").write_text(
        'about = "S."\n[[phrase]]\ncheck = "ours"\nsay = "check ours"\n'
    )
    (own_layer().folder / "lexicon.txt").write_text("gasket G AE S K AH T\n")
    checks = own_layer().folder / "checks"
    checks.mkdir()
    (checks / "ours.toml").write_text(
        'about = "Ours."\ncheck = "ours"\nsince = "leg"\n[[item]]\nname = "open"\nask = "is it open?"\n'
        'settled = [{ kind = "drain_opened" }]\nyes = "gasket opened"\nno = true\n'
    )
    with pytest.raises(LegbookError, match=r"ours\.toml.*Nothing was taken away"):
        typed("remove", "trial")
    assert own_layer().files
    typed("remove", "other")
    (checks / "ours.toml").write_text("about = [")  # a fault that was there before is no reason
    typed("remove", "trial")
    assert [file.name for file in own_layer().files] == ["start.toml"]


def test_a_phrase_that_starts_a_check_which_is_not_there_is_not_proven(
    quick: Callable[[Outcome], None],
) -> None:
    """No leg could begin with it, so it is told before anything is spoken."""
    quick(Outcome.RIGHT)
    typed(*ADDED, "--yes")
    start = '[[phrase]]\ncheck = "ours"\nsay = "check ours"\n[examples]'
    file = drafts().files[0]
    file.write_text(file.read_text().replace("[examples]", start))
    assert 'The check "ours": there is no such list' in typed("prove", code=1)
    assert drafts().files


def test_a_draft_is_not_overwritten_by_what_is_taken_back() -> None:
    """Where a draft of that name is there, the file that is listened for stays where it is."""
    own_phrase("drain_opened", "drain wide")
    own_phrase("drain_zeroed", "drain wide", drafts().folder)
    with pytest.raises(LegbookError, match=r"already a draft trial\.toml"):
        typed("remove", "trial")
    assert own_layer().files
    assert "drain_zeroed" in drafts().files[0].read_text()


def test_a_broken_draft_is_not_to_be_removed_but_mended() -> None:
    """Where a draft cannot be read, what to do fits a draft."""
    drafts().folder.mkdir(parents=True)
    (drafts().folder / "other.toml").write_text("about = [")
    with pytest.raises(LegbookError, match=r"other\.toml.*mend the draft, or delete it"):
        typed(*ADDED, "--yes")


def test_what_is_not_blessed_stays_a_draft(quick: Callable[[Outcome], None]) -> None:
    """A proof with a reason against it ends in a failure that tells it, and nothing is moved."""
    quick(Outcome.WRONG)
    typed(*ADDED, "--yes")
    shown = typed("prove", code=1)
    assert "NOT blessed" in shown
    assert '"brain pressure six" was taken for "c"' in shown
    assert [file.name for file in drafts().files] == ["trial.toml"]


def test_what_is_changed_after_its_proof_is_told_and_not_packed(
    quick: Callable[[Outcome], None], tmp_path: Path
) -> None:
    """A file that was edited after it was proven is marked in the list, and goes into no pack."""
    quick(Outcome.RIGHT)
    typed(*ADDED, "--yes")
    typed("prove")
    assert "changed after" not in typed("list")
    file = own_layer().files[0]
    file.write_text(file.read_text().replace("brain", "chamber"))
    assert "trial.toml, changed after it was proven" in typed("list")
    with pytest.raises(LegbookError, match=r"trial\.toml was changed after it was proven"):
        typed("pack", "ward", str(tmp_path))


def test_a_draft_that_changes_while_it_is_proven_is_not_blessed() -> None:
    """What is listened for is what was spoken: a proof of another text blesses nothing."""
    typed(*ADDED, "--yes")
    trial = workshop.trial_of(drafts())
    proof = Proof(
        at=datetime(2026, 5, 1, 14, 0, tzinfo=UTC), grammar="g", grammar_before="h", model="m", voices=("b",),
        new=(Said(text="a", voice="b", snr_db=None, outcome=Outcome.RIGHT, heard="a"),), old=(), files=dict(trial.files),
    )  # fmt: skip
    file = drafts().files[0]
    file.write_text(file.read_text().replace("brain", "chamber"))
    with pytest.raises(LegbookError, match="changed while it was proven"):
        workshop.bless(drafts(), proof)
    assert own_layer().files == ()


def test_faults_keep_a_draft_from_being_proven(quick: Callable[[Outcome], None]) -> None:
    """What has a fault is not even spoken."""
    quick(Outcome.RIGHT)
    typed(*ADDED, "--yes")
    file = drafts().folder / "trial.toml"
    file.write_text(file.read_text().replace("brain", "xyzzy"))
    assert "mend this first" in typed("prove", code=1)
    assert "unknown word" in typed("check", code=1)


def test_check_tells_what_it_looked_at() -> None:
    """Without drafts there is nothing to check but the shipped files; a file may be named."""
    assert "Check the shipped ones with --all" in typed("check")
    assert "sounds alike" in typed("check", "--all") or "half a pair" in typed("check", "--all")
    typed(*ADDED, "--yes")
    assert typed("check", str(drafts().folder / "trial.toml")).startswith("No fault")


def test_check_and_list_tell_of_lists() -> None:
    """A programme's own list that a leg could not begin with is told by check, and list names it."""
    file = own_layer().folder / "handoff" / "needs.toml"
    file.parent.mkdir(parents=True)
    file.write_text('about = "Ours."\n[[need]]\nname = "zero"\ntold = [{ kind = "drain_zero" }]\n')
    assert f"in use: {file}" in typed("list")
    told = 'needs.toml: cannot be read: need "zero": there is no kind of entry "drain_zero"'
    assert told in typed("check", code=1)


def test_nothing_is_kept_without_a_yes() -> None:
    """Whoever answers no to a phrase or a word, or breaks the question off, has kept nothing."""
    assert "Nothing was kept" in typed(*ADDED, answer="n\n")
    assert "Nothing was kept" in typed(*ADDED, code=1)
    assert drafts().files == ()
    assert "Nothing was added" in typed("list")
    assert "Nothing was kept" in typed("teach", "gromet", answer="n\n")
    assert drafts().files == ()
    assert drafts().words == {}


def test_word_is_taught_as_it_is_said() -> None:
    """A word is kept with the given pronunciations, else with the guess; a known one gets one more."""
    assert "sounds most like" in typed("teach", "gromet", "--phones", "G R AA M AH T", "--yes")
    assert drafts().words == {"gromet": (("G", "R", "AA", "M", "AH", "T"),)}
    assert "is known already" in typed("teach", "drain", "--yes")
    with pytest.raises(LegbookError, match="these phones only"):
        typed("teach", "gromet", "--phones", "XX", "--yes")
    with pytest.raises(LegbookError, match="not one word"):
        workshop.teach("two words", ["T UW"])


def test_phrase_is_tried_in_text_and_sound(tmp_path: Path, espeak: tuple[Voice, ...]) -> None:
    """A typed phrase shows meaning, read-back and rivals; a recording and a list are heard too."""
    shown = typed("try", "pressure twelve", "drain nothing")
    assert '"pressure twelve" is read back as "pressure, one two"' in shown
    assert '"drain nothing" is no phrase' in shown
    assert 'taken, and read back: "pressure, one two"' in shown
    wav = tmp_path / "said.wav"
    soundfile.write(wav, in_noise(espeak[0].say("drain zeroed"), None, "k"), 16_000)
    assert 'taken, and read back: "drain zeroed"' in typed("try", "--audio", str(wav))
    listed = tmp_path / "misheard.jsonl"
    listed.write_text(json.dumps({"phrase": "drain open", "heard": ["drain"], "count": 3}) + "\n\n")
    assert 'misheard 3 times, as drain: "drain open"' in typed("try", "--misheard", str(listed))
    listed.write_text('{"phrase": 1}\n')
    with pytest.raises(LegbookError, match=r"misheard\.jsonl, line 1"):
        typed("try", "--misheard", str(listed))


def test_what_is_said_into_the_microphone_is_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nothing was said, that is told."""
    monkeypatch.setattr(commands, "spoken_live", lambda _show, _microphone: None)
    assert "No speech was found" in typed("try", "--say")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("add", "Trial", *ADD, "--example", "a", "--refused", "b"), "cannot be called"),
        (("add", "small", *ADD, "--example", "a", "--refused", "b"), "cannot be called"),
        (("add", "t", "--say", "a b", "--like", "xyzzy", "--example", "a", "--refused", "b"),
         "no entry that can be said"),
        (("add", "t", *ADD, "--example", "xyzzy", "--refused", "b"), "does not say"),
        (("add", "t", "--say", "drain clamped", "--like", "drain open", "--example", "drain clamped",
          "--refused", "b"), 'would mean "drain clamped" and "drain open".*Nothing was kept'),
        (("add", "t", "--say", "drain (", "--like", "drain open", "--example", "a", "--refused", "b"),
         r"t\.toml, line 5.*Nothing was kept"),
        (("remove", "xyzzy"), "There are: none"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_told(words: tuple[str, ...], told: str) -> None:
    """What cannot be done is told in a sentence, and nothing is left behind."""
    with pytest.raises(LegbookError, match=told):
        typed(*words)
    assert drafts().files == ()


def test_draft_is_not_overwritten_and_own_file_can_go_back(
    quick: Callable[[Outcome], None],
) -> None:
    """A second draft of a name is refused, and so is one that is listened for; it can be taken back."""
    quick(Outcome.RIGHT)
    typed(*ADDED, "--yes")
    with pytest.raises(LegbookError, match="already a draft"):
        typed(*ADDED, "--yes")
    typed("prove")
    with pytest.raises(LegbookError, match=r"listened for already\. Take another name"):
        typed(*ADDED, "--yes")
    (drafts().folder / "trial.toml").write_bytes((own_layer().folder / "trial.toml").read_bytes())
    proof = Proof.model_validate_json((own_layer().folder / "trial.proof.json").read_text())
    with pytest.raises(LegbookError, match="listened for already"):
        workshop.bless(drafts(), proof)
    (drafts().folder / "trial.toml").unlink()
    assert "among the drafts" in typed("remove", "trial")
    assert [file.name for file in drafts().files] == ["trial.toml"]
    assert proof.at.tzinfo == UTC


def test_voices_that_prove_differ() -> None:
    """Voices of different programs come first, and no more than asked for."""
    names = [voice.name for voice in workshop.some_voices(2)]
    assert len(set(names)) == 2
