"""What a running leg looks like on a screen, for whoever watches: one line an event."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.text import Text

from voice.dialogue.actions import Confirm, Keep, Tone, Withdraw
from voice.meaning.decision import Accept, AskBetween, NotForUs, NotUnderstood
from voice.report.wording import entry_text
from voice.session.progress import (
    InTrouble,
    LegBegan,
    LegOver,
    Progress,
    SegmentHeard,
    Sounded,
    Spoken,
    Written,
)

if TYPE_CHECKING:
    from datetime import tzinfo

    from voice.meaning.decision import Decision

TONES = {
    Tone.HEARD: "rising tone: go on",
    Tone.NOT_UNDERSTOOD: "falling tone: not understood",
    Tone.KEPT: "tone: kept",
    Tone.TROUBLE: "three tones: trouble",
}


def line(progress: Progress, zone: tzinfo) -> Text:
    """One line for one event, with the time of day on the clock of ``zone``.

    Colour only repeats what the words say.
    """
    who, what, style = _told(progress)
    return Text.assemble(
        (f"{progress.at.astimezone(zone):%H:%M:%S}  ", "dim"), (f"{who:8} ", "bold"), (what, style)
    )


def _told(progress: Progress) -> tuple[str, str, str]:  # noqa: PLR0911 - one for each event
    """Who does it, what, and in which style it is shown."""
    match progress:
        case SegmentHeard(text=text, decision=decision):
            return _heard(text, decision)
        case Spoken(text=text):
            return "legbook", text, "cyan"
        case Sounded(tone=tone):
            return "legbook", f"({TONES[tone]})", "dim"
        case Written(action=Keep(number=number, statement=statement, replaces=replaces)):
            told = f"entry {number}: {entry_text(statement.entry)}"
            corrected = f", in place of entry {replaces}" if replaces else ""
            return "journal", f"{told}{corrected}, unconfirmed", "yellow"
        case Written(action=Confirm(number=number)):
            return "journal", f"entry {number}: confirmed", "green"
        case Written(action=Withdraw(number=number)):
            return "journal", f"entry {number}: withdrawn", "yellow"
        case LegBegan(folder=folder):
            return "journal", f"leg {folder.name} began", "green"
        case LegOver(folder=folder):
            return "journal", f"leg {folder.name} ended", "green"
        case InTrouble(sentence=sentence):
            return "trouble", sentence, "red"
    raise AssertionError(progress)


def _heard(text: str, decision: Decision) -> tuple[str, str, str]:
    match decision:
        case Accept():
            return "heard", f'"{text}"', ""
        case AskBetween(first=first, second=second):
            return "heard", f'"{first.text}" or "{second.text}"', ""
        case NotUnderstood(doubt=doubt):
            return "heard", f"not understood: {doubt}", "yellow"
        case NotForUs():
            return "heard", "speech that is not for legbook", "dim"
    raise AssertionError(decision)
