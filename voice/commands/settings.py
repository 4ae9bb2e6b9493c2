"""What a nurse can choose, as options of commands, and how it is told."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from voice.session.attention import Way
from voice.session.preferences import SecondListener, Style
from voice.speech.manner import (
    FASTEST_WPM,
    HIGHEST_PITCH,
    LOUDEST_PERCENT,
    SLOWEST_WPM,
    SOFTEST_PERCENT,
)

if TYPE_CHECKING:
    from voice.session.preferences import Preferences

AttentionOption = Annotated[
    Way | None,
    typer.Option("--attention", help="Whom it listens to: everybody, a key, an attention word."),
]
WordOption = Annotated[
    str | None,
    typer.Option("--word", metavar="WORD", help="The attention word; any that the model knows."),
]
StyleOption = Annotated[
    Style | None,
    typer.Option("--style", help="Read-backs: with the unit where it matters, or all."),
]
RateOption = Annotated[
    int | None,
    typer.Option("--rate", min=SLOWEST_WPM, max=FASTEST_WPM, help="Words a minute it speaks."),
]
PitchOption = Annotated[
    int | None,
    typer.Option("--pitch", min=0, max=HIGHEST_PITCH, help="Of its voice: 50 is its own."),
]
VolumeOption = Annotated[
    int | None,
    typer.Option(
        "--volume",
        min=SOFTEST_PERCENT,
        max=LOUDEST_PERCENT,
        help="Of words and tones, in % of what the speaker takes.",
    ),
]
SecondOption = Annotated[
    SecondListener | None,
    typer.Option("--second", help="A second listener beside the first: where it is fast enough."),
]

_LISTENS = {
    Way.ALWAYS: "to everybody; what is no phrase is passed over",
    Way.BUTTON: "to one utterance after each press of a key of this terminal",
    Way.WORD: 'to what begins with "{word}", "confirm" too; other answers go without',
}
_SECOND = {
    SecondListener.AUTO: "by microphone, where it is installed and the machine is fast enough",
    SecondListener.ON: "on, however slow the machine is",
    SecondListener.OFF: "off",
}


def listens(preferences: Preferences) -> str:
    """Whom it listens to, in a sentence."""
    return f"It listens {_LISTENS[preferences.attention].format(word=preferences.word)}."


def told(preferences: Preferences) -> tuple[str, ...]:
    """All that is chosen, in sentences."""
    manner = preferences.manner
    speaks = f"{manner.rate_wpm} words a minute, pitch {manner.pitch}, {manner.volume_percent} %"
    return (
        listens(preferences),
        f"A second listener beside the first: {_SECOND[preferences.second]}.",
        f"Its read-backs are {preferences.style}.",
        f"It speaks so: {speaks} volume.",
    )
