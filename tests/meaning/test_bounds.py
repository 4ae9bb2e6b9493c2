from __future__ import annotations

import time
from typing import TYPE_CHECKING

import pytest

from voice.entries.leg import LegSettings
from voice.meaning import automaton, bounds
from voice.meaning.checklist import load_checklists
from voice.meaning.expression import match, parse_notation, slots_of, ways
from voice.meaning.grammar import GRAMMAR_FOLDER, GrammarError, load_grammar, read_grammar
from voice.meaning.handoff import load_needs
from voice.meaning.listening import Listening

if TYPE_CHECKING:
    from pathlib import Path

SOON_S = 5.0
"""Of processor time. Each of these files took minutes, all memory, or a traceback before there were bounds."""


def file(say: str, *, slots: str = "value = {min = 1, max = 20}", rules: str = "") -> str:
    """A phrase file with one phrase."""
    return f"""about = "Bombs."
[slots]
{slots}
[rules]
{rules}
[[phrase]]
entry = "pressure"
say = "{say}"
read = "pressure <value>"
fixed = {{ unit = "mmHg" }}
"""


LAUGHS = "\n".join(f'r{n} = "{" ".join([f"<r{n - 1}>"] * 10)}"' for n in range(1, 12))
BOMBS = {
    "brackets": (file("(" * 3000 + "pressure <value>" + ")" * 3000), "brackets within each other"),
    "arrays": ("a = " + "[" * 20_000 + "]" * 20_000, "brackets within each other"),
    "dotted": ("a" + ".a" * 20_000 + " = 1", "a key of more than 20 parts"),
    "large": (file("pressure <value> " + "[x] " * 60_000), "too large"),
    "long": (file("pressure <value> " + "x " * 40_000), "more than 500 words"),
    "optional": (file("pressure <value> " + "[x] " * 200), "far too many ways"),
    "fields": (file("pressure <value> " + "[<value>] " * 30), "far too many ways"),
    "laughs": (file("pressure <value>", rules=f'r0 = "ha ha"\n{LAUGHS}'), "more than 500 words"),
    "span": (file("pressure <value>", slots="value = {min = 1, max = 1e12}"), "less than or equal"),
    "endless": (
        file("pressure <value>", slots="value = {min = 1, max = inf}"),
        "less than or equal",
    ),
    "none": (
        file("pressure <value>", slots="value = {min = nan, max = 3}"),
        "greater than or equal",
    ),
    "far": (file("pressure <value>", slots="value = {min = 1e300, max = 1e300}"), "less than or"),
    "fine": (
        file("pressure <value>", slots="value = {min = 0, max = 1, step = 1e-9}"),
        "more than 10000 values",
    ),
    "digits": (
        file("pressure <value>", slots=f"value = {{min = 1{'0' * 5000}, max = 3}}"),
        "not valid TOML",
    ),
    "choices": (
        file("pressure <value>", slots=f'value = {{a = "{"(x | y) " * 40}"}}'),
        "far too many ways",
    ),
    "slots": (
        file(
            "pressure <value>",
            slots="\n".join(f"v{n} = {{min = 0, max = 9999}}" for n in range(4000)),
        ),
        "more than 200000 ways",
    ),
}


@pytest.mark.parametrize("name", BOMBS)
def test_what_was_made_to_explode_is_refused_soon(tmp_path: Path, name: str) -> None:
    """Within seconds, by a sentence that names the file and what is too much, and is no page long."""
    content, why = BOMBS[name]
    bomb = tmp_path / "bomb.toml"
    bomb.write_text(content)
    began_s = time.process_time()
    with pytest.raises(GrammarError) as told:
        read_grammar([bomb])
    assert time.process_time() - began_s < SOON_S
    assert str(told.value).startswith("bomb.toml")
    assert why in str(told.value)
    assert len(str(told.value)) < 500


def test_other_lists_are_bounded_as_well(tmp_path: Path) -> None:
    """A check list, and what a handoff needs, are refused in the same way."""
    bomb = tmp_path / "bomb.toml"
    bomb.write_text(BOMBS["arrays"][0])
    with pytest.raises(GrammarError, match="brackets within each other"):
        load_checklists(load_grammar(), LegSettings(), tmp_path)
    with pytest.raises(GrammarError, match="brackets within each other"):
        load_needs(bomb)


def test_words_that_may_be_left_out_are_not_tried_in_all_ways() -> None:
    """Ways that come to the same go on as one: 30 words that may be said, 15 of them said, are met once."""
    optional = parse_notation("[x] " * 12, {})
    again = {"twelve": optional}
    began_s = time.process_time()
    assert list(match(parse_notation("<twelve>", again), ["x"] * 6)) == [()]
    assert time.process_time() - began_s < 0.1


def test_too_many_states_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the phrases come to together is bounded, too."""
    monkeypatch.setattr(automaton, "MOST_STATES", 1000)
    with pytest.raises(GrammarError, match="more ways than can be listened for"):
        automaton.compile_acceptor(load_grammar().expression(Listening.LISTENING))


def test_the_shipped_phrases_have_room() -> None:
    """Each bound is several times what the shipped phrases need."""
    grammar = load_grammar()
    files = list(GRAMMAR_FOLDER.rglob("*.toml"))
    assert max(file.stat().st_size for file in files) * 10 < bounds.MOST_BYTES
    assert max(ways(phrase.expression) for phrase in grammar.phrases) * 10 < bounds.MOST_WAYS
    forms: dict[str, set[int]] = {}
    for phrase in grammar.phrases:
        forms.setdefault(phrase.file, set()).update(
            len(slot.forms) for slot in slots_of(phrase.expression)
        )
    assert max(max(found, default=0) for found in forms.values()) * 10 < bounds.MOST_FORMS
