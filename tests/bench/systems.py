"""What is measured: legbook's own hearing and two rivals, each from a segment to words."""

from __future__ import annotations

import json
import tempfile
from collections import deque
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

import vosk

from voice.entries.heard import SAMPLE_RATE

if TYPE_CHECKING:
    from collections.abc import Iterator

    from voice.entries.heard import Segment
    from voice.meaning.acceptor import Acceptor


vosk.SetLogLevel(-1)


class Rival(Protocol):
    """Makes one text of a segment."""

    name: str

    def text(self, segment: Segment) -> str:
        """The words that were made out, or none."""


class VoskPhraseList:
    """The same acoustic model with the phrase list that Vosk offers itself.

    Vosk makes a bigram model of the list, so phrases that hold every pair of words that may follow
    each other in the grammar stand for all its phrases.
    """

    name = "Vosk's phrase list"

    def __init__(self, model_folder: Path, acceptor: Acceptor) -> None:
        self._model = vosk.Model(model_path=str(model_folder))
        self._phrases = json.dumps([*phrases_with_all_pairs(acceptor), "[unk]"])

    def text(self, segment: Segment) -> str:
        """The words that were made out, or none."""
        recogniser = vosk.KaldiRecognizer(self._model, float(SAMPLE_RATE), self._phrases)
        recogniser.AcceptWaveform(segment.samples.tobytes())
        return str(json.loads(recogniser.FinalResult())["text"])


class PocketSphinx:
    """PocketSphinx with its own US English model.

    The grammar is given in the finite-state form that PocketSphinx makes of JSGF: to read the JSGF of
    this acceptor, a rule a state, 24 GB of memory were not enough.
    """

    name = "PocketSphinx"

    def __init__(self, acceptor: Acceptor) -> None:
        import pocketsphinx  # noqa: PLC0415  (of the dependency group "bench")

        dictionary = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
        known = {line.split(" ", 1)[0] for line in dictionary.read_text("utf-8").splitlines()}
        with tempfile.NamedTemporaryFile("w", suffix=".fsg") as file:
            file.write(as_fsg(acceptor, known))
            file.flush()
            self._decoder = pocketsphinx.Decoder(
                fsg=file.name, samprate=SAMPLE_RATE, loglevel="FATAL"
            )

    def text(self, segment: Segment) -> str:
        """The words that were made out, or none."""
        self._decoder.start_utt()
        self._decoder.process_raw(segment.samples.tobytes(), full_utt=True)
        self._decoder.end_utt()
        found = self._decoder.hyp()
        return str(found.hypstr) if found else ""


def phrases_with_all_pairs(acceptor: Acceptor) -> Iterator[str]:
    """Phrases that together hold every first word and every pair of neighbours there is."""
    ahead = _words_to_an_end(acceptor)
    seen: set[tuple[str, str]] = set()
    queue: deque[tuple[int, tuple[str, ...]]] = deque([(0, ())])
    reached: set[tuple[int, str]] = set()
    while queue:
        state, words = queue.popleft()
        for arc in acceptor.arcs[state]:
            pair = (words[-1] if words else "", arc.word)
            there = (*words, arc.word)
            if pair not in seen:
                phrase = (*there, *ahead[arc.target])
                seen.update(zip(("", *phrase), phrase, strict=False))
                yield " ".join(phrase)
            if (arc.target, arc.word) not in reached:
                reached.add((arc.target, arc.word))
                queue.append((arc.target, there))


def as_fsg(acceptor: Acceptor, known: set[str]) -> str:
    """The acceptor as a finite-state grammar of PocketSphinx, without words that are not known."""
    end = len(acceptor.arcs)
    lines = ["FSG_BEGIN legbook", f"NUM_STATES {end + 1}", "START_STATE 0", f"FINAL_STATE {end}"]
    for state, arcs in enumerate(acceptor.arcs):
        ways = [arc for arc in arcs if arc.word in known]
        lines += [f"TRANSITION {state} {arc.target} {1 / len(ways)} {arc.word}" for arc in ways]
    lines += [f"TRANSITION {state} {end} 1.0" for state in acceptor.finals]
    return "\n".join([*lines, "FSG_END", ""])


def _words_to_an_end(acceptor: Acceptor) -> list[tuple[str, ...]]:
    """For each state the words of a shortest way to an end."""
    found: dict[int, tuple[str, ...]] = dict.fromkeys(acceptor.finals, ())
    while len(found) < len(acceptor.arcs):
        for state, arcs in enumerate(acceptor.arcs):
            ends = [(arc.word, *found[arc.target]) for arc in arcs if arc.target in found]
            if state not in found and ends:
                found[state] = min(ends, key=len)
    return [found[state] for state in range(len(acceptor.arcs))]
