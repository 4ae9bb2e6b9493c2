from __future__ import annotations

import pytest

from voice.acoustics.lexicon import read_lexicon
from voice.acoustics.shipped import MODEL_FOLDER
from voice.meaning.drug_list import Drug
from voice.meaning.grammar import load_grammar
from voice.training.sound_alike import Likeness, SoundAlike, sound_alikes

LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")

# FDA and ISMP Lists of Look-Alike Drug Names with Recommended Tall Man Letters (2023): the pairs of
# which both names are in the shipped list. Of nicardipine and nimodipine each is listed beside a
# third name; cefuroxime and ceftazidime stand in one row with the two others (from memory).
PUBLISHED = [
    ("dopamine", "dobutamine"),
    ("ephedrine", "adrenaline"),
    ("fentanyl", "sufentanil"),
    ("hydromorphone", "morphine"),
    ("cefazolin", "ceftriaxone"),
    ("cefazolin", "ceftazidime"),
    ("cefazolin", "cefuroxime"),
    ("nicardipine", "nimodipine"),
    ("pentobarbital", "phenobarbital"),
]


@pytest.fixture(scope="module")
def shipped() -> dict[frozenset[str], SoundAlike]:
    """The pairs of the shipped list of drugs."""
    found = sound_alikes(load_grammar().drugs, LEXICON)
    return {frozenset(pair.drugs): pair for pair in found}


@pytest.mark.parametrize("pair", PUBLISHED, ids=" and ".join)
def test_published_pairs_are_found(
    shipped: dict[frozenset[str], SoundAlike], pair: tuple[str, str]
) -> None:
    """Two drugs that the published list warns of are told."""
    assert frozenset(pair) in shipped


def test_few_of_all_pairs_are_told(shipped: dict[frozenset[str], SoundAlike]) -> None:
    """Not just any two names are alike: one pair in twenty, and mannitol is like no antibiotic."""
    count = len(load_grammar().drugs)
    assert len(shipped) < count * (count - 1) / 2 / 20
    assert frozenset({"mannitol", "cefazolin"}) not in shipped


def drug(said: str, *bolus: str) -> Drug:
    """A drug that is given so."""
    return Drug.model_validate({"said": said, "class": "sedative", "bolus": bolus})


def test_a_unit_in_common_comes_first_then_the_nearest() -> None:
    """What could be kept without a fault stands before what only sounds alike."""
    drugs = {
        "fentanyl": drug("fentanyl", "mcg"),
        "sufentanil": drug("sufentanil", "mg"),
        "vasopressin": drug("vasopressin", "units"),
        "desmopressin": drug("desmopressin", "units", "mcg"),
    }
    first, second = sound_alikes(drugs, LEXICON)
    assert (first.drugs, first.units) == (("vasopressin", "desmopressin"), ("units",))
    assert (second.drugs, second.units) == (("fentanyl", "sufentanil"), ())


def test_the_nearest_wordings_are_told() -> None:
    """Of two names for one drug, the one that sounds like the other drug is told."""
    drugs = {
        "adrenaline": drug("adrenaline | epinephrine", "mg"),
        "noradrenaline": drug("norepinephrine", "mg"),
    }
    (pair,) = sound_alikes(drugs, LEXICON)
    assert pair.said == ("epinephrine", "norepinephrine")
    assert pair.likeness is Likeness.WHOLE


def test_a_lost_beginning_is_an_ending() -> None:
    """Morphine is hydromorphone without its beginning, whichever of the two stands first."""
    for order in (["morphine", "hydromorphone"], ["hydromorphone", "morphine"]):
        (pair,) = sound_alikes({name: drug(name, "mg") for name in order}, LEXICON)
        assert pair.likeness is Likeness.ENDING


def test_a_word_without_pronunciation_is_passed_over() -> None:
    """A drug that the lexicon cannot say is like no other."""
    assert (
        sound_alikes({"x": drug("zzyzx", "mg"), "fentanyl": drug("fentanyl", "mg")}, LEXICON) == ()
    )
