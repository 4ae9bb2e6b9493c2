from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from tests.record import handing_on
from tests.record.kills import (
    PLAN,
    Teller,
    go_through_a_leg,
    hand_on,
    losses,
    protect,
    run,
    speak_and_keep,
    steps,
)
from voice.commands.handoff import SUMMARY
from voice.entries.leg import LegSettings
from voice.record import protection
from voice.record.protection import OPENED
from voice.record.reading import read_chain
from voice.record.shelf import latest
from voice.session.keeper import Keeper, Origin

if TYPE_CHECKING:
    from pathlib import Path

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")


@pytest.fixture
def silent() -> Teller:
    """Tells nobody."""
    return Teller(os.open(os.devnull, os.O_WRONLY))


def test_kills_lose_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whenever the program is killed, all that was acknowledged is there, in order, and the leg goes on."""
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    tally = run(tmp_path, kills=12, seed=4)
    assert tally.losses == []
    assert sum(tally.kills.values()) == 12
    assert len(tally.acknowledged) >= 10


def test_kills_lose_nothing_of_protected_legs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same where legs are kept encrypted."""
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path))
    monkeypatch.setattr(protection, "COST", protection.COST)  # put back afterwards
    protect()
    tally = run(tmp_path, kills=5, seed=5)
    OPENED.forget()
    assert tally.losses == []
    assert len(tally.acknowledged) >= 3


def test_a_leg_that_nobody_kills_goes_by_the_plan(
    tmp_path: Path, silent: Teller, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without kills every step of the plan is in the journal, and the leg is sealed and handed off."""
    monkeypatch.delenv("LEGBOOK_SPARE", raising=False)
    hand_on(go_through_a_leg(tmp_path, silent), silent)
    leg = next(latest(tmp_path), None)
    assert leg is not None
    folder = tmp_path / leg.id
    assert leg.sealed
    assert steps(read_chain([folder]).events) == PLAN
    marks = {mark for _, mark, _ in handing_on.doings(folder)}
    assert losses(folder, {str(len(PLAN) - 1), "sealed", "summary", *marks}) == []


def test_a_loss_would_be_seen(tmp_path: Path, silent: Teller) -> None:
    """A step that was acknowledged and is not there, a missing seal, and half a summary are told."""
    keeper = Keeper(Origin(tmp_path, LegSettings(), "g", "m"))
    for number in (0, 1, 3):
        speak_and_keep(keeper, number, PLAN[number], silent)
    keeper.close()
    (keeper.folder / SUMMARY).write_text("Leg of th")
    (keeper.folder / "leg.json").write_text('{\n  "format"')
    (keeper.folder / "page.pdf").write_bytes(b"%PDF-1.7 ")
    (keeper.folder / "page.html").write_text("<!doctype html><p>")
    assert losses(keeper.folder, {"0", "1", "2", "3", "sealed", "leg.csv", "dropped"}) == [
        "The steps are not those of the plan, in its order, each once.",
        "4 steps were acknowledged and 3 are there.",
        "It is not sealed.",
        "There is half a summary.",
        "leg.csv is not there.",
        "There is half of leg.json.",
        "There is half of page.pdf.",
        "There is half of page.html.",
        "Sound is there that was dropped.",
    ]
