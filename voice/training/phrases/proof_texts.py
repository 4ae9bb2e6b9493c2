"""What is spoken in a proof: what is new, and the old phrases that sound most like it.

New are phrases, drugs of a list, and ways of saying a word: each can make something else misheard.
"""

from __future__ import annotations

import math
import random
from collections import Counter
from itertools import cycle, islice
from typing import TYPE_CHECKING

from voice.acoustics.lexicon_file import ways_of
from voice.entries.leg import LegSettings
from voice.entries.said import Talk
from voice.meaning.listening import Listening
from voice.meaning.narrowing import words_of
from voice.meaning.twins import TEN_FOR_TEEN
from voice.training.phrases.frames import Sounds, frames
from voice.training.phrases.phone_distance import distance

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence

    from voice.acoustics.lexicon_file import Lexicon, Pronunciation
    from voice.entries.said import Meaning
    from voice.meaning.grammar import Grammar
    from voice.meaning.phrase import Phrase
    from voice.training.phrases.frames import Frame

MOST_NEW = 12
MOST_OLD = 12
"""Texts of each sort; every one is spoken by every voice, in silence and in noise."""
FROM_EACH_PHRASE = 6
FARTHEST = 20.0
"""An old phrase that is farther away than this is not tried: see `phone_distance`."""
_NEAREST_EACH = 4
_NEAREST_NAMES = 3
"""So many old drugs for a new one, and words of old phrases for a taught one, that sound most like it."""
_FROM_EACH_OLD = 2
"""Other wordings of the same old phrase tell little more."""
_ASKED_ABOUT = frozenset(TEN_FOR_TEEN) | frozenset(TEN_FOR_TEEN.values())
"""Values that are asked about anyhow: whether the words are heard is seen better without them."""
_SETTINGS = LegSettings()

Form = tuple[str, ...]


def state_of(grammar: Grammar, text: str) -> Listening | None:
    """When ``text`` may be said: after a read-back, else whenever it may; ``None``: never."""
    states = (Listening.CONFIRMING, *Listening)
    return next((s for s in states if len(grammar.parse(text, _SETTINGS, s)) == 1), None)


def meaning_of(grammar: Grammar, text: str) -> Meaning | None:
    """The one meaning of ``text``; ``None`` where it has none or several."""
    meanings = grammar.parse(text, _SETTINGS)
    return meanings[0] if len(meanings) == 1 else None


def new_texts(grammar: Grammar, files: Iterable[str], most: int = MOST_NEW) -> list[str]:
    """Texts for the phrases of these files: every example, then other wordings with other values."""
    names = set(files)
    texts = [e.text for e in grammar.examples if e.file in names]
    for n, phrase in enumerate(p for p in grammar.phrases if p.file in names):
        rng = random.Random(n)  # noqa: S311 - the same texts each time, no secret
        found = frames(phrase)
        some = found[:: max(1, len(found) // FROM_EACH_PHRASE)][:FROM_EACH_PHRASE]
        # with few wordings, each is said with several values
        each = islice(cycle(some), FROM_EACH_PHRASE)
        texts += [" ".join(filled(frame, _forms(phrase, rng))) for frame in each]
    return [t for t in _one_each(texts, grammar) if state_of(grammar, t) is not None][:most]


def old_texts(
    before: Grammar, after: Grammar, files: Iterable[str], lexicon: Lexicon, most: int = MOST_OLD
) -> list[str]:
    """Texts of ``before`` that sound most like the phrases of ``files``, the nearest first.

    Where an old phrase takes the value of the new one, it is said with that.
    """
    names = set(files)
    old = [f for p in before.phrases if p.file not in names for f in frames(p)]
    rng = random.Random(7)  # noqa: S311 - the same texts each time, no secret
    texts: list[tuple[float, str]] = []
    times: Counter[int] = Counter()
    for phrase in (p for p in after.phrases if p.file in names):
        near = Sounds(old, lexicon).nearest(frames(phrase), FARTHEST, _NEAREST_EACH)
        for pair in sorted(near, key=lambda pair: pair.distance):
            times[id(pair.other.phrase)] += 1
            if times[id(pair.other.phrase)] <= _FROM_EACH_OLD:
                said = _taken(pair.other, _forms(phrase, rng).values(), rng)
                texts.append((pair.distance, " ".join(filled(pair.other, said))))
    in_order = [text for _, text in sorted(texts, key=lambda found: found[0])]
    return [t for t in _one_each(in_order, before) if state_of(before, t) is not None][:most]


def deciding_texts(grammar: Grammar) -> list[str]:
    """The words that keep an entry or take it back: heard worse, they do the most harm."""
    phrases = (p for p in grammar.phrases if p.talk in {Talk.CONFIRM, Talk.SCRATCH_THAT})
    texts = [" ".join(frames(phrase)[0].tokens) for phrase in phrases]
    return [text for text in texts if state_of(grammar, text) is not None]


def drug_texts(grammar: Grammar, drugs: Iterable[str]) -> list[str]:
    """Every wording of these drugs, as a dose and as an infusion, in each unit in which it is given."""
    wanted = set(drugs)
    rng = random.Random(11)  # noqa: S311 - the same texts each time, no secret
    texts: dict[tuple[str | None, Form, object], str] = {}
    for phrase in grammar.phrases:
        slot = phrase.slots.get("drug")
        if slot is None or "unit" not in phrase.fixed or phrase.misgiven:
            continue
        for form in (form for form, drug in slot.forms.items() if drug in wanted):
            key = phrase.entry, form, phrase.fixed["unit"]
            if key not in texts and (text := _with_form(phrase, "drug", form, rng)):
                texts[key] = text
    return [t for t in _one_each([*texts.values()], grammar) if state_of(grammar, t) is not None]


def like_drugs(before: Grammar, after: Grammar, lexicon: Lexicon) -> list[str]:
    """Texts of the old drugs that sound most like those that only ``after`` has."""
    spoken: dict[str, list[Pronunciation]] = {}
    for phrase in after.phrases:
        for form, drug in phrase.slots["drug"].forms.items() if "drug" in phrase.slots else ():
            spoken.setdefault(str(drug), []).extend(ways_of(form, lexicon))
    nearest: list[str] = []
    for new in after.drugs.keys() - before.drugs.keys():
        nearest += _nearest(spoken[new], {old: spoken[old] for old in before.drugs})
    return drug_texts(before, nearest)


def like_words(
    before: Grammar, taught: Mapping[str, Sequence[Pronunciation]], lexicon: Lexicon
) -> list[str]:
    """Old phrases with the words that sound most like taught ones, or that are taught anew.

    ``lexicon`` is what was known before.
    """
    phrases = {
        word: phrase
        for phrase in reversed(before.phrases)
        if phrase.entry is not None or phrase.talk is not None
        for word in words_of(phrase.expression) & lexicon.keys()
    }
    nearest: list[str] = []
    for word, ways in taught.items():
        others = {other: lexicon[other] for other in phrases if other != word}
        nearest += [word] * (word in phrases) + _nearest(ways, others)
    rng = random.Random(13)  # noqa: S311 - the same texts each time, no secret
    texts = [_with_word(phrases[word], word, rng) for word in dict.fromkeys(nearest)]
    said = _one_each([text for text in texts if text], before)
    return [text for text in said if state_of(before, text) is not None]


def _nearest(
    ways: Sequence[Pronunciation], known: Mapping[str, Sequence[Pronunciation]]
) -> list[str]:
    """The names that sound most like one of ``ways``."""
    far = {
        name: min((distance(way, other) for way in ways for other in spoken), default=math.inf)
        for name, spoken in known.items()
    }
    return sorted(far, key=lambda name: (far[name], name))[:_NEAREST_NAMES]


def _with_word(phrase: Phrase, word: str, rng: random.Random) -> str | None:
    """A text of ``phrase`` in which ``word`` is said, in a value where it is none of its own words."""
    for frame in frames(phrase):
        if word in frame.tokens:
            return " ".join(filled(frame, _forms(phrase, rng)))
    for name, slot in phrase.slots.items():
        if forms := [form for form in slot.forms if word in form]:
            return _with_form(phrase, name, min(forms, key=len), rng)
    return None


def _with_form(phrase: Phrase, name: str, form: Form, rng: random.Random) -> str | None:
    """A text of ``phrase`` with ``form`` as the value of its slot ``name``."""
    for frame in frames(phrase):
        if f"<{name}>" in frame.tokens or set(form) <= set(frame.tokens):
            return " ".join(filled(frame, {**_forms(phrase, rng), name: form}))
    return None


def filled(frame: Frame, forms: dict[str, Form]) -> Iterator[str]:
    """The words of ``frame`` with a way of saying each open value."""
    for token in frame.tokens:
        if token.startswith("<"):
            yield from forms[token[1:-1]]
        else:
            yield token


def _forms(phrase: Phrase, rng: random.Random) -> dict[str, Form]:
    """For each slot a value that is said in few words and is not asked about anyhow."""
    return {name: _form(slot.forms, rng) for name, slot in phrase.slots.items()}


def _form(forms: Iterable[Form], rng: random.Random) -> Form:
    every = list(forms)
    plain = [f for f in every if len(f) <= 2 and not _ASKED_ABOUT & set(f)]
    return rng.choice(plain or every)


def _taken(frame: Frame, said: Iterable[Form], rng: random.Random) -> dict[str, Form]:
    """The values that were said, wherever a slot of ``frame`` takes one of them."""
    waiting = list(said)
    forms = {}
    for name, slot in frame.phrase.slots.items():
        fits = [form for form in waiting if form in slot.forms]
        forms[name] = fits[0] if fits else _form(slot.forms, rng)
        waiting = [form for form in waiting if form != forms[name]]
    return forms


def _one_each(texts: Sequence[str], grammar: Grammar) -> list[str]:
    return list(dict.fromkeys(grammar.spelled(text) for text in texts))
