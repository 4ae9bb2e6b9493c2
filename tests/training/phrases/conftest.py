"""A machine of its own, and a small grammar in the place of the shipped one: hearing it is quick."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import pytest

from voice.meaning.checklist import load_checklists
from voice.meaning.grammar import load_grammar
from voice.training.phrases.voices import ESPEAK, Voice, voices

if TYPE_CHECKING:
    from pathlib import Path

SMALL = """
about = "A small grammar."
refused = ["drain"]

[[phrase]]
entry = "pressure"
say = "pressure [is] <value> [<unit>]"
slots.value = { min = 0, max = 60 }
slots.unit.mmHg = "millimetres"
slots.unit.cmH2O = "centimetres"
default.unit = "pressure_unit"
read = "pressure, <value>[ <unit>]"

[[phrase]]
entry = "drain_opened"
say = "drain (open | opened)"
read = "drain open"

[[phrase]]
entry = "drain_zeroed"
say = "drain zeroed"
read = "drain zeroed"

[[phrase]]
entry = "drain_clamped"
say = "drain clamped"
read = "drain clamped"

[examples]
"pressure twelve" = { kind = "pressure", value = 12, unit = "mmHg" }
"drain open" = { kind = "drain_opened" }
"drain zeroed" = { kind = "drain_zeroed" }
"drain clamped" = { kind = "drain_clamped" }
"""


@pytest.fixture
def small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the small grammar, which takes the place of the shipped one."""
    folder = tmp_path / "grammar"
    folder.mkdir()
    (folder / "small.toml").write_text(SMALL)
    for place in ("voice.session.own_phrases", "voice.training.phrases.workshop"):
        monkeypatch.setattr(f"{place}.GRAMMAR_FOLDER", folder)
    monkeypatch.setattr("voice.session.own_phrases.load_grammar", lambda: load_grammar(folder))
    lists = partial(load_checklists, shipped=folder / "checks")
    monkeypatch.setattr("voice.training.phrases.checker.load_checklists", lists)
    return folder


@pytest.fixture
def espeak() -> tuple[Voice, ...]:
    """Three voices that every machine has."""
    return tuple(voice for voice in voices() if voice.name in ESPEAK)
