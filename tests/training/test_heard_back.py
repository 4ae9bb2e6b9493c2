"""Whether read-backs can be made out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from voice.entries.heard import Alternative, Hearing
from voice.entries.kinds.drugs import DrugGiven
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.decision import Accept, Decision, Heard
from voice.meaning.grammar import load_grammar
from voice.session.ears import Ears
from voice.speech.espeak import EspeakNg
from voice.speech.waveform import Waveform
from voice.training.heard_back import HeardBack, entries, heard_back, table

if TYPE_CHECKING:
    from voice.entries.heard import Segment
    from voice.entries.kinds import Entry
    from voice.meaning.listening import Listening

GRAMMAR = load_grammar()
FENTANYL = DrugGiven(drug="fentanyl", dose=50, unit="mcg")
KETAMINE = DrugGiven(drug="ketamine", dose=50, unit="mg")


class HearsAlways(Ears):
    """Hears one thing in whatever is spoken."""

    def __init__(self, entry: Entry) -> None:
        super().__init__({}, GRAMMAR, LegSettings())
        self._heard = Heard(text="that", meaning=Statement(entry=entry))

    def make_out(
        self,
        segment: Segment,  # noqa: ARG002
        listening: Listening,  # noqa: ARG002
    ) -> tuple[Hearing, Decision]:
        """That, and for sure."""
        return Hearing((Alternative("that", 0.0),)), Accept(heard=self._heard)


class Mute:
    """Speaks silence."""

    def speak(self, text: str) -> Waveform:  # noqa: ARG002
        """A tenth of a second of nothing."""
        return Waveform(np.zeros(1600, dtype=np.int16), 16_000)


def test_every_drug_and_every_unit_is_spoken() -> None:
    """No drug of the list is left out, and none is spoken twice for the same unit."""
    chosen = list(entries(GRAMMAR))
    told = [(getattr(e, "drug", None), getattr(e, "unit", None), e.kind) for e in chosen]
    assert {drug for drug, _, _ in told if drug} == set(GRAMMAR.drugs)
    units = {unit for drug in GRAMMAR.drugs.values() for unit in (*drug.bolus, *drug.rate)}
    assert units <= {unit for _, unit, _ in told}
    drugs = [one for one in told if one[0]]
    assert len(drugs) == len(set(drugs))


def test_what_is_heard_as_something_else_is_told() -> None:
    """Only what is taken for what was read back counts as made out."""
    ears = HearsAlways(FENTANYL)
    right, wrong = heard_back([FENTANYL, KETAMINE], GRAMMAR, EspeakNg(), ears)
    assert right == HeardBack("fentanyl, five zero micrograms", "that", understood=True)
    assert wrong == HeardBack("ketamine, five zero milligrams", "that", understood=False)
    told = table([right, wrong])
    assert "1 of 2 were made out" in told
    assert "| ketamine, five zero milligrams | that |" in told
    assert "fentanyl" not in told


def test_what_makes_no_sound_is_not_made_out() -> None:
    """Where no speech is found nothing is understood."""
    (silent,) = heard_back([FENTANYL], GRAMMAR, Mute(), HearsAlways(FENTANYL))
    assert not silent.understood
    assert "| fentanyl, five zero micrograms | nothing |" in table([silent])
