"""Checks phrase files in seconds: every fault, with its file and line.

What cannot be read is left out, and the rest is checked all the same, so that everything is told in
one go.
"""

from __future__ import annotations

import re
from itertools import islice
from typing import TYPE_CHECKING, get_args

from voice.acoustics.proposal import ProposalError, propose
from voice.entries.kinds import Entry
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.checklist import load_checklists
from voice.meaning.expression import parse_notation, slots_of, wordings
from voice.meaning.grammar import GrammarError, read_grammar
from voice.meaning.handoff import load_needs
from voice.meaning.listening import Listening
from voice.meaning.narrowing import words_of
from voice.meaning.phrase import ValueSlot
from voice.session import kept_acceptors
from voice.training.phrases.alike import alike_faults, nearest_words
from voice.training.phrases.faults import Fault, Lines, Sort, told_line
from voice.training.phrases.frames import frames
from voice.training.phrases.meaning_faults import (
    example_faults,
    others_example_faults,
    second_meanings,
)
from voice.training.phrases.proof_texts import drug_texts
from voice.training.phrases.steering_faults import like_steering, steering_faults
from voice.training.sound_alike import sound_alikes

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

    from pydantic import BaseModel

    from voice.acoustics.lexicon_file import Lexicon
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase
    from voice.session.own_phrases import Layer
    from voice.training.sound_alike import SoundAlike

MOST_ARCS = 400_000
"""Words on the paths of one state; with so many a phrase still takes less than 0.05 of its length
to be heard (docs/bench.md), and start-up some seconds."""
WIDEST = 2000
"""More values than this in one slot are a range that nobody thought about."""
_COUNTS = {
    "count", "minutes", "hours", "hour", "minute", "month", "day", "eye", "eyes", "total", "verbal", "motor", "score",
    "strength", "ratio", "units", "bags",
}  # fmt: skip
"""Fields whose numbers have no unit."""
_KINDS: dict[str, type[BaseModel]] = {
    kind.model_fields["kind"].default: kind for kind in get_args(get_args(Entry)[0])
}
_SETTINGS = LegSettings()


def check(
    files: Sequence[Path], lexicon: Lexicon, only: Sequence[str] | None = None
) -> tuple[Fault, ...]:
    """Every fault of ``files``, which are read together; those that must be mended come first.

    ``lexicon`` is what the model knows. ``only`` names the files that are reported on.
    """
    names_of_all = [f.name for f in files]
    lines = Lines({f.name: f.read_text("utf-8", errors="replace") for f in files})
    told: list[GrammarError] = []
    grammar = read_grammar(files, told.append)
    names = {f.name for f in files} if only is None else set(only)
    found = [_unread(error) for error in told]
    for twice in sorted({name for name in names_of_all if names_of_all.count(name) > 1}):
        text = "there are two phrase files of this name. Rename the added one."
        found.append(Fault(Sort.NOTATION, twice, None, text))
    phrases = [p for p in grammar.phrases if p.file in names]
    found += _unknown_words(phrases, grammar, lexicon, lines)
    found += example_faults(grammar, names, lines)
    found += others_example_faults(grammar, names, phrases, lines)
    for phrase in phrases:
        line = lines.of(phrase.file, phrase.say)
        found += second_meanings(phrase, grammar, line)
        found += _slots(phrase, line)
        found += _said(phrase, line)
        found += steering_faults(phrase, grammar, line)
        found += like_steering(phrase, grammar, lexicon, line)
    found += _spellings(grammar, names, lines)
    found += _read_backs(grammar, names, lines)
    found += _read_back_drugs(grammar, names, lines)
    found += _too_large(grammar)
    found += alike_faults(grammar, phrases, lexicon, lines)
    found += _drugs(grammar, names, lexicon, lines)
    order = list(Sort)
    mine = (fault for fault in dict.fromkeys(found) if fault.file in names or not fault.file)
    return tuple(sorted(mine, key=lambda f: (order.index(f.sort), f.rank, f.file, f.line or 0)))


def check_lists(files: Sequence[Path], layers: Sequence[Layer]) -> tuple[Fault, ...]:
    """What is wrong with the check lists and the handoff list of ``layers``: the first fault of each.

    So is a phrase that starts a check which is not there.

    ``files`` are the phrase files by whose phrases the lists are started and answered.
    """
    grammar = read_grammar(files, lambda _: None)
    checks = [f for f in (layer.folder / "checks" for layer in layers) if f.is_dir()]
    needs = [layer.folder / "handoff" / "needs.toml" for layer in layers]
    found = []
    try:
        load_checklists(grammar, _SETTINGS, *checks)
    except GrammarError as error:
        found.append(_unread(error))
    try:
        load_needs(*needs)
    except GrammarError as error:
        found.append(_unread(error))
    return tuple(found)


def _unread(error: GrammarError) -> Fault:
    file, line, text = told_line(str(error))
    sort = (
        Sort.NO_RANGE
        if re.search(r'it lacks "(min|max)"|range of numbers', text)
        else Sort.NOTATION
    )
    return Fault(sort, file, line, text)


# --- words -------------------------------------------------------------------------------------


def _unknown_words(
    phrases: Sequence[Phrase], grammar: Grammar, lexicon: Lexicon, lines: Lines
) -> Iterator[Fault]:
    lacking: dict[tuple[str, str], None] = {}
    for phrase in phrases:
        for word in sorted(words_of(phrase.expression) - lexicon.keys()):
            lacking[phrase.file, word] = None
        for word in sorted(words_of(phrase.expression) & grammar.spellings.keys()):
            if lines.of_key(phrase.file, word) is None:  # else the spelling itself is the fault
                lacking[phrase.file, word] = None
    for file, word in lacking:
        yield _unknown(word, grammar, lexicon, file, lines.of_word(file, word))


def _unknown(word: str, grammar: Grammar, lexicon: Lexicon, file: str, line: int | None) -> Fault:
    if word in grammar.spellings:
        text = f'"{word}" is read as another word. Write it as phrases are spelled: "{grammar.spellings[word]}".'
    else:
        text = f'the model does not know "{word}". {_proposed(word, lexicon)}'
    return Fault(Sort.UNKNOWN_WORD, file, line, text)


def _proposed(word: str, lexicon: Lexicon) -> str:
    """How the word might be taught, and what it would sound like."""
    try:
        ways = propose(word)
    except ProposalError as error:
        return str(error)
    shown = ", ".join(f'"{" ".join(way)}"' for way in ways)
    near = ", ".join(nearest_words(ways, lexicon, exclude=word))
    return (
        f"Teach it, if it is said so ({shown}), with: legbook phrases teach {word}; "
        f"or take another word. It sounds like: {near}."
    )


def _drugs(grammar: Grammar, names: set[str], lexicon: Lexicon, lines: Lines) -> Iterator[Fault]:
    """Drugs of these files that the model does not know, or that sound like another of the list."""
    mine = {
        drug: (file, line)
        for drug in grammar.drugs
        for file in sorted(names)
        if (line := lines.of_key(file, drug)) is not None
    }
    for drug, (file, line) in mine.items():
        said = wordings(parse_notation(grammar.drugs[drug].said or drug, {}))
        for word in sorted({word for words in said for word in words} - lexicon.keys()):
            yield _unknown(word, grammar, lexicon, file, line)
        for other in grammar.drugs.keys() - {drug}:
            also = wordings(parse_notation(grammar.drugs[other].said or other, {}))
            for words in sorted(set(said) & set(also)):
                text = f'"{" ".join(words)}" means both {drug} and {other}. Reword one of them.'
                yield Fault(Sort.TWO_MEANINGS, file, line, text)
    for pair in sound_alikes(grammar.drugs, lexicon) if mine else ():
        for file, line in [mine[drug] for drug in pair.drugs if drug in mine][:1]:
            yield Fault(Sort.SOUNDS_ALIKE, file, line, _told_pair(pair), pair.distance)


def _told_pair(pair: SoundAlike) -> str:
    one, other = pair.said
    danger = (
        f"both are given in {', '.join(pair.units)}: asked about where both are heard, else only the "
        "read-back tells."
        if pair.units
        else "no unit is common to them."
    )
    return f'the drugs "{one}" and "{other}": {pair.likeness}; {danger}'


# --- meanings ----------------------------------------------------------------------------------


def _slots(phrase: Phrase, line: int | None) -> Iterator[Fault]:
    """Numbers whose unit nobody can know, and ranges that are too wide."""
    if phrase.entry is None:
        return
    told = {*phrase.slots, *phrase.fixed, *phrase.default}
    for slot in slots_of(phrase.expression):
        assert isinstance(slot, ValueSlot)
        numbers = {v for v in slot.forms.values() if not isinstance(v, str | bool)}
        if not numbers:
            continue
        by_name = any(name.endswith("unit") for name in {*told, *_KINDS[phrase.entry].model_fields})
        if not by_name and not _has_unit(slot.field):
            text = f'the number "{slot.field}" has no unit: add a slot, a fixed or a default unit.'
            yield Fault(Sort.NO_UNIT, phrase.file, line, text)
        if len(numbers) > WIDEST:
            text = (
                f'the number "{slot.field}" has {len(numbers)} values; at most {WIDEST} make sense. '
                "Give it the range that is really said, or a greater step."
            )
            yield Fault(Sort.NO_RANGE, phrase.file, line, text)


_KNOWN_UNITS = re.compile(
    r"(?:^|_)(mmhg|cmh2o|kpa|cm|mm|ml|l|kg|g|mg|min|s|h|ft|deg|degrees|percent|per_min|c|f|celsius|fahrenheit"
    r"|mmol|mosm|bpm)(_\w+)?$"
)


def _has_unit(field: str) -> bool:
    return bool(_KNOWN_UNITS.search(field)) or any(part in _COUNTS for part in field.split("_"))


def _said(phrase: Phrase, line: int | None) -> Iterator[Fault]:
    if phrase.entry is None:
        return
    for words in islice(_shortest(phrase), 1):
        text = f'"{words}" is one word: other talk holds it too easily. Add a second word to the entry.'
        yield Fault(Sort.ONE_WORD, phrase.file, line, text)


def _shortest(phrase: Phrase) -> Iterator[str]:
    return (f.text for f in frames(phrase) if len(f.tokens) == 1 and not f.text.startswith("<"))


def _spellings(grammar: Grammar, names: set[str], lines: Lines) -> Iterator[Fault]:
    """Spellings that change a word of the phrases themselves: it would mean something else from then on."""
    used = {word for phrase in grammar.phrases for word in words_of(phrase.expression)}
    for word, instead in grammar.spellings.items():
        for file in sorted(names) if word in used else ():
            if (line := lines.of_key(file, word)) is not None:
                text = (
                    f'"{word}" is a word of phrases, and would be taken for "{instead}". A spelling is for what '
                    "sounds the same and stands in no phrase: take it out."
                )
                yield Fault(Sort.SPELLING, file, line, text)


def _read_backs(grammar: Grammar, names: set[str], lines: Lines) -> Iterator[Fault]:
    """Examples whose read-back is missing, or does not mean what was said."""
    for example in grammar.examples:
        if example.file not in names or not isinstance(example.meaning, Statement):
            continue
        line = lines.of(example.file, example.text)
        try:
            spoken = grammar.read_back(example.meaning, _SETTINGS)
        except GrammarError as error:
            yield Fault(Sort.READ_BACK, example.file, line, str(error))
            continue
        if spoken != "note" and example.meaning not in grammar.parse(spoken, _SETTINGS):
            text = f'"{example.text}" is read back as "{spoken}", which means something else.'
            yield Fault(Sort.READ_BACK, example.file, line, text)


def _read_back_drugs(grammar: Grammar, names: set[str], lines: Lines) -> Iterator[Fault]:
    """Drugs of these files whose dose or rate is read back as another."""
    for drug in grammar.drugs:
        placed = ((file, lines.of_key(file, drug)) for file in sorted(names))
        file, line = next((found for found in placed if found[1] is not None), ("", None))
        for text in drug_texts(grammar, [drug]) if file else ():
            (meaning,) = grammar.parse(text, _SETTINGS)
            spoken = grammar.read_back(meaning, _SETTINGS)
            if meaning not in grammar.parse(spoken, _SETTINGS):
                told = f'"{text}" is read back as "{spoken}", which means something else.'
                yield Fault(Sort.READ_BACK, file, line, told)


def _too_large(grammar: Grammar) -> Iterator[Fault]:
    for state in Listening:
        try:
            acceptor = kept_acceptors.acceptor(grammar, state)
        except GrammarError as error:
            yield Fault(Sort.TOO_LARGE, "", None, f"while {state}: {error}")
            continue
        if (arcs := sum(map(len, acceptor.arcs))) > MOST_ARCS:
            text = (
                f"while {state} there are {arcs} words on all paths, and at most {MOST_ARCS} may be: "
                "hearing would be late. Take out optional words, or values that nobody says."
            )
            yield Fault(Sort.TOO_LARGE, "", None, text)
