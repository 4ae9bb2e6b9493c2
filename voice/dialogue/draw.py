"""Draws the table of the talk: ``python -m voice.dialogue.draw > docs/dialogue.md``."""

from __future__ import annotations

import sys
from collections import defaultdict
from typing import TYPE_CHECKING

from voice.dialogue.events import Kind
from voice.dialogue.machine import LEADS_TO, TABLE
from voice.dialogue.standing import ignore
from voice.dialogue.state import StateName

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.dialogue.turn import Transition
    from voice.entries.said import Talk

_HEAD = """\
# The talk

Drawn from the table in `voice/dialogue/machine.py`; do not edit. To draw it again:
`python -m voice.dialogue.draw > docs/dialogue.md`.

An entry is written down as unconfirmed before it is read back. Only "confirm" confirms, and only
what was read back last. Silence never confirms.

A correction stands for the last entry if that is of the same kind, else for the last entry about
the same thing (the same side, drug or analyte), which is then named; where there is none, it is
taken as a new entry, and that is said. It happened when the corrected entry did, unless a time is
said with it.

While the program speaks, only a few words are listened for: "confirm", "no", "scratch that", "say
again", "stop reading", "stand by", "correction …", and "stop", which makes it silent and does nothing else. They
count as they would in the silence after it, but for this: "confirm", and within a check "no", must not
begin before the end of what it answers. Else it says "not yet" and speaks the rest again. Whatever else is said
to it over its words is not taken, and that is told (*not taken* below).

What follows soon on half a phrase is heard together with it: so an entry that is read back may turn out to
be a part of one, which then takes its place. Over our own words that is listened for as well. A time alone, soon after
"confirm" and with nothing behind it, comes as a correction of what was confirmed.

"Confirm" and an entry in one breath happen as the one and then the other.

While a check runs, its next question is asked wherever this page says *listening*: any entry may be
said in between. With its last answer, the check waits for "confirm".
"""


def draw() -> str:
    """The whole page."""
    return "\n".join([_HEAD, *_states(), *_diagram(), *_matrix(), *_legend()])


def _states() -> Iterator[str]:
    yield "## States"
    yield ""
    yield "| state | phrases that are listened for |"
    yield "|---|---|"
    for name in StateName:
        listened = name.listening
        yield f"| {name} | {'none: sound is kept' if listened is None else f'those of *{listened}*'} |"
    yield ""


def _diagram() -> Iterator[str]:
    yield "## Ways between the states"
    yield ""
    yield "```mermaid"
    yield "stateDiagram-v2"
    for name in StateName:
        yield f'    state "{name}" as {name.name}'
    yield f"    [*] --> {StateName.ASLEEP.name}"
    labels: dict[tuple[StateName, StateName], list[str]] = defaultdict(list)
    for (name, kind), transition in TABLE.items():
        target = LEADS_TO.get(transition, name)
        if target is not name:
            labels[name, target].append(_said(kind))
    for (name, target), kinds in labels.items():
        yield f"    {name.name} --> {target.name}: {', '.join(kinds)}"
    yield "```"
    yield ""


def _matrix() -> Iterator[str]:
    yield "## What happens"
    yield ""
    yield f"| event | {' | '.join(StateName)} |"
    yield f"|---|{'---|' * len(StateName)}"
    for kind in dict.fromkeys(kind for _, kind in TABLE):
        cells = (_name(TABLE[name, kind]) for name in StateName)
        yield f"| {_said(kind)} | {' | '.join(cells)} |"
    yield ""
    yield "An empty cell: nothing happens."
    yield ""


def _legend() -> Iterator[str]:
    for transition in dict.fromkeys(TABLE.values()):
        if transition is not ignore:
            yield f"- *{_name(transition)}*: {transition.__doc__}"
    yield ""


def _name(transition: Transition) -> str:
    return "" if transition is ignore else transition.__name__.replace("_", " ")


def _said(kind: Kind | Talk) -> str:
    return kind.value if isinstance(kind, Kind) else f'"{kind.value}"'


if __name__ == "__main__":
    sys.stdout.write(draw())
