"""What phrases mean: examples that fail, and what has two meanings or one that it must not have."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING

from voice.entries.leg import LegSettings
from voice.entries.said import (
    Choice,
    Command,
    ConfirmAnd,
    Correction,
    Question,
    Several,
    StartCheck,
    Statement,
    Talk,
)
from voice.meaning.expression import match, sample
from voice.training.phrases.faults import Fault, Lines, Sort

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from voice.entries.said import Meaning
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase

SAMPLES = 25
"""Wordings of each phrase that are parsed to find second meanings."""
_SETTINGS = LegSettings()


def example_faults(grammar: Grammar, names: set[str], lines: Lines) -> Iterator[Fault]:
    """Examples and counter-examples of the files ``names`` that do not hold, and files that lack them."""
    for example in grammar.examples:
        if example.file not in names:
            continue
        line = lines.of(example.file, example.text)
        meanings = grammar.parse(example.text, _SETTINGS)
        if not meanings:
            text = f'"{example.text}" is not legal: no phrase says it.'
            yield Fault(Sort.EXAMPLE, example.file, line, text)
        elif example.meaning not in meanings:
            text = f'"{example.text}" means {_shown(meanings[0])}, not {_shown(example.meaning)}.'
            yield Fault(Sort.EXAMPLE, example.file, line, text)
        elif len(meanings) > 1:
            yield _two(example.file, line, example.text, meanings)
    for file, text in grammar.refused:
        if file in names and grammar.parse(text, _SETTINGS):
            told = f'"{text}" is legal, though it is listed as refused.'
            yield Fault(Sort.NOT_REFUSED, file, lines.of(file, text), told)
    with_phrases = {p.file for p in grammar.phrases} & names
    for file in sorted(with_phrases - {e.file for e in grammar.examples}):
        text = "there is no example. Add one under [examples] for every phrase."
        yield Fault(Sort.NO_EXAMPLE, file, None, text)
    for file in sorted(with_phrases - {file for file, _ in grammar.refused}):
        text = "nothing is listed as refused. Add what sounds like the phrases and must not be one."
        yield Fault(Sort.NO_COUNTER_EXAMPLE, file, None, text)


def others_example_faults(
    grammar: Grammar, names: set[str], phrases: Sequence[Phrase], lines: Lines
) -> Iterator[Fault]:
    """Examples and counter-examples of other files that no longer hold beside ``phrases``."""

    def place(text: str) -> tuple[str, int | None]:
        words = grammar.spelled(text).split()
        said = (p for p in phrases if next(match(p.expression, words), None) is not None)
        phrase = next(said, phrases[0])
        return phrase.file, lines.of(phrase.file, phrase.say)

    for file, text in grammar.refused if phrases else ():
        if file not in names and grammar.parse(text, _SETTINGS):
            told = (
                f'"{text}" is legal now, though {file} lists it as refused. Reword the new phrase.'
            )
            yield Fault(Sort.NOT_REFUSED, *place(text), told)
    for example in grammar.examples if phrases else ():
        if example.file not in names:
            meanings = grammar.parse(example.text, _SETTINGS)
            if len(meanings) > 1:
                yield _two(*place(example.text), example.text, meanings)


def second_meanings(phrase: Phrase, grammar: Grammar, line: int | None) -> Iterator[Fault]:
    """Samples of the phrase that mean two things: the first such one."""
    rng = random.Random(phrase.say)  # noqa: S311 - the same samples each time, no secret
    stated = [e.text for e in grammar.examples if isinstance(e.meaning, Statement)]
    for _ in range(SAMPLES):
        text = " ".join(sample(phrase.expression, rng))
        if phrase.correction or phrase.place == "before":
            text = f"{text} {rng.choice(stated or [''])}"
        elif phrase.place == "after":
            text = f"{rng.choice(stated or [''])} {text}"
        meanings = grammar.parse(text, _SETTINGS)
        if len(meanings) > 1:
            yield _two(phrase.file, line, text, meanings)
            return


def _two(file: str, line: int | None, text: str, meanings: Sequence[Meaning]) -> Fault:
    told = (
        f'"{text}" means both {_shown(meanings[0])} and {_shown(meanings[1])}. Reword one of them.'
    )
    return Fault(Sort.TWO_MEANINGS, file, line, told)


def _shown(meaning: Meaning) -> str:  # noqa: PLR0911 - one for each sort of meaning
    """A meaning in few words."""
    match meaning:
        case Statement(entry=entry, when=when):
            fields = entry.model_dump(exclude={"kind"}, exclude_none=True)
            told = ", ".join(f"{name} {value}" for name, value in fields.items())
            at = f" ({when.form})" if when else ""
            return f"{entry.kind}{at}" + (f" ({told})" if told else "")
        case Several(statements=statements):
            return " and ".join(map(_shown, statements))
        case Correction(statement=statement):
            return f"a correction to {_shown(statement)}"
        case ConfirmAnd(then=then):
            return f'the word "{Talk.CONFIRM}" and {_shown(then)}'
        case Command(talk=talk):
            return f'the word "{talk}"'
        case Question(about=about):
            return f'the question "{about}"'
        case StartCheck(check=check):
            return f'the start of the check "{check}"'
        case Choice(value=value):
            return f"the answer {value}"
