"""Picking what counts out of a leg: every figure starts here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from voice.entries.leg import LegEntry

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Fact(Generic[T_co]):
    """One thing told in an entry that counts, at the time at which it happened."""

    at: datetime
    told: T_co
    number: int
    """Of the entry."""
    confirmed: bool


def facts(entries: Iterable[LegEntry], kind: type[T]) -> tuple[Fact[T], ...]:
    """What the counting entries of a kind tell, in the order in which it happened."""
    found: list[Fact[T]] = []
    for one in entries:
        entry: object = one.entry
        if isinstance(entry, kind) and one.counts:
            found.append(Fact(one.happened_at, entry, one.number, one.confirmed))
    return tuple(sorted(found, key=lambda fact: (fact.at, fact.number)))


def last(entries: Iterable[LegEntry], kind: type[T]) -> Fact[T] | None:
    """The latest fact of a kind; ``None`` where there is none."""
    found = facts(entries, kind)
    return found[-1] if found else None


def confirmed_only(entries: Iterable[LegEntry]) -> tuple[LegEntry, ...]:
    """The entries that were confirmed aloud: a figure of these shows what the others change."""
    return tuple(e for e in entries if e.confirmed)


def count_unconfirmed(told: Iterable[Fact[object]]) -> int:
    """How many of the facts were never confirmed aloud."""
    return sum(not fact.confirmed for fact in told)
