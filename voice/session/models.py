"""The acoustic models of this machine, and which of them is used.

The shipped one is always there. Others are copied into a folder beside the legs, with checksums,
so that nothing on the road can take them away or change them; a line of text tells which is used.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from voice.acoustics import shipped
from voice.entries.errors import LegbookError
from voice.hearing.listener import ALTERNATIVES, VoskListener
from voice.hearing.model import AcousticModel
from voice.meaning.decide import SHIPPED, UNMEASURED
from voice.meaning.interrupting import interruptions
from voice.meaning.leading_in import led_into, with_rival
from voice.meaning.narrowing import left_out, missing_needed, narrowed, spellings_for
from voice.meaning.phrase import STATEMENT_STATES
from voice.meaning.unfinished import with_beginnings
from voice.record.places import legs_root
from voice.session import kept_acceptors
from voice.session.own_phrases import hearing_folder

if TYPE_CHECKING:
    from pathlib import Path

    from voice.entries.heard import Hearing, Segment
    from voice.hearing.listener import Listener
    from voice.meaning.decide import Thresholds
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening

BEGINNINGS = 5
"""So many more readings are asked for where phrases may break off, so that beginnings crowd out no whole one."""
SHIPPED_NAME = "shipped"
"""What the model that comes with legbook is called."""


class UnknownModelError(LegbookError):
    """There is no such model on this machine."""


class UselessModelError(LegbookError):
    """A model lacks words without which no leg can be kept."""


@dataclass(frozen=True)
class Model:
    """A model on this machine."""

    name: str
    folder: Path

    @cached_property
    def opened(self) -> AcousticModel:
        """Its files, checked once; raises as ``AcousticModel.open`` does."""
        return AcousticModel.open(self.folder)

    @property
    def is_shipped(self) -> bool:
        """Whether it came with legbook: then it knows every word, and its thresholds are measured."""
        return self.name == SHIPPED_NAME

    @property
    def thresholds(self) -> Thresholds:
        """Where the line between taking, asking and letting go is drawn for its scores."""
        return SHIPPED if self.is_shipped else UNMEASURED

    def listener(self, grammar: Grammar, state: Listening) -> Listener:
        """It, with as much of the grammar of ``state`` as can be said in its words.

        Where entries are listened for it hears their beginnings as well. Raises what ``opened``, ``spellings`` and ``VoskListener`` raise.
        """
        acceptor = kept_acceptors.acceptor(grammar, state)
        if not self.is_shipped:
            acceptor = narrowed(acceptor, self.spellings(grammar))
        if state not in STATEMENT_STATES:
            return VoskListener(self.opened, acceptor)
        calls = 0 if grammar.attention is None else len(grammar.attention.split())
        acceptor = with_beginnings(acceptor, longer_than=calls)
        phrases = VoskListener(self.opened, acceptor, alternatives=ALTERNATIVES + BEGINNINGS)
        return _EntryListener(phrases, self.opened, grammar)

    def interruptions(self, grammar: Grammar) -> VoskListener:
        """It, with the few phrases that are heard while the program speaks; raises as ``listener`` does."""
        acceptor = interruptions(grammar)
        if not self.is_shipped:
            acceptor = narrowed(acceptor, self.spellings(grammar))
        return VoskListener(self.opened, acceptor)

    def spellings(self, grammar: Grammar) -> dict[str, str]:
        """The grammar's words that it knows, and how it spells each.

        Raises ``ModelFolderError`` or ``ModelDamagedError`` where it cannot be used, and
        ``UselessModelError`` where it lacks words that every leg needs.
        """
        spelled = spellings_for(grammar, self.opened.word_ids)
        missing = missing_needed(grammar, spelled)
        if missing:
            raise UselessModelError(
                f"No leg can be kept with the model {self.name}: it has no words for "
                f"{', '.join(missing)}. Use another, as with: legbook model use {SHIPPED_NAME}"
            )
        return spelled

    def warning(self, grammar: Grammar) -> str | None:
        """What to tell before a leg with it, in a sentence; ``None`` where there is nothing."""
        if self.is_shipped:
            return None
        lost = len(left_out(grammar, self.spellings(grammar)))
        return (
            f"Hearing with the model {self.name}, whose thresholds nobody has measured: it will ask "
            f"more often. {lost} phrases cannot be said as fully as usual; see: legbook model"
        )


class _EntryListener:
    """Hears phrases; where a lead-in, or a "confirm" with more behind it, is likeliest, other speech in its place as well.

    That is a search of its own: in one, a phrase that was spoken badly was pushed out of sight. It is rare, so
    nothing of it stays in memory.
    """

    def __init__(self, phrases: Listener, model: AcousticModel, grammar: Grammar) -> None:
        self._phrases = phrases
        self._model = model
        self._grammar = grammar

    def hear(self, segment: Segment) -> Hearing:
        """What may have been said, likeliest first; raises as ``VoskListener`` does."""
        hearing = self._phrases.hear(segment)
        rivals = led_into(hearing, self._grammar)
        if rivals is None:
            return hearing
        heard = VoskListener(self._model, rivals, alternatives=1).hear(segment)
        return with_rival(hearing, heard, self._grammar)


SHIPPED_MODEL = Model(SHIPPED_NAME, shipped.MODEL_FOLDER)
"""As it came, without the words that were taught here."""


def shipped_model() -> Model:
    """The shipped model with the words that were taught here."""
    return Model(SHIPPED_NAME, hearing_folder())


def models_root() -> Path:
    """Where models that were brought in lie."""
    return legs_root().parent / "models"


def models() -> tuple[Model, ...]:
    """All models of this machine, the shipped one first."""
    root = models_root()
    folders = sorted(root.iterdir()) if root.is_dir() else []
    brought = (Model(f.name, f) for f in folders if f.is_dir() and not f.name.startswith("."))
    return (shipped_model(), *brought)


def chosen_model() -> Model:
    """The model that is used.

    Raises ``UnknownModelError`` where it has gone: another hears otherwise, so nothing is put in
    its place without a word.
    """
    try:
        name = _choice().read_text("utf-8").strip()
    except FileNotFoundError:
        return shipped_model()
    except (OSError, UnicodeDecodeError):
        name = ""
    return _named(name)


def choose(name: str) -> Model:
    """Use the model called ``name`` from now on; raises ``UnknownModelError``."""
    model = _named(name)
    choice = _choice()
    choice.parent.mkdir(parents=True, exist_ok=True)
    new = choice.with_suffix(".new")
    new.write_text(f"{name}\n", "utf-8")
    new.replace(choice)
    return model


def _choice() -> Path:
    return legs_root().parent / "model.txt"


def _named(name: str) -> Model:
    for model in models():
        if model.name == name:
            return model
    there = ", ".join(model.name for model in models())
    raise UnknownModelError(
        f'There is no model called "{name}" on this machine. There are: {there}. '
        "Choose one with: legbook model use NAME"
    )
