"""The search over legal phrases, with a decoder whose weights are known."""

from __future__ import annotations

import math
import random
from typing import TYPE_CHECKING, cast

import numpy as np
import pytest

from tests.hearing.conftest import acceptor_of
from voice.hearing.second.network import Decoder, Told
from voice.hearing.second.phrases import Phrases
from voice.hearing.second.search import A_STEP, Found, Frame, search
from voice.meaning.acceptor import Acceptor, Arc

if TYPE_CHECKING:
    from collections.abc import Sequence

LETTERS = "abcdefghijklmnopqrstuvwxyz "
END = len(LETTERS)
FIRST = END + 1


class Texts(Told):
    """The texts themselves, in place of what they have told."""

    def __init__(self, texts: list[str]) -> None:
        super().__init__(())
        object.__setattr__(self, "texts", texts)

    texts: list[str]

    def of(self, texts: Sequence[int]) -> Texts:
        """These texts only."""
        return Texts([self.texts[n] for n in texts])


class Dice:
    """A decoder of letters: the weight of a letter follows from the text before it, by chance."""

    def after(self, text: str) -> np.ndarray:
        """Log-probabilities of each letter, and of the end, after ``text``."""
        rng = random.Random(text)
        weights = np.array([rng.uniform(0, 3) for _ in range(END + 2)])
        shares: np.ndarray = weights - np.log(np.exp(weights).sum())
        return shares

    def weigh(
        self, last: Sequence[int], _sound: object, told: Texts | None = None
    ) -> tuple[np.ndarray, Texts]:
        """As the real one: texts go on with their last tokens."""
        before = [""] * len(last) if told is None else told.texts
        new = ["" if token == FIRST else LETTERS[token] for token in last]
        texts = [text + letter for text, letter in zip(before, new, strict=True)]
        return np.array([self.after(text) for text in texts]), Texts(texts)

    def score(self, text: str) -> float:
        """What a whole text reaches: its log-likelihood, and what its words gain."""
        total = sum(self.after(text[:n])[LETTERS.index(letter)] for n, letter in enumerate(text))
        return float(total + self.after(text)[END] + A_STEP * text.count(" "))


def letters(text: str) -> tuple[int, ...] | None:
    """A text letter by letter; there are no capitals."""
    known = all(letter in LETTERS for letter in text)
    return tuple(LETTERS.index(letter) for letter in text) if known else None


def found(acceptor: Acceptor, most: int = 10) -> tuple[list[Found], Found]:
    """What the search finds by chance's weights."""
    decoder = cast("Decoder", Dice())
    return search(decoder, (), Phrases(acceptor, letters), Frame((FIRST,), END), most=most)


PHRASES = ("fit", "fits", "fit off", "drain open", "drain opened", "level ten", "level two")


def test_phrases_come_in_the_order_of_their_likelihood() -> None:
    """A beam that holds all phrases finds each with its own likelihood, likeliest first."""
    heard, _ = found(acceptor_of(*PHRASES))
    expected = sorted(((Dice().score(f" {p}"), p) for p in PHRASES), reverse=True)
    best = expected[: len(heard)]
    assert [" ".join(one.words) for one in heard] == [phrase for _, phrase in best]
    assert [one.score for one in heard] == pytest.approx([score for score, _ in best], abs=1e-4)


def test_only_so_many_phrases_are_given_as_were_asked_for() -> None:
    """The list ends after the wanted number, and holds the likeliest."""
    assert found(acceptor_of(*PHRASES), most=2)[0] == found(acceptor_of(*PHRASES))[0][:2]


def test_what_is_rarer_costs_its_cost() -> None:
    """The costs of the words and of ending there are taken off the likelihood."""
    acceptor = Acceptor(arcs=((Arc("at", 1, 2.0),), (Arc("ten", 2, 0.5),), ()), finals={2: 0.25})
    heard, _ = found(acceptor)
    assert heard[0].score == pytest.approx(Dice().score(" at ten") - 2.75, abs=1e-4)


def test_nothing_legal_is_made_up_where_nothing_is_legal() -> None:
    """Without a phrase there is only what was written freely."""
    heard, free = found(Acceptor(arcs=((),), finals={}))
    assert heard == []
    assert free.score < 0


def test_what_is_written_freely_takes_the_likeliest_letter_each_time() -> None:
    """The free text is not kept to the grammar, and its score is that of its letters."""
    _, free = found(acceptor_of("a long phrase that takes many letters to be written"))
    text, total = "", 0.0
    for token in free.tokens:
        weights = Dice().after(text)
        assert token == int(weights.argmax())
        total += float(weights[token])
        text += LETTERS[token] if token < END else ""
    assert math.isclose(free.score, total, abs_tol=1e-4)


def test_several_writings_of_a_phrase_count_together() -> None:
    """A phrase is as likely as all its writings are together, and comes once."""
    heard, _ = found(acceptor_of("mils"))
    each = [Dice().score(text) for text in (" mils", " mills", " ml", " m")]
    assert [one.words for one in heard] == [("mils",)]
    assert heard[0].score == pytest.approx(np.logaddexp.reduce(each), abs=1e-4)


def test_marks_say_nothing() -> None:
    """What is written with a mark between words, and with a stop at its end, is the phrase without them."""
    mark = LETTERS.index("q")
    dice = cast("Decoder", Dice())
    phrases = Phrases(acceptor_of("fit off"), letters)
    marked = Frame((FIRST,), END, marks=(mark,), stop=mark)
    heard, _ = search(dice, (), phrases, marked, most=10)
    plain, stopped = Dice().score(" fit off"), Dice().score(" fit offq")
    assert [one.words for one in heard] == [("fit", "off")]
    assert heard[0].score >= np.logaddexp(plain, stopped) - 1e-4


def test_a_number_gains_as_much_however_long_it_is() -> None:
    """The words of a number are one step together, so a longer one is not favoured."""
    for phrase in ("level one", "level one hundred and seven"):
        (heard,), _ = found(acceptor_of(phrase))
        words = phrase.count(" ") + 1
        expected = Dice().score(f" {phrase}") - (words - 2) * A_STEP
        assert heard.score == pytest.approx(expected, abs=1e-4)


def test_figures_are_followed_as_the_words_they_stand_for() -> None:
    """A token that is a number leads on as its words do."""
    dice = cast("Decoder", Dice())
    number = LETTERS.index("z")
    phrases = Phrases(acceptor_of("level ten"), letters, {number: "10"})
    heard, _ = search(dice, (), phrases, Frame((FIRST,), END), most=10)
    both = np.logaddexp(Dice().score(" level ten"), Dice().score(" levelz") + A_STEP)
    assert heard[0].score == pytest.approx(both, abs=1e-4)
