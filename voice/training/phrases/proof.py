"""Proves that phrases are heard, and that no old one is heard worse for them.

The new phrases and the old ones that sound most like them are spoken by the voices of this machine,
in silence and in helicopter, and go through the real way: detector, recogniser, decision. The old
ones are heard twice, by what hears now and by what would hear with the new phrases, from the very
same sound, unless it is taken rightly anyhow.

The blessing is refused, with the reason, where one new phrase is taken for something else, where
too few are understood, or where an old one that was taken rightly no longer is.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pydantic import AwareDatetime, Field

from voice.entries.errors import LegbookError
from voice.entries.frozen import Frozen
from voice.entries.heard import Hearing
from voice.entries.leg import LegSettings
from voice.meaning.decide import decide
from voice.session.segments import segments_in
from voice.training.phrases.proof_texts import meaning_of, state_of
from voice.training.phrases.voices import NoVoiceError, in_noise
from voice.training.voice_check import Outcome, outcome_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
    from datetime import datetime

    import numpy as np
    from numpy.typing import NDArray

    from voice.entries.heard import Segment
    from voice.hearing.listener import Listener
    from voice.meaning.grammar import Grammar
    from voice.meaning.listening import Listening
    from voice.session.models import Model
    from voice.training.phrases.voices import Voice

SNRS_DB = (None, 10.0)
"""Silence, and helicopter as in a cabin with a headset."""
LEAST_VOICES = 3
UNDERSTOOD = 0.97
"""Share of the new phrases that must be taken rightly, or be one of two that are asked about."""
_SETTINGS = LegSettings()


class ProofError(LegbookError):
    """Nothing can be proven."""


class Said(Frozen):
    """One text by one voice, and what became of it."""

    text: str
    voice: str
    snr_db: float | None
    """Speech over noise; ``None``: in silence."""
    outcome: Outcome
    heard: str
    """The likeliest words; empty where there were none."""
    before: Outcome | None = None
    """Of an old phrase: what became of the same sound without the new phrases; where it is taken
    rightly with them that is not asked, and stands for the same."""

    @property
    def worse(self) -> bool:
        """Whether it was taken rightly before and is not now, or is taken wrongly only now."""
        return self.before is not None and self.before is not self.outcome and (
            self.before is Outcome.RIGHT or self.outcome is Outcome.WRONG
        )  # fmt: skip


class Proof(Frozen):
    """What was proven, by what, and how it came out."""

    at: AwareDatetime
    grammar: str
    """Digest of the grammar with the new phrases in it."""
    grammar_before: str
    model: str
    """Digest of the acoustic model that heard it."""
    voices: tuple[str, ...]
    new: tuple[Said, ...]
    old: tuple[Said, ...]
    files: dict[str, str] = Field(default={})
    """The SHA-256 of each phrase file as it was proven; none in proofs of older versions."""

    def reasons(self) -> tuple[str, ...]:
        """Why the phrases are not blessed; none where they are."""
        told = [
            f'"{s.text}" was taken for "{s.heard}" ({_where(s)}): say it in another way.'
            for s in self.new
            if s.outcome is Outcome.WRONG
        ]
        told += [
            f'The old phrase "{s.text}" is heard worse: {s.before} before, now {s.outcome}'
            f' as "{s.heard}" ({_where(s)}). Choose words that sound less like it.'
            for s in self.old
            if s.worse
        ]
        if self.new and (share := understood(self.new)) < UNDERSTOOD:
            told.append(
                f"Only {share:.0%} of the new phrases are understood, and "
                f"{UNDERSTOOD:.0%} must be: choose longer words, or words that the model knows better."
            )
        return tuple(told)


def was_changed(file: str, raw: bytes, proof: bytes) -> bool:
    """Whether a phrase file is another than ``proof`` has; a proof that tells of no file proves any."""
    try:
        proven = json.loads(proof)["files"][file]
    except (ValueError, KeyError, TypeError):
        return False
    return bool(proven != hashlib.sha256(raw).hexdigest())


def understood(said: Iterable[Said]) -> float:
    """Which share was taken rightly, or is one of two that are asked about; 0 to 1."""
    outcomes = [s.outcome for s in said]
    good = sum(outcome in {Outcome.RIGHT, Outcome.ASKED} for outcome in outcomes)
    return good / len(outcomes) if outcomes else 0.0


def _where(said: Said) -> str:
    noise = "in silence" if said.snr_db is None else f"at {said.snr_db:g} dB"
    return f"{said.voice}, {noise}"


class Hearer:
    """A grammar and the model that hears it."""

    def __init__(self, model: Model, grammar: Grammar) -> None:
        self.model = model
        self.grammar = grammar
        self._listeners: dict[Listening, Listener] = {}

    def hear(self, text: str, segment: Segment | None, state: Listening) -> tuple[Outcome, str]:
        """What becomes of a sound in which ``text`` is said, and the likeliest words."""
        if state not in self._listeners:
            self._listeners[state] = self.model.listener(self.grammar, state)
        hearing = self._listeners[state].hear(segment) if segment is not None else Hearing(())
        decision = decide(
            hearing,
            self.grammar,
            state,
            _SETTINGS,
            cut=segment is not None and segment.cut,
            thresholds=self.model.thresholds,
        )
        meant = meaning_of(self.grammar, text)
        assert meant is not None, f'"{text}" is a phrase'
        heard = hearing.alternatives[0].text if hearing.alternatives else ""
        return outcome_of(decision, meant), heard


@dataclass(frozen=True, slots=True)
class Trial:
    """What is to be proven: texts, voices, and the two states that are compared."""

    before: Hearer
    after: Hearer
    new: Sequence[str]
    old: Sequence[str]
    voices: Sequence[Voice]
    model_digest: str
    files: Mapping[str, str]
    """The SHA-256 of each phrase file."""
    snrs_db: Sequence[float | None] = SNRS_DB

    def sounds(self) -> int:
        """How many sounds it takes."""
        return (len(self.new) + len(self.old)) * len(self.voices) * len(self.snrs_db)


def prove(trial: Trial, at: datetime, progress: Callable[[], None] = lambda: None) -> Proof:
    """Speak and hear everything; ``progress`` is called after each sound.

    Raises ``ProofError`` where there is nothing to speak, and ``NoVoiceError`` where fewer than
    ``LEAST_VOICES`` voices are there or one fails.
    """
    if len(trial.voices) < LEAST_VOICES:
        raise NoVoiceError(
            f"A proof takes {LEAST_VOICES} voices, and here are {len(trial.voices)}. "
            "Install espeak-ng, which brings several, or flite."
        )
    for text in trial.old:
        if meaning_of(trial.after.grammar, text) is None:
            raise ProofError(
                f'The old phrase "{text}" has no longer one meaning beside the new ones. Reword them; '
                "see: legbook phrases check"
            )
    if not trial.new and not trial.old:
        raise ProofError(
            "There is nothing new that could be spoken. Write a phrase with: legbook phrases add"
        )
    return Proof(
        at=at,
        grammar=trial.after.grammar.digest,
        grammar_before=trial.before.grammar.digest,
        model=trial.model_digest,
        files=dict(trial.files),
        voices=tuple(voice.name for voice in trial.voices),
        new=tuple(_said(trial, trial.new, progress, old=False)),
        old=tuple(_said(trial, trial.old, progress, old=True)),
    )


def _said(
    trial: Trial, texts: Sequence[str], progress: Callable[[], None], *, old: bool
) -> Iterator[Said]:
    for voice in trial.voices:
        for text in texts:
            speech = voice.say(text)
            for snr_db in trial.snrs_db:
                segment = segment_in(in_noise(speech, snr_db, f"{voice.name} {text}"))
                state = state_of(trial.before.grammar if old else trial.after.grammar, text)
                assert state is not None, f'"{text}" is a phrase'
                outcome, heard = trial.after.hear(text, segment, state)
                # what is taken rightly with the new phrases needs no comparing
                before = outcome if old else None
                if old and outcome is not Outcome.RIGHT:
                    before = trial.before.hear(text, segment, state)[0]
                progress()
                yield Said(
                    text=text,
                    voice=voice.name,
                    snr_db=snr_db,
                    outcome=outcome,
                    heard=heard,
                    before=before,
                )


def segment_in(samples: NDArray[np.int16]) -> Segment | None:
    """The longest stretch of speech that the detector finds, or ``None``."""
    found = segments_in(samples)
    return max(found, key=lambda segment: len(segment.samples), default=None)
