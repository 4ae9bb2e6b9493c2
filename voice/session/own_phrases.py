"""The phrases and words that a trainer added on this machine, over the shipped ones.

They lie beside the legs, or where LEGBOOK_PHRASES says, never among the shipped files::

    phrases/own/NAME.toml       phrases that were written here and proven
    phrases/own/lexicon.txt     words that were taught here, with their phones
    phrases/own/checks/         check lists in place of shipped ones, or beside them
    phrases/own/handoff/needs.toml  what a handoff has to tell, in place of the shipped list
    phrases/packs/NAME/...      the same, come in a pack from another machine
    phrases/drafts/...          the same, not yet proven: nothing listens for them
"""

from __future__ import annotations

import hashlib
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from voice.acoustics import shipped
from voice.acoustics.lexicon_file import Lexicon, format_lexicon, read_lexicon
from voice.acoustics.new_words import with_words
from voice.meaning.grammar import GRAMMAR_FOLDER, Grammar, GrammarError, load_grammar, read_grammar
from voice.record.places import legs_root

LEXICON = "lexicon.txt"


@dataclass(frozen=True, slots=True)
class Layer:
    """A folder of phrase files and taught words."""

    folder: Path

    @property
    def files(self) -> tuple[Path, ...]:
        """Its phrase files, by name."""
        return tuple(sorted(self.folder.glob("*.toml")))

    @property
    def lists(self) -> tuple[Path, ...]:
        """Its check lists, and its list of what a handoff has to tell."""
        needs = self.folder / "handoff" / "needs.toml"
        return (*sorted((self.folder / "checks").glob("*.toml")), *[needs] * needs.is_file())

    @property
    def words(self) -> Lexicon:
        """The words that it teaches; raises ``LexiconError`` where one has an unknown phone."""
        file = self.folder / LEXICON
        return read_lexicon(file) if file.is_file() else {}


def phrases_root() -> Path:
    """Where a trainer's phrases lie: at LEGBOOK_PHRASES where it is set, else beside the legs."""
    place = os.environ.get("LEGBOOK_PHRASES")
    return Path(place) if place else legs_root().parent / "phrases"


def own_layer() -> Layer:
    """What was written and proven here."""
    return Layer(phrases_root() / "own")


def drafts() -> Layer:
    """What is not proven yet."""
    return Layer(phrases_root() / "drafts")


def packs() -> tuple[Layer, ...]:
    """What came from other machines, by name."""
    root = phrases_root() / "packs"
    folders = sorted(root.iterdir()) if root.is_dir() else []
    return tuple(Layer(f) for f in folders if f.is_dir() and not f.name.startswith("."))


def layers() -> tuple[Layer, ...]:
    """All that is listened for besides the shipped phrases."""
    return (own_layer(), *packs())


def phrase_files(*more: Layer) -> tuple[Path, ...]:
    """The shipped phrase files, those of all layers, and those of ``more``."""
    added = [file for layer in (*layers(), *more) for file in layer.files]
    return (*sorted(GRAMMAR_FOLDER.glob("*.toml")), *added)


def chosen_grammar(*more: Layer) -> Grammar:
    """What is listened for on this machine, and in ``more``.

    Raises ``GrammarError`` where added phrases do not fit the shipped ones; nothing is left out
    without a word.
    """
    files = phrase_files(*more)
    if all(file.parent == GRAMMAR_FOLDER for file in files):
        return load_grammar()
    names = [file.name for file in files]
    if twice := sorted({name for name in names if names.count(name) > 1}):
        raise GrammarError(f"There are two phrase files called {twice[0]}. Rename the added one.")
    try:
        return read_grammar(files)
    except GrammarError as error:
        drafted = any(str(error).startswith(file.name) for layer in more for file in layer.files)
        aside = (
            "mend the draft, or delete it"
            if drafted
            else "put its file aside with: legbook phrases remove NAME"
        )
        raise GrammarError(
            f"{error} If this phrase was added here, look with: legbook phrases check; or {aside}"
        ) from error


def checklist_folders() -> tuple[Path, ...]:
    """Where this machine's own check lists lie."""
    return tuple(layer.folder / "checks" for layer in layers())


def handoff_lists() -> tuple[Path, ...]:
    """Where this machine's own list of what a handoff has to tell may lie."""
    return tuple(layer.folder / "handoff" / "needs.toml" for layer in layers())


def taught_words(*more: Layer) -> Lexicon:
    """The words that were taught on this machine, and those of ``more``."""
    words: Lexicon = {}
    for layer in (*layers(), *more):
        for word, spoken in layer.words.items():
            words[word] = tuple(dict.fromkeys((*words.get(word, ()), *spoken)))
    return words


def hearing_folder(*more: Layer) -> Path:
    """The folder of the shipped model that also knows all taught words.

    It is made anew, in a second, where a word or the shipped model has changed since.
    """
    words = taught_words(*more)
    if not words:
        return shipped.MODEL_FOLDER
    base = (shipped.MODEL_FOLDER / shipped.CHECKSUMS).read_bytes()
    digest = hashlib.sha256(base + format_lexicon(words).encode()).hexdigest()
    folder = legs_root().parent / "taught" / digest[:16]
    if not folder.is_dir():
        folder.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".") as passing:
            made = Path(passing) / "model"
            with_words(shipped.MODEL_FOLDER, words, made)
            made.rename(folder)
    return folder
