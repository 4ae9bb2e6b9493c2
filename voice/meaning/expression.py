"""The expression tree of the grammar, and its notation.

One tree serves three uses: it is compiled to the recogniser's acceptor (`voice.meaning.automaton`),
it parses the words that came out (`match`), and it makes up legal phrases (`sample`).

The notation is that of the open standards JSGF and ABNF, without recursion:

    drain (open | opened)        words, one of several, grouped
    [the] tragus                 optional
    <icp> <value> [<unit>]       a named rule or slot
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import random
    from collections.abc import Iterator, Mapping, Sequence

Value = int | float | str | bool


@dataclass(frozen=True, slots=True)
class Word:
    """One word, in small letters."""

    text: str


@dataclass(frozen=True, slots=True)
class Row:
    """One part after the other; none: nothing at all."""

    parts: tuple[Expression, ...]


@dataclass(frozen=True)
class Either:
    """One of the parts."""

    parts: tuple[Expression, ...]

    def beginning(self, word: str | None) -> tuple[Expression, ...]:
        """The parts that may begin with ``word``, or be nothing; of hundreds of phrases, a few."""
        return self._beginning.get(word) or self._beginning[None]

    @cached_property
    def _beginning(self) -> dict[str | None, tuple[Expression, ...]]:
        firsts = [(part, beginnings(part)) for part in self.parts]
        words = {None}.union(*(found for _, found in firsts))
        return {
            word: tuple(part for part, found in firsts if word in found or None in found)
            for word in words
        }


@dataclass(frozen=True, eq=False)
class Slot:
    """The place of a value: a list of all ways of saying all its values."""

    field: str
    forms: Mapping[tuple[str, ...], Value]

    @cached_property
    def firsts(self) -> frozenset[str | None]:
        """The words with which a form begins, and ``None`` where one is nothing at all."""
        return frozenset(form[0] if form else None for form in self.forms)

    @cached_property
    def words(self) -> frozenset[str]:
        """Every word of its forms."""
        return frozenset(word for form in self.forms for word in form)

    @cached_property
    def most_words(self) -> int:
        """How many words the longest form has."""
        return max(map(len, self.forms))

    def beginning(self, words: Sequence[str], at: int) -> Iterator[tuple[int, Value]]:
        """Where in ``words`` a form ends that starts ``at``, shortest first, and its value."""
        if at < len(words) and words[at] not in self.firsts and None not in self.firsts:
            return
        for end in range(at, min(at + self.most_words, len(words)) + 1):
            form = tuple(words[at:end])
            if form in self.forms:
                yield end, self.forms[form]


@dataclass(frozen=True, eq=False)
class Marked:
    """A part that means something: `match` tells the mark with the values found inside."""

    part: Expression
    mark: Any
    cost: float = 0.0
    """How much rarer it is said than the rest, as a natural logarithm; for the recogniser only."""


Expression = Word | Row | Either | Slot | Marked
NOTHING = Row(())


@dataclass(frozen=True, slots=True)
class Found:
    """A mark that was met, with the values of the slots inside it."""

    mark: Any
    fields: Mapping[str, Value]


def match(expression: Expression, words: Sequence[str]) -> Iterator[tuple[Found, ...]]:
    """Every way in which ``expression`` covers all of ``words``."""
    for end, found in _match(expression, words, 0):
        if end == len(words):
            yield tuple(f for f in found if isinstance(f, Found))


_Events = tuple["Found | tuple[str, Value]", ...]


def _match(node: Expression, words: Sequence[str], at: int) -> Iterator[tuple[int, _Events]]:
    match node:
        case Word(text):
            if at < len(words) and words[at] == text:
                yield at + 1, ()
        case Row(parts):
            yield from _match_row(parts, words, at)
        case Either():
            for part in node.beginning(words[at] if at < len(words) else None):
                yield from _match(part, words, at)
        case Slot():
            yield from _match_slot(node, words, at)
        case Marked(part, mark, _):
            for end, events in _match(part, words, at):
                fields = dict(e for e in events if not isinstance(e, Found))
                inner = tuple(e for e in events if isinstance(e, Found))
                yield end, (Found(mark, fields), *inner)


def _match_slot(slot: Slot, words: Sequence[str], at: int) -> Iterator[tuple[int, _Events]]:
    for end, value in slot.beginning(words, at):
        yield end, ((slot.field, value),)


def _match_row(
    parts: tuple[Expression, ...], words: Sequence[str], at: int
) -> Iterator[tuple[int, _Events]]:
    if not parts:
        yield at, ()
        return
    for middle, first in _match(parts[0], words, at):
        for end, rest in _match_row(parts[1:], words, middle):
            yield end, first + rest


def beginnings(node: Expression) -> frozenset[str | None]:
    """The words with which ``node`` may begin, and ``None`` where it may be nothing at all."""
    match node:
        case Word(text):
            return frozenset({text})
        case Row(parts):
            found: frozenset[str | None] = frozenset({None})
            for part in parts:
                found = found - {None} | beginnings(part)
                if None not in found:
                    break
            return found
        case Either(parts):
            return frozenset[str | None]().union(*map(beginnings, parts))
        case Slot():
            return node.firsts
        case Marked(part):
            return beginnings(part)


def sample(node: Expression, rng: random.Random) -> list[str]:
    """The words of one legal phrase; each choice is equally likely."""
    match node:
        case Word(text):
            return [text]
        case Row(parts):
            return [word for part in parts for word in sample(part, rng)]
        case Either(parts):
            return sample(rng.choice(parts), rng)
        case Slot(_, forms):
            return list(rng.choice(tuple(forms)))
        case Marked(part):
            return sample(part, rng)


def wordings(node: Expression) -> list[tuple[str, ...]]:
    """Every phrase of ``node``, in the order in which it is written."""
    match node:
        case Word(text):
            return [(text,)]
        case Row(parts):
            found: list[tuple[str, ...]] = [()]
            for part in parts:
                found = [a + b for a in found for b in wordings(part)]
            return found
        case Either(parts):
            return [phrase for part in parts for phrase in wordings(part)]
        case Slot(_, forms):
            return list(forms)
        case Marked(part):
            return wordings(part)


def slots_of(node: Expression) -> Iterator[Slot]:
    """Every slot in ``node``, as often as it stands there."""
    match node:
        case Slot():
            yield node
        case Row(parts) | Either(parts):
            for part in parts:
                yield from slots_of(part)
        case Marked(part):
            yield from slots_of(part)


def bound_fields(node: Expression) -> frozenset[frozenset[str]]:
    """Which fields get a value, for each way through ``node``."""
    match node:
        case Slot(name, _):
            return frozenset({frozenset({name})})
        case Row(parts):
            ways: frozenset[frozenset[str]] = frozenset({frozenset()})
            for part in parts:
                ways = frozenset(a | b for a in ways for b in bound_fields(part))
            return ways
        case Either(parts):
            return frozenset().union(*map(bound_fields, parts))
        case Marked(part):
            return bound_fields(part)
    return frozenset({frozenset()})


class NotationError(ValueError):
    """An expression that cannot be read; the message says what and where."""


_TOKEN = re.compile(r"\s*(?:(<[a-z0-9_]+>)|([a-z']+)|([\[\]()|]))")


def parse_notation(text: str, names: Mapping[str, Expression]) -> Expression:
    """The tree of ``text``; ``<name>`` is taken from ``names``.

    Raises NotationError.
    """
    tokens: list[str] = []
    at = 0
    while text[at:].strip():
        token = _TOKEN.match(text, at)
        if token is None:
            raise NotationError(f'"{text[at:].strip()}" is no word, <name> or one of [ ] ( ) |')
        tokens.append(token.group().strip())
        at = token.end()
    tree, rest = _either(tokens, names)
    if rest:
        raise NotationError(f'"{rest[0]}" closes nothing in "{text}"')
    return tree


def _either(tokens: list[str], names: Mapping[str, Expression]) -> tuple[Expression, list[str]]:
    parts: list[Expression] = []
    while True:
        row, tokens = _row(tokens, names)
        parts.append(row)
        if tokens[:1] != ["|"]:
            break
        tokens = tokens[1:]
    return (parts[0] if len(parts) == 1 else Either(tuple(parts))), tokens


def _row(tokens: list[str], names: Mapping[str, Expression]) -> tuple[Expression, list[str]]:
    parts: list[Expression] = []
    while tokens and tokens[0] not in {"|", "]", ")"}:
        token, tokens = tokens[0], tokens[1:]
        if token in {"(", "["}:
            inside, tokens = _either(tokens, names)
            closing = {"(": ")", "[": "]"}[token]
            if tokens[:1] != [closing]:
                raise NotationError(f'"{token}" is not closed by "{closing}"')
            tokens = tokens[1:]
            parts.append(Either((NOTHING, inside)) if closing == "]" else inside)
        elif token.startswith("<"):
            name = token[1:-1]
            if name not in names:
                raise NotationError(f"there is no rule or slot {token}")
            parts.append(names[name])
        else:
            parts.append(Word(token))
    if not parts:
        raise NotationError("a part is empty; write [ ] around what may be left out")
    return (parts[0] if len(parts) == 1 else Row(tuple(parts))), tokens
