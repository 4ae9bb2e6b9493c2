"""The command that writes a leg for other programs, and the proof of such a file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import pytest
from typer.testing import CliRunner

from voice import cli
from voice.commands.export import Form, export_leg, prove, summary_of_export
from voice.commands.handoff import summary_of
from voice.entries.history import EntryTurn
from voice.entries.kinds.drain import Pressure
from voice.entries.leg import EntryState, LegSettings
from voice.entries.review import Reviewer
from voice.record.desk_events import DeskApproved, DeskEntry, DeskWithdrawn
from voice.record.errors import JournalError
from voice.record.events import Confirmed, Kept, Together, Withdrawn
from voice.record.journal import Journal
from voice.record.shelf import load
from voice.record.story import story, turns
from voice.report.export.document import ExportError, as_written, fields_of, from_json

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

START = datetime(2031, 5, 1, 14, 0, tzinfo=UTC)
REVIEWER = Reviewer(name="A. Reviewer", role="flight nurse")


def at(minutes: int) -> datetime:
    """So many minutes after the leg's start."""
    return START + timedelta(minutes=minutes)


def kept(number: int, replaces: int | None = None) -> Kept:
    """A pressure that was taken down, in the minute of its number."""
    return Kept(
        at=at(number), number=number, entry=Pressure(value=10 + number, unit="mmHg"),
        heard="pressure", spoken_at=at(number), happened_at=at(number), replaces=replaces,
    )  # fmt: skip


@pytest.fixture
def journal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Journal]:
    """The journal of a leg with a pressure, its correction, and one that was taken away."""
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setenv("COLUMNS", "300")
    digest = "0" * 64
    folder = tmp_path / "legs" / "2031-05-01-1400"
    with Journal.create(
        folder, LegSettings(), START, grammar_digest=digest, model_digest=digest
    ) as journal:
        journal.append(Together(at=at(1), parts=(kept(1), kept(2))))
        journal.append(Confirmed(at=at(2), number=2))
        journal.append(kept(3, replaces=2))
        journal.append(Withdrawn(at=at(4), number=1, why="scratch that"))
        yield journal


@pytest.fixture
def folder(journal: Journal, tmp_path: Path) -> Path:
    """Its folder."""
    return tmp_path / "legs" / journal.leg_id


@pytest.mark.parametrize("form", list(Form))
def test_it_writes_what_is_asked_for_and_names_the_seal(
    folder: Path, journal: Journal, form: Form
) -> None:
    """Each form is written into the leg's folder, named, and holds the seal that is shown."""
    result = CliRunner().invoke(cli.app, ["export", "--to", form])
    assert result.exit_code == 0, result.output
    assert f"Written: {folder / form.file_name}" in result.output
    assert journal.head.hash.encode() in (folder / form.file_name).read_bytes()


def test_json_brings_the_leg_back(folder: Path) -> None:
    """The leg that is read from the file is the leg that is kept."""
    (path,) = export_leg(folder, Form.JSON)
    document = from_json(path.read_bytes())
    assert document.leg == load(folder)
    assert document.history == story(folder).turns


def test_without_identity_no_seal_is_named(folder: Path, journal: Journal) -> None:
    """What cannot be traced to a patient cannot be traced to the journal either."""
    result = CliRunner().invoke(cli.app, ["export", "--to", "csv", "--no-identity"])
    assert result.exit_code == 0, result.output
    content = (folder / "leg.csv").read_text("utf-8")
    assert journal.head.hash not in content
    assert "2031" not in content


@pytest.mark.parametrize("form", list(Form))
def test_an_export_is_proven_though_the_leg_went_on(
    folder: Path, journal: Journal, form: Form
) -> None:
    """A file is proven as the leg stood when it was written, whatever was said since."""
    export_leg(folder, form)
    journal.append(kept(4))
    result = CliRunner().invoke(cli.app, ["verify", "--export", str(folder / form.file_name)])
    assert result.exit_code == 0, result.output
    assert "is leg 2031-05-01-1400 as it was kept up to event 5." in result.output


@pytest.mark.parametrize("form", list(Form))
def test_a_changed_export_is_not_proven(folder: Path, form: Form) -> None:
    """A file in which one value was changed is refused, though it names the right seal."""
    path, *_ = export_leg(folder, form)
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)
    with pytest.raises(
        ExportError, match=r"was changed, or another version|digest does not fit|is not JSON"
    ):
        prove(folder, path)


def of_an_earlier_legbook(path: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    """A JSON export as one wrote it that knew other fields: with a digest that fits."""
    told = fields_of(path.read_bytes())
    change(told)
    path.write_text(as_written(told), "utf-8")
    return path


def test_an_export_from_before_there_was_a_field_is_proven_by_what_it_tells(folder: Path) -> None:
    """Where the field says nothing of this leg the file is proven, and it is told why it is not the same bytes."""
    path, *_ = export_leg(folder, Form.JSON)

    def earlier(told: dict[str, Any]) -> None:
        told["program_version"] = "0.0.1"
        del told["leg"]["desk_end"], told["leg"]["settings"]["antibiotics"]

    of_an_earlier_legbook(path, earlier)
    told = prove(folder, path)
    assert f"tells what leg {folder.name} as it was kept up to event 5 tells" in told
    assert "before there was leg.desk_end, leg.settings.antibiotics, of which this leg has" in told


def test_an_export_of_another_version_with_the_same_fields_is_proven(folder: Path) -> None:
    """That another program wrote the same is no change of what it tells."""
    path, *_ = export_leg(folder, Form.JSON)
    of_an_earlier_legbook(path, lambda told: told.update(program_version="0.0.1"))
    assert "as it was kept up to event 5, all that it tells; legbook 0.0.1 wrote it" in prove(
        folder, path
    )


def test_an_export_that_lacks_what_the_leg_tells_is_not_proven(folder: Path) -> None:
    """What is missing may be older than the file, or was taken out: both are told, and what it is."""
    path, *_ = export_leg(folder, Form.JSON)

    def without_states(told: dict[str, Any]) -> None:
        for entry in told["leg"]["entries"]:
            del entry["state"]

    of_an_earlier_legbook(path, without_states)
    with pytest.raises(ExportError, match=r"it lacks leg\.entries\.state\. .*format version 1"):
        prove(folder, path)


def test_an_export_that_tells_otherwise_is_not_proven_though_its_digest_fits(folder: Path) -> None:
    """Another value, an entry more, a field of nobody's, and a text that is read in two ways are each told."""

    def value(told: dict[str, Any]) -> None:
        told["leg"]["entries"][1]["entry"]["value"] = 31

    def one_less(told: dict[str, Any]) -> None:
        del told["history"][-1]

    def one_more(told: dict[str, Any]) -> None:
        told["leg"]["weight"] = 3

    for change, why in (
        (value, r"leg\.entries\.2\.entry\.value is 31 in the file and 12.0 in the leg"),
        (one_less, r"history is a list of \d+ in the file"),
        (one_more, r"leg\.weight is not known here"),
    ):
        path, *_ = export_leg(folder, Form.JSON)
        of_an_earlier_legbook(path, change)
        with pytest.raises(ExportError, match=why):
            prove(folder, path)
    path, *_ = export_leg(folder, Form.JSON)
    text = path.read_text("utf-8")
    path.write_text(text.replace('"value": 12.0', '"value": 21.0, "value": 12.0'), "utf-8")
    assert path.read_text("utf-8") != text
    with pytest.raises(ExportError, match="is not as legbook writes it"):
        prove(folder, path)


@pytest.mark.parametrize("form", list(Form))
def test_why_a_file_without_identity_is_not_proven_is_told(
    folder: Path, tmp_path: Path, form: Form
) -> None:
    """Such a file is not called another leg's or a forgery alone, whatever digests of its own stand in it."""
    bare = tmp_path / "bare"
    export_leg(folder, form, bare, identity=False)
    with pytest.raises(ExportError, match="was exported without identity"):
        prove(folder, bare)


def test_a_file_of_another_leg_is_not_proven(folder: Path, tmp_path: Path) -> None:
    """A file that names no seal of this leg, or is not there, is told so."""
    other = tmp_path / "other.csv"
    with pytest.raises(ExportError, match="cannot be read"):
        prove(folder, other)
    other.write_text("leg,")
    with pytest.raises(ExportError, match="exported without identity, or is no export"):
        prove(folder, other)
    other.write_text("0" * 64)
    with pytest.raises(ExportError, match="names no seal that leg 2031-05-01-1400 has ever had"):
        prove(folder, other)


def test_of_a_damaged_leg_it_is_told_that_the_file_lacks_something(folder: Path) -> None:
    """Who exports a leg that is not as it was written learns it there, and not from the file alone."""
    whole = CliRunner().invoke(cli.app, ["export", folder.name, "--to", "csv"])
    assert "NOT as it was" not in whole.output
    (folder / "head").write_text("1 " + "0" * 64)
    told = CliRunner().invoke(cli.app, ["export", folder.name, "--to", "csv"])
    assert told.exit_code == 0
    assert "The journal is NOT as it was written: Event 1 is not the one" in told.output
    assert told.output.endswith("What is wrong or missing there is so in the file.\n")


def test_a_damaged_leg_proves_nothing(folder: Path) -> None:
    """Where the journal is not as it was written, no file is said to be of it."""
    path, *_ = export_leg(folder, Form.JSON)
    with pytest.raises(JournalError, match="There is no leg in"):
        prove(folder.with_name("nowhere"), path)
    (folder / "head").write_text("1 " + "0" * 64)
    with pytest.raises(JournalError, match="so it proves nothing"):
        prove(folder, path)


def test_the_summary_of_an_export_is_that_of_the_leg(
    folder: Path, journal: Journal, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On a machine that never saw the leg its export gives the same summary, and the seal."""
    file, bare = tmp_path / "here.json", tmp_path / "bare.json"
    export_leg(folder, Form.JSON, file)
    export_leg(folder, Form.JSON, bare, identity=False)
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path / "elsewhere"))
    result = CliRunner().invoke(cli.app, ["summary", "--from", str(file)])
    assert result.exit_code == 0, result.output
    text, journal_text = result.output.split("\n\nThe journal\n")
    assert summary_of(folder, at(4)).startswith(text)
    assert journal.head.hash in journal_text
    assert "no seal is known" in summary_of_export(bare)
    file.write_bytes(file.read_bytes().replace(b"13", b"31"))
    with pytest.raises(ExportError, match="was changed"):
        summary_of_export(file)


def test_a_file_that_cannot_be_written_is_told(folder: Path) -> None:
    """Where the file cannot be written, the error says so, and that the leg is safe."""
    with pytest.raises(ExportError, match="The leg itself is safe"):
        export_leg(folder, Form.CSV, folder / "nowhere" / "leg.csv")


def test_the_history_tells_what_became_of_each_entry(folder: Path) -> None:
    """Each turn of an entry stands in the history, with its time and its reason."""
    told = [(t.number, t.became, t.other, t.why) for t in story(folder).turns]
    assert told == [
        (1, "kept", None, None),
        (2, "kept", None, None),
        (2, "confirmed", None, None),
        (3, "kept", None, None),
        (2, "corrected", 3, None),
        (1, "withdrawn", None, "scratch that"),
    ]


def test_the_acts_of_the_desk_are_told_with_who_and_why(journal: Journal, folder: Path) -> None:
    """What a reviewer did stands in the history under the reviewer's name, and the leg follows it."""
    at_desk = {"at": at(60), "by": REVIEWER}
    journal.append(DeskApproved(number=3, why="as heard", **at_desk))
    journal.append(
        DeskEntry(
            number=4, entry=Pressure(value=14, unit="mmHg"), heard="14", spoken_at=at(3),
            happened_at=at(3), replaces=3, how="typed", why="misheard", **at_desk,
        )
    )  # fmt: skip
    journal.append(DeskWithdrawn(number=4, why="was right", **at_desk))
    told = story(folder)
    assert told.turns[-5:] == (
        EntryTurn(number=3, became="approved", at=at(60), by=REVIEWER, why="as heard"),
        EntryTurn(number=4, became="kept", at=at(60), by=REVIEWER, why="misheard"),
        EntryTurn(number=3, became="corrected", at=at(60), by=REVIEWER, why="misheard", other=4),
        EntryTurn(number=4, became="withdrawn", at=at(60), by=REVIEWER, why="was right"),
        EntryTurn(number=3, became="restored", at=at(60), by=REVIEWER, why="was right", other=4),
    )
    assert told.leg.entries[2].state is EntryState.REVIEWED
    assert turns(()) == ()
