"""Words as Whisper's tokens."""

from voice.acoustics.lexicon import vocabulary
from voice.hearing.second.spelling import Spelling
from voice.hearing.second.weights import find_weights

SPELLING = Spelling(find_weights() / "tokenizer.json")


def test_a_common_word_is_one_token() -> None:
    """What Whisper's own list holds whole is not taken apart."""
    assert [len(SPELLING.tokens(word)) for word in (" pressure", " fourteen", " 14", " drain")] == [
        1,
        1,
        1,
        1,
    ]


def test_every_word_of_the_vocabulary_can_be_written() -> None:
    """The tokens of each word, put together, are that word."""
    for word in vocabulary():
        assert SPELLING.text(SPELLING.tokens(f" {word}")) == word


def test_text_leaves_out_what_is_no_text() -> None:
    """Tokens that stand for no letters are passed over."""
    assert SPELLING.text((50257, 50362, *SPELLING.tokens(" drain"), 50256)) == "drain"


def test_figures_are_told_from_words() -> None:
    """A token of nothing but figures is a number, with a space before it or without."""
    figures = SPELLING.figures()
    assert figures[SPELLING.tokens(" 14")[0]] == figures[SPELLING.tokens("14")[0]] == "14"
    assert SPELLING.tokens(" drain")[0] not in figures
