from __future__ import annotations

from shutil import copytree
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from tests.review.conftest import SAND, Clock, reading
from tests.review.flight import LEG, Flight
from voice.cli import app
from voice.meaning.grammar import load_grammar
from voice.record.reading import read_chain
from voice.review.acts import ACT
from voice.review.desk import Desk
from voice.training.phrases.misheard import Misheard, gather, read_misheard, write_misheard

if TYPE_CHECKING:
    from pathlib import Path

    from voice.record.events import Event


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A leg with things misheard, which were put right at the desk; not signed off yet."""
    flight = Flight(tmp_path_factory.mktemp("made"))
    flight.say("pressure fourteen", "pressure forty")
    flight.say("pressure fourteen", "pressure forty")
    flight.say("pressure fifteen")
    flight.say("pressure sixteen", "pressure sixty")
    flight.say("weight eighty kilos", "weight eighteen kilos")
    flight.say("pressure seventeen")
    flight.pass_over()
    folder = flight.end()
    take(folder, 1)
    do(folder, "type", number=2, text="40")
    do(folder, "type", number=3, text="50", why="said wrongly")
    take(folder, 4)
    do(folder, "withdraw", number=10)
    take(folder, 5)
    do(folder, "time", number=6, time="23:30")
    do(folder, "add", text="drained 60 ml", clip="0008.flac")
    return folder


@pytest.fixture
def reviewed(made: Path, tmp_path: Path) -> Path:
    """A copy of it."""
    return copytree(made, tmp_path / "legs" / made.name)


def do(folder: Path, name: str, **told: object) -> None:
    """One act at the desk."""
    desk = Desk(folder, load_grammar(), Clock())
    desk.do(ACT.validate_python({"act": name, "head": desk.head, **told}), SAND)
    desk.close()


def take(folder: Path, number: int) -> None:
    """Take the second reading of an entry."""
    desk = Desk(folder, load_grammar(), Clock())
    told = reading(desk, number, 1)
    desk.close()
    do(folder, "alternative", **told)


def journal(folder: Path) -> list[Event]:
    """The events of a leg."""
    return list(read_chain([folder]).events)


LIST = (
    Misheard(phrase="pressure forty", heard=("pressure fourteen",), count=2),
    Misheard(phrase="drained sixty mils", heard=("drained six mils",), count=1),
)


def test_what_was_misheard_is_gathered(reviewed: Path) -> None:
    """Corrections of what the program misheard or missed are listed, the commonest first.

    What the nurse said wrongly, what the reviewer took back, a wrong time and a weight are not.
    """
    do(reviewed, "sign_off", may_teach=True)
    assert gather([journal(reviewed)]) == (LIST, 1)
    twice = gather([journal(reviewed), journal(reviewed)])
    assert [one.count for one in twice.listed] == [4, 2]


@pytest.mark.parametrize("acts", [[], [("sign_off", {"may_teach": False})],
    [("sign_off", {"may_teach": True}), ("approve", {"number": 3})]])  # fmt: skip
def test_nothing_is_gathered_without_leave(
    reviewed: Path, acts: list[tuple[str, dict[str, object]]]
) -> None:
    """A leg whose standing sign-off does not allow it gives nothing."""
    for name, told in acts:
        do(reviewed, name, **({"number": 9} if name == "approve" else told))
    assert gather([journal(reviewed)]) == ((), 0)


def test_the_list_tells_nothing_of_the_leg(
    reviewed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command writes what the trainer's tools read, without leg, time, name or sound."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    file = tmp_path / "misheard.jsonl"
    do(reviewed, "sign_off", may_teach=True)
    told = CliRunner().invoke(app, ["phrases", "misheard", str(file)]).output
    assert "phrases 2, from legs 1 of 1." in told
    assert read_misheard(file) == LIST
    for hidden in (LEG, "2026", "23:", "Sand", "flac", "weight", "fifty"):
        assert hidden not in file.read_text("utf-8")


def test_a_list_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    """Where the list has no place the trainer gets a sentence."""
    with pytest.raises(Exception, match="cannot be written"):
        write_misheard(LIST, tmp_path / "nowhere" / "list")
