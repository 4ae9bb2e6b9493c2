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
from math import prod
from typing import TYPE_CHECKING, Any

from voice.meaning.bounds import MOST_NESTED, MOST_PARTS, MOST_WAYS

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable, Iterator, Mapping, Sequence

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
    """One part after the other, all ways at once: ways that come to the same go on as one.

    So thirty words that may be left out, of which ten were said, are not tried in all 30 million ways.
    """
    ways: list[tuple[int, _Events]] = [(at, ())]
    for part in parts:
        ways = _once(
            (end, events + more)
            for middle, events in ways
            for end, more in _match(part, words, middle)
        )
    yield from ways


def _once(ways: Iterable[tuple[int, _Events]]) -> list[tuple[int, _Events]]:
    """Each once, the first in its place; what holds a mark is not compared."""
    kept: dict[object, tuple[int, _Events]] = {}
    for number, way in enumerate(ways):
        marked = any(isinstance(event, Found) for event in way[1])
        kept.setdefault(number if marked else way, way)
    return list(kept.values())


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


def is_larger(node: Expression, most: int) -> bool:
    """Whether ``node`` has more than so many words and slots; looks at no more of them."""
    waiting, found = [node], 0
    while waiting and found <= most:
        match waiting.pop():
            case Row(parts) | Either(parts):
                waiting += parts
            case Marked(part):
                waiting.append(part)
            case _:
                found += 1
    return found > most


def ways(node: Expression) -> int:
    """In how many ways ``node`` can be said, each slot counted as one."""
    match node:
        case Row(parts):
            return prod(map(ways, parts))
        case Either(parts):
            return sum(map(ways, parts))
        case Marked(part):
            return ways(part)
    return 1


class NotationError(ValueError):
    """An expression that cannot be read; the message says what and where."""


_TOKEN = re.compile(r"\s*(?:(<[a-z0-9_]+>)|([a-z']+)|([\[\]()|]))")


def parse_notation(text: str, names: Mapping[str, Expression]) -> Expression:
    """The tree of ``text``; ``<name>`` is taken from ``names``.

    Raises NotationError.
    """
    tokens: list[str] = []
    at, end = 0, len(text.rstrip())
    while at < end:
        token = _TOKEN.match(text, at)
        if token is None:
            raise NotationError(
                f'"{text[at:].strip()}" is no word in small letters, no <name>, and none of [ ] ( ) |'
            )
        tokens.append(token.group().strip())
        at = token.end()
    _check_nesting(tokens)
    tokens.reverse()
    tree = _either(tokens, names)
    if tokens:
        raise NotationError(f'"{tokens[-1]}" closes nothing in "{text}"')
    if is_larger(tree, MOST_PARTS):
        raise NotationError(f"it has more than {MOST_PARTS} words and slots; write it as several")
    if (found := ways(tree)) > MOST_WAYS:
        raise NotationError(
            f"it can be said in {_about(found)} ways, and at most {MOST_WAYS} may be; take out words "
            "that may be left out"
        )
    return tree


def _check_nesting(tokens: Iterable[str]) -> None:
    depth = 0
    for token in tokens:
        depth += (token in _CLOSING) - (token in _CLOSING.values())
        if depth > MOST_NESTED:
            raise NotationError(f"there are more than {MOST_NESTED} brackets within each other")


def _about(number: int) -> str:
    return f"{number}" if number < 10 * MOST_WAYS else "far too many"


_CLOSING = {"(": ")", "[": "]"}


def _either(tokens: list[str], names: Mapping[str, Expression]) -> Expression:
    """Takes from ``tokens``, of which the last is the next."""
    parts = [_row(tokens, names)]
    while tokens[-1:] == ["|"]:
        tokens.pop()
        parts.append(_row(tokens, names))
    return parts[0] if len(parts) == 1 else Either(tuple(parts))


def _row(tokens: list[str], names: Mapping[str, Expression]) -> Expression:
    parts: list[Expression] = []
    while tokens and tokens[-1] not in {"|", "]", ")"}:
        token = tokens.pop()
        if token in _CLOSING:
            inside = _either(tokens, names)
            if tokens[-1:] != [_CLOSING[token]]:
                raise NotationError(f'"{token}" is not closed by "{_CLOSING[token]}"')
            tokens.pop()
            parts.append(Either((NOTHING, inside)) if token == "[" else inside)  # noqa: S105
        elif token.startswith("<"):
            name = token[1:-1]
            if name not in names:
                raise NotationError(f"there is no rule or slot {token}")
            parts.append(names[name])
        else:
            parts.append(Word(token))
    if not parts:
        raise NotationError("a part is empty; write [ ] around what may be left out")
    return parts[0] if len(parts) == 1 else Row(tuple(parts))
