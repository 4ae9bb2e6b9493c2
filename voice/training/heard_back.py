"""Whether the names and units that are read back can be made out: spoken by espeak-ng, heard by our own ears.

    python -m voice.training.heard_back > docs/read-backs.md

Each drug, each unit and each name of the phrase files is spoken once, as the nurse would hear it, and
listened to with the whole grammar. What our ears cannot make out in quiet may not be made out in a
cabin. The ears are no nurse's: they were trained on such voices, and they know how each name is
spelled; so this finds what is badly spoken, and does not prove that the rest is well spoken.
"""

from __future__ import annotations

import sys
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import SAMPLE_RATE
from voice.entries.kinds.drugs import DrugGiven, InfusionStarted
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.hearing.segmenter import HANGOVER_S
from voice.meaning.decision import Accept
from voice.meaning.grammar import GrammarError, load_grammar
from voice.meaning.listening import Listening
from voice.session.ears import Ears
from voice.session.models import SHIPPED_MODEL
from voice.session.segments import segments_in
from voice.speech.espeak import EspeakNg

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from voice.entries.heard import Segment
    from voice.entries.kinds import Entry
    from voice.meaning.grammar import Grammar
    from voice.speech.synthesiser import Synthesiser
    from voice.speech.waveform import Waveform

_AMOUNTS = (50, 5, 0.5, 0.05, 500)
"""Tried in turn until one can be given in a unit."""
_QUIET_S = HANGOVER_S + 0.4
"""Silence before and after, so that the detector sees where it begins and ends."""
_HEAD = """\
# Whether read-backs can be made out

Every drug, every unit and every name of the phrase files, spoken once by espeak-ng as it is read back,
and heard by legbook's own ears in quiet. Made by `python -m voice.training.heard_back`; how a word that
is spoken badly is put right stands in `voice/speech/respelling.toml`. Our ears are no nurse's: this
finds what is spoken badly, and does not prove that the rest is spoken well.

"""


@dataclass(frozen=True, slots=True)
class HeardBack:
    """One read-back and what was made of it."""

    spoken: str
    heard: str
    """The likeliest words; empty where none were made out."""
    understood: bool
    """Whether it was taken for what was read back."""


def entries(grammar: Grammar) -> Iterator[Entry]:
    """One entry for each drug, each unit and each name, as far as those before it do not tell them."""
    told: set[str] = set()
    for entry in (*_drugs(grammar), *_examples(grammar)):
        subject = grammar.subjects.of(entry)
        tells = {
            str(part)
            for part in (
                getattr(entry, "drug", None),
                getattr(entry, "unit", None),
                subject.name if subject else None,
            )
            if part
        }
        if tells - told:
            told |= tells
            yield entry


def heard_back(
    chosen: Iterable[Entry], grammar: Grammar, voice: Synthesiser, ears: Ears
) -> Iterator[HeardBack]:
    """Speak each entry's read-back and hear it."""
    settings = LegSettings()
    for entry in chosen:
        spoken = grammar.read_back(entry, settings)
        texts, understood = [], False
        for segment in _segments(voice.speak(spoken)):
            hearing, decision = ears.make_out(segment, Listening.LISTENING)
            texts += [hearing.alternatives[0].text] if hearing.alternatives else []
            meant = Statement(entry=entry)
            understood = isinstance(decision, Accept) and decision.heard.meaning == meant
        yield HeardBack(spoken, ", ".join(texts), understood and len(texts) == 1)


def table(found: Iterable[HeardBack]) -> str:
    """What was not made out, and how many were."""
    found = tuple(found)
    missed = [one for one in found if not one.understood]
    rows = [f"| {one.spoken} | {one.heard or 'nothing'} |" for one in missed]
    made_out = f"{len(found) - len(missed)} of {len(found)} were made out. Not made out:\n\n"
    return _HEAD + made_out + "\n".join(("| spoken | heard |", "|---|---|", *rows)) + "\n"


def _drugs(grammar: Grammar) -> Iterator[Entry]:
    for name, drug in grammar.drugs.items():
        for unit in drug.bolus:
            tried = ({"drug": name, "dose": amount, "unit": unit} for amount in _AMOUNTS)
            yield from _first_sayable(grammar, map(DrugGiven.model_validate, tried))
        for unit in drug.rate:
            tried = ({"drug": name, "rate": amount, "unit": unit} for amount in _AMOUNTS)
            yield from _first_sayable(grammar, map(InfusionStarted.model_validate, tried))


def _first_sayable(grammar: Grammar, tried: Iterable[Entry]) -> Iterator[Entry]:
    for entry in tried:
        with suppress(GrammarError):
            grammar.read_back(entry, LegSettings())
            yield entry
            return


def _examples(grammar: Grammar) -> Iterator[Entry]:
    for example in grammar.examples:
        if isinstance(example.meaning, Statement):
            yield example.meaning.entry


def _segments(waveform: Waveform) -> tuple[Segment, ...]:
    quiet = np.zeros(round(_QUIET_S * SAMPLE_RATE), dtype=np.int16)
    return segments_in(np.concatenate((quiet, waveform.at_rate(SAMPLE_RATE).samples, quiet)))


def main() -> None:
    """Write the table for the shipped grammar, model and voice."""
    grammar = load_grammar()
    ears = Ears.load(SHIPPED_MODEL, grammar, LegSettings())
    sys.stdout.write(table(heard_back(entries(grammar), grammar, EspeakNg(), ears)))


if __name__ == "__main__":
    main()
