"""Legs on their way into a real PostgreSQL: whole, once, and never half."""

from __future__ import annotations

import shutil
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import pytest
from typer.testing import CliRunner

from tests.collect.cuts import held, packed
from tests.collect.flown import START, Flight, busy, quiet
from voice import cli
from voice.collect.address import address
from voice.collect.database import connected, migrations, need_tables, prepare
from voice.collect.errors import CollectError
from voice.collect.parcel import ENTRY_COLUMNS, parcel
from voice.collect.programme import send_legs
from voice.collect.sending import Outcome, send
from voice.entries.kinds.drain import Pressure
from voice.record.events import Kept
from voice.record.journal import Journal
from voice.record.shelf import load_with_chain

if TYPE_CHECKING:
    from pathlib import Path

    from tests.collect.server import Server
    from voice.collect.parcel import Parcel

TYPES = {
    "text": "text", "whole number": "bigint", "number": "double precision", "yes or no": "boolean",
    "time": "timestamp with time zone",
}  # fmt: skip


def went_on(folder: Path, number: int = 90) -> Path:
    """The leg in a folder, with a late entry."""
    with Journal.open(folder, START) as journal:
        at = journal.leg().ended_at
        assert at is not None
        journal.append(
            Kept(
                at=at, number=number, entry=Pressure(value=11, unit="mmHg"), heard="pressure",
                spoken_at=at, happened_at=at,
            )
        )  # fmt: skip
    return folder


def sent(server: Server, database: str, *parcels: Parcel) -> list[Outcome]:
    """Send them over one connection."""
    with connected(address(server.address(database), {})) as connection:
        return [send(connection, one) for one in parcels]


def test_the_columns_of_an_entry_are_those_of_an_export(server: Server, database: str) -> None:
    """Every field that an export of an entry has, but what is kept back, has a column of its type."""
    with server.connect(database) as owner:
        found = owner.execute(
            "SELECT column_name, data_type FROM information_schema.columns "
            "WHERE table_schema = 'legbook' AND table_name = 'entry'"
        ).fetchall()
    expected = {column.name: TYPES[column.type] for column in ENTRY_COLUMNS}
    own = {"received": "bigint", "put_down_by": "text", "desk_reason": "text"}
    assert dict(found) == expected | own


def test_a_leg_is_sent_once(server: Server, database: str, home: Path) -> None:
    """The same leg again changes nothing, and the entries stand there as they were said."""
    one, other = packed(busy(home)), packed(quiet(home))
    assert sent(server, database, one, other) == [Outcome.SENT, Outcome.SENT]
    before = held(server, database)
    assert sent(server, database, one, other) == [Outcome.SAME, Outcome.SAME]
    assert held(server, database) == before
    with server.connect(database) as owner:
        rows = owner.execute(
            "SELECT value, unit, entry_state, spoken_at AT TIME ZONE 'UTC' FROM legbook.leg_entry "
            "WHERE leg = %s AND kind = 'pressure' AND entry_counts ORDER BY entry_number",
            [one.code],
        ).fetchall()
    assert [row[:3] for row in rows] == [
        (24.0, "mmHg", "confirmed"), (18.0, "mmHg", "confirmed"), (18.0, "mmHg", "confirmed"),
        (50.0, "mmHg", "reviewed"), (19.0, "mmHg", "reviewed"),
    ]  # fmt: skip
    assert [f"{row[3]:%Y-%m-%d %H:%M}" for row in rows] == [
        f"2000-01-01 {time}" for time in ("16:40", "16:50", "16:52", "16:15", "17:00")
    ]


def test_a_leg_that_went_on_is_added_and_an_older_state_is_not(
    server: Server, database: str, home: Path
) -> None:
    """A longer chain of the same leg stands beside the shorter one, and the views show it alone."""
    folder = quiet(home)
    early = packed(folder)
    late = packed(went_on(folder))
    assert sent(server, database, early, late, early) == [
        Outcome.SENT, Outcome.ADDED, Outcome.OLDER,
    ]  # fmt: skip
    with server.connect(database) as owner:
        assert owner.execute("SELECT count(*) FROM legbook.received").fetchone() == (2,)
        assert owner.execute("SELECT legs, entries FROM legbook.report_total").fetchone() == (1, 3)


@pytest.mark.parametrize("more_in_the_database", [True, False])
def test_another_history_of_a_leg_is_refused(
    server: Server, database: str, home: Path, *, more_in_the_database: bool
) -> None:
    """A leg that was gone on with in two ways is told, and what was sent first stays as it was."""
    folder = quiet(home)
    copy = home / "copy" / folder.name
    shutil.copytree(folder, copy)
    first, second = packed(went_on(folder, 90)), packed(went_on(went_on(copy, 91), 92))
    sent(server, database, first)
    before = held(server, database)
    if more_in_the_database:
        sent(server, database, packed(went_on(folder, 93)))
        before = held(server, database)
    with pytest.raises(CollectError, match="with another history"):
        sent(server, database, second)
    assert held(server, database) == before


def test_two_machines_may_send_at_once(server: Server, database: str, home: Path) -> None:
    """However many send the same legs at the same time, each leg is there once, with its newest state."""
    folder = quiet(home)
    early = packed(folder)
    parcels = [packed(busy(home)), early, packed(went_on(folder))]
    with ThreadPoolExecutor(6) as pool:
        tries = [pool.submit(sent, server, database, *parcels) for _ in range(6)]
        found = [one for done in tries for one in done.result()]
    assert found.count(Outcome.SENT) in {2, 3}
    with server.connect(database) as owner:
        assert owner.execute(
            "SELECT leg, max(events) FROM legbook.received GROUP BY leg ORDER BY 2"
        ).fetchall() == sorted(
            ((one.code, len(one.marks)) for one in (parcels[0], parcels[2])), key=lambda row: row[1]
        )


def test_a_leg_that_another_holds_is_not_waited_for_without_end(
    server: Server, database: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where another connection to the same leg hangs, that is told in a while, and a later try succeeds."""
    monkeypatch.setattr("voice.collect.database.LOCK_PATIENCE_MS", 50)
    one = packed(quiet(home))
    with server.connect(database) as hanging, hanging.transaction():
        hanging.execute("SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [one.code])
        with pytest.raises(CollectError, match=r"Another machine.*call again in a minute"):
            sent(server, database, one)
    assert sent(server, database, one) == [Outcome.SENT]


def test_nothing_that_could_lead_to_somebody_is_sent(home: Path) -> None:
    """No id, date, seal, sound, reviewer's name, and not why the patient travels."""
    folder = busy(home)
    _, chain = load_with_chain(folder)
    told = repr(packed(folder))
    hashes = [row.hash for row in chain.rows]
    for secret in (folder.name, "2031", "flac", "Reviewer", "aneurysm", *hashes):
        assert secret not in told
    assert "'kind': 'diagnosis'" in told


def test_what_may_not_be_told_to_the_trainer_is_not_sent(home: Path) -> None:
    """Confusions go only with a sign-off that allows it."""
    assert len(packed(busy(home)).tables["confusion"]) == 2
    assert packed(quiet(home)).tables["confusion"] == ()


def test_a_damaged_or_running_leg_is_not_sent(home: Path) -> None:
    """A leg that is not as it was written, or has not ended, is told and left out."""
    folder = busy(home)
    with (folder / "head").open("a") as head:
        head.write(f"99 {'0' * 64}\n")
    with pytest.raises(CollectError, match=r"not as it was written.*cut off.*legbook verify"):
        packed(folder)
    running = quiet(home)
    leg, chain = load_with_chain(running)
    with pytest.raises(CollectError, match="has not ended"):
        parcel(leg.model_copy(update={"ended_at": None}), chain)


def test_a_code_is_the_legs_own(home: Path) -> None:
    """A leg keeps its code whatever is added and wherever it lies; another has another, with entries or none."""
    folder = quiet(home)
    copy = home / "legs of another machine" / folder.name
    shutil.copytree(folder, copy)
    assert packed(went_on(folder)).code == packed(copy).code
    bare = [Flight(home, f"2031-06-0{day}-0900") for day in (1, 2)]
    for leg in bare:
        leg.end(20)
    codes = {packed(leg.close()).code for leg in bare}
    late = packed(went_on(bare[0].folder, 1)).code
    assert late in codes
    assert len({*codes, packed(copy).code, packed(busy(home)).code}) == 4


def test_the_tables_are_made_once_and_by_these_files(server: Server, bare: str) -> None:
    """Making them again does nothing; other files of the same number are refused; more tables are well."""
    with connected(address(server.address(bare), {})) as connection:
        with pytest.raises(CollectError, match="legbook collect prepare"):
            need_tables(connection)
        assert prepare(connection) == tuple(one.name for one in migrations())
        assert prepare(connection) == ()
        connection.execute("INSERT INTO legbook.migration VALUES (9999, '9999_later.sql', '')")
        need_tables(connection)
        connection.execute("UPDATE legbook.migration SET sha256 = 'x' WHERE number = 1")
        with pytest.raises(CollectError, match=r"another 0001_legs\.sql"):
            prepare(connection)


def test_commands_send_report_and_tell_codes(server: Server, bare: str, home: Path) -> None:
    """By the command line: tables, then legs, then the same again, codes, and the report as a file."""
    quiet(home)
    at = server.address(bare)
    run = CliRunner().invoke
    assert "not the tables" in str(run(cli.app, ["collect", "send", "--all", "--to", at]).exception)
    assert run(cli.app, ["collect", "prepare", "--to", at]).output.startswith("Made: 0001_legs.sql")
    assert run(cli.app, ["collect", "prepare", "--to", at]).output.startswith("Everything is there")
    none = run(cli.app, ["collect", "send", "--all", "--to", at])
    assert none.output.startswith("No leg is sealed.")
    busy(home)
    told = run(cli.app, ["collect", "send", "--all", "--to", at])
    assert told.output == "Leg 2031-05-01-1610: sent.\n"
    refused = run(cli.app, ["collect", "send", "05-02", "--to", at])
    assert refused.exit_code == 1
    assert "not sealed, so it was not sent" in refused.output
    told = run(cli.app, ["collect", "send", "--all", "--unsealed", "--to", at])
    assert told.output == ("Leg 2031-05-01-1610: is there already.\nLeg 2031-05-02-0900: sent.\n")
    codes = dict(line.split() for line in run(cli.app, ["collect", "codes"]).output.splitlines())
    with server.connect(bare) as owner:
        legs = owner.execute("SELECT left(leg, 12) FROM legbook.leg").fetchall()
    assert sorted(codes.values()) == sorted(code for (code,) in legs)
    assert "Legs: 2." in run(cli.app, ["collect", "report", "--from", at]).output
    file = home / "report.csv"
    run(cli.app, ["collect", "report", "--from", at, "--csv", str(file)])
    assert file.read_bytes().startswith(b"section,what,value,unit,note\r\nLegs,Legs,2,,\r\n")
    nowhere = run(cli.app, ["collect", "report", "--from", at, "--csv", str(home / "no" / "x.csv")])
    assert "cannot be written" in str(nowhere.exception)


def test_one_leg_that_cannot_be_sent_stops_no_other(
    server: Server, database: str, home: Path
) -> None:
    """A damaged leg and one that cannot be read are told, the next is sent, and the command ends in failure."""
    with (busy(home) / "head").open("a") as head:
        head.write(f"99 {'0' * 64}\n")
    (busy(home, "2031-04-30-0700") / "journal.sqlite").write_bytes(b"spoilt" * 1000)
    quiet(home)
    done = CliRunner().invoke(
        cli.app, ["collect", "send", "--all", "--unsealed", "--to", server.address(database)]
    )
    assert done.exit_code == 1
    assert "Leg 2031-05-01-1610: It is not as it was written" in done.output
    assert "Leg 2031-04-30-0700: Nothing can be read of leg" in done.output
    assert "Leg 2031-05-02-0900: sent." in done.output


@pytest.mark.usefixtures("home")
def test_which_legs_must_be_said() -> None:
    """Neither a leg nor --all, or both, is a mistake of the call."""
    for legs in ([], ["--all", "05-02"]):
        done = CliRunner().invoke(cli.app, ["collect", "send", *legs, "--to", "host=localhost"])
        assert done.exit_code == 2


def test_what_the_database_refuses_is_told(server: Server, database: str) -> None:
    """A wish that the database cannot fulfil ends in a sentence."""
    with (
        pytest.raises(CollectError, match="The database refuses this: division by zero"),
        connected(address(server.address(database), {})) as connection,
    ):
        connection.execute("SELECT 1 / 0")


def test_what_the_database_has_against_one_leg_stops_no_other(
    server: Server, database: str, home: Path
) -> None:
    """A leg that it refuses is told, and those behind it are sent."""
    first, second = busy(home), quiet(home)
    address, table = server.address(database), "ALTER TABLE legbook.received"
    with server.connect(database) as owner:
        refused = f"{table} ADD CONSTRAINT refused CHECK (leg <> '{packed(first).code}')"
        owner.execute(refused.encode())
        try:
            told = list(send_legs(address, [first, second], unchecked=False, unsealed=True))
        finally:
            owner.execute(f"{table} DROP CONSTRAINT refused".encode())  # the tables are all tests'
    assert [one.well for one in told] == [False, True]
    assert f"Leg {first.name}: The database refuses this" in told[0].sentence
    with server.connect(database) as owner:
        assert owner.execute("SELECT count(*) FROM legbook.received").fetchone() == (1,)


def test_a_leg_whose_seal_was_lost_is_told(
    server: Server, database: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of all that are to go, one that is damaged, perhaps by its seal being cut off, is not left out in silence."""
    monkeypatch.setenv("LEGBOOK_HOME", str(home))
    folder = quiet(home)
    (folder / "head").unlink()
    done = CliRunner().invoke(
        cli.app, ["collect", "send", "--all", "--to", server.address(database)]
    )
    assert f"Leg {folder.name}: It is not as it was written, so it was not sent" in done.output
    assert done.exit_code == 1
