"""Phrase files: read, checked, and every fault named with its file and line.

How they are written is told in ``docs/grammar.md``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from voice.entries.kinds import Entry
from voice.entries.leg import LegSettings
from voice.entries.said import (
    About,
    Choice,
    ClockTime,
    Command,
    Correction,
    MinutesAgo,
    Question,
    Several,
    StartCheck,
    Statement,
    Talk,
)
from voice.meaning.bounds import FARTHEST, MOST_FORMS, MOST_VALUES
from voice.meaning.drug_list import Drug, DrugList, Unit
from voice.meaning.expression import (
    Expression,
    NotationError,
    beginnings,
    bound_fields,
    parse_notation,
    slots_of,
    wordings,
)
from voice.meaning.listening import Listening
from voice.meaning.numbers import Number, Style, digit_words, plain, spoken_forms
from voice.meaning.phrase import (
    STATEMENT_STATES,
    Example,
    GrammarError,
    Phrase,
    ValueSlot,
    key_of,
)
from voice.meaning.subjects import name_in
from voice.meaning.table import shaped, toml

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.said import Meaning
    from voice.meaning.expression import Value

TIMES: dict[str, type[MinutesAgo | ClockTime]] = {
    "minutes_ago": MinutesAgo,
    "clock_time": ClockTime,
}
"""The ways of telling when, by the name a phrase file uses."""

KINDS: dict[str, type[BaseModel]] = {
    kind.model_fields["kind"].default: kind for kind in get_args(get_args(Entry)[0])
}
"""The kinds of entry by the name that a file uses."""
_Value = int | float | str | bool


class _File(BaseModel, frozen=True, extra="forbid"):
    about: str
    joined: bool = False
    spellings: dict[str, str] = {}
    unit: dict[str, Any] = {}
    drug: dict[str, Any] = {}
    rules: dict[str, str] = {}
    slots: dict[str, Any] = {}
    phrase: list[dict[str, Any]] = []
    ask: dict[str, str] = {}
    examples: dict[str, Any] = {}
    refused: list[str] = []


class _Phrase(BaseModel, frozen=True, extra="forbid"):
    entry: str | None = None
    time: Literal["minutes_ago", "clock_time"] | None = None
    talk: Talk | None = None
    question: About | None = None
    check: str | None = None
    choice: Literal[True] | None = None
    correction: Literal[True] | None = None
    lead_in: Literal[True] | None = None
    alone: bool = False
    timeless: bool = False
    say: str
    read: str | None = None
    long: str | None = None
    ask: str | None = None
    place: Literal["before", "after"] | None = None
    states: frozenset[Listening] = STATEMENT_STATES
    fixed: dict[str, _Value] = {}
    default: dict[str, str] = {}
    slots: dict[str, Any] = {}
    cost: float = Field(default=0.0, ge=0)
    misgiven: bool = False  # set by the list of drugs, in no file


_LONGEST_SHOWN = 200
"""Letters of a phrase in the sentence about it."""
_Said = Annotated[int | float, Field(ge=-FARTHEST, le=FARTHEST)]


class _Range(BaseModel, frozen=True, extra="forbid"):
    min: _Said
    max: _Said
    step: int | float = Field(default=1, gt=0, le=FARTHEST)
    style: Style = "any"
    negated: bool = False


class _Example(BaseModel):
    """An entry with its fields, and how it was said."""

    model_config = ConfigDict(extra="allow")

    correction: bool = False
    when: MinutesAgo | ClockTime | None = Field(default=None, discriminator="form")


_CHOICES = TypeAdapter(dict[str, str])


OnFault = Callable[[GrammarError], None]


def stop_at_fault(fault: GrammarError) -> None:
    """Raise the first fault."""
    raise fault


class PhraseFile:
    """One phrase file, read and checked.

    Raises GrammarError; ``on_fault`` is told instead of a faulty phrase or example, and it is left
    out.
    """

    def __init__(self, name: str, raw: bytes, on_fault: OnFault = stop_at_fault) -> None:
        self.name = name
        self._on_fault = on_fault
        file = shaped(_File, toml(raw, name), name)
        self._source = raw.decode()
        self._forms_left = MOST_FORMS
        self.drugs = {
            key: shaped(Drug, told, f'{name}, drug "{key}"') for key, told in file.drug.items()
        }
        self.units = {
            key: shaped(Unit, told, f'{name}, unit "{key}"') for key, told in file.unit.items()
        }
        self._joined = file.joined
        self._names: dict[str, Expression] = {
            key: self._slot(key, table, f'{name}, slot "{key}"')
            for key, table in file.slots.items()
        }
        for key, text in file.rules.items():
            self._names[key] = _notation(text, self._names, f'{name}, rule "{key}"')
        self.unsaid = tuple(
            (_kind(kind, where := f'{name}, ask "{kind}"'), _notation(text, self._names, where))
            for kind, text in file.ask.items()
        )
        """By which name each kind of entry is asked for that no phrase makes."""
        self._tables = file.phrase
        self.examples = tuple(self._examples(file.examples))
        self.refused = tuple(file.refused)
        self.spellings = file.spellings

    def phrases(self, drugs: DrugList) -> Iterator[Phrase]:
        """All but its questions; those that are for a list of drugs are made from ``drugs``."""
        for written in self._tables:
            if "question" not in written:
                yield from self._made(written, drugs)

    def questions(self, subjects: Mapping[str, Expression]) -> Iterator[Phrase]:
        """Its questions; ``subjects`` are the slots of what can be asked about."""
        self._names |= subjects
        for written in self._tables:
            if "question" in written:
                yield from self._made(written, DrugList({}, {}, {}))

    def _made(self, written: dict[str, Any], drugs: DrugList) -> list[Phrase]:
        """The phrases of one table."""
        say = str(written.get("say", ""))
        line = self._source[: max(self._source.find(f'"{say}"'), 0)].count("\n") + 1
        shown = say if len(say) <= _LONGEST_SHOWN else f"{say[:_LONGEST_SHOWN]} ..."
        where = f'{self.name}, line {line}, phrase "{shown}"'
        try:
            return [self._phrase(table, where) for table in drugs.phrases(written, where)]
        except GrammarError as fault:
            self._on_fault(fault)
            return []

    def _examples(self, written: dict[str, Any]) -> Iterator[Example]:
        for text, told in written.items():
            try:
                yield Example(self.name, text, _expected(told, f'{self.name}, example "{text}"'))
            except GrammarError as fault:
                self._on_fault(fault)

    def _phrase(self, raw: dict[str, Any], where: str) -> Phrase:
        table = shaped(_Phrase, raw, where)
        makes = (
            table.entry, table.time, table.talk, table.question, table.check, table.choice,
            table.correction, table.lead_in,
        )  # fmt: skip
        if sum(made is not None for made in makes) != 1:
            raise GrammarError(
                f"{where}: it needs exactly one of entry, time, talk, question, check, choice, "
                "correction, lead_in."
            )
        if (table.time is None) != (table.place is None):
            raise GrammarError(f"{where}: a time, and nothing else, has a place: before or after.")
        slots = {
            name: self._slot(name, slot, f'{where}, slot "{name}"')
            for name, slot in table.slots.items()
        }
        expression = _notation(table.say, {**self._names, **slots}, where)
        if None in beginnings(expression):
            raise GrammarError(
                f"{where}: it can be said without a word. Take the [ ] off what is always said."
            )
        phrase = Phrase(
            file=self.name,
            say=table.say,
            expression=expression,
            slots={s.field: s for s in slots_of(expression) if isinstance(s, ValueSlot)},
            entry=table.entry,
            time=table.time,
            place=table.place,
            talk=table.talk,
            question=table.question,
            check=table.check,
            choice=table.choice is not None,
            correction=table.correction is not None,
            lead_in=table.lead_in is not None,
            joined=self._joined and table.entry is not None and not table.alone,
            timeless=table.timeless,
            states=table.states,
            fixed=table.fixed | _made_of(table),
            default=table.default,
            cost=table.cost,
            misgiven=table.misgiven,
            read=table.read,
            long=table.long,
            asked=self._asked(table, slots, where),
        )
        _check_fields(phrase, where)
        _check_read_back(phrase, where)
        return phrase

    def _slot(self, name: str, table: Any, where: str) -> ValueSlot:
        slot = _slot(name, table, where, self._forms_left)
        self._forms_left -= len(slot.forms)
        return slot

    def _asked(
        self, table: _Phrase, slots: Mapping[str, ValueSlot], where: str
    ) -> Expression | None:
        names = {**self._names, **slots}
        name = table.ask or name_in(table.read or "", names)
        return _notation(name, names, f"{where}, asked for") if table.entry and name else None


def _made_of(table: _Phrase) -> dict[str, _Value]:
    """What a question or a word of the talk is, whatever else is said with it."""
    if table.question is not None:
        return {"about": table.question}
    return {} if table.talk is None else {"talk": table.talk}


def _notation(text: str, names: Mapping[str, Expression], where: str) -> Expression:
    try:
        return parse_notation(text, names)
    except NotationError as error:
        raise GrammarError(f"{where}: {error}.") from error


def _model(phrase: Phrase, where: str) -> type[BaseModel] | None:
    """What the phrase makes, if its slots fill something."""
    for is_made, model in (
        (phrase.choice, Choice),
        (phrase.question is not None, Question),
        (phrase.talk is not None, Command),
    ):
        if is_made:
            return model
    if phrase.time is not None:
        return TIMES[phrase.time]
    if phrase.entry is None:
        return None
    return KINDS[_kind(phrase.entry, where)]


def _kind(name: str, where: str) -> str:
    if name not in KINDS:
        raise GrammarError(f'{where}: there is no kind of entry "{name}".')
    return name


def _check_read_back(phrase: Phrase, where: str) -> None:
    """It names slots of the phrase only, and a long one stands beside a short one."""
    if phrase.long and not phrase.read:
        raise GrammarError(f"{where}: what is read back in the long style needs a short one.")
    named = re.findall(r"<(\w*)>", f"{phrase.read} {phrase.long}")
    if strange := set(named) - set(phrase.slots):
        raise GrammarError(f'{where}: its read-back names "{strange.pop()}", which is no slot.')


def _check_fields(phrase: Phrase, where: str) -> None:
    """Every value that can be said can be kept, and nothing needed can be left unsaid."""
    model = _model(phrase, where)
    if model is None:
        return
    fields = model.model_fields
    said = {*phrase.slots, *phrase.fixed, *phrase.default}
    if unknown := sorted(said - set(fields)):
        raise GrammarError(f'{where}: {model.__name__} has no field "{unknown[0]}".')
    always = frozenset.intersection(*bound_fields(phrase.expression))
    sure = {*always, *phrase.fixed, *phrase.default}
    if missing := [name for name, f in fields.items() if f.is_required() and name not in sure]:
        raise GrammarError(f'{where}: it can be said without "{missing[0]}".')
    for name, setting in phrase.default.items():
        if setting not in LegSettings.model_fields:
            raise GrammarError(f'{where}: "{setting}", the default of {name}, is no setting.')
    values = {name: [value] for name, value in phrase.fixed.items()}
    values |= {name: _extremes(slot) for name, slot in phrase.slots.items()}
    for name, extremes in values.items():
        for value in extremes:
            try:
                field_adapter(model, name).validate_python(value)
            except ValidationError as error:
                told = error.errors()[0]["msg"]
                raise GrammarError(f"{where}: {name} cannot be {value}: {told}.") from error


def _extremes(slot: ValueSlot) -> list[Value]:
    """The least and the greatest number of the slot, and all that is no number."""
    values = set(slot.forms.values())
    numbers = sorted(value for value in values if not isinstance(value, str))
    return [*numbers[:1], *numbers[-1:], *(value for value in values if isinstance(value, str))]


@cache
def field_adapter(model: type[BaseModel], name: str) -> TypeAdapter[Any]:
    """What one field of a kind may hold."""
    info = model.model_fields[name]
    hint: Any = Annotated[info.annotation, info]
    return TypeAdapter(hint)


_Ways = Sequence[tuple[str, ...]]
_Listed = Iterator[tuple["Value", str, _Ways]]
"""Values, each with its read-back and all its ways of being said."""


def _slot(name: str, table: Any, where: str, most: int) -> ValueSlot:
    """The slot of one table or of a list of them: each a range of numbers, or choices; with so many forms at most."""
    forms: dict[tuple[str, ...], Value] = {}
    spoken: dict[str, str] = {}
    for part in table if isinstance(table, list) else [table]:
        is_range = isinstance(part, dict) and "min" in part
        listed = _numbers(shaped(_Range, part, where), where) if is_range else _choices(part, where)
        for value, read, ways in listed:
            spoken.setdefault(key_of(value), read)
            for way in ways:
                if forms.setdefault(way, value) != value:
                    raise GrammarError(
                        f'{where}: "{" ".join(way)}" would mean both {forms[way]} and {value}.'
                    )
            if len(forms) > most:
                raise GrammarError(
                    f"{where}: the values of this file can be said in more than {MOST_FORMS} ways. "
                    "Give its numbers the ranges that are really said, or greater steps."
                )
    if not forms:
        raise GrammarError(f"{where}: it has no value: is its greatest smaller than its smallest?")
    return ValueSlot(name, forms, spoken)


def _numbers(span: _Range, where: str) -> _Listed:
    steps = (span.max - span.min) / span.step
    if steps > MOST_VALUES:
        raise GrammarError(
            f"{where}: it has more than {MOST_VALUES} values. Give it the range that is really said, "
            "or a greater step."
        )
    for n in range(round(steps) + 1):
        value = plain(span.min + n * span.step)
        read, ways = _aloud(value, span.style)
        yield -value if span.negated else value, read, ways


@cache  # most ranges share their numbers, and this is half of what loading takes
def _aloud(value: Number, style: Style) -> tuple[str, _Ways]:
    """How a number is read back, and all its ways of being said."""
    if style in {"hour", "minute"}:
        read = " ".join(digit_words(int(figure)) for figure in f"{value:02d}")
    else:
        read = digit_words(value)
    return read, tuple(tuple(form.split()) for form in spoken_forms(value, style))


def _choices(part: Any, where: str) -> _Listed:
    try:
        choices = _CHOICES.validate_python(part)
    except ValidationError as error:
        raise GrammarError(
            f"{where}: it is neither a range of numbers (min, max) nor choices (value = words)."
        ) from error
    for value, text in choices.items():
        ways = wordings(_notation(text, {}, where))
        if () in ways:
            raise GrammarError(
                f'{where}: "{value}" can be said without a word. Leave the <slot> out of a wording instead.'
            )
        yield value, " ".join(ways[0]), ways


def _expected(told: Any, where: str) -> Meaning:
    """What an example states: a word of the talk, a number, an entry, or a list of entries."""
    try:
        if isinstance(told, list):
            return Several.model_validate({"statements": [{"entry": entry} for entry in told]})
        if isinstance(told, str):
            return Command(talk=Talk(told))
        if isinstance(told, int | float):
            return Choice(value=told)
        if isinstance(told, dict) and "question" in told:
            asked = {key: value for key, value in told.items() if key != "question"}
            return Question.model_validate({"about": told["question"], **asked})
        if isinstance(told, dict) and told.keys() & {"talk", "check"}:
            return (Command if "talk" in told else StartCheck).model_validate(told)
        example = _Example.model_validate(told)
        statement = Statement.model_validate({"entry": example.model_extra, "when": example.when})
        return Correction(statement=statement) if example.correction else statement
    except ValueError as error:
        raise GrammarError(f"{where}: {error}") from error
