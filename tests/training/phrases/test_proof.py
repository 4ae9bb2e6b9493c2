"""Drafts are proven by voices through the real way, and blessed or not."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import numpy as np
import pytest

from voice.entries.leg import LegSettings
from voice.session.own_phrases import chosen_grammar, drafts, own_layer
from voice.training.phrases import workshop
from voice.training.phrases.proof import (
    SNRS_DB,
    Proof,
    ProofError,
    Said,
    prove,
    segment_in,
    understood,
)
from voice.training.phrases.proof_texts import MOST_NEW, new_texts, old_texts
from voice.training.phrases.voices import NoVoiceError, Voice, in_noise
from voice.training.voice_check import Outcome

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

pytestmark = pytest.mark.usefixtures("small")
NOW = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)


def draft(say: str, like: str, example: str) -> Path:
    """A draft of one wording."""
    return workshop.write_draft("trial", say, like, example, ["xyzzy"])


def proven(
    voices: tuple[Voice, ...],
    *,
    new: int = 4,
    old: int = 3,
    snrs_db: Sequence[float | None] = SNRS_DB,
) -> Proof:
    """The proof of the drafts, with the first ``new`` texts and the ``old`` that are nearest only."""
    trial = workshop.trial_of(drafts(), voices)
    trial = replace(trial, new=trial.new[:new], old=trial.old[:old], snrs_db=snrs_db)
    return prove(trial, NOW)


@pytest.mark.slow
def test_good_draft_is_blessed_and_listened_for(espeak: tuple[Voice, ...]) -> None:
    """A wording that is understood and harms nothing is listened for once it is proven."""
    draft("brain pressure <value>", "pressure twelve", "brain pressure twelve")
    proof = proven(espeak)
    assert proof.reasons() == ()
    assert {said.voice for said in proof.new} == {voice.name for voice in espeak}
    assert {said.snr_db for said in proof.new} == {None, 10.0}
    assert proof.old
    workshop.bless(drafts(), proof)
    assert drafts().files == ()
    assert chosen_grammar().parse("brain pressure twelve", LegSettings())
    assert Proof.model_validate_json((own_layer().folder / "trial.proof.json").read_text()) == proof


@pytest.mark.slow
def test_draft_that_harms_an_old_phrase_is_refused(espeak: tuple[Voice, ...]) -> None:
    """A wording for which an old phrase is heard worse is not blessed, and the old phrase is named."""
    draft("drain clamp", "drain open", "drain clamp")
    proof = proven(espeak)
    assert any('The old phrase "drain clamped" is heard worse' in told for told in proof.reasons())
    with pytest.raises(workshop.WorkshopError, match="heard worse"):
        workshop.bless(drafts(), proof)
    assert drafts().files


@pytest.mark.slow
def test_taught_word_is_heard(espeak: tuple[Voice, ...]) -> None:
    """A word that the model lacked is heard in noise by all voices once taught, and stays known."""
    draft("ventriculostomy <value>", "pressure twelve", "ventriculostomy twelve")
    assert "ventriculostomy" not in workshop.known_words()
    workshop.teach("ventriculostomy", ["V EH N T R IH K Y AH L AA S T AH M IY"])
    proof = proven(espeak, new=MOST_NEW, old=0, snrs_db=[10.0])
    assert len(proof.new) >= 20
    assert understood(proof.new) >= 0.97
    workshop.bless(drafts(), proof)
    assert "ventriculostomy" in workshop.known_words()
    assert drafts().words == {}


def test_what_a_reviewer_found_misheard_is_tried(espeak: tuple[Voice, ...]) -> None:
    """Old phrases from a reviewer's list are spoken too, as far as they are legal."""
    draft("brain pressure <value>", "pressure twelve", "brain pressure twelve")
    trial = workshop.trial_of(drafts(), espeak, also=["drain zeroed", "xyzzy"])
    assert trial.old[0] == "drain zeroed"
    assert "xyzzy" not in trial.old


def test_texts_are_the_examples_and_other_wordings() -> None:
    """New texts begin with the examples, all have one meaning, and no text comes twice."""
    file = draft("brain pressure [is] <value>", "pressure twelve", "brain pressure twelve")
    after = chosen_grammar(drafts())
    texts = new_texts(after, [file.name])
    assert texts[0] == "brain pressure twelve"
    assert any(text.startswith("brain pressure is ") for text in texts)
    assert len(set(texts)) == len(texts)
    assert all(len(after.parse(text, LegSettings())) == 1 for text in texts)


def test_old_texts_are_the_nearest_with_the_same_value() -> None:
    """Old texts come in the order of their nearness, and have the new phrase's value where they can."""
    file = draft("drain clamp <value>", "pressure twelve", "drain clamp twelve")
    after = chosen_grammar(drafts())
    texts = old_texts(chosen_grammar(), after, [file.name], workshop.known_words())
    assert texts[0] == "drain clamped"


TALK = """
about = "Words of the talk."
[[phrase]]
talk = "confirm"
say = "confirm"
[[phrase]]
talk = "scratch that"
say = "scratch that | delete that"
"""


def test_the_words_that_decide_are_always_tried(small: Path, espeak: tuple[Voice, ...]) -> None:
    """Whatever is new, "confirm" and "scratch that" are spoken as well; alone they are no proof."""
    (small / "talk.toml").write_text(TALK)
    assert workshop.trial_of(drafts(), espeak).old == []
    draft("brain pressure <value>", "pressure twelve", "brain pressure twelve")
    assert workshop.trial_of(drafts(), espeak).old[-2:] == ["confirm", "scratch that"]


def test_old_phrase_that_gets_a_second_meaning_is_told(espeak: tuple[Voice, ...]) -> None:
    """Where an old phrase to be tried means two things beside the new ones, that is told in a sentence."""
    draft("(brain pressure | pressure) <value>", "pressure twelve", "brain pressure twelve")
    drafts().files[0].write_text(
        drafts().files[0].read_text().replace('"pressure"', '"opening_pressure"')
    )
    trial = replace(workshop.trial_of(drafts(), espeak), old=["pressure twelve"])
    with pytest.raises(ProofError, match='"pressure twelve" has no longer one meaning'):
        prove(trial, NOW)


DRUGS = """
about = "Two drugs."
[unit.mg]
said = "milligrams"
read = "milligrams"
amount = { min = 1, max = 100 }
[drug]
morphine = { class = "analgesic", bolus = ["mg"] }
labetalol = { class = "antihypertensive", bolus = ["mg"] }
[[phrase]]
entry = "drug_given"
drugs = "bolus"
say = "<drug> <dose> <unit>"
read = "<drug>, <dose> <unit>"
"""


def test_new_drug_is_spoken_beside_the_old_ones(small: Path, espeak: tuple[Voice, ...]) -> None:
    """A drug of a draft is spoken in its unit by each of its names, and so are the old drugs like it."""
    (small / "drugs.toml").write_text(DRUGS)
    drafts().folder.mkdir(parents=True)
    (drafts().folder / "ward.toml").write_text(
        'about = "Ours."\n[drug]\n'
        'nalbuphine = { said = "nalbuphine | nubain", class = "analgesic", bolus = ["mg"] }\n'
    )
    workshop.teach("nalbuphine", ["N AE L B Y UW F IY N"])
    workshop.teach("nubain", ["N UW B EY N"])
    trial = workshop.trial_of(drafts(), espeak)
    assert [text.split()[0] for text in trial.new] == ["nalbuphine", "nubain"]
    assert all(text.endswith(" milligrams") for text in trial.new)
    assert any(text.startswith("morphine ") for text in trial.old)


def test_word_taught_anew_is_tried_in_old_phrases(espeak: tuple[Voice, ...]) -> None:
    """Old phrases with a word that is taught another way, and with words that sound like it, are tried."""
    workshop.teach("fifteen", ["F IH F T IY"])
    trial = workshop.trial_of(drafts(), espeak)
    assert trial.new == []
    assert trial.old[:2] == ["pressure fifteen", "pressure fifty"]


@pytest.mark.slow
def test_word_that_makes_another_misheard_is_refused(espeak: tuple[Voice, ...]) -> None:
    """A word that is taught as another one sounds is refused, though no phrase is new."""
    workshop.teach("zeroed", ["K L AE M P T"])
    proof = proven(espeak, old=MOST_NEW, snrs_db=[None])
    assert any('The old phrase "drain clamped" is heard worse' in told for told in proof.reasons())


def test_nothing_is_proven_without_phrases_or_voices(espeak: tuple[Voice, ...]) -> None:
    """Without a draft, or with two voices, there is no proof."""
    with pytest.raises(ProofError, match="nothing new"):
        proven(espeak)
    draft("brain pressure <value>", "pressure twelve", "brain pressure twelve")
    with pytest.raises(NoVoiceError, match="takes 3 voices, and here are 2"):
        proven(espeak[:2])


def said(outcome: Outcome, before: Outcome | None = None) -> Said:
    """One text and what became of it."""
    return Said(text="a", voice="b", snr_db=10.0, outcome=outcome, heard="c", before=before)


@pytest.mark.parametrize(
    ("before", "now", "worse"),
    [
        (Outcome.RIGHT, Outcome.RIGHT, False),
        (Outcome.RIGHT, Outcome.ASKED, True),
        (Outcome.RIGHT, Outcome.MISSED, True),
        (Outcome.MISSED, Outcome.WRONG, True),
        (Outcome.WRONG, Outcome.WRONG, False),
        (Outcome.MISSED, Outcome.RIGHT, False),
        (Outcome.ASKED, Outcome.MISSED, False),
    ],
)
def test_worse_is_less_right_or_newly_wrong(before: Outcome, now: Outcome, worse: bool) -> None:
    """An old phrase is heard worse where it was right and is not, or is wrong only now."""
    assert said(now, before).worse == worse


def test_wrong_new_phrase_is_a_reason() -> None:
    """One new phrase that is taken for something else is enough to refuse."""
    new = (*[said(Outcome.RIGHT)] * 99, said(Outcome.WRONG))
    proof = Proof(
        at=NOW, grammar="a", grammar_before="b", model="c", voices=("b",), new=new, old=()
    )
    assert proof.reasons() == ('"a" was taken for "c" (b, at 10 dB): say it in another way.',)


def test_noise_is_as_loud_as_asked(espeak: tuple[Voice, ...]) -> None:
    """What is put around and under speech has the stated level, and the same key gives the same."""
    speech = espeak[0].say("drain open")
    silent, noisy = in_noise(speech, None, "k"), in_noise(speech, 10.0, "k")
    assert np.array_equal(noisy, in_noise(speech, 10.0, "k"))
    noise = (noisy.astype(float) - silent)[6000:-6000]
    assert 20 * np.log10(np.sqrt(np.mean(noise**2)) / 32767) == pytest.approx(-32.0, abs=1.5)
    assert segment_in(noisy) is not None
    assert segment_in(np.zeros(16_000, np.int16)) is None


def test_programs_that_fail_are_told() -> None:
    """A voice that cannot speak is told with its name."""
    from voice.training.phrases import voices  # noqa: PLC0415

    with pytest.raises(NoVoiceError, match="no-such-program cannot speak"):
        voices._program(lambda wav: ["no-such-program", wav])
