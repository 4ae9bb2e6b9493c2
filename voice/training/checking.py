"""A voice check, from the microphone or from recordings, with every model of this machine."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from voice.capture.microphone import Microphone
from voice.entries.errors import LegbookError
from voice.hearing.segmenter import Segmenter
from voice.hearing.vad import SileroVad
from voice.session import preferences
from voice.session.models import models
from voice.session.own_phrases import chosen_grammar
from voice.training.voice_check import (
    VoiceCheck,
    live_utterances,
    prompts,
    readings,
    recorded_utterances,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence
    from datetime import datetime
    from pathlib import Path

    from voice.entries.heard import Segment


class PromptsError(LegbookError):
    """The recordings are not one for each prompt."""


def check_live(
    at: datetime, voice: str, show: Callable[[str], None], microphone: str | None
) -> VoiceCheck:
    """Show each prompt, listen, and let all models judge at the end.

    Raises ``MicrophoneError``, and what the models raise.
    """
    texts = prompts(chosen_grammar())
    blocks = Microphone(microphone or preferences.load().microphone, time.monotonic).blocks()
    return _check(at, voice, texts, live_utterances(blocks, Segmenter(SileroVad()), show, texts))


def check_recordings(given: Iterable[Path], at: datetime, voice: str) -> VoiceCheck:
    """Take one recording for each prompt, in the order of the prompts; a folder's by their names.

    Raises ``PromptsError`` where their number is another, ``RecordingError`` for a file that cannot
    be used, and what the models raise.
    """
    texts = prompts(chosen_grammar())
    files = [
        file for path in given for file in (sorted(path.iterdir()) if path.is_dir() else [path])
    ]
    if len(files) != len(texts):
        listed = "\n".join(f"{number:4} {text}" for number, text in enumerate(texts, start=1))
        raise PromptsError(
            f"A voice check takes {len(texts)} recordings, one for each prompt, and here are "
            f"{len(files)}. Record these, in this order:\n{listed}"
        )
    return _check(at, voice, texts, recorded_utterances(files))


def _check(
    at: datetime, voice: str, texts: Sequence[str], segments: Iterable[Segment | None]
) -> VoiceCheck:
    spoken = list(zip(texts, segments, strict=True))
    heard = [r for model in models() for r in readings(model, chosen_grammar(), spoken)]
    return VoiceCheck(at=at, voice=voice, readings=tuple(heard))
