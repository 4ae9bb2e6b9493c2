from __future__ import annotations

import errno
import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tests.record.conftest import at, fill, heard, sound
from voice import cli
from voice.entries.review import Reviewer
from voice.record.desk_events import Commented, SignedOff
from voice.record.errors import JournalError
from voice.record.events import LegEnded
from voice.record.journal import Journal
from voice.record.retention import Policy, drop_sound
from voice.record.shelf import verify

END = at(40)
BY = Reviewer(name="R. Example", role="flight nurse")


@pytest.fixture
def leg(journal: Journal, folder: Path) -> Path:
    """A leg with three sounds that has ended."""
    fill(journal)
    journal.append(LegEnded(at=END))
    journal.close()
    return folder


def sounds(leg: Path) -> list[str]:
    """The files of sound that are there."""
    return sorted(path.name for path in (leg / "clips").iterdir())


def sign(leg: Path) -> None:
    """Sign it off at the desk."""
    with Journal.open(leg, END) as journal:
        journal.append(SignedOff(at=END, by=BY, sounds=3, listened_to=3))


def test_sound_goes_after_its_days(leg: Path) -> None:
    """It stays until the last minute of its days, then goes, and only its hash is left."""
    policy = Policy(after_days=30)
    almost = END + timedelta(days=30) - timedelta(minutes=1)
    assert drop_sound(leg, policy, almost) == 0
    assert len(sounds(leg)) == 3
    assert drop_sound(leg, policy, END + timedelta(days=30)) == 3
    assert sounds(leg) == []
    verdict = verify(leg)
    assert verdict.findings == ()
    assert verdict.notes == ("By policy the sound of 3 stretches was dropped.",)
    assert drop_sound(leg, policy, END + timedelta(days=31)) == 0


def test_sound_that_a_crash_left_goes_as_well(leg: Path) -> None:
    """A clip that no event names, for the program was killed before it, is no less somebody's voice."""
    (leg / "clips" / "0009.flac").write_bytes(b"somebody")
    assert drop_sound(leg, Policy(after_days=0), END) == 4
    assert sounds(leg) == []
    assert verify(leg).findings == ()


def test_sound_stays_until_the_leg_is_signed(leg: Path) -> None:
    """By that policy an unsigned leg keeps its sound, and one that was changed after it was signed as well."""
    policy = Policy(signed=True)
    assert drop_sound(leg, policy, END) == 0
    sign(leg)
    with Journal.open(leg, END) as journal:
        journal.append(Commented(at=END, by=BY, text="Was the level told?"))
    assert drop_sound(leg, policy, END) == 0
    sign(leg)
    assert drop_sound(leg, policy, END) == 3
    with Journal.open(leg, END) as journal:
        assert journal.leg().signed is not None


def test_a_leg_that_runs_keeps_its_sound(journal: Journal, folder: Path) -> None:
    """Without an end no policy lets sound go."""
    fill(journal)
    journal.close()
    assert drop_sound(folder, Policy(after_days=0), END) == 0
    assert len(sounds(folder)) == 3


def test_sound_that_is_missing_without_a_word_is_found(leg: Path) -> None:
    """The policy covers what it removed and no other clip."""
    drop_sound(leg, Policy(after_days=0), END)
    with Journal.open(leg, END) as journal:
        clip = journal.add_clip(sound(9))
        journal.append(heard(clip))
    assert verify(leg).findings == ()
    (leg / "clips" / clip.name).unlink()
    assert verify(leg).findings == (f"Sound clip {clip.name} is missing.",)


def test_what_a_crash_left_goes_the_next_time(leg: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that could not be removed is told, and the next try removes it."""

    def refuse(_path: Path) -> None:
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as broken:
        broken.setattr(Path, "unlink", refuse)
        with pytest.raises(JournalError, match="cannot be removed"):
            drop_sound(leg, Policy(after_days=0), END)
    assert "was to be dropped and is there" in verify(leg).notes[-1]
    assert drop_sound(leg, Policy(after_days=0), END) == 3
    assert verify(leg).findings == ()


def test_the_command_says_what_went(leg: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a policy nothing goes; a leg whose journal cannot be written is told, and stops no other."""
    monkeypatch.setenv("LEGBOOK_HOME", str(leg.parent.parent))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)

    def run(*arguments: str) -> str:
        return CliRunner().invoke(cli.app, ["drop-sound", *arguments]).output

    assert "Say whose sound may go" in run()
    assert "No sound had to go" in run("--signed")
    sealed = leg.with_name("2026-04-01-1400")
    leg.rename(sealed)
    assert "is damaged" in run("--after-days", "0")
    sealed.rename(leg)
    assert "3 sounds removed" in run(leg.name, "--after-days", "0")


def test_a_copy_in_the_spare_goes_as_well(kept_leg: Path, spare: Path) -> None:
    """Sound that lies in both folders of a leg is removed from both."""
    shutil.copytree(kept_leg / "clips", spare / "clips")
    assert drop_sound(kept_leg, Policy(after_days=0), at(80), spare) == 3
    assert not [*kept_leg.glob("clips/*"), *spare.glob("clips/*")]
