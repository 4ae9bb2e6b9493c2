"""The list of drugs: how each is said, its class, and the units in which it is given.

A phrase with ``drugs = "bolus"`` or ``drugs = "rate"`` is written once and made for all of them:
where it has ``<unit>``, twice for each unit of the list: with the drugs that are given in it, and with those
that are given in a thousandth or a thousand of it. These can be said, so that "fentanyl fifty milligrams" is not
heard as micrograms, and are refused (``misgiven``).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, Field

from voice.entries.kinds.drugs import DrugGiven, InfusionChanged, InfusionStarted
from voice.meaning.phrase import GrammarError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from voice.entries.kinds import Entry

Giving = Literal["bolus", "rate"]
"""A dose at once, or an infusion."""

DrugClass = Literal[
    "osmotherapy", "sedative", "analgesic", "paralytic", "vasopressor", "inotrope",
    "antihypertensive", "antiarrhythmic", "anticonvulsant", "antibiotic", "reversal",
    "haemostatic", "anticoagulant", "thrombolytic", "antiemetic", "steroid", "diuretic", "electrolyte",
    "metabolic", "bronchodilator", "anticholinergic",
]  # fmt: skip
"""What a drug is given for, roughly: for the summary and for what is missing."""

FOR_PRESSURE: tuple[DrugClass, ...] = ("osmotherapy", "sedative", "analgesic", "paralytic")
"""The classes that are given for the pressure, or may change it (common practice, no source)."""

MISGIVEN_COST = 3.0
"""How much rarer, as a natural logarithm, a drug is said in a unit that it is not given in: once in twenty (a
guess; with it nothing that is said in its own unit is heard otherwise, docs/bench.md)."""

_MASSES = {"mcg", "mg", "g"}

_AMOUNT: dict[Giving, str] = {"bolus": "dose", "rate": "rate"}
"""The slot that a unit's amounts fill."""


class Drug(BaseModel, frozen=True, extra="forbid"):
    """A drug, by its generic name."""

    said: str | None = None
    """Its wordings, the first for the read-back; ``None``: its name."""
    drug_class: DrugClass = Field(alias="class")
    bolus: tuple[str, ...] = ()
    """The units in which a dose of it is given."""
    rate: tuple[str, ...] = ()
    """The units in which an infusion of it is run."""


class Unit(BaseModel, frozen=True, extra="forbid"):
    """A unit of doses or rates, and the amounts that can be said in it."""

    said: str
    """Its wordings, the first for the read-back."""
    read: str
    """How it is read back."""
    amount: Any
    """A range of numbers or a list of them, as of any slot."""


class DrugList:
    """All drugs and units of a grammar, whichever of its files they stand in."""

    def __init__(
        self, drugs: Mapping[str, Drug], units: Mapping[str, Unit], files: Mapping[str, str]
    ) -> None:
        """``files`` says in which file each drug stands.

        Raises GrammarError where a drug is given in a unit that the list lacks.
        """
        self.drugs = drugs
        self._units = units
        for name, drug in drugs.items():
            for unit in (*drug.bolus, *drug.rate):
                if unit not in units:
                    raise GrammarError(
                        f'{files[name]}: the drug "{name}" is given in "{unit}", which is no unit of the list; '
                        f"known are {', '.join(units)}."
                    )

    def phrases(self, table: dict[str, Any], where: str) -> Iterator[dict[str, Any]]:
        """The tables of all phrases that ``table`` stands for; itself, where it has no ``drugs``.

        Raises GrammarError where none of the drugs fits.
        """
        table = dict(table)
        giving = table.pop("drugs", None)
        if giving is None:
            yield table
            return
        if giving not in _AMOUNT:
            raise GrammarError(f'{where}: "drugs" is bolus or rate, not {giving!r}.')
        given = {name: getattr(drug, giving) for name, drug in self.drugs.items()}
        if not any(given.values()):
            raise GrammarError(f'{where}: no drug of the list has a "{giving}".')
        if "<unit>" not in table.get("say", ""):
            yield self._filled(table, [name for name, units in given.items() if units])
            return
        for unit, words in self._units.items():
            right = [name for name, units in given.items() if unit in units]
            thousandfold = [
                name
                for name, units in given.items()
                if unit not in units and any(_thousandfold(unit, one) for one in units)
            ]
            if right:
                yield self._in_unit(table, giving, right, unit, words)
            if thousandfold:
                rarer = table.get("cost", 0.0) + MISGIVEN_COST
                seldom = {**table, "cost": rarer, "misgiven": True}
                yield self._in_unit(seldom, giving, thousandfold, unit, words)

    def _in_unit(
        self, table: dict[str, Any], giving: Giving, names: list[str], unit: str, words: Unit
    ) -> dict[str, Any]:
        """``table`` with these drugs, in this unit."""
        made = self._filled(table, names)
        made["fixed"] = {**table.get("fixed", {}), "unit": unit}
        made["slots"][_AMOUNT[giving]] = words.amount
        made["say"] = table["say"].replace("<unit>", f"({words.said})")
        if "read" in table:
            made["read"] = table["read"].replace("<unit>", words.read)
        return made

    def misgiven(self, entry: Entry) -> tuple[str, ...]:
        """The units, as they are read back, in which its drug is given, where the entry's is none of them."""
        match entry:
            case DrugGiven(drug=name, unit=unit):
                giving: Giving = "bolus"
            case InfusionStarted(drug=name, unit=unit) | InfusionChanged(drug=name, unit=unit):
                giving = "rate"
            case _:
                return ()
        units = getattr(self.drugs[name], giving) if name in self.drugs else ()
        return () if unit in units else tuple(self._units[one].read for one in units)

    def _filled(self, table: dict[str, Any], names: list[str]) -> dict[str, Any]:
        """``table`` with these drugs as the choices of its slot."""
        said = {name: self.drugs[name].said or name for name in names}
        return {**table, "slots": {**table.get("slots", {}), "drug": said}}


def _thousandfold(one: str, other: str) -> bool:
    """Whether two units differ in nothing but that they are micrograms, milligrams or grams."""
    (mass, *per), (other_mass, *other_per) = one.split("/"), other.split("/")
    return mass != other_mass and {mass, other_mass} <= _MASSES and per == other_per
