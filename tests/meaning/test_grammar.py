"""Reading phrase files: the notation, and a clear sentence for every fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from voice.entries.kinds.drain import Pressure
from voice.entries.leg import LegSettings
from voice.entries.said import Statement
from voice.meaning.grammar import GRAMMAR_FOLDER, GrammarError, load_grammar, read_grammar

if TYPE_CHECKING:
    from pathlib import Path

GOOD = """
about = "A small grammar."
refused = ["pressure"]

[rules]
name = "pressure | i c p"

[[phrase]]
entry = "pressure"
say = "<name> [is] <value>"
slots.value = { min = 0, max = 100 }
default.unit = "pressure_unit"
read = "pressure, <value>"

[examples]
"pressure fourteen" = { kind = "pressure", value = 14, unit = "mmHg" }
"""


def folder_with(folder: Path, text: str) -> Path:
    """A grammar folder of one file."""
    (folder / "small.toml").write_text(text)
    return folder


def test_good_file_is_read(tmp_path: Path) -> None:
    """A file as the guide shows it gives a grammar that hears and reads back."""
    grammar = load_grammar(folder_with(tmp_path, GOOD))
    (meaning,) = grammar.parse("I C P, is: fourteen!", LegSettings(pressure_unit="cmH2O"))
    assert meaning == Statement(entry=Pressure(value=14, unit="cmH2O"))
    assert grammar.read_back(meaning, LegSettings(pressure_unit="cmH2O")) == "pressure, one four"


def test_file_in_the_guide_is_good(tmp_path: Path) -> None:
    """The whole file that the guide shows is a phrase file whose examples hold."""
    guide = (GRAMMAR_FOLDER.parent / "docs" / "grammar.md").read_text()
    grammar = load_grammar(folder_with(tmp_path, guide.split("```toml")[1].split("```")[0]))
    for example in grammar.examples:
        assert grammar.parse(example.text, LegSettings()) == (example.meaning,)
    for _, text in grammar.refused:
        assert grammar.parse(text, LegSettings()) == ()


def test_digest_tells_two_grammars_apart(tmp_path: Path) -> None:
    """The digest changes with a single letter and not with where the folder lies."""
    folders = [tmp_path / name for name in "abc"]
    for folder, text in zip(folders, [GOOD, GOOD, GOOD.replace("[is]", "[now]")], strict=True):
        folder.mkdir()
        folder_with(folder, text)
    one, same, other = (load_grammar(folder).digest for folder in folders)
    assert one == same != other
    assert len(one) == 64


def test_folder_without_files_is_named(tmp_path: Path) -> None:
    """A folder without phrase files is an error that names the folder."""
    with pytest.raises(GrammarError, match=str(tmp_path)):
        load_grammar(tmp_path)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("[rules]", "[rules", r"small.toml is not valid TOML: .*line 5"),
        ("about", "subject = 1\nabout", r'small.toml: nobody knows "subject"'),
        ("read =", "reed =", r'small.toml, line 10, phrase "<name> .*: nobody knows "reed"'),
        ('"pressure | i c p"', '"pressure | (i c p"', r'rule "name": "\(" is not closed by "\)"'),
        ('"pressure | i c p"', '"pressure | i c p]"', r'rule "name": "\]" closes nothing'),
        ('"pressure | i c p"', '"pressure | "', r'rule "name": a part is empty'),
        ('"pressure | i c p"', '"pressure | 2"', r'rule "name": "2" is no word'),
        ("<name> [is] <value>", "<nome> <value>", r"there is no rule or slot <nome>"),
        ("<name> [is] <value>", "<name> [<value>]", r'it can be said without "value"'),
        ("<name> [is] <value>", "<name>", r'it can be said without "value"'),
        ('entry = "pressure"\nsay = "<name> [is] <value>"', 'entry = "drain_opened"\nsay = "[<name>] [is]"',
         "it can be said without a word"),
        ("{ min = 0, max = 100 }", '{ 5 = "[five]" }', '"5" can be said without a word'),
        ("slots.value", "slots.volume", r"there is no rule or slot <value>"),
        ("max = 100", "max = 101", r"value cannot be 101: .*less than or equal to 100"),
        ("min = 0,", "min = -11,", r"value cannot be -11"),
        ("max = 100", 'max = 100, style = "loud"', r"\"style\" cannot be 'loud'"),
        ("max = 100", "max = 100, unit = 1", r'nobody knows "unit"'),
        ('entry = "pressure"', 'entry = "presure"', r'there is no kind of entry "presure"'),
        ("[examples]", '[ask]\nnone = "note"\n[examples]', r'ask "none": there is no kind of entry "none"'),
        ('entry = "pressure"', 'talk = "hello"', r"\"talk\" cannot be 'hello'"),
        ('entry = "pressure"', 'time = "soon"', r"\"time\" cannot be 'soon'"),
        ('entry = "pressure"', "", r"needs exactly one of entry, time, talk, question, check, choice, correction"),
        ('entry = "pressure"', 'entry = "pressure"\ntalk = "no"', r"needs exactly one of"),
        ("default.unit", "default.until", r'Pressure has no field "until"'),
        ('"pressure_unit"', '"unit"', r'"unit", the default of unit, is no setting'),
        ('default.unit = "pressure_unit"', 'fixed.unit = "bar"', r"unit cannot be bar"),
        ('default.unit = "pressure_unit"', "", r'it can be said without "unit"'),
        ('unit = "mmHg" }', 'unit = "bar" }', r'small.toml, example "pressure fourteen": '),
        ("default.unit", 'states = ["dreaming"]\ndefault.unit', r"\"states.0\" cannot be 'dreaming'"),
        ('"pressure, <value>"', '"pressure, <valu>"', r'its read-back names "valu"'),
        ('read = "pressure, <value>"', 'long = "<valu>"\nread = "a"', r'its read-back names "valu"'),
        ("read = ", "long = ", r"the long style needs a short one"),
        ("max = 100", "step = 2", r'slot "value": it lacks "max"'),
        ("max = 100", 'max = "high"', r"\"max.int\" cannot be 'high'"),
        ("max = 100", "max = -1", r'slot "value": it has no value'),
        ("{ min = 0, max = 100 }", "7", r'slot "value": it is neither a range of numbers'),
        ("{ min = 0, max = 100 }", "{ 7 = 8 }", r'slot "value": it is neither a range'),
        ('say = "<name> [is] <value>"', "say = 3", r'phrase "3": "say" cannot be 3'),
        ('say = "<name> [is] <value>"', "", r'phrase "": it lacks "say"'),
        ("[[phrase]]", "[phrase]", r'small.toml: "phrase" cannot be'),
        ('read = "', 'place = "after"\nread = "', r"a time, and nothing else, has a place"),
        ('entry = "pressure"', 'time = "clock_time"', r"a time, and nothing else, has a place"),
        ("default.unit", "cost = -1\ndefault.unit", r'"cost" cannot be -1'),
        (
            "slots.value = { min = 0, max = 100 }",
            'slots.value = [{ min = 0, max = 15 }, { 50 = "fifteen" }]',
            r'slot "value": "fifteen" would mean both 15 and 50',
        ),
    ],
)  # fmt: skip
def test_fault_is_told_with_its_place(tmp_path: Path, old: str, new: str, told: str) -> None:
    """Every fault of a phrase file is told with the file and the rule, slot, phrase or example."""
    assert old in GOOD
    with pytest.raises(GrammarError, match=told) as raised:
        load_grammar(folder_with(tmp_path, GOOD.replace(old, new, 1)))
    assert "small.toml" in str(raised.value)


def test_unreadable_file_is_told(tmp_path: Path) -> None:
    """A file that is no text is an error that names it."""
    (tmp_path / "small.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(GrammarError, match=r"small\.toml is not valid TOML"):
        load_grammar(tmp_path)


def test_every_fault_is_told_where_somebody_collects_them(tmp_path: Path) -> None:
    """With somebody to tell, all faulty phrases and examples are told and the rest can be used."""
    good = folder_with(tmp_path, GOOD)
    whole = len(load_grammar(good).phrases)
    bad = '[[phrase]]\nentry = "pressure"\nsay = "bad ("\n[[phrase]]\nentry = "xyzzy"\nsay = "worse"\n'
    (good / "bad.toml").write_text(f'about = "Faults."\n{bad}[examples]\n"bad" = "xyzzy"\n')
    (good / "broken.toml").write_text("about = ")
    faults: list[GrammarError] = []
    grammar = read_grammar(sorted(good.glob("*.toml")), faults.append)
    assert [str(fault).split(",")[0].split(" is not")[0] for fault in faults] == [
        "bad.toml",
        "broken.toml",
        "bad.toml",
        "bad.toml",
    ]
    assert len(grammar.phrases) == whole
