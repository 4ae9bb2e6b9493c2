"""The report across legs, against the same reckoned by other means from exports of the legs."""

from __future__ import annotations

import csv
import json
import re
from datetime import datetime
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import duckdb
import pytest
from psycopg.sql import SQL, Identifier

from tests.collect.cuts import packed
from tests.collect.flown import CONFUSED, Flight, busy, quiet
from voice.collect.address import address
from voice.collect.database import connected, migrations, prepare
from voice.collect.report import LIMITS, NOT_IN_IT, WIDTH, Figure, report, to_csv, to_text
from voice.collect.sending import send
from voice.commands.export import Form, export_leg
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.leg import SpokenNote
from voice.figures.consequences.table import TABLE
from voice.report.telling import CAUTION

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from tests.collect.server import Server

GUIDE = (Path(__file__).parents[2] / "docs" / "collect.md").read_text("utf-8")
(EXCERPT,) = re.findall(r"```\n(Drain clamped.*?)```", GUIDE, re.DOTALL)


def told(server: Server, database: str, folders: Sequence[Path]) -> tuple[Figure, ...]:
    """The report across the legs in these folders."""
    with connected(address(server.address(database), {})) as connection:
        for folder in folders:
            send(connection, packed(folder))
        return report(connection)


def values(figures: Sequence[Figure]) -> dict[str, float | None]:
    """Each figure by its name."""
    return {figure.what: figure.value for figure in figures}


def closed_minutes(file: Path) -> Iterator[float]:
    """For how long each drain was closed, straight from the JSON of a leg."""
    leg: dict[str, Any] = json.loads(file.read_text("utf-8"))["leg"]
    since = None
    rows = [e for e in leg["entries"] if e["state"] in {"confirmed", "reviewed", "unconfirmed"}]
    for row in sorted(rows, key=lambda row: row["happened_at"]):
        at = datetime.fromisoformat(row["happened_at"])
        if row["entry"]["kind"] == "drain_clamped" and since is None:
            since = at
        elif row["entry"]["kind"] == "drain_opened" and since is not None:
            yield (at - since).total_seconds() / 60
            since = None
    if since is not None:
        yield (datetime.fromisoformat(leg["ended_at"]) - since).total_seconds() / 60


def test_it_is_what_the_exports_tell(server: Server, database: str, home: Path) -> None:
    """Time clamped, entries by state and misheard entries are those that duckdb and Python find in the exports."""
    folders = [
        busy(home),
        quiet(home),
        busy(home, "2031-05-03-1205"),
        *(quiet(home, f"2031-05-04-{n:04}", minutes=20 + n / 7) for n in range(6)),
    ]
    found = values(told(server, database, folders))
    for folder in folders:
        export_leg(folder, Form.JSON)
        export_leg(folder, Form.CSV)
    minutes = [m for folder in folders for m in closed_minutes(folder / "leg.json")]
    assert found["Times clamped"] == len(minutes)
    assert found["Time clamped"] == round(sum(minutes), 1)
    assert found["Longest"] == round(max(minutes), 1)
    with duckdb.connect() as reckoning:
        reckoning.execute(
            "CREATE TABLE entry AS SELECT * FROM read_csv(?, all_varchar = true)",
            [f"{home}/legs/*/leg.csv"],
        )
        by_state = dict(
            reckoning.execute("SELECT entry_state, count(*) FROM entry GROUP BY 1").fetchall()
        )
        misheard, said = reckoning.execute(
            """
            SELECT count(*) FILTER (WHERE entry_desk_act = 'corrected' AND entry_desk_why = 'misheard'),
                count(*) FILTER (WHERE coalesce(entry_desk_act, '') NOT IN ('corrected', 'added'))
            FROM entry WHERE leg IN (SELECT leg FROM entry WHERE entry_desk_act IS NOT NULL)
            """
        ).fetchall()[0]
    assert found["Entries"] == sum(by_state.values())
    assert found["Confirmed aloud"] == by_state["confirmed"]
    assert found["Never confirmed"] == by_state["unconfirmed"]
    assert found["Corrected"] == by_state["corrected"]
    assert found["Withdrawn"] == by_state["withdrawn"]
    assert found["Misheard, as a reviewer found"] == misheard == 2
    assert found["Misheard, as a reviewer found, of 100 entries"] == round(100 * misheard / said, 2)


def test_it_is_what_was_reckoned_by_hand(server: Server, database: str, home: Path) -> None:
    """Of the two invented legs: 18 min clamped, 4 of them in doubt, one limit passed for 35 min, and so on."""
    figures = told(server, database, [busy(home), quiet(home)])
    found = values(figures)
    assert EXCERPT in to_text(figures)
    assert found == found | {
        "Legs": 2,
        "Of these signed off by a reviewer": 1,
        "Of these sealed": 1,
        "Time on legs": 90,
        "Entries": 16,
        "Stretches of speech not understood": 1,
        "Times clamped": 3,
        "Time clamped": 18,
        "Of it resting on an entry never confirmed": 4,
        "Longest": 8,
        "Still clamped when the leg ended, counted up to then": 1,
        "Pressure above the order": 1,
        "Corrected by voice": 1,
        "Corrected by voice, of 100 entries": 7.14,
        "Misheard, as a reviewer found": 1,
        "Misheard, as a reviewer found, of 100 entries": 8.33,
        "Missed, as a reviewer found": 1,
        f'"{CONFUSED[0]}", heard: "{CONFUSED[1]}"': 1,
        '"pressure nineteen", heard: "pressure nine"': 1,
        "Drain closed": 1,
    }
    notes = {figure.what: figure.note for figure in figures}
    assert notes["Time clamped"] == "20 % of the time on legs"
    assert notes["Pressure above the order"] == "on 1 leg, 35 min in all"
    assert notes["Misheard, as a reviewer found"] == "of 12 entries said on legs signed off"
    assert notes["Drain closed"] == "1 acknowledged, 0 postponed"


def test_a_free_note_is_no_entry_that_nobody_confirmed(
    server: Server, bare: str, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tables that counted notes as never confirmed count them as notes once made anew, for the same readers."""
    leg = Flight(home, "2031-05-06-1000")
    leg.say(1, Pressure(value=12, unit="mmHg"))
    leg.say(2, Pressure(value=13, unit="mmHg"), confirm=False)
    leg.say(3, SpokenNote(), confirm=False)
    leg.take_back(4, leg.say(4, SpokenNote(), confirm=False))
    leg.end(5)
    with connected(address(server.address(bare), {})) as connection:
        first = migrations()[:2]
        with monkeypatch.context() as before:
            before.setattr("voice.collect.database.migrations", lambda: first)
            prepare(connection)
        reader = f"reader_of_{bare}"
        connection.execute(SQL("CREATE ROLE {}").format(Identifier(reader)))
        connection.execute(
            SQL("GRANT SELECT ON legbook.report_total TO {}").format(Identifier(reader))
        )
        send(connection, packed(leg.close()))
        counted = "SELECT entries, confirmed, unconfirmed, withdrawn FROM legbook.report_total"
        assert connection.execute(counted).fetchone() == (4, 1, 2, 1)
        assert prepare(connection) == ("0003_notes.sql",)
        assert connection.execute(counted).fetchone() == (4, 1, 1, 1)
        may = "SELECT has_table_privilege(%s, 'legbook.report_total', 'SELECT')"
        assert connection.execute(may, [reader]).fetchone() == (True,)
        found = values(report(connection))
    assert found["Never confirmed"] == 1
    assert found["Free notes, kept as sound, which nobody has to confirm"] == 1


def test_limits_are_states_of_the_table() -> None:
    """What the report calls a limit stands in the table of states by that name."""
    assert set(LIMITS) < {rule.name for rule in TABLE}


@pytest.mark.parametrize("legs", [0, 2])
def test_every_report_says_what_it_is_not(
    server: Server, database: str, home: Path, legs: int
) -> None:
    """Text and table end with what is not in them and that legbook orders nothing, with legs and without."""
    figures = told(server, database, [busy(home), quiet(home)][:legs])
    text = to_text(figures)
    rows = list(csv.reader(StringIO(to_csv(figures), newline="")))
    for sentence in (*NOT_IN_IT, CAUTION):
        assert sentence in " ".join(text.split())
        assert sentence in [row[1] for row in rows]
    assert max(map(len, text.splitlines())) <= WIDTH
    assert len(rows) == len(figures) + 1
    assert f"Legs: {legs}." in text
    assert ("Time clamped: 18 min (20 % of the time on legs)." in text) == bool(legs)
    assert ("None was told." in text) != bool(legs)
