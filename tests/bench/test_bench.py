"""What the bench plays and counts is what it says."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest

from tests.bench import leg_lists
from tests.bench.__main__ import _worst, evenly
from tests.bench.corpus import AROUND_S, Utterance, in_noise
from tests.bench.systems import as_fsg, phrases_with_all_pairs
from tests.bench.word_times import in_a_row, without_quiet
from tests.hearing.conftest import acceptor_of
from voice.acoustics.blends import STRANGERS, may_be_mixed
from voice.entries.heard import SAMPLE_RATE
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening

PHRASES = ("pressure five", "pressure five minutes ago", "confirm", "mean pressure nine")


def test_listed_phrases_hold_every_pair_of_words() -> None:
    """Each listed phrase is legal, and no pair of neighbours in the grammar is missing."""
    listed = [tuple(phrase.split()) for phrase in phrases_with_all_pairs(acceptor_of(*PHRASES))]
    assert {" ".join(words) for words in listed} <= set(PHRASES)
    wanted = {pair for phrase in PHRASES for pair in itertools.pairwise(phrase.split())}
    assert {pair for words in listed for pair in itertools.pairwise(words)} == wanted


def test_phrases_of_the_whole_grammar_are_listed_soon() -> None:
    """A phrase drawn at random has no pair of words that the list lacks."""
    grammar = load_grammar()
    listed = list(phrases_with_all_pairs(grammar.acceptor(Listening.CONFIRMING)))
    pairs = {pair for phrase in listed for pair in itertools.pairwise(phrase.split())}
    rng = random.Random(2)
    for _ in range(200):
        text, _ = grammar.sample(rng, Listening.CONFIRMING)
        assert set(itertools.pairwise(text.split())) <= pairs


def test_a_grammar_for_pocketsphinx_leaves_unknown_words_out() -> None:
    """Every arc of a known word is there, and every end leads to the one final state."""
    acceptor = acceptor_of("confirm", "pressure five")
    lines = as_fsg(acceptor, known={"confirm", "pressure"}).splitlines()
    assert sum(line.endswith((" confirm", " pressure")) for line in lines) == 2
    assert not any("five" in line for line in lines)
    end = len(acceptor.arcs)
    assert sum(f" {end} 1.0" in line for line in lines) == len(acceptor.finals)


@pytest.mark.parametrize("snr_db", [20, 10, 0])
def test_noise_is_as_loud_as_is_asked(snr_db: float) -> None:
    """The powers of speech and noise have the ratio that was asked for."""
    chance = np.random.default_rng(1)
    speech = chance.normal(0, 3000, SAMPLE_RATE).astype(np.int16)
    noise = chance.normal(0, 1, 10 * SAMPLE_RATE)
    mixed = in_noise(speech, noise, snr_db, start=0).astype(np.float64)
    around = round(AROUND_S * SAMPLE_RATE)
    alone = np.mean(mixed[-around // 2 :] ** 2)
    ratio_db = 10 * np.log10(np.mean(speech.astype(np.float64) ** 2) / alone)
    assert ratio_db == pytest.approx(snr_db, abs=0.5)


def test_no_noise_leaves_the_speech_alone() -> None:
    """Without noise, silence stands around the unchanged speech."""
    speech = np.arange(1, 1001, dtype=np.int16)
    mixed = in_noise(speech, np.ones(10), None, start=0)
    around = round(AROUND_S * SAMPLE_RATE)
    assert np.array_equal(mixed[around:-around], speech)


def test_the_worst_part_of_an_utterance_counts() -> None:
    """One wrong segment makes the utterance wrong, and no segment is a phrase passed over."""
    assert _worst(["right", "wrong", "not heard"]) == "wrong"
    assert _worst(["not heard", "right"]) == "right"
    assert _worst([]) == "not heard"


def test_a_part_of_a_list_comes_from_the_whole_of_it() -> None:
    """About as many as asked for, spread from the first to the last."""
    said = [Utterance(str(n), "voice", np.zeros(1, dtype=np.int16)) for n in range(100)]
    assert [u.text for u in evenly(said, 4)] == ["0", "25", "50", "75"]
    assert evenly(said, 1000) == said


def test_words_in_a_row_are_where_they_are_said_to_be() -> None:
    """The sound between a word's two times is the word, and nothing else is loud."""
    tone = (9000 * np.sin(np.arange(4800) / 3)).astype(np.int16)
    quiet = np.zeros(1600, np.int16)
    alone = without_quiet(np.concatenate([quiet, tone, quiet]))
    assert alone is not None
    assert len(alone) == len(tone)
    timed = in_a_row([("one", alone), ("two", alone[:3200])])
    assert timed.text == "one two"
    rest = timed.samples.copy()
    for word in timed.words:
        said = slice(round(word.start_s * SAMPLE_RATE), round(word.end_s * SAMPLE_RATE))
        assert np.abs(rest[said]).max() > 8000
        rest[said] = 0
    assert not rest.any()


def test_a_recording_that_cuts_its_word_off_is_left_out() -> None:
    """A word that is loud to the last sample of its recording has no known end."""
    tone = (9000 * np.sin(np.arange(4800) / 3)).astype(np.int16)
    assert without_quiet(np.concatenate([np.zeros(1600, np.int16), tone])) is None


def test_voices_of_a_leg_are_strange_where_they_are_said_to_be() -> None:
    """Speakers that are blended say what is fitted on; all others are in no training, and each kind is said by each."""
    jobs = list(leg_lists.jobs(random.Random(1), 0.02))
    said: dict[object, set[object]] = {}
    for job in jobs:
        said.setdefault(job["voice"], set()).add(job["set"])
    assert said.pop("blend") == {f"development-{kind}" for kind in leg_lists.BLENDS}
    assert not any(map(may_be_mixed, map(str, said)))
    assert {
        voice: len(sets) for voice, sets in said.items() if voice in STRANGERS
    } == dict.fromkeys(STRANGERS, 3)
    assert set.union(*said.values()) == {f"strange-{kind}" for kind in leg_lists.STRANGE}


def test_a_leg_is_mostly_pressures() -> None:
    """The commonest entry is drawn as often as the mix says."""
    drawn = list(leg_lists.texts(random.Random(2), 4000))
    pressures = sum(text.startswith("pressure ") for text in drawn) / len(drawn)
    share = next(share for share, text, _ in leg_lists.MIX if text == "pressure {}")
    assert pressures == pytest.approx(share / sum(share for share, *_ in leg_lists.MIX), abs=0.02)
