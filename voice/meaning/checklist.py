"""Check lists: what is asked aloud, what settles it, and what "yes" and "no" then make.

They are files in the folder ``checks`` of the grammar, one a list, so that a programme can change
them; how they are written is told in ``docs/checks.md``. Every fault is named with its file and
item.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from pydantic import BaseModel, ValidationError

from voice.entries.kinds.checks import CheckAnswer
from voice.entries.said import Statement
from voice.meaning.grammar import GRAMMAR_FOLDER
from voice.meaning.phrase import GrammarError
from voice.meaning.phrase_file import KINDS, field_adapter
from voice.meaning.table import shaped, toml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from voice.entries.kinds import Entry
    from voice.entries.leg import LegSettings
    from voice.meaning.grammar import Grammar

FOLDER = GRAMMAR_FOLDER / "checks"
"""The shipped lists."""

Since = Literal["leg", "move", "check"]


class _Item(BaseModel, frozen=True, extra="forbid"):
    name: str
    ask: str
    settled: list[dict[str, Any]]
    since: Since | None = None
    yes: str | Literal[True] | None = None
    no: str | Literal[True] | None = None
    hint: str = ""


class _List(BaseModel, frozen=True, extra="forbid"):
    about: str
    check: str
    since: Since = "leg"
    moves: list[dict[str, Any]] = []
    item: list[dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Pattern:
    """A kind of entry, and what some of its fields must hold."""

    kind: str
    fields: tuple[tuple[str, object], ...] = ()

    def fits(self, entry: Entry) -> bool:
        """Whether ``entry`` is such an entry."""
        return entry.kind == self.kind and all(
            getattr(entry, name) == value for name, value in self.fields
        )


@dataclass(frozen=True, slots=True)
class Item:
    """One thing that has to be known."""

    name: str
    ask: str
    """As it is asked aloud."""
    settled: tuple[Pattern, ...]
    """Any confirmed entry of these tells it."""
    since: Since
    """How new that entry must be: of this leg, said since the last move, or since the check began."""
    yes: Statement | None
    """What "yes" makes; ``None`` where it is no answer."""
    no: Statement | None
    unanswered: Statement
    """What is kept where nothing was said to it."""
    hint: str
    """What is said where "yes" or "no" is no answer."""


@dataclass(frozen=True, slots=True)
class Checklist:
    """A whole list; its name is that by which it is started: "check before leaving"."""

    name: str
    about: str
    moves: tuple[Pattern, ...]
    """The entries that tell of a move."""
    items: tuple[Item, ...]


def load_checklists(
    grammar: Grammar, settings: LegSettings, *more: Path, shipped: Path = FOLDER
) -> Mapping[str, Checklist]:
    """The shipped lists by their names; each can be started by a phrase of the grammar.

    A list in one of the folders ``more`` stands in place of the shipped one of its name.

    Raises GrammarError, naming the file and the item.
    """
    lists = _lists(shipped, grammar, settings)
    for folder in more:
        lists |= _lists(folder, grammar, settings)
    started = {phrase.check for phrase in grammar.phrases if phrase.check is not None}
    for name in sorted(lists.keys() ^ started):
        lacks = "no phrase starts it" if name in lists else f"there is no such list in {shipped}"
        raise GrammarError(f'The check "{name}": {lacks}.')
    return lists


def _lists(folder: Path, grammar: Grammar, settings: LegSettings) -> dict[str, Checklist]:
    lists: dict[str, Checklist] = {}
    for path in sorted(folder.glob("*.toml")):
        found = _read(path, grammar, settings)
        if found.name in lists:
            raise GrammarError(f'{path.name}: there is another list "{found.name}".')
        lists[found.name] = found
    return lists


def _read(path: Path, grammar: Grammar, settings: LegSettings) -> Checklist:
    data = toml(path.read_bytes(), path.name)
    table = shaped(_List, data, path.name)
    items: list[Item] = []
    for written in table.item:
        where = f'{path.name}, item "{written.get("name", "")}"'
        item = _item(shaped(_Item, written, where), table, where, grammar, settings)
        if item.name in {one.name for one in items}:
            raise GrammarError(f"{where}: there is another item of this name.")
        items.append(item)
    if not items:
        raise GrammarError(f"{path.name}: it has no item.")
    moves = tuple(pattern(told, f"{path.name}, moves") for told in table.moves)
    return Checklist(table.check, table.about, moves, tuple(items))


def _item(table: _Item, whole: _List, where: str, grammar: Grammar, settings: LegSettings) -> Item:
    def answer(text: Literal["yes", "no", "not answered"]) -> Statement:
        return Statement(entry=CheckAnswer(check=whole.check, item=table.name, answer=text))

    def made(said: str | bool | None, plain: Literal["yes", "no"]) -> Statement | None:
        if not isinstance(said, str):
            return answer(plain) if said else None
        match grammar.parse(said, settings):
            case (Statement() as statement,):
                return statement
        raise GrammarError(f'{where}: "{said}" is no entry of the grammar.')

    yes, no = made(table.yes, "yes"), made(table.no, "no")
    if not table.hint and (yes is None or no is None):
        raise GrammarError(f'{where}: it needs a hint, since "yes" or "no" is no answer.')
    return Item(
        name=table.name,
        ask=table.ask,
        settled=tuple(pattern(told, where) for told in table.settled),
        since=table.since or whole.since,
        yes=yes,
        no=no,
        unanswered=answer("not answered"),
        hint=table.hint,
    )


def pattern(told: dict[str, Any], where: str) -> Pattern:
    """The pattern that a table of a list means; raises GrammarError, which begins with ``where``."""
    kind = told.get("kind")
    if kind not in KINDS:
        raise GrammarError(f'{where}: there is no kind of entry "{kind}".')
    model = KINDS[kind]
    fields: list[tuple[str, object]] = []
    for name, value in told.items():
        if name == "kind":
            continue
        if name not in model.model_fields:
            raise GrammarError(f'{where}: {model.__name__} has no field "{name}".')
        try:
            fields.append((name, field_adapter(model, name).validate_python(value)))
        except ValidationError as error:
            told_why = error.errors()[0]["msg"]
            raise GrammarError(f"{where}: {name} cannot be {value}: {told_why}.") from error
    return Pattern(kind, tuple(fields))
