"""A first guess at how a new word is spoken, for a person to listen to and to put right.

    python -m voice.acoustics.proposal WORD ...

prints lines for ``lexicon.toml``, with the American and the British pronunciation where they differ.
They come from espeak-ng, which reads by rule and stresses drug names as it likes: nothing is taken
into the lexicon by itself.

Source of the table: the handbook of the International Phonetic Association for the symbols, the
documentation of the CMU Pronouncing Dictionary for the phones; British vowels that its 39 phones
lack take the nearest one (from memory).
"""

from __future__ import annotations

import re
import subprocess
import sys

from voice.acoustics.topology import PHONES
from voice.entries.errors import LegbookError

ACCENTS = ("en-us", "en-gb")
"""espeak-ng's voices, the American first."""

# fmt: off
_PHONES = {
    "aɪ": "AY", "aʊ": "AW", "eɪ": "EY", "oʊ": "OW", "əʊ": "OW", "ɔɪ": "OY", "oːɹ": "AO R",
    "dʒ": "JH", "tʃ": "CH", "ɪə": "IY AH", "iə": "IY AH", "eə": "EH R", "ʊə": "UH R", "ɚɹ": "ER",
    "ɜːɹ": "ER", "ɑː": "AA", "ɔː": "AO", "oː": "AO", "ɜː": "ER", "iː": "IY", "uː": "UW",
    "aː": "AA", "əl": "AH L", "n̩": "AH N", "l̩": "AH L",
    "a": "AE", "æ": "AE", "ɐ": "AH", "ə": "AH", "ʌ": "AH", "ɚ": "ER", "ɛ": "EH", "e": "EH",
    "ɪ": "IH", "ᵻ": "IH", "i": "IY", "ɒ": "AA", "ɑ": "AA", "ɔ": "AO", "ʊ": "UH", "u": "UW",
    "o": "OW",
    "b": "B", "d": "D", "ð": "DH", "f": "F", "ɡ": "G", "g": "G", "h": "HH", "j": "Y", "k": "K",
    "l": "L", "m": "M", "n": "N", "ŋ": "NG", "p": "P", "ɹ": "R", "r": "R", "s": "S", "ʃ": "SH",
    "t": "T", "ɾ": "T", "ʔ": "T", "θ": "TH", "v": "V", "w": "W", "x": "K", "z": "Z", "ʒ": "ZH",
}
# fmt: on
_SYMBOL = re.compile("|".join(sorted(map(re.escape, _PHONES), key=len, reverse=True)))
_SILENT = re.compile("[ː_ \u0361\u200d-]")


class ProposalError(LegbookError):
    """No guess can be made at how a word is spoken."""


def phones_of_ipa(ipa: str) -> tuple[str, ...]:
    """The phones of the lexicon for a word in the International Phonetic Alphabet.

    Raises ``ProposalError`` for a symbol that the table lacks.
    """
    rest = re.sub("[ˈˌ]", "", ipa.strip())
    phones: list[str] = []
    while rest:
        if symbol := _SYMBOL.match(rest):
            phones += _PHONES[symbol[0]].split()
            rest = rest[symbol.end() :]
        elif _SILENT.match(rest):
            rest = rest[1:]
        else:
            raise ProposalError(
                f"espeak-ng writes \u201c{ipa.strip()}\u201d, and \u201c{rest[0]}\u201d stands for no "
                f"phone that is known here. Write the word down by ear: {' '.join(PHONES)}."
            )
    # a doubled consonant is espeak-ng's mark for a syllable's end, not a longer sound
    return tuple(p for i, p in enumerate(phones) if i == 0 or p != phones[i - 1])


def propose(word: str) -> tuple[tuple[str, ...], ...]:
    """How ``word`` may be spoken, the American way first; one where the two agree.

    Raises ``ProposalError`` where it is no single word, or where espeak-ng is missing.
    """
    if not re.fullmatch(r"[a-z']+", word):
        raise ProposalError(f"\u201c{word}\u201d is not one word in small letters: spell it out.")
    return tuple(dict.fromkeys(phones_of_ipa(_spoken(word, accent)) for accent in ACCENTS))


def _spoken(word: str, accent: str) -> str:
    command = ["espeak-ng", "-q", "--ipa", "-v", accent, word]
    try:
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout
    except (OSError, subprocess.CalledProcessError) as error:
        raise ProposalError(
            "No guess can be made: espeak-ng does not run. Install Debian's package espeak-ng."
        ) from error


def main(words: list[str]) -> None:
    """Print a line for ``lexicon.toml`` for each word."""
    for word in words:
        ways = ", ".join(f'"{" ".join(phones)}"' for phones in propose(word))
        print(f"{word} = [{ways}]  # a guess of espeak-ng: listen, and put it right")


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except LegbookError as problem:
        sys.exit(f"legbook: {problem}")
