from __future__ import annotations

from typing import get_args

import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError

from voice.entries.kinds import Entry
from voice.entries.kinds.drain import Pressure
from voice.entries.kinds.neuro import ComaParts
from voice.entries.kinds.vitals import BloodPressure
from voice.entries.said import Statement

KINDS: tuple[type[BaseModel], ...] = get_args(get_args(Entry)[0])
ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


def test_kind_names_are_unique() -> None:
    """No two kinds of entry share the name that tells them apart."""
    names = [kind.model_fields["kind"].default for kind in KINDS]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("kind", KINDS, ids=lambda k: k.__name__)
def test_every_kind_is_documented(kind: type[BaseModel]) -> None:
    """Each kind of entry says in its own docstring what it is."""
    assert kind.__doc__
    assert kind.__doc__.strip().endswith(".") or "Source" in kind.__doc__


def test_entry_survives_json() -> None:
    """An entry read back from JSON is the entry that was written."""
    entry = BloodPressure(systolic_mmhg=124, diastolic_mmhg=76)
    assert ENTRY.validate_json(ENTRY.dump_json(entry)) == entry


@pytest.mark.parametrize("verbal", [0, 6])
def test_a_verbal_part_outside_the_scale_is_refused(verbal: int) -> None:
    """The verbal part of the coma scale goes from 1 to 5."""
    with pytest.raises(ValidationError):
        ComaParts(eyes=4, verbal=verbal, motor=6)


@pytest.mark.parametrize("value", [-11, 101])
def test_value_outside_range_is_refused(value: float) -> None:
    """A pressure that cannot be said cannot be kept."""
    with pytest.raises(ValidationError):
        Pressure(value=value, unit="mmHg")


def test_unknown_field_is_refused() -> None:
    """A field nobody knows is an error and not silently dropped."""
    with pytest.raises(ValidationError):
        ENTRY.validate_python({"kind": "bag_changed", "volume_ml": 3})


def test_entries_are_frozen() -> None:
    """What was said cannot be changed in place."""
    said = Statement(entry=Pressure(value=14, unit="mmHg"))
    with pytest.raises(ValidationError):
        said.entry = Pressure(value=15, unit="mmHg")  # type: ignore[misc]
