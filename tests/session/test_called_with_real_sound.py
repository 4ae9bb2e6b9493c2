"""A guarded leg with real sound and a real recogniser: only who calls by the word is heard."""

from __future__ import annotations

from pathlib import Path

import soundfile

from tests.session.scripted import ZERO_AT
from voice.dialogue.standing import END_ASKED
from voice.entries.heard import SAMPLE_RATE
from voice.record.shelf import load
from voice.session.attention import Way
from voice.session.preferences import Preferences
from voice.session.progress import LegOver, Spoken
from voice.session.setups import Equipment, recorded
from voice.speech.espeak import EspeakNg

CLIPS = Path(__file__).parents[2] / "audio_fixtures" / "demo_leg" / "clips"
OTHER_TALK = [CLIPS / f"{number:03}.opus" for number in (7, 1, 4, 20, 102)]
"""Confirm, start leg, drain zeroed, what the crew says, end leg: all without the word."""


def test_only_who_calls_is_heard(tmp_path: Path) -> None:
    """Of crew and patient talk, whole phrases among it, nothing is kept; behind the word all is."""

    def spoken(text: str) -> Path:
        path = tmp_path / f"{text}.wav"
        soundfile.write(path, EspeakNg().speak(text).at_rate(SAMPLE_RATE).samples, SAMPLE_RATE)
        return path

    start, entry, confirm, end = (
        spoken(f"secretary {text}")
        for text in ("start leg", "heart rate eighty", "confirm", "end leg")
    )
    equipment = Equipment(root=tmp_path, preferences=Preferences(attention=Way.WORD))
    session = recorded(
        equipment,
        [*OTHER_TALK, start, OTHER_TALK[0], entry, *OTHER_TALK[:2], confirm, end, end],
        ZERO_AT,
    )
    told = list(session.run())
    assert [one.text for one in told if isinstance(one, Spoken)] == [
        "say secretary first", "leg started, pressures in millimetres of mercury",
        "heart rate, eight zero", END_ASKED.text, "leg ended, all confirmed",
    ]  # fmt: skip
    (over,) = (one for one in told if isinstance(one, LegOver))
    assert [entry.heard for entry in load(over.folder).entries] == ["secretary heart rate eighty"]
    assert len(list((over.folder / "clips").iterdir())) == 5  # the calls
