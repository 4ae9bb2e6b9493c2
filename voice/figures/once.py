"""What is worked out of a leg, worked out once.

Between two events a leg stays the same object, and whoever waits for a reminder asks the same of it
every few seconds, all night.
"""

from __future__ import annotations

from functools import wraps
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

    from voice.entries.leg import Leg

Found = TypeVar("Found")


def once(work: Callable[[Leg], Found]) -> Callable[[Leg], Found]:
    """``work``, which remembers what it made of the last leg: nothing of a leg ever changes.

    What it makes must not change either.
    """
    last: tuple[Leg, Found] | None = None

    @wraps(work)
    def remembering(leg: Leg) -> Found:
        nonlocal last
        known = last
        if known is None or known[0] is not leg:
            known = last = (leg, work(leg))
        return known[1]

    return remembering
