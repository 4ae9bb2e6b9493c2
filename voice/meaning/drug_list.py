"""The list of drugs: how each is said, its class, and the units in which it is given.

A phrase with ``drugs = "bolus"`` or ``drugs = "rate"`` is written once and made for all of them:
where it has ``<unit>``, once for each unit of the list, with the drugs that are given in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, Field

from voice.meaning.phrase import GrammarError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

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

    def __init__(self, drugs: Mapping[str, Drug], units: Mapping[str, Unit]) -> None:
        """Raises GrammarError where a drug is given in a unit that the list lacks."""
        self.drugs = drugs
        self._units = units
        for name, drug in drugs.items():
            for unit in (*drug.bolus, *drug.rate):
                if unit not in units:
                    raise GrammarError(
                        f'Drug "{name}" is given in "{unit}", which is no unit of the list; '
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
            if names := [name for name, units in given.items() if unit in units]:
                made = self._filled(table, names)
                made["fixed"] = {**table.get("fixed", {}), "unit": unit}
                made["slots"][_AMOUNT[giving]] = words.amount
                made["say"] = table["say"].replace("<unit>", f"({words.said})")
                if "read" in table:
                    made["read"] = table["read"].replace("<unit>", words.read)
                yield made

    def _filled(self, table: dict[str, Any], names: list[str]) -> dict[str, Any]:
        """``table`` with these drugs as the choices of its slot."""
        said = {name: self.drugs[name].said or name for name in names}
        return {**table, "slots": {**table.get("slots", {}), "drug": said}}
