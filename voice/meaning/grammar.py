"""The grammar: all phrase files of a folder, as acceptor, parser, sampler and read-back."""

from __future__ import annotations

import hashlib
import re
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter, ValidationError

from voice.entries.kinds import Entry
from voice.entries.kinds.checks import CheckAnswer
from voice.entries.kinds.leg import SpokenNote
from voice.entries.leg import LegSettings
from voice.entries.said import (
    Choice,
    ClockTime,
    Command,
    ConfirmAnd,
    Correction,
    Meaning,
    MinutesAgo,
    Question,
    Several,
    StartCheck,
    Statement,
    Talk,
)
from voice.meaning.attention import guarded, is_answer
from voice.meaning.automaton import compile_acceptor
from voice.meaning.drug_list import DrugList
from voice.meaning.expression import (
    NOTHING,
    Either,
    Expression,
    Found,
    Marked,
    Row,
    Value,
    Word,
    match,
    sample,
)
from voice.meaning.going_on import is_whole
from voice.meaning.listening import Listening
from voice.meaning.numbers import digit_words
from voice.meaning.phrase import Example, GrammarError, Phrase
from voice.meaning.phrase_file import TIMES, PhraseFile, stop_at_fault
from voice.meaning.subjects import Subjects
from voice.meaning.unfinished import Lacks, lacks

if TYPE_CHECKING:
    import random
    from collections.abc import Iterable, Mapping, Sequence

    from voice.meaning.acceptor import Acceptor
    from voice.meaning.drug_list import Drug, DrugClass, Unit
    from voice.meaning.phrase_file import OnFault

__all__ = [
    "GRAMMAR_FOLDER",
    "Example",
    "Grammar",
    "GrammarError",
    "Phrase",
    "load_grammar",
    "normalise",
]

GRAMMAR_FOLDER = Path(__file__).parents[2] / "grammar"
"""The shipped phrase files."""

JOINT_COST = 4.0
"""How much rarer it is, as a natural logarithm, that one more entry follows in the same breath: it
keeps a phrase from being heard as two. A guess: of 1,036 single entries 4 were acted on as two, of
strange voices all (docs/bench.md). So it is for an entry behind "confirm"."""

_ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)


class Grammar:
    """All phrases of a folder. Frozen after loading; acceptors are compiled at first use."""

    def __init__(  # noqa: PLR0913 - all that a folder holds
        self,
        *,
        phrases: tuple[Phrase, ...],
        examples: tuple[Example, ...],
        refused: tuple[tuple[str, str], ...],
        spellings: Mapping[str, str],
        digest: str,
        subjects: Subjects,
        drug_list: DrugList,
        attention: str | None = None,
    ) -> None:
        self.phrases = phrases
        self.examples = examples
        self.refused = refused
        """Counter-examples: (file, text), legal in no state."""
        self.spellings = spellings
        """Words that are read as others which sound the same."""
        self.digest = digest
        """SHA-256 over the names and contents of the files."""
        self.subjects = subjects
        """What can be asked about."""
        self._drug_list = drug_list
        self.drugs: Mapping[str, Drug] = drug_list.drugs
        """The list of drugs, by generic name."""
        self.attention = attention
        """The words without which nothing but an answer is legal; ``None``: all is without them."""
        self._acceptors: dict[int, Acceptor] = {}
        """By the identity of their tree."""
        self._everything = _tree(phrases)
        self._lead_ins = tuple(p.expression for p in phrases if p.lead_in)
        trees: dict[tuple[tuple[Phrase, ...], ...], Expression] = {}
        self._trees: dict[Listening, Expression] = {}
        for state in Listening:
            legal = tuple(p for p in phrases if state in p.states)
            answers = tuple(p for p in legal if attention and is_answer(p, state))
            others = tuple(p for p in legal if p not in answers)
            if (answers, others) not in trees:
                tree = _tree(others)
                trees[answers, others] = (
                    guarded(_tree(answers), tree, attention) if attention else tree
                )
            self._trees[state] = trees[answers, others]

    def guarded(self, attention: str) -> Grammar:
        """The same phrases, legal in a state of the talk only behind the words ``attention``.

        The answers to what is open in that state stay legal without them.
        """
        digest = hashlib.sha256(f"{self.digest}\0{attention}".encode()).hexdigest()
        return Grammar(
            phrases=self.phrases,
            examples=self.examples,
            refused=self.refused,
            spellings=self.spellings,
            digest=digest,
            subjects=self.subjects,
            drug_list=self._drug_list,
            attention=attention,
        )

    def expression(self, state: Listening) -> Expression:
        """All that is legal in ``state``."""
        return self._trees[state]

    def acceptor(self, state: Listening) -> Acceptor:
        """The phrases that are legal in ``state``, as the recogniser needs them.

        States in which the same phrases are legal have one acceptor, the same object.
        """
        tree = self._trees[state]
        if id(tree) not in self._acceptors:
            self._acceptors[id(tree)] = compile_acceptor(tree)
        return self._acceptors[id(tree)]

    def alike(self, state: Listening) -> Listening:
        """The first of the states in which the same phrases are legal as in ``state``."""
        return next(one for one in Listening if self._trees[one] is self._trees[state])

    def drugs_of(self, *classes: DrugClass) -> tuple[str, ...]:
        """The generic names of the drugs of these classes."""
        return tuple(name for name, drug in self.drugs.items() if drug.drug_class in classes)

    def refusal(self, entry: Entry, settings: LegSettings) -> str | None:
        """Why an entry that can be said is not taken, as it is spoken; ``None``: it is taken.

        A drug can be said in a unit in which it is not given, lest it be heard as one in which it is.
        """
        units = self._drug_list.misgiven(entry)
        if not units:
            return None
        said = self.read_back(entry, settings)
        return f"not kept: {said}; that drug goes in {' or '.join(units)}"

    def spelled(self, text: str) -> str:
        """``text`` as phrases are spelled: small letters, no punctuation, one spelling a sound."""
        return " ".join(self.spellings.get(word, word) for word in normalise(text).split())

    def parse(
        self, text: str, settings: LegSettings, state: Listening | None = None
    ) -> tuple[Meaning, ...]:
        """Every meaning of ``text``, which must be one whole phrase; none where it is not legal.

        Capitals, punctuation and other spellings do not count. With ``state``, only what is legal in it; without,
        the attention word may stand before any phrase.
        """
        tree, words = self._sought(text, state)
        meanings = (_meaning(found, settings) for found in match(tree, words))
        return tuple(dict.fromkeys(meaning for meaning in meanings if meaning is not None))

    def is_phrase(self, text: str, state: Listening | None = None) -> bool:
        """Whether ``text`` is a whole phrase, as ``parse`` has it, though it may mean nothing."""
        return next(match(*self._sought(text, state)), None) is not None

    def _sought(self, text: str, state: Listening | None) -> tuple[Expression, list[str]]:
        """Where ``text`` is looked for, and which of its words."""
        words = self.spelled(text).split()
        return (
            (self._everything, words[self._called(words) :])
            if state is None
            else (self._trees[state], words)
        )

    def _called(self, words: list[str]) -> int:
        """How many words the attention word takes up at the beginning of these."""
        call = (self.attention or "").split()
        return len(call) if words[: len(call)] == call else 0

    def lead_in(self, text: str) -> tuple[int, int]:
        """From which to which of its words, end excluded, ``text`` has a lead-in, as "okay"; alike: it has none."""
        words = text.split()
        begin = self._called(words)
        ends = (
            end
            for end in range(len(words), begin, -1)
            if any(next(match(way, words[begin:end]), None) is not None for way in self._lead_ins)
        )
        return begin, next(ends, begin)

    def is_lead_in(self, text: str) -> bool:
        """Whether ``text`` is a lead-in and nothing more."""
        begin, end = self.lead_in(text)
        return begin < end == len(text.split())

    def _without_lead_in(self, text: str) -> list[str]:
        """The words of ``text`` behind an attention word and a lead-in."""
        spelled = self.spelled(text)
        return spelled.split()[self.lead_in(spelled)[1] :]

    def has_second_thought(self, text: str, state: Listening) -> bool:
        """Whether words in ``text``, but not its first, take back what stands before them, as "no wait"."""
        words = self._without_lead_in(text)
        pieces = (words[begin:end] for end in range(len(words) + 1) for begin in range(1, end))
        return self._any_is_correction(pieces, state)

    def _any_is_correction(self, pieces: Iterable[Sequence[str]], state: Listening) -> bool:
        ways = [p.expression for p in self.phrases if p.correction and state in p.states]
        return any(next(match(way, piece), None) is not None for piece in pieces for way in ways)

    def lacks(self, text: str, state: Listening) -> Lacks:
        """What ``text``, the beginning of a phrase that is legal in ``state``, lacks."""
        legal = [p for p in self.phrases if state in p.states]
        words = self._without_lead_in(text)
        if self._any_is_correction((words[begin:] for begin in range(len(words))), state):
            return Lacks.REST  # a whole entry
        return lacks(" ".join(words), self._everything, legal)

    def is_whole(self, text: str, state: Listening) -> bool:
        """Whether ``text`` is legal in ``state`` and nothing more can be said in the same breath.

        "Confirm" is whole: an entry behind it is one of its own, and loses nothing by a pause before it.
        """
        if self.parse(text, LegSettings(), state) == (Command(talk=Talk.CONFIRM),):
            return True
        return is_whole(self._trees[state], self.spelled(text).split())

    def sample(
        self, rng: random.Random, state: Listening, settings: LegSettings | None = None
    ) -> tuple[str, Meaning]:
        """A legal phrase drawn at random, and what it means."""
        while True:
            text = " ".join(sample(self._trees[state], rng))
            if meanings := self.parse(text, settings or LegSettings(), state):
                return text, meanings[0]

    def read_back(self, said: Meaning | Entry, settings: LegSettings, *, long: bool = False) -> str:
        """What is spoken back: the value last, digit by digit; ``long`` as ``Phrase.read_back`` has it.

        Raises GrammarError where no phrase of the grammar can say it.
        """
        match said:
            case Command(talk=talk, minutes=minutes):
                later = [] if minutes is None else [f"{digit_words(minutes)} minutes"]
                spoken = [talk.value, *later]
            case Choice(value=value):
                spoken = [digit_words(value)]
            case Question():
                spoken = [self._read(said.model_dump(exclude={"form"}), settings, question=True)]
            case StartCheck(check=check):
                spoken = [f"check {check}"]
            case Correction(statement=statement):
                spoken = ["correction", self.read_back(statement, settings, long=long)]
            case ConfirmAnd(then=then):
                spoken = [Talk.CONFIRM.value, self.read_back(then, settings, long=long)]
            case Statement(entry=entry, when=when):
                spoken = [self.read_back(entry, settings, long=long)]
                if when is not None:
                    fields = when.model_dump(exclude={"form"})
                    spoken.insert(0, self._read(fields, settings, time=when.form))
            case Several(statements=statements):
                return "; ".join(self.read_back(one, settings, long=long) for one in statements)
            case entry:
                spoken = [self._read_entry(entry, settings, long=long)]
        return ", ".join(spoken)

    def _read_entry(self, entry: Entry, settings: LegSettings, *, long: bool) -> str:
        match entry:
            case SpokenNote():
                return "note"  # only its sound is kept
            case CheckAnswer(item=item, answer=answer):
                return f"{item}, {answer}"
        fields = entry.model_dump(exclude={"kind"})
        return self._read(fields, settings, entry=entry.kind, long=long)

    def _read(  # noqa: PLR0913 - what is read, as what, and two options
        self,
        fields: Mapping[str, Value | None],
        settings: LegSettings,
        entry: str | None = None,
        time: str | None = None,
        *,
        question: bool = False,
        long: bool = False,
    ) -> str:
        for phrase in self.phrases:
            asks = phrase.question is not None
            if (phrase.entry, phrase.time, asks) == (entry, time, question):
                text = phrase.read_back(fields, settings, long=long)
                if text is not None:
                    return text
        told = ", ".join(f"{name} {value}" for name, value in fields.items() if value is not None)
        raise GrammarError(
            f"The grammar has no read-back for {entry or time or 'the question'} ({told}). "
            "Add one to its phrase file."
        )


_JOINT = object()
"""Marks the place where more of the same breath begins: a further entry, one behind "confirm", or a second thought."""
_AND = Either((Word("and"), NOTHING))
"""May stand before it: unheard, "fourteen and drained six mils" was heard as forty nine."""


def _tree(phrases: Sequence[Phrase]) -> Expression:
    """All that can be said with ``phrases``: each alone, entries with a time, joined, or corrected."""

    def some(chosen: Iterable[Phrase]) -> Expression:
        return Either(tuple(Marked(phrase.expression, phrase, phrase.cost) for phrase in chosen))

    alone = some(p for p in phrases if p.talk or p.question is not None or p.check or p.choice)
    if all(p.entry is None for p in phrases):
        return alone
    before = some(p for p in phrases if p.place == "before")
    after = some(p for p in phrases if p.place == "after")
    timed = some(p for p in phrases if p.entry is not None and not p.timeless)
    timeless = [p for p in phrases if p.entry is not None and p.timeless]
    at_a_time = (Row((timed, Either((after, NOTHING)))), Row((before, timed)))
    statement = Either((*at_a_time, some(timeless)) if timeless else at_a_time)
    correction = some(p for p in phrases if p.correction)
    ways = [alone, statement, Row((correction, statement))]
    breaths: list[Expression] = [statement]
    joined = [p for p in phrases if p.joined]
    if joined:
        further = Row((_AND, Marked(some(joined), _JOINT, JOINT_COST)))
        breaths.append(Row((some(joined), further, Either((further, NOTHING)))))
    ways += breaths[1:]
    first = some(p for p in phrases if p.entry is not None)
    ways.append(Row((first, Marked(Row((correction, statement)), _JOINT, JOINT_COST))))
    if led_into := [p for p in phrases if p.lead_in]:
        asked = some(p for p in phrases if p.question is not None or p.check)
        ways.append(Row((some(led_into), Either((asked, *ways[1:])))))
    if confirms := [p for p in phrases if p.talk is Talk.CONFIRM]:
        ways.append(Row((some(confirms), Marked(Either(tuple(breaths)), _JOINT, JOINT_COST))))
    return Either(tuple(ways))


@lru_cache(maxsize=4)
def load_grammar(folder: Path = GRAMMAR_FOLDER) -> Grammar:
    """The grammar of the phrase files (``*.toml``) in ``folder``.

    Raises GrammarError, naming the file and the line or phrase.
    """
    files = sorted(folder.glob("*.toml"))
    if not files:
        raise GrammarError(f"There is no phrase file (*.toml) in {folder}.")
    return read_grammar(files)


def read_grammar(files: Sequence[Path], on_fault: OnFault = stop_at_fault) -> Grammar:
    """The grammar of these phrase files; raises GrammarError as `load_grammar` does.

    With ``on_fault``, that is told of every fault instead, and what is faulty is left out.
    """
    digest = hashlib.sha256()
    readers = []
    for path in files:
        raw = path.read_bytes()
        digest.update(path.name.encode() + b"\0" + raw + b"\0")
        try:
            readers.append(PhraseFile(path.name, raw, on_fault))
        except GrammarError as fault:
            on_fault(fault)
    try:
        drugs = _drug_list(readers)
    except GrammarError as fault:
        on_fault(fault)
        drugs = DrugList({}, {}, {})
    phrases = [phrase for reader in readers for phrase in reader.phrases(drugs)]
    subjects = Subjects(phrases, (kind for reader in readers for kind in reader.unsaid))
    phrases += [phrase for reader in readers for phrase in reader.questions(subjects.slots())]
    return Grammar(
        phrases=tuple(phrases),
        examples=tuple(example for reader in readers for example in reader.examples),
        refused=tuple((reader.name, text) for reader in readers for text in reader.refused),
        spellings={word: heard for reader in readers for word, heard in reader.spellings.items()},
        digest=digest.hexdigest(),
        subjects=subjects,
        drug_list=drugs,
    )


def _drug_list(readers: Sequence[PhraseFile]) -> DrugList:
    """The drugs and units of all files; each stands in one file only."""
    drugs: dict[str, Drug] = {}
    units: dict[str, Unit] = {}
    for reader in readers:
        for twice in (drugs.keys() & reader.drugs.keys()) | (units.keys() & reader.units.keys()):
            first = next(r.name for r in readers if twice in r.drugs or twice in r.units)
            raise GrammarError(
                f'{reader.name}: "{twice}" stands in {first} already, and can be said. Take it out here.'
            )
        drugs |= reader.drugs
        units |= reader.units
    files = {name: reader.name for reader in readers for name in reader.drugs}
    return DrugList(drugs, units, files)


def normalise(text: str) -> str:
    """Small letters, single spaces, no punctuation."""
    return " ".join(re.findall(r"[a-z']+", text.lower()))


def _meaning(found: tuple[Found, ...], settings: LegSettings) -> Meaning | None:
    """What the marks that were met mean; ``None`` for what cannot stand together: it was misheard."""
    met = [
        (one.mark, one.fields) for one in found if one.mark is not _JOINT and not one.mark.lead_in
    ]
    if len(met) == 1 and (alone := _alone(*met[0])) is not None:
        return alone
    entries: list[Entry] = []
    when: MinutesAgo | ClockTime | None = None
    phrase: Phrase
    for place, (phrase, said) in enumerate(met):
        if phrase.correction and place > 0:
            entries, when = [], None  # a second thought: the first was never kept
        if phrase.time is not None:
            when = TIMES[phrase.time].model_validate(said)
        elif phrase.entry is not None:
            defaults = {name: getattr(settings, s) for name, s in phrase.default.items()}
            fields = {"kind": phrase.entry, **defaults, **phrase.fixed, **said}
            try:
                entries.append(_ENTRY.validate_python(fields))
            except ValidationError:
                return None
    stated = _stated(entries, when)
    first: Phrase = met[0][0]
    if isinstance(stated, Statement) and first.correction:
        return Correction(statement=stated)
    return ConfirmAnd(then=stated) if stated is not None and first.talk else stated


def _alone(phrase: Phrase, said: Mapping[str, Value]) -> Meaning | None:
    """What a phrase means that is no entry and stands alone."""
    if phrase.talk is not None:
        return Command.model_validate({**phrase.fixed, **said})
    if phrase.check is not None:
        return StartCheck(check=phrase.check)
    if phrase.choice:
        return Choice.model_validate(said)
    if phrase.question is not None:
        return Question.model_validate({**phrase.fixed, **said})
    return None


def _stated(
    entries: list[Entry], when: MinutesAgo | ClockTime | None
) -> Statement | Several | None:
    if len(entries) > 1:
        try:
            return Several(statements=tuple(Statement(entry=entry) for entry in entries))
        except ValidationError:
            return None
    return Statement(entry=entries[0], when=when)
