"""Phrase files: read, checked, and every fault named with its file and line.

How they are written is told in ``docs/grammar.md``.
"""

from __future__ import annotations

import tomllib
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, get_args

from pydantic import BaseModel, TypeAdapter, ValidationError

from voice.entries.kinds import Entry
from voice.entries.leg import LegSettings
from voice.entries.said import Choice, ClockTime, Command, Correction, MinutesAgo, Statement, Talk
from voice.meaning.expression import (
    Expression,
    NotationError,
    bound_fields,
    parse_notation,
    slots_of,
    wordings,
)
from voice.meaning.listening import Listening
from voice.meaning.numbers import Style, digit_words, plain, spoken_forms
from voice.meaning.phrase import (
    STATEMENT_STATES,
    Example,
    GrammarError,
    Phrase,
    ValueSlot,
    key_of,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from voice.entries.said import Meaning
    from voice.meaning.expression import Value

TIMES: dict[str, type[MinutesAgo | ClockTime]] = {
    "minutes_ago": MinutesAgo,
    "clock_time": ClockTime,
}
"""The ways of telling when, by the name a phrase file uses."""

_KINDS: dict[str, type[BaseModel]] = {
    kind.model_fields["kind"].default: kind for kind in get_args(get_args(Entry)[0])
}
_FILE_KEYS = {"about", "spellings", "rules", "slots", "phrase", "examples", "refused"}
_PHRASE_KEYS = {
    "entry", "time", "place", "talk", "choice", "correction", "say", "read",
    "states", "fixed", "default", "slots", "cost",
}  # fmt: skip
_RANGE_KEYS = {"min", "max", "step", "style", "negated"}


class PhraseFile:
    """One phrase file."""

    def __init__(self, name: str, raw: bytes) -> None:
        self.name = name
        try:
            self._source = raw.decode()
            data = tomllib.loads(self._source)
        except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            raise GrammarError(f"{name} is not valid TOML: {error}.") from error
        self._only(data, _FILE_KEYS, name)
        self._names: dict[str, Expression] = {
            key: self._slot(key, table, f'{name}, slot "{key}"')
            for key, table in data.get("slots", {}).items()
        }
        for key, text in data.get("rules", {}).items():
            self._names[key] = self._notation(text, self._names, f'{name}, rule "{key}"')
        self.phrases = tuple(self._phrase(table) for table in data.get("phrase", []))
        self.examples = tuple(
            Example(name, text, self._expected(text, told))
            for text, told in data.get("examples", {}).items()
        )
        self.refused: tuple[str, ...] = tuple(data.get("refused", []))
        self.spellings: dict[str, str] = data.get("spellings", {})

    def _only(self, table: Mapping[str, Any], known: set[str], where: str) -> None:
        if unknown := sorted(set(table) - known):
            raise GrammarError(
                f'{where}: nobody knows "{unknown[0]}"; known are {", ".join(sorted(known))}.'
            )

    def _notation(self, text: str, names: Mapping[str, Expression], where: str) -> Expression:
        try:
            return parse_notation(text, names)
        except NotationError as error:
            raise GrammarError(f"{where}: {error}.") from error

    def _phrase(self, table: dict[str, Any]) -> Phrase:
        say = table.get("say", "")
        line = self._source[: max(self._source.find(f'"{say}"'), 0)].count("\n") + 1
        where = f'{self.name}, line {line}, phrase "{say}"'
        self._only(table, _PHRASE_KEYS, where)
        kinds = [key for key in ("entry", "time", "talk", "choice", "correction") if key in table]
        if len(kinds) != 1:
            raise GrammarError(
                f"{where}: it needs exactly one of entry, time, talk, choice, correction."
            )
        slots = {
            name: self._slot(name, slot, f'{where}, slot "{name}"')
            for name, slot in table.get("slots", {}).items()
        }
        names = {**self._names, **slots}
        expression = self._notation(say, names, where)
        used = {s.field: s for s in slots_of(expression) if isinstance(s, ValueSlot)}
        try:
            states = frozenset(Listening(state) for state in table.get("states", STATEMENT_STATES))
            talk = Talk(table["talk"]) if "talk" in table else None
        except ValueError as error:
            raise GrammarError(f"{where}: {error}.") from error
        phrase = Phrase(
            file=self.name,
            say=say,
            expression=expression,
            slots=used,
            entry=table.get("entry"),
            time=table.get("time"),
            place=table.get("place"),
            talk=talk,
            choice=table.get("choice", False),
            correction=table.get("correction", False),
            states=states,
            fixed=table.get("fixed", {}),
            default=table.get("default", {}),
            cost=table.get("cost", 0.0),
            read=table.get("read"),
        )
        self._check_fields(phrase, where)
        return phrase

    def _model(self, phrase: Phrase, where: str) -> type[BaseModel] | None:
        """What the phrase makes, if its slots fill something."""
        if phrase.choice:
            return Choice
        if phrase.entry is not None:
            if phrase.entry not in _KINDS:
                raise GrammarError(f'{where}: there is no kind of entry "{phrase.entry}".')
            return _KINDS[phrase.entry]
        if phrase.time is not None:
            if phrase.time not in TIMES or phrase.place not in {"before", "after"}:
                raise GrammarError(
                    f"{where}: a time is {' or '.join(TIMES)}, and its place before or after."
                )
            return TIMES[phrase.time]
        return None

    def _check_fields(self, phrase: Phrase, where: str) -> None:
        """Every value that can be said can be kept, and nothing needed can be left unsaid."""
        model = self._model(phrase, where)
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
                    _field_adapter(model, name).validate_python(value)
                except ValidationError as error:
                    told = error.errors()[0]["msg"]
                    raise GrammarError(f"{where}: {name} cannot be {value}: {told}.") from error

    def _slot(self, name: str, table: Any, where: str) -> ValueSlot:
        forms: dict[tuple[str, ...], Value] = {}
        spoken: dict[str, str] = {}
        for part in table if isinstance(table, list) else [table]:
            listed = self._range(part, where) if "min" in part else self._choices(part, where)
            for value, read, ways in listed:
                spoken.setdefault(key_of(value), read)
                for way in ways:
                    if forms.setdefault(way, value) != value:
                        raise GrammarError(
                            f'{where}: "{" ".join(way)}" would mean both {forms[way]} and {value}.'
                        )
        return ValueSlot(name, forms, spoken)

    def _range(
        self, part: Mapping[str, Any], where: str
    ) -> list[tuple[Value, str, list[tuple[str, ...]]]]:
        self._only(part, _RANGE_KEYS, where)
        step, style = part.get("step", 1), part.get("style", "any")
        if style not in get_args(Style):
            raise GrammarError(f"{where}: a style is one of {', '.join(get_args(Style))}.")
        listed: list[tuple[Value, str, list[tuple[str, ...]]]] = []
        for n in range(round((part["max"] - part["min"]) / step) + 1):
            value = plain(part["min"] + n * step)
            read = f"{value:02d}" if style in {"hour", "minute"} else None
            spoken = " ".join(digit_words(int(c)) for c in read) if read else digit_words(value)
            ways = [tuple(form.split()) for form in spoken_forms(value, style)]
            listed.append((-value if part.get("negated") else value, spoken, ways))
        return listed

    def _choices(
        self, part: Mapping[str, Any], where: str
    ) -> list[tuple[Value, str, list[tuple[str, ...]]]]:
        listed: list[tuple[Value, str, list[tuple[str, ...]]]] = []
        for value, text in part.items():
            ways = wordings(self._notation(text, {}, where))
            listed.append((value, " ".join(ways[0]), ways))
        return listed

    def _expected(self, text: str, told: Any) -> Meaning:
        """The meaning that an example states: a word of the talk, a number, or an entry."""
        try:
            if isinstance(told, str):
                return Command(talk=Talk(told))
            if isinstance(told, int | float):
                return Choice(value=told)
            fields = dict(told)
            correction, when = fields.pop("correction", False), fields.pop("when", None)
            statement = Statement.model_validate({"entry": fields, "when": when})
            return Correction(statement=statement) if correction else statement
        except ValueError as error:
            raise GrammarError(f'{self.name}, example "{text}": {error}') from error


def _extremes(slot: ValueSlot) -> list[Value]:
    """The least and the greatest number of the slot, and all that is no number."""
    values = set(slot.forms.values())
    numbers = sorted(value for value in values if not isinstance(value, str))
    return [*numbers[:1], *numbers[-1:], *(value for value in values if isinstance(value, str))]


@cache
def _field_adapter(model: type[BaseModel], name: str) -> TypeAdapter[Any]:
    info = model.model_fields[name]
    hint: Any = Annotated[info.annotation, info]
    return TypeAdapter(hint)
