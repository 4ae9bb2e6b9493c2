"""What a person is told about a model, and about a voice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from voice.meaning.narrowing import left_out
from voice.training.voice_check import Outcome, pairs

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.meaning.grammar import Grammar
    from voice.meaning.narrowing import LeftOut
    from voice.session.models import Model
    from voice.training.voice_check import VoiceCheck

_VALUES_SHOWN = 6


def told(model: Model, grammar: Grammar) -> Iterator[str]:
    """Lines on ``model``: place, size, words, which of the grammar's it lacks, and what that costs.

    Raises what ``Model.spellings`` raises.
    """
    words = len(model.opened.word_ids)
    size = sum(file.stat().st_size for file in model.folder.rglob("*") if file.is_file())
    yield f"{model.name}: {size / 1e6:.1f} MB, {words} words, in {model.folder}"
    spelled = model.spellings(grammar)
    lost = left_out(grammar, spelled)
    if not model.is_shipped:
        yield (
            "  Nobody has measured where its scores can be trusted: it asks more, it never takes a "
            "teen while its ten comes near, and it may take other talk for a phrase. Try it with: "
            "legbook voice-check"
        )
    for word, other in sorted(spelled.items()):
        if word != other:
            yield f'  It spells "{word}" as "{other}"; that is heard all the same.'
    if not lost:
        yield "  Every phrase of the grammar can be said."
        return
    lacking = sorted({word for one in lost for word in one.words})
    yield f"  It lacks {len(lacking)} words of the grammar: {', '.join(lacking)}."
    yield "  So these cannot be said, or not in every way:"
    for one in lost:
        yield f"    {_told(one)}"


def _told(one: LeftOut) -> str:
    phrase = f"{one.phrase.file}: {one.phrase.say}"
    if one.instead is None:
        return f"{phrase}: NOT AT ALL"
    without = ""
    if one.values:
        more = ", ..." if len(one.values) > _VALUES_SHOWN else ""
        without = f", without {', '.join(map(str, one.values[:_VALUES_SHOWN]))}{more}"
    return f'{phrase}: say "{one.instead}"{without}'


def told_check(check: VoiceCheck, before: VoiceCheck | None) -> Iterator[str]:
    """Lines on a voice check: for each model what was not taken rightly, and how the pairs stand.

    ``before`` is an earlier check of the same voice, to compare with.
    """
    for model in check.models():
        readings = check.of(model)
        line = f"{model}: {check.right(model)} of {len(readings)} prompts taken rightly"
        if before is not None and model in before.models():
            line += f" ({before.right(model)} on {before.at:%Y-%m-%d})"
        yield f"{line}."
        for prompt, reading in readings.items():
            if reading.outcome is not Outcome.RIGHT:
                heard = f'"{reading.heard}"' if reading.heard else "nothing"
                yield f'  "{prompt}": heard {heard}: {reading.outcome}{_lead(reading.lead)}'
        yield "  Teens against tens for this voice:"
        for pair in pairs(check, model):
            yield f"    {pair.teen:9} / {pair.ten:7} {pair.risk}{_lead(pair.least_lead)}"


def _lead(lead: float | None) -> str:
    return "" if lead is None else f" (lead {lead:+.1f})"
