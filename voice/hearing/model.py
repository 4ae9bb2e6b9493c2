"""An acoustic model on disk, and the strict grammar put into it.

Vosk takes its language model from ``graph/Gr.fst`` of the model folder. For a model with
look-ahead that file may be any acceptor over the model's words; so the strict grammar is loaded
as a model of its own: a passing folder that links the other files and brings its own ``Gr.fst``.

Kaldi ends the whole process over some bad input, or drops unknown words without a sound. All that
can be checked is checked here, before it is asked.
"""

from __future__ import annotations

import shutil
import tempfile
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from voice.acoustics.shipped import verify
from voice.entries.errors import LegbookError
from voice.hearing.openfst import read_symbols, write_openfst

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from voice.meaning.acceptor import Acceptor

_WORDS = "graph/words.txt"
_SETTINGS = "conf/model.conf"
_GRAMMAR = "graph/Gr.fst"
_NEEDED = (
    "am/final.mdl",
    "conf/mfcc.conf",
    _SETTINGS,
    "graph/HCLr.fst",
    "graph/disambig_tid.int",
)
_LEFT_OUT = {
    _SETTINGS,
    _GRAMMAR,
    "graph/phones/word_boundary.int",
}  # times of words are not asked for

UNKNOWN = "[unk]"
"""The word of the acoustic model that takes up any speech: a loop over all phones."""
DECODING = {"beam": "13.0", "lattice-beam": "6.0", "max-active": "3000", "min-active": "200"}
"""How widely Vosk searches, in place of the model's own settings; measured in docs/bench.md."""
SPARING = {"beam": "8.0", "lattice-beam": "0.5", "max-active": "3000", "min-active": "20"}
"""How widely where nothing but the likeliest path's score is asked for, among phones alone: measured for the
shipped model only (docs/model-card.md)."""


class ModelFolderError(LegbookError):
    """The acoustic model cannot be used."""


class GrammarWordsError(LegbookError):
    """The grammar has words that the acoustic model does not know, so they can never be heard."""

    def __init__(self, words: tuple[str, ...], folder: Path) -> None:
        listed = ", ".join(f'"{word}"' for word in words)
        super().__init__(
            f"The acoustic model in {folder} does not know these words of the grammar: {listed}. "
            "Write the phrases with other words, or teach the model the new ones."
        )
        self.words = words


@dataclass(frozen=True, slots=True, eq=False)
class AcousticModel:
    """A Vosk model folder with look-ahead whose files are all there, and as they were made."""

    folder: Path
    word_ids: Mapping[str, int]

    @classmethod
    def open(cls, folder: Path) -> AcousticModel:
        """Check ``folder`` and read its word list.

        Every model comes with checksums: Kaldi crashes over a file that is cut off. Raises
        ``voice.acoustics.shipped.ModelDamagedError`` where a checksum is missing or differs, and
        ``ModelFolderError`` where the folder is no model with look-ahead or has no ``[unk]``.
        """
        verify(folder)
        for name in _NEEDED:
            if not (folder / name).is_file():
                raise _lacks(folder, name)
        word_ids = _words(folder)
        if UNKNOWN not in word_ids:
            raise ModelFolderError(
                f"The acoustic model in {folder} has no word {UNKNOWN}, so it would take any speech "
                "for a phrase. Name another model."
            )
        return cls(folder, word_ids)

    @contextmanager
    def with_grammar(
        self, acceptor: Acceptor, decoding: Mapping[str, str] = DECODING
    ) -> Iterator[Path]:
        """A model folder that can hear nothing but ``acceptor``, searching as ``decoding`` says; gone afterwards.

        Raises ``GrammarWordsError`` where the model lacks words of the grammar.
        """
        missing = tuple(sorted(acceptor.words() - self.word_ids.keys()))
        if missing:
            raise GrammarWordsError(missing, self.folder)
        with tempfile.TemporaryDirectory(prefix="legbook-") as name:
            strict = Path(name)
            for file in sorted(p for p in self.folder.rglob("*") if p.is_file()):
                within = file.relative_to(self.folder).as_posix()
                if within not in _LEFT_OUT:
                    _link(file.resolve(), strict / within)
            if not (self.folder / _WORDS).exists():
                lines = [f"{word} {label}\n" for word, label in self.word_ids.items()]
                (strict / _WORDS).write_text("".join(lines), "utf-8")
            settings = strict / _SETTINGS
            settings.parent.mkdir(exist_ok=True)
            own = (self.folder / _SETTINGS).read_text("utf-8")
            settings.write_text(_settings(own, decoding), "utf-8")
            write_openfst(acceptor, self.word_ids, strict / _GRAMMAR)
            yield strict


def _lacks(folder: Path, name: str) -> ModelFolderError:
    return ModelFolderError(
        f"The folder {folder} is no acoustic model for a strict grammar: it lacks {name}. "
        "Name the folder of a Vosk model with look-ahead."
    )


def _words(folder: Path) -> dict[str, int]:
    """The model's words: from their own list or, as Vosk does, from within its grammar."""
    if (folder / _WORDS).is_file():
        return _read_words(folder / _WORDS)
    grammar = folder / _GRAMMAR
    try:
        symbols = read_symbols(grammar) if grammar.is_file() else None
    except ValueError as error:
        raise ModelFolderError(
            f"The words of the acoustic model in {grammar} cannot be read: the file is damaged "
            f"({error}). Fetch the model again, or name another."
        ) from error
    if symbols is None:
        raise _lacks(folder, _WORDS)
    return symbols


def _read_words(file: Path) -> dict[str, int]:
    word_ids: dict[str, int] = {}
    try:
        text = file.read_text("utf-8")
    except UnicodeDecodeError:
        raise ModelFolderError(
            f"The word list {file} is not text. Make the model again, or name another."
        ) from None
    for number, line in enumerate(text.splitlines(), start=1):
        try:
            word, label = line.split()
            word_ids[word] = int(label)
        except ValueError:
            raise ModelFolderError(
                f"Line {number} of the word list {file} is not a word and a number. "
                "Make the model again, or name another."
            ) from None
    return word_ids


def _settings(text: str, decoding: Mapping[str, str]) -> str:
    own = [line for line in text.splitlines() if line.split("=")[0].lstrip("-") not in decoding]
    return "\n".join([*own, *(f"--{name}={value}" for name, value in decoding.items()), ""])


def _link(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        target.symlink_to(source)
    except OSError:  # where links need rights that the user lacks
        shutil.copyfile(source, target)
