"""From a draft to phrases that are listened for: write, teach, prove, bless, and take back."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import tomllib
from typing import TYPE_CHECKING, Any

from voice.acoustics import shipped
from voice.acoustics.lexicon_file import checked, format_lexicon, read_lexicon
from voice.entries.errors import LegbookError
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.expression import match
from voice.meaning.grammar import GRAMMAR_FOLDER, GrammarError, read_grammar
from voice.session.models import SHIPPED_NAME, Model, shipped_model
from voice.session.own_phrases import (
    LEXICON,
    Layer,
    chosen_grammar,
    drafts,
    hearing_folder,
    layers,
    own_layer,
    packs,
    phrase_files,
    taught_words,
)
from voice.session.setups import model_digest
from voice.training.phrases.holding import faults_of
from voice.training.phrases.proof import Hearer, Trial
from voice.training.phrases.proof_texts import (
    deciding_texts,
    drug_texts,
    like_drugs,
    like_words,
    new_texts,
    old_texts,
)
from voice.training.phrases.voices import voices

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from voice.acoustics.lexicon_file import Lexicon
    from voice.entries.kinds import Entry
    from voice.meaning.grammar import Grammar
    from voice.training.phrases.proof import Proof
    from voice.training.phrases.voices import Voice

VOICES = 4
"""So many voices prove, where there are as many."""
_TAKEN_OVER = ("entry", "fixed", "default", "timeless", "cost")
"""What another wording of a phrase has in common with it; it is read back as that one is."""
_NAME = re.compile(r"[a-z0-9_-]{1,60}")
_SETTINGS = LegSettings()


class WorkshopError(LegbookError):
    """A draft cannot be made, or nothing can be done with it."""


# --- writing -----------------------------------------------------------------------------------


def write_draft(name: str, say: str, like: str, example: str, refused: Sequence[str]) -> Path:
    """Write another wording for what is said already, and return its file among the drafts.

    ``say`` is the wording in the notation of phrase files; ``like`` a phrase that is legal today and
    makes such an entry: its slots are taken over. ``example`` is a phrase in the new wording; what it
    means is taken from the grammar with it, and read back to the trainer before anything is kept.

    Raises ``WorkshopError`` where one of them does not fit, and ``GrammarError`` where ``say`` does
    not; then nothing is written.
    """
    if not _NAME.fullmatch(name) or (GRAMMAR_FOLDER / f"{name}.toml").exists():
        raise WorkshopError(
            f'A file of phrases cannot be called "{name}". Take a name of its own in small letters, '
            "figures, - and _."
        )
    file = drafts().folder / f"{name}.toml"
    if file.exists():
        raise WorkshopError(
            f"There is already a draft {file}. Take another name, or edit that file."
        )
    if there := [f for layer in layers() for f in layer.files if f.name == file.name]:
        raise WorkshopError(f"{there[0]} is listened for already. Take another name.")
    table = {"say": say} | _like(chosen_grammar(), like)
    chosen_grammar(drafts())  # a draft that cannot be read is told before this one is written
    text = _written(f"Another way of saying “{like}”.", refused, table)
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, "utf-8")
    try:
        fields = _meant(example, say).model_dump(exclude_none=True)
        file.write_text(f"{text}\n[examples]\n{json.dumps(example)} = {_inline(fields)}\n", "utf-8")
    except LegbookError:
        file.unlink()
        raise
    return file


def _meant(example: str, say: str) -> Entry:
    """The entry that ``example`` says with the drafts; raises ``WorkshopError`` where it is not one."""
    try:
        grammar = read_grammar(phrase_files(drafts()))
    except GrammarError as error:
        raise WorkshopError(f"{error} Nothing was kept.") from error
    meanings = grammar.parse(example, _SETTINGS)
    if len(meanings) == 1 and isinstance(meanings[0], Statement):
        return meanings[0].entry
    if len(meanings) > 1:
        means = " and ".join(f'"{grammar.read_back(one, _SETTINGS)}"' for one in meanings)
        raise WorkshopError(
            f'"{example}" would mean {means}: it can be said today. Nothing was kept. Take another wording.'
        )
    told = f'"{example}" does not say one entry in the new wording "{say}". Nothing was kept.'
    if other := sorted(set(say.split()) & grammar.spellings.keys()):
        told += f' Write "{other[0]}" as phrases are spelled: "{grammar.spellings[other[0]]}".'
    else:
        told += " Give an example that does."
    raise WorkshopError(told)


def _like(grammar: Grammar, like: str) -> dict[str, Any]:
    """The table of the phrase that says ``like``, with the slots of its file."""
    words = grammar.spelled(like).split()
    entries = (p for p in grammar.phrases if p.entry is not None)
    phrase = next((p for p in entries if next(match(p.expression, words), None) is not None), None)
    if phrase is None:
        raise WorkshopError(
            f'"{like}" is no entry that can be said today. See: legbook phrases try'
        )
    source = next(file for file in phrase_files() if file.name == phrase.file)
    data = tomllib.loads(source.read_text("utf-8"))
    table = next((t for t in data["phrase"] if t["say"] == phrase.say), None)
    if table is None:
        raise WorkshopError(
            f'"{like}" is made from the list of drugs. A drug that is not in it goes into a list of your own; '
            "another name of one that is, into a phrase file: docs/grammar.md has both."
        )
    of_the_file = {n: slot for n, slot in data.get("slots", {}).items() if n in phrase.slots}
    slots = {**of_the_file, **table.get("slots", {})}
    return {key: table[key] for key in _TAKEN_OVER if key in table} | {"slots": slots}


def _written(about: str, refused: Sequence[str], table: Mapping[str, Any]) -> str:
    lines = [
        f"about = {json.dumps(about, ensure_ascii=False)}",
        f"refused = {_inline(list(refused))}",
    ]
    lines += ["", "[[phrase]]"]
    lines += [f"{key} = {_inline(value)}" for key, value in table.items() if value != {}]
    return "\n".join(lines) + "\n"


def _inline(value: Any) -> str:
    """A value as TOML writes it on one line."""
    if isinstance(value, dict):
        named = (f"{_key(key)} = {_inline(told)}" for key, told in value.items())
        return "{ " + ", ".join(named) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def _key(key: str) -> str:
    return key if re.fullmatch(r"[A-Za-z0-9_-]+", key) else json.dumps(key, ensure_ascii=False)


def teach(word: str, ways: Sequence[str]) -> Lexicon:
    """Write a word and its pronunciations (phones with spaces between) among the drafts.

    Raises ``WorkshopError`` where it is no word, and ``LexiconError`` for an unknown phone.
    """
    if not re.fullmatch(r"[a-z']+", word):
        raise WorkshopError(f'"{word}" is not one word in small letters. Spell it out.')
    file = drafts().folder / LEXICON
    words = read_lexicon(file) if file.is_file() else {}
    words[word] = tuple(dict.fromkeys(checked(word, way.split(), "the command") for way in ways))
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(format_lexicon(words), "utf-8")
    return words


# --- proving -----------------------------------------------------------------------------------


def known_words(*more: Layer) -> Lexicon:
    """All words that would be heard with the layers ``more``."""
    return read_lexicon(hearing_folder(*more) / shipped.LEXICON)


def trial_of(
    layer: Layer, spoken_by: Sequence[Voice] | None = None, also: Sequence[str] = ()
) -> Trial:
    """What has to be spoken to prove the phrases of ``layer``, which nothing listens for yet.

    ``also`` are old phrases to try besides the nearest: those that a reviewer found misheard. Raises
    ``GrammarError`` where the phrases cannot be read.
    """
    before = Hearer(shipped_model(), chosen_grammar())
    folder = hearing_folder(layer)
    after = Hearer(Model(SHIPPED_NAME, folder), chosen_grammar(layer))
    names = [file.name for file in layer.files]
    known = known_words(layer)
    new_drugs = after.grammar.drugs.keys() - before.grammar.drugs.keys()
    old = [
        *like_drugs(before.grammar, after.grammar, known),
        *like_words(before.grammar, layer.words, known_words()),
        *old_texts(before.grammar, after.grammar, names, known),
    ]
    new = [*new_texts(after.grammar, names), *drug_texts(after.grammar, sorted(new_drugs))]
    old += deciding_texts(before.grammar) if new or old else []
    legal = [text for text in also if before.grammar.parse(text, _SETTINGS)]
    return Trial(
        before=before,
        after=after,
        new=new,
        old=list(dict.fromkeys([*legal, *old])),
        voices=spoken_by if spoken_by is not None else some_voices(),
        model_digest=model_digest(folder),
        files=_digests(layer),
    )


def _digests(layer: Layer) -> dict[str, str]:
    return {f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in layer.files}


def some_voices(count: int = VOICES) -> tuple[Voice, ...]:
    """Voices of this machine that differ: one of each program first, then more of the same."""
    every = voices()
    firsts = {voice.name.split()[0]: voice for voice in reversed(every)}
    others = [voice for voice in every if voice not in firsts.values()]
    return (*reversed(firsts.values()), *others)[:count]


def bless(layer: Layer, proof: Proof) -> tuple[Path, ...]:
    """Listen for the phrases and words of ``layer`` from now on, and keep the proof beside them.

    Raises ``WorkshopError`` where the proof has reasons against it, where one file is there already, or
    where a file is not what was proven.
    """
    if proof.reasons():
        raise WorkshopError(proof.reasons()[0])
    own = own_layer()
    own.folder.mkdir(parents=True, exist_ok=True)
    if there := [f.name for f in layer.files if (own.folder / f.name).exists()]:
        raise WorkshopError(f"{there[0]} is listened for already. Rename the draft.")
    if _digests(layer) != proof.files:
        raise WorkshopError(
            "A draft was changed while it was proven. Prove it again, with: legbook phrases prove"
        )
    words = own.words
    for word, spoken in layer.words.items():
        words[word] = tuple(dict.fromkeys((*words.get(word, ()), *spoken)))
    if words:
        (own.folder / LEXICON).write_text(format_lexicon(words), "utf-8")
    (layer.folder / LEXICON).unlink(missing_ok=True)
    moved = []
    for file in layer.files:
        (own.folder / f"{file.stem}.proof.json").write_text(
            proof.model_dump_json(indent=1), "utf-8"
        )
        moved.append(file.rename(own.folder / file.name))
    return tuple(moved)


def remove(name: str) -> str:
    """Stop listening for an own file, a pack or a taught word; what was done, in a sentence.

    A file goes back to the drafts, a pack and the taught ways of saying a word are taken away. Words that
    a file brought with it stay known. Raises ``WorkshopError`` where there is none of that name, and
    where a phrase would be left with a word that is not known, or a list with a phrase that is none.
    """
    own = own_layer()
    file = own.folder / f"{name}.toml"
    if file in own.files:
        _check_what_is_left([f for f in phrase_files() if f != file], taught_words(), layers())
        drafts().folder.mkdir(parents=True, exist_ok=True)
        if (drafts().folder / file.name).exists():
            raise WorkshopError(f"There is already a draft {file.name}. Take that away first.")
        (own.folder / f"{name}.proof.json").unlink(missing_ok=True)
        file.rename(drafts().folder / file.name)
        return f"Nothing listens for {name} any more; it is among the drafts: {drafts().folder}"
    for pack in packs():
        if pack.folder.name == name:
            others = [layer for layer in layers() if layer.folder != pack.folder]
            files = [f for f in phrase_files() if f not in pack.files]
            _check_what_is_left(files, {w for layer in others for w in layer.words}, others)
            shutil.rmtree(pack.folder)
            return f"Nothing listens for the pack {name} any more; it was taken away."
    words = own.words
    if words.pop(name, None) is not None:
        others_words = {w for pack in packs() for w in pack.words}
        _check_what_is_left(phrase_files(), words.keys() | others_words, layers())
        (own.folder / LEXICON).write_text(format_lexicon(words), "utf-8")
        return f'"{name}" is known as before it was taught here.'
    there = [*(f.stem for f in own.files), *(p.folder.name for p in packs()), *words]
    raise WorkshopError(f'There is no "{name}" here. There are: {", ".join(there) or "none"}.')


def _check_what_is_left(
    files: Sequence[Path], words: Collection[str], there: Sequence[Layer]
) -> None:
    """Raise ``WorkshopError`` where no leg could begin with what is left, but could before."""
    before = faults_of(phrase_files(), taught_words(), layers())
    if new := sorted(faults_of(files, words, there) - before):
        raise WorkshopError(
            f"{new[0]} Nothing was taken away. Take that away first, with: legbook phrases remove NAME"
        )
