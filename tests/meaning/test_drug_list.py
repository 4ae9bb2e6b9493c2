"""The list of drugs: a drug is one line, and all its phrases are made from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.entries.kinds.drugs import DrugGiven, InfusionStarted, InfusionStopped
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.drug_list import MISGIVEN_COST
from voice.meaning.grammar import Grammar, GrammarError, load_grammar

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.kinds import Entry

SETTINGS = LegSettings()
LIST = """
about = "Drugs."

[unit.mg]
said = "milligrams | milligram"
read = "milligrams"
amount = { min = 1, max = 100 }

[unit.g]
said = "grams"
read = "grams"
amount = [{ min = 0.5, max = 5, step = 0.5 }, { min = 6, max = 50 }]

[unit."mg/h"]
said = "milligrams (per | an) hour"
read = "milligrams per hour"
amount = { min = 1, max = 20 }

[drug]
ketamine = { class = "sedative", bolus = ["mg"], rate = ["mg/h"] }
paracetamol = { said = "paracetamol | acetaminophen", class = "analgesic", bolus = ["mg", "g"] }
"""
PHRASES = """
about = "Doses."

[[phrase]]
entry = "drug_given"
drugs = "bolus"
say = "[gave] <drug> <dose> <unit>"
read = "<drug>, <dose> <unit>"

[[phrase]]
entry = "infusion_started"
drugs = "rate"
say = "started <drug> [at] <rate> <unit>"
read = "started <drug>, <rate> <unit>"

[[phrase]]
entry = "infusion_stopped"
drugs = "rate"
say = "stopped <drug>"
read = "stopped, <drug>"
"""


def grammar(folder: Path, drugs: str = LIST, phrases: str = PHRASES) -> Grammar:
    """A grammar of these two files."""
    (folder / "drugs.toml").write_text(phrases)
    (folder / "list.toml").write_text(drugs)
    return load_grammar(folder)


@pytest.mark.parametrize(
    ("said", "entry", "read"),
    [
        (
            "acetaminophen two grams",
            DrugGiven(drug="paracetamol", dose=2, unit="g"),
            "paracetamol, two grams",
        ),
        (
            "gave ketamine fifteen milligrams",
            DrugGiven(drug="ketamine", dose=15, unit="mg"),
            "ketamine, one five milligrams",
        ),
        (
            "started ketamine at ten milligrams an hour",
            InfusionStarted(drug="ketamine", rate=10, unit="mg/h"),
            "started ketamine, one zero milligrams per hour",
        ),
        ("stopped ketamine", InfusionStopped(drug="ketamine"), "stopped, ketamine"),
        ("ketamine five mils", None, ""),
        ("started ketamine five micrograms per minute", None, ""),
        ("started paracetamol ten milligrams per hour", None, ""),
        ("stopped paracetamol", None, ""),
        ("ketamine two hundred milligrams", None, ""),
    ],
)
def test_a_drug_is_said_in_its_units_and_in_no_other(
    tmp_path: Path, said: str, entry: Entry | None, read: str
) -> None:
    """A drug can be said, and is read back, in the units of its line, within the unit's amounts."""
    made = grammar(tmp_path)
    meanings = made.parse(said, SETTINGS)
    assert meanings == (() if entry is None else (Statement(entry=entry),))
    if entry is not None:
        assert made.read_back(entry, SETTINGS) == read


@pytest.mark.parametrize(
    ("said", "refusal"),
    [
        (
            "ketamine five grams",
            "not kept: ketamine, five grams; that drug goes in milligrams",
        ),
        ("ketamine fifteen milligrams", None),
        ("stopped ketamine", None),
    ],
)
def test_a_thousandfold_unit_can_be_said_and_is_refused(
    tmp_path: Path, said: str, refusal: str | None
) -> None:
    """Grams for milligrams are heard as what they are, seldom, and refused with the right unit."""
    made = grammar(tmp_path)
    (meaning,) = made.parse(said, SETTINGS)
    assert isinstance(meaning, Statement)
    assert made.refusal(meaning.entry, SETTINGS) == refusal
    costs = {phrase.cost for phrase in made.phrases if phrase.fixed.get("unit") == "g"}
    assert costs == {0.0, MISGIVEN_COST}


def test_no_drug_of_the_shipped_list_is_kept_a_thousandfold() -> None:
    """Whatever is given in micrograms, milligrams or grams alone is refused in the other two."""
    shipped = load_grammar()
    for name, drug in shipped.drugs.items():
        masses = {"mcg": "micrograms", "mg": "milligrams", "g": "grams"}
        if not masses.keys() & set(drug.bolus):
            continue
        for unit, word in masses.items():
            first = (drug.said or name).split(" | ")[0]
            (meaning,) = shipped.parse(f"gave {first} five {word}", SETTINGS)
            assert isinstance(meaning, Statement)
            assert (shipped.refusal(meaning.entry, SETTINGS) is None) == (unit in drug.bolus), name


def test_a_drug_may_be_added_by_another_file(tmp_path: Path) -> None:
    """One line in a file of its own makes a drug sayable in every way in which drugs are."""
    (tmp_path / "more.toml").write_text(
        'about = "Ours."\n[drug]\nlidocaine = { class = "analgesic", bolus = ["mg"], rate = ["mg/h"] }\n'
    )
    made = grammar(tmp_path)
    assert made.drugs["lidocaine"].drug_class == "analgesic"
    for said in (
        "lidocaine fifty milligrams",
        "started lidocaine two milligrams per hour",
        "stopped lidocaine",
    ):
        assert len(made.parse(said, SETTINGS)) == 1


def test_the_shipped_list_needs_no_code() -> None:
    """Every drug of the shipped list can be given in each of its units, and is read back."""
    shipped = load_grammar()
    for name, drug in shipped.drugs.items():
        assert drug.bolus or drug.rate, name
        for unit in drug.bolus:
            given = DrugGiven.model_validate({"drug": name, "dose": 2, "unit": unit})
            assert shipped.parse(shipped.read_back(given, SETTINGS), SETTINGS) == (
                Statement(entry=given),
            )
        for unit in drug.rate:
            rate = 0.5 if unit == "units/min" else 2
            run = InfusionStarted.model_validate({"drug": name, "rate": rate, "unit": unit})
            assert shipped.parse(shipped.read_back(run, SETTINGS), SETTINGS) == (
                Statement(entry=run),
            )


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('bolus = ["mg", "g"]', 'bolus = ["bar"]', r'"paracetamol" is given in "bar", which is no'),
        ('class = "sedative"', 'class = "magic"', r'list.toml, drug "ketamine": "class" cannot be'),
        ('class = "sedative", ', "", r'list.toml, drug "ketamine": it lacks "class"'),
        ('rate = ["mg/h"]', 'rats = ["mg/h"]', r'drug "ketamine": nobody knows "rats"; known are'),
        ('read = "grams"', "", r'list.toml, unit "g": it lacks "read"'),
        ("max = 100 }", "max = 0 }", r'drugs.toml, line 7, .*slot "dose": it has no value'),
        ('drugs = "bolus"', 'drugs = "drip"', r"drugs.toml, .*\"drugs\" is bolus or rate, not 'drip'"),
        ('rate = ["mg/h"]', "rate = []", r'drugs.toml, line .*: no drug of the list has a "rate"'),
        ("[unit.g]", '[unit."g/kg"]', r'"paracetamol" is given in "g", which is no unit'),
        ("<drug> <dose> <unit>", "<drug> <unit>", r'it can be said without "dose"'),
    ],
)  # fmt: skip
def test_fault_of_the_list_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    """Every fault of the list is told with the drug, the unit or the phrase."""
    assert old in LIST + PHRASES
    with pytest.raises(GrammarError, match=told):
        grammar(tmp_path, LIST.replace(old, new, 1), PHRASES.replace(old, new, 1))


def test_a_drug_stands_in_one_file_only(tmp_path: Path) -> None:
    """A second line for the same drug is a fault, whichever file holds it."""
    (tmp_path / "more.toml").write_text('about = ""\n[drug]\nketamine = { class = "sedative" }\n')
    with pytest.raises(GrammarError, match=r'"ketamine" stands in .*\.toml already'):
        grammar(tmp_path)
