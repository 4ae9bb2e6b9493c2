"""Fits how two opinions are put together, and shows what comes of it, beside each listener alone.

    python -m tests.bench.two_opinions tests/bench/opinions.jsonl [--plot docs/second-listener.png]

The data are of `tests.bench.opinions`. The weights maximise the likelihood of what was said among all that either
list holds (a conditional logit). Every figure is of weights that were fitted without that utterance's text
(five parts, by the hash of the text); printed at the end are those fitted on all of it, for
``voice/meaning/two_opinions.toml``.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from collections import Counter
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from scipy.optimize import minimize

from tests.bench.__main__ import ORDER
from tests.bench.opinions import SETTINGS, STATE
from voice.entries.heard import Alternative, Hearing
from voice.meaning.decide import decide, read
from voice.meaning.decision import Accept, AskBetween, Decision, NotForUs
from voice.meaning.grammar import load_grammar
from voice.meaning.two_opinions import (
    choose,
    is_asked,
    put_together,
    shipped_weights,
    stands,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from voice.meaning.decide import Opinion
    from voice.meaning.two_opinions import Together, Weights

GRAMMAR = load_grammar()
PARTS = 5
FITTED = ("first", "second")
"""What other talk gains is set by hand: there is too little of it in the data."""
LOOSE = 0.01
"""How much a weight is drawn to what it was guessed to be: little, but where the data tell nothing it stays there."""
STEPS = (0.6, 0.7, 0.8, 0.9, 0.95, 0.97, 0.98, 0.99, 0.995, 0.998)
"""Probabilities from which on is taken, for the curve."""


@dataclass(frozen=True)
class Heard:
    """A segment that both listeners heard, or the first alone (``second`` is ``None``)."""

    utterance: int
    kind: str
    said: str | None
    noise_db: float | None
    wanted: frozenset[object]
    alone: Decision
    first: Opinion
    second: Opinion | None

    @property
    def part(self) -> int:
        """Which part of the data it belongs to: all of one text to the same."""
        return hashlib.sha256((self.said or str(self.utterance)).encode()).digest()[0] % PARTS

    def decision(self, weights: Weights) -> Decision:
        """By two opinions, where the second is asked."""
        if self.second is None or not is_asked(self.alone, STATE):
            return self.alone
        together = put_together(self.first, self.second, weights)
        stand = stands(self.first, self.second, weights)
        return choose(together, stand, self.alone, weights)

    def outcome(self, decision: Decision) -> str:
        """What that is to the nurse, by the words of `tests.bench`."""
        match decision:
            case Accept(heard=heard):
                return "right" if heard.meaning in self.wanted else "wrong"
            case AskBetween(first=first, second=second):
                right = {first.meaning, second.meaning} & self.wanted
                return "asked" if right else "asked, neither right"
            case NotForUs():
                return "not heard"
        return "not understood"


def heard_of(row: dict[str, Any]) -> Heard:
    """A line of the data."""
    first = _hearing(row["vosk"], row.get("beginnings", ()))
    wanted = GRAMMAR.parse(row["said"], SETTINGS, STATE) if row["said"] else ()
    second = row["whisper"]
    return Heard(
        row["id"],
        row["kind"],
        row["said"],
        row["noise_db"],
        frozenset(wanted),
        decide(first, GRAMMAR, STATE, SETTINGS, cut=row.get("cut", False)),
        read(first, GRAMMAR, STATE, SETTINGS),
        None if second is None else read(_hearing(second), GRAMMAR, STATE, SETTINGS),
    )


def _hearing(
    listed: Iterable[tuple[str, float]], beginnings: Iterable[tuple[str, float]] = ()
) -> Hearing:
    whole, begun = (tuple(Alternative(*one) for one in some) for some in (listed, beginnings))
    return Hearing(whole, beginnings=begun)


def fitted(data: Sequence[Heard], start: Weights) -> Weights:
    """``start`` with the weights under which what was said is likeliest."""
    lists = [
        _in_numbers(put_together(one.first, one.second, start), one.wanted)
        for one in data
        if one.second is not None and is_asked(one.alone, STATE)
    ]
    guesses = np.array([getattr(start, name) for name in FITTED])

    def cost(values: Any) -> float:
        first, second = values
        loss = 0.0
        for behind, leads, right in lists:
            gains = -behind @ (first, second)
            of_other = start.other + leads @ (start.first_other, start.second_other)
            whole = np.logaddexp.reduce([*gains, of_other])
            # what neither list holds is for the model as good as other talk
            loss += whole - (np.logaddexp.reduce(gains[right]) if right.any() else of_other)
        return float(loss + LOOSE * np.sum((values - guesses) ** 2)) / len(lists)

    lowest = [(0.01, None), (0.01, None)]
    found = minimize(cost, guesses, method="L-BFGS-B", bounds=lowest)
    return start.model_copy(update=dict(zip(FITTED, map(float, found.x), strict=True)))


def _in_numbers(together: Together, wanted: frozenset[object]) -> tuple[Any, Any, Any]:
    """How far each candidate is behind in both lists, other talk's leads, and which candidates are right."""
    behind = [(one.behind_first, one.behind_second) for one in together.candidates]
    leads = np.array([together.first_other, together.second_other])
    right = np.array([one.reading.meaning in wanted for one in together.candidates])
    return np.array(behind), leads, right


def worst(outcomes: Iterable[str]) -> str:
    """Of an utterance that was cut in two the worse part counts."""
    return min(outcomes, key=ORDER.index, default="not heard")


def by_utterance(data: Sequence[Heard], outcome: Callable[[Heard], str]) -> list[tuple[Heard, str]]:
    """The outcome of each utterance, with its first segment."""
    ordered = sorted(data, key=lambda one: one.utterance)
    groups = (list(group) for _, group in groupby(ordered, lambda one: one.utterance))
    return [(group[0], worst(map(outcome, group))) for group in groups]


def second_alone(one: Heard) -> str:
    """Its likeliest phrase, taken as it is: it has no thresholds of its own."""
    if one.second is None or not one.second.readings:
        return "not heard"
    return "right" if one.second.readings[0].meaning in one.wanted else "wrong"


def first_alone(one: Heard) -> str:
    """The same of the first: what each would be without a question."""
    if not one.first.readings:
        return "not heard"
    return "right" if one.first.readings[0].meaning in one.wanted else "wrong"


def table(data: Sequence[Heard], parts: Sequence[Weights]) -> list[str]:
    """Each alone, and both, per noise: percent of utterances."""
    head = (
        "| noise | utterances | likeliest right: first | second | decided | right | asked, right "
        "among the two | right or asked | wrong | asked, neither right | not understood | passed over |"
    )
    lines = [head, "|---" * 12 + "|"]
    said = [one for one in data if one.said is not None]
    for noise_db in sorted(
        {one.noise_db for one in said if one.noise_db is not None}, reverse=True
    ):
        here = [one for one in said if one.noise_db == noise_db]
        alike = [_share(by_utterance(here, way), "right") for way in (first_alone, second_alone)]
        for name, way in (
            ("first alone", lambda one: one.outcome(one.alone)),
            ("both", lambda one: one.outcome(one.decision(parts[one.part]))),
        ):
            found = by_utterance(here, way)
            right, asked = _share(found, "right"), _share(found, "asked")
            shares = [right, asked, right + asked]
            rest = ("wrong", "asked, neither right", "not understood", "not heard")
            shares += [_share(found, outcome) for outcome in rest]
            likeliest, decided = (
                " | ".join(f"{share:.1f}" for share in some) for some in (alike, shares)
            )
            lines.append(f"| {noise_db:g} dB | {len(found)} | {likeliest} | {name} | {decided} |")
    return lines


def _share(found: Sequence[tuple[Heard, str]], outcome: str) -> float:
    return 100 * sum(one == outcome for _, one in found) / max(1, len(found))


def other_talk(data: Sequence[Heard], parts: Sequence[Weights]) -> str:
    """What became of talk that is no command."""
    talk = [one for one in data if one.said is None]
    alone = Counter(one.outcome(one.alone) for one in talk)
    both = Counter(one.outcome(one.decision(parts[one.part])) for one in talk)
    return (
        f"Of {len(talk)} stretches of other talk, first alone: {dict(alone)}; both: {dict(both)}."
    )


def plot(data: Sequence[Heard], parts: Sequence[Weights], file: Path) -> None:
    """Wrong against asked, per noise, as the probability goes from which on is taken."""
    from matplotlib.figure import Figure  # noqa: PLC0415 - slow to import

    figure = Figure(figsize=(8, 5), layout="constrained")
    axes = figure.subplots()
    said = [one for one in data if one.said is not None and one.noise_db is not None]
    for noise_db, marker in zip((20, 15, 10, 5, 0), "osD^v", strict=True):
        here = [one for one in said if one.noise_db == noise_db]
        if not here:
            continue
        points = []
        for accept in STEPS:
            moved = [weights.model_copy(update={"accept": accept}) for weights in parts]
            found = by_utterance(here, lambda one, w=moved: one.outcome(one.decision(w[one.part])))  # type: ignore[misc]
            points.append((_questions(found), _share(found, "wrong")))
        (line,) = axes.plot(*zip(*points, strict=True), marker=marker, label=f"{noise_db} dB, both")
        alone = by_utterance(here, lambda one: one.outcome(one.alone))
        axes.plot(
            _questions(alone),
            _share(alone, "wrong"),
            marker=marker,
            markersize=11,
            fillstyle="none",
            color=line.get_color(),
            linestyle="",
            label=f"{noise_db} dB, first alone",
        )
    axes.set_xlabel("asked or said again, % of utterances")
    axes.set_ylabel("taken wrongly, % of utterances")
    axes.set_ylim(bottom=-0.1)
    axes.grid(alpha=0.3)
    axes.legend(ncols=2, fontsize="small")
    figure.savefig(file, dpi=110)


def _questions(found: Sequence[tuple[Heard, str]]) -> float:
    return sum(_share(found, one) for one in ("asked", "asked, neither right", "not understood"))


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, print, draw."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.two_opinions", description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--plot", type=Path)
    parser.add_argument("--as-shipped", action="store_true", help="the shipped weights, not fitted")
    chosen = parser.parse_args(arguments)
    lines = chosen.data.read_text("utf-8").splitlines()
    data = [heard_of(json.loads(line)) for line in lines]
    start = shipped_weights()
    if chosen.as_shipped:
        parts = [start] * PARTS
    else:
        parts = [fitted([one for one in data if one.part != n], start) for n in range(PARTS)]
    told = [*table(data, parts), "", other_talk(data, parts)]
    wrong = [
        f'{one.noise_db:g} dB "{one.said}"'
        for one, outcome in by_utterance(data, lambda o: o.outcome(o.decision(parts[o.part])))
        if outcome == "wrong" and one.said is not None
    ]
    told.append(f"Taken wrongly by both: {'; '.join(wrong) or 'none'}.")
    if not chosen.as_shipped:
        every = fitted(data, start)
        told += [f"{name} = {getattr(every, name):.3f}" for name in FITTED]
    sys.stdout.write("\n".join(told) + "\n")
    if chosen.plot is not None:
        plot(data, parts, chosen.plot)


if __name__ == "__main__":
    main()
