"""What a nurse has chosen on this machine, kept beside the legs from one start to the next."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from pydantic import ValidationError

from voice.capture.devices import USUAL as USUAL_DEVICE
from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.record.places import legs_root
from voice.session.attention import Way
from voice.session.attention_word import USUAL
from voice.speech.manner import Manner

if TYPE_CHECKING:
    from pathlib import Path


class PreferencesError(LegbookError):
    """What was chosen cannot be read or kept."""


class Style(StrEnum):
    """How much a read-back holds; the kind of entry and its value always."""

    SHORT = "short"
    """The unit only where it matters: "pressure, one four"."""
    LONG = "long"
    """With the name in full and the unit: "intracranial pressure, one four millimetres"."""


class SecondListener(StrEnum):
    """Whether a second listener hears beside the first; it is an extra that has to be installed."""

    AUTO = "auto"
    """By microphone, where it is installed and the machine is fast enough."""
    ON = "on"
    """However slow the machine is, and in recordings too."""
    OFF = "off"


class Preferences(Frozen):
    """What can be chosen, and how it is without a choice."""

    attention: Way = Way.ALWAYS
    word: str = USUAL
    """The attention word, used with ``Way.WORD`` only."""
    style: Style = Style.SHORT
    manner: Manner = Manner()
    microphone: str = USUAL_DEVICE
    """By its name, as ``voice.capture.devices`` has it."""
    speaker: str = USUAL_DEVICE
    second: SecondListener = SecondListener.AUTO

    def changed(self, **chosen: object) -> Preferences:
        """These, with what is not ``None`` in place of what was; names of ``Manner`` are its own.

        Raises ``PreferencesError`` where a value is out of its range.
        """
        told = {name: value for name, value in chosen.items() if value is not None}
        manner = {name: told.pop(name) for name in Manner.model_fields if name in told}
        try:
            return Preferences.model_validate(
                {**dict(self), **told, "manner": {**dict(self.manner), **manner}}
            )
        except ValidationError as error:
            fault = error.errors()[0]
            raise PreferencesError(f"{fault['loc'][-1]}: {fault['msg']}.") from None


def load() -> Preferences:
    """What was chosen, or how it is without a choice.

    Raises ``PreferencesError`` where it cannot be read: a nurse who chose to be called by a word must
    not be listened to without it unawares.
    """
    try:
        return Preferences.model_validate_json(_file().read_bytes())
    except FileNotFoundError:
        return Preferences()
    except (OSError, ValidationError):
        raise PreferencesError(
            f"What was chosen in {_file()} cannot be read. Delete the file, and choose again with: "
            "legbook settings"
        ) from None


def save(preferences: Preferences) -> None:
    """Keep them for the next start; raises ``PreferencesError`` where that fails."""
    file = _file()
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        new = file.with_suffix(".new")
        new.write_text(f"{preferences.model_dump_json(indent=1)}\n", "utf-8")
        new.replace(file)
    except OSError as error:
        raise PreferencesError(f"{file} cannot be written: {error.strerror}.") from error


def _file() -> Path:
    return legs_root().parent / "preferences.json"
