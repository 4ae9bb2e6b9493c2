"""Fits how two opinions are put together, and shows what comes of it, beside each listener alone.

    python -m tests.bench.two_opinions tests/bench/opinions.jsonl.gz [--plot docs/second-listener.png]
    python -m tests.bench.two_opinions tests/bench/opinions.jsonl.gz --fit

The data are of `tests.bench.opinions`. What is fitted and chosen, is so by some voices; what is shown, is of others
(`HELD_OUT`), and no text that these say is among the first. ``--fit`` maximises the likelihood of what was said among
all that either list holds (a conditional logit), then that of the likeliest being right or wrong (a logistic
regression), takes from `ACCEPTS` what asks least among those that keep the wrong within `MOST_WRONG`, and prints it for ``voice/meaning/two_opinions.toml``; without it the shipped weights are
shown. What fell into several segments is left out: each may be a whole entry and right.
"""

from __future__ import annotations

import argparse
import gzip
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
from voice.acoustics.evaluate import WORDS
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
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from voice.meaning.decide import Opinion
    from voice.meaning.two_opinions import Together, Weights

GRAMMAR = load_grammar()
HELD_OUT = ("nezumi", "tebukuro", "pico")
"""Speakers that nothing is fitted or chosen by; of people who talk of other things every second one, by hash."""
FITTED = ("first", "second")
"""Which is the likeliest. What other talk gains is set by hand: the second is asked about too little of it to tell."""
FITTED_SURE = ("sure", "sure_first", "sure_second", "sure_first_other", "sure_second_other")
"""How sure it is."""
HEARD_DB = 5.0
"""How sure the likeliest is, is fitted with so much speech over noise, or more."""
LOOSE = 0.01
"""How much a weight is drawn to what it was guessed to be (how sure it is: to 0): little, but where the data tell nothing
it stays there."""
ACCEPTS = (0.8, 0.9, 0.95, 0.96, 0.97, 0.975, 0.98, 0.985, 0.99, 0.995)
"""Probabilities from which on is taken."""
QUIET_DB = 10.0
"""With so much speech over noise on nearly nothing may be taken wrongly."""
MOST_WRONG = {QUIET_DB: 0.1, 5.0: 0.5}
"""Percent of utterances, in so much noise or less, but not in the next."""


@dataclass(frozen=True)
class Heard:
    """A segment that both listeners heard, or the first alone (``second`` is ``None``)."""

    utterance: int
    kind: str
    said: str | None
    voice: str
    noise_db: float | None
    wanted: frozenset[object]
    alone: Decision
    first: Opinion
    second: Opinion | None

    @property
    def held_out(self) -> bool:
        """Whether nothing is fitted or chosen by it."""
        if self.said is None:
            return hashlib.sha256(self.voice.encode()).digest()[0] % 2 == 0
        return any(name in self.voice for name in HELD_OUT)

    def together(self, weights: Weights) -> Together | None:
        """Both lists as one, where the second was asked about it."""
        if self.second is None or not is_asked(self.alone, STATE):
            return None
        return put_together(self.first, self.second, weights)

    def decision(self, weights: Weights) -> Decision:
        """By two opinions, where the second is asked."""
        together = self.together(weights)
        if self.second is None or together is None:
            return self.alone
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
        row["voice"],
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
        _in_numbers(together, one.wanted)
        for one in data
        if (together := one.together(start)) is not None
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


def fitted_sureness(data: Sequence[Heard], start: Weights) -> Weights:
    """``start`` with the weights under which it is likeliest when what leads is right (a logistic regression)."""
    rows, right = [], []
    for one in data:
        together = one.together(start)
        if together and one.said and one.noise_db is not None and one.noise_db >= HEARD_DB:
            ((_, top), *_), _ = together.ranked(start)
            rows.append((1.0, *together.evidence(top, start)))
            right.append(top.reading.meaning in one.wanted)
    evidence, was_right = np.array(rows), np.array(right)
    # leads reach 8 or 20: the search wants them alike
    spread = np.maximum(np.abs(evidence).max(axis=0), 1.0)

    def cost(values: Any) -> float:
        odds = evidence / spread @ values
        return float(np.mean(np.logaddexp(0, odds) - was_right * odds) + LOOSE**2 * values @ values)

    found = minimize(cost, np.zeros(len(FITTED_SURE)), method="L-BFGS-B").x / spread
    return start.model_copy(update=dict(zip(FITTED_SURE, map(float, found), strict=True)))


def chosen_line(data: Sequence[Heard], weights: Weights) -> Weights:
    """``weights`` with the probability by which least is asked, where no more is taken wrongly than may be."""
    told = [
        (noise_db, [one for one in data if one.noise_db is not None and _is_as(one, noise_db)])
        for noise_db in MOST_WRONG
    ]
    good = []
    for accept in ACCEPTS:
        moved = weights.model_copy(update={"accept": accept})
        found = {noise_db: by_utterance(some, _by(moved)) for noise_db, some in told}
        wrong = {noise_db: _share(some, "wrong") for noise_db, some in found.items()}
        asked = _questions(found[QUIET_DB])
        sys.stdout.write(f"accept {accept:g}: wrong {wrong} %, asked {asked:.1f} %\n")
        if all(wrong[noise_db] <= most for noise_db, most in MOST_WRONG.items()):
            good.append((asked, moved))
    return min(good, key=lambda one: one[0])[1]


def _is_as(one: Heard, noise_db: float) -> bool:
    assert one.noise_db is not None
    return one.noise_db >= QUIET_DB if noise_db == QUIET_DB else one.noise_db == noise_db


def _by(weights: Weights) -> Callable[[Heard], str]:
    return lambda one: one.outcome(one.decision(weights))


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


def table(data: Sequence[Heard], weights: Weights) -> list[str]:
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
            ("both", lambda one: one.outcome(one.decision(weights))),
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


def other_talk(data: Sequence[Heard], weights: Weights) -> str:
    """What became of talk that is no command."""
    talk = [one for one in data if one.said is None]
    alone = Counter(one.outcome(one.alone) for one in talk)
    both = Counter(one.outcome(one.decision(weights)) for one in talk)
    return (
        f"Of {len(talk)} stretches of other talk, first alone: {dict(alone)}; both: {dict(both)}."
    )


def number_words(data: Sequence[Heard], weights: Weights) -> list[str]:
    """Single number words of people: how often the likeliest is right, in percent."""
    lines = ["| noise | number words | first | second | both |", "|---" * 5 + "|"]
    for noise_db in (None, QUIET_DB):
        here = [one for one in data if one.noise_db == noise_db and one.second is not None]
        if not here:
            continue
        by_each = (
            [_likeliest(one.first) for one in here],
            [_likeliest(one.second) for one in here],
            [likeliest_of_both(one, weights) for one in here],
        )
        said = [one.said for one in here]
        first, second, both = (
            100 * float(np.mean([a == b for a, b in zip(some, said, strict=True)]))
            for some in by_each
        )
        name = "none" if noise_db is None else f"{noise_db:g} dB"
        lines.append(f"| {name} | {len(here)} | {first:.1f} | {second:.1f} | {both:.1f} |")
    return lines


def _likeliest(opinion: Opinion | None) -> str | None:
    return opinion.readings[0].text if opinion is not None and opinion.readings else None


def likeliest_of_both(one: Heard, weights: Weights) -> str | None:
    """The words that are likeliest by both lists."""
    if one.second is None or not one.first.readings:
        return _likeliest(one.second)
    ((_, top), *_), _ = put_together(one.first, one.second, weights).ranked(weights)
    return top.reading.text


def plot(data: Sequence[Heard], weights: Weights, file: Path) -> None:
    """Wrong against asked, per noise, as the probability goes from which on is taken."""
    from matplotlib.figure import Figure  # noqa: PLC0415 - slow to import

    figure = Figure(figsize=(8, 5), layout="constrained")
    axes = figure.subplots()
    said = [one for one in data if one.said is not None]
    for noise_db, marker in zip((20, 15, 10, 5, 0), "osD^v", strict=True):
        here = [one for one in said if one.noise_db == noise_db]
        if not here:
            continue
        points = []
        for accept in ACCEPTS:
            moved = weights.model_copy(update={"accept": accept})
            found = by_utterance(here, lambda one, w=moved: one.outcome(one.decision(w)))  # type: ignore[misc]
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


def told(data: Sequence[Heard], words: Sequence[Heard], weights: Weights) -> Iterator[str]:
    """What comes of it: a table for each kind of phrase, other talk, and what was taken wrongly."""
    for kind in sorted({one.kind for one in data if one.said is not None}):
        yield f"\n{kind}\n"
        yield from table([one for one in data if one.kind == kind], weights)
    yield f"\n{other_talk(data, weights)}\n"
    wrong = [
        f'{one.noise_db:g} dB "{one.said}"'
        for one, outcome in by_utterance(data, lambda one: one.outcome(one.decision(weights)))
        if outcome == "wrong" and one.said is not None
    ]
    yield f"Taken wrongly by both: {'; '.join(wrong) or 'none'}.\n"
    yield from number_words(words, weights)


def main(arguments: Sequence[str] | None = None) -> None:
    """Fit, or show and draw."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.two_opinions", description=__doc__)
    parser.add_argument("data", type=Path)
    parser.add_argument("--plot", type=Path)
    parser.add_argument("--fit", action="store_true")
    chosen = parser.parse_args(arguments)
    with gzip.open(chosen.data, "rt", encoding="utf-8") as lines:
        every = [heard_of(json.loads(line)) for line in lines]
    words = [one for one in every if one.kind in WORDS]
    parts = Counter(one.utterance for one in every)
    phrases = [
        one
        for one in every
        if one.kind not in WORDS and (one.said is None or parts[one.utterance] == 1)
    ]
    shown = [one for one in phrases if one.held_out]
    weights = shipped_weights()
    if chosen.fit:
        texts = {one.said for one in shown if one.said is not None}
        rest = [one for one in phrases if not one.held_out and one.said not in texts]
        sys.stdout.write(f"{len(rest)} segments to fit by, {len(shown)} held out\n")
        weights = chosen_line(rest, fitted_sureness(rest, fitted(rest, weights)))
        for name in (*FITTED, *FITTED_SURE, "accept"):
            sys.stdout.write(f"{name} = {getattr(weights, name):.3f}\n")
    sys.stdout.write("\n".join(told(shown, words, weights)) + "\n")
    if chosen.plot is not None:
        plot(shown, weights, chosen.plot)


if __name__ == "__main__":
    main()
