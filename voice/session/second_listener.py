"""Whether a second listener hears beside the first on this machine, and why.

It is an extra. Where it is installed it is loaded before the leg and tried on a recording; a machine on which
that takes too long is better off without it, since what comes late is not waited for.
"""

from __future__ import annotations

import math
import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from voice.entries.errors import LegbookError
from voice.entries.heard import Hearing
from voice.hearing.second.listener import WhisperListener, WhisperModel
from voice.hearing.second.weights import find_weights
from voice.meaning.listening import Listening
from voice.meaning.two_opinions import ASKED_IN
from voice.session.beside import IN_TIME_S, Beside
from voice.session.kept_acceptors import acceptor
from voice.session.preferences import SecondListener
from voice.session.segments import segments_of

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping

    from voice.hearing.listener import Listener
    from voice.meaning.grammar import Grammar
    from voice.session.models import Model
    from voice.session.setups import Equipment

TRIAL_RECORDING = Path(__file__).parents[2] / "audio_fixtures" / "demo_leg" / "clips" / "006.opus"
"""A short entry: longer ones take longer."""
FAST_ENOUGH_S = IN_TIME_S / 2
"""Longest that it may take over the recording; the longest entries take twice as long (docs/second-listener.md)."""
TRIAL_STATE = Listening.CONFIRMING
"""In which the most can be said."""
TRIAL_S = 2.0
"""Longest that is waited for it before a leg, twice."""


class Found(NamedTuple):
    """The second listener, and what is to be said of it in a sentence."""

    beside: Beside | None
    told: str
    as_chosen: bool = True
    """Whether that is what was wanted; if not, somebody should look at it."""


def find_second(
    chosen: SecondListener,
    model: Model,
    grammar: Grammar,
    *,
    states: Collection[Listening] = ASKED_IN,
    clock: Callable[[], float] = time.perf_counter,
) -> Found:
    """Load it for ``states`` (`TRIAL_STATE` among them) and try it, by ``clock`` (in s); takes a second or two.

    Raises ``LegbookError`` where it is to be on and cannot: it is not installed, or damaged.
    """
    if chosen is SecondListener.OFF:
        return Found(None, "The second listener is off, as was chosen.")
    if not model.is_shipped:
        # how two lists are put together was fitted with the shipped model's scores
        return Found(None, "The second listener is off: it works beside the shipped model only.")
    try:
        listeners = _load(grammar, states)
    except LegbookError as error:
        if chosen is SecondListener.ON:
            raise
        return Found(None, str(error), as_chosen=False)
    took_s = _trial_s(listeners, clock)
    too_slow = took_s > FAST_ENOUGH_S
    took = f"{took_s:.2f} s" if math.isfinite(took_s) else f"more than {TRIAL_S:.0f} s"
    took = f"it took {took} over a short entry, and {FAST_ENOUGH_S:.2f} s is the most"
    if too_slow and chosen is SecondListener.AUTO:
        told = f"The second listener is off: {took}. This machine is too slow or too busy."
        return Found(None, told, as_chosen=False)
    if too_slow:
        told = f"The second listener is on, as was chosen, but will often be late: {took}."
    else:
        told = f"The second listener is on: it took {took_s:.2f} s over a short entry."
    return Found(Beside(listeners), told, as_chosen=not too_slow)


def with_second(equipment: Equipment, *, recorded: bool = False) -> tuple[Equipment, str]:
    """The equipment with the second listener that was chosen, and a sentence about it.

    In recordings there is none unless it is to be on: nobody waits there, and what is heard should not depend on
    a machine's speed. Whatever is wrong with it, the first listener goes on alone.
    """
    chosen = equipment.preferences.second
    if recorded and chosen is SecondListener.AUTO:
        return equipment, "One listener hears recordings, unless --second on is given."
    try:
        found = find_second(chosen, equipment.model, equipment.listened)
    except LegbookError as error:
        return equipment, f"{error} The first listener goes on alone."
    return replace(equipment, second=found.beside), found.told


def _load(grammar: Grammar, states: Collection[Listening]) -> Mapping[Listening, Listener]:
    """One for each small grammar in which it is asked, with one network for all."""
    folder = find_weights()
    phrases = {state: acceptor(grammar, state) for state in sorted({*map(grammar.alike, states)})}
    model = WhisperModel.open(folder, *phrases.values())
    alike = {state: WhisperListener(model, one) for state, one in phrases.items()}
    return {state: alike[grammar.alike(state)] for state in states}


def _trial_s(listeners: Mapping[Listening, Listener], clock: Callable[[], float]) -> float:
    """How long a short entry takes, in s; not the first time, which is slower. Infinite where it never ends."""
    (segment,) = segments_of(TRIAL_RECORDING)
    trial = Beside(listeners, in_time_s=TRIAL_S)
    try:
        trial.opinion(segment, TRIAL_STATE)
        began_s = clock()
        # another sound, so that it is heard anew
        again = trial.opinion(replace(segment), TRIAL_STATE)
        took_s = clock() - began_s
    finally:
        trial.close()
    return took_s if isinstance(again, Hearing) else math.inf
