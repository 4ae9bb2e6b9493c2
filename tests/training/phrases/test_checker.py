"""Every sort of fault is found where it is planted, with its file and line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from voice.acoustics.lexicon_file import read_lexicon
from voice.acoustics.shipped import MODEL_FOLDER
from voice.meaning.grammar import GRAMMAR_FOLDER
from voice.training.phrases import checker
from voice.training.phrases.checker import check
from voice.training.phrases.faults import LOOK, Sort

GUIDE = Path(__file__).parents[3] / "docs" / "trainer.md"
LEXICON = read_lexicon(MODEL_FOLDER / "graph" / "lexicon.txt")
GOOD = """\
about = "A trial."
refused = ["pressure"]

[[phrase]]
entry = "pressure"
say = "pressure [is] <value>"
slots.value = { min = 0, max = 100 }
default.unit = "pressure_unit"
read = "pressure, <value>"

[[phrase]]
entry = "drain_opened"
say = "drain opened wide"
read = "drain opened wide"

[examples]
"pressure fourteen" = { kind = "pressure", value = 14, unit = "mmHg" }
"drain opened wide" = { kind = "drain_opened" }
"""

PLANTED = [
    # what is changed, the sort, the line, what is told
    ("refused = [", "refused = [[", Sort.NOTATION, 4, "not valid TOML"),
    ("[is]", "[is", Sort.NOTATION, 6, 'is not closed by "]"'),
    ('<value>"\nslots', '<valu>"\nslots', Sort.NOTATION, 6, "there is no rule or slot <valu>"),
    ('entry = "drain_opened"', 'entry = "drain_open"', Sort.NOTATION, 13, "no kind of entry"),
    ("min = 0, max = 100", "min = 0", Sort.NO_RANGE, 6, 'it lacks "max"'),
    ("max = 100", "max = 100, step = 0.01", Sort.NO_RANGE, 6, "10001 values"),
    ("opened wide", "opened wyde", Sort.UNKNOWN_WORD, 13, 'does not know "wyde"'),
    (
        'opened wide"\nread',
        'opened | pressure five"\nread',
        Sort.TWO_MEANINGS,
        13,
        "means both",
    ),
    ('"pressure fourteen" =', '"pressure forteen" =', Sort.EXAMPLE, 17, "is not legal"),
    ("value = 14", "value = 40", Sort.EXAMPLE, 17, "means pressure (value 14.0"),
    ('["pressure"]', '["pressure ten"]', Sort.NOT_REFUSED, 2, "is legal, though"),
    ("[examples]", "[spellings]", Sort.NOTATION, None, "spellings"),
    (re.escape('refused = ["pressure"]\n'), "", Sort.NO_COUNTER_EXAMPLE, None, "nothing is listed"),
    ("drain opened wide", "opened", Sort.ONE_WORD, 13, '"opened" is one word'),
    ('read = "pressure, <value>"', "", Sort.READ_BACK, 17, "no read-back"),
    ('read = "pressure, <value>"', 'read = "<value>"', Sort.READ_BACK, 17, "is read back as"),
    ("max = 100", "max = 20", Sort.HALF_A_PAIR, 6, "13 and 30"),
    (
        "drain opened wide",
        "pressure eyes <value_x>",
        Sort.NOTATION,
        13,
        "no rule or slot",
    ),
]


def planted(folder: Path, old: str, new: str) -> Path:
    """The good file with one fault in it."""
    text = re.sub(old if old.startswith("refused\\") else re.escape(old), lambda _: new, GOOD)
    assert text != GOOD
    (folder / "trial.toml").write_text(text)
    return folder / "trial.toml"


def test_good_file_has_no_fault(tmp_path: Path) -> None:
    """A file without faults is passed."""
    (tmp_path / "trial.toml").write_text(GOOD)
    assert check([tmp_path / "trial.toml"], LEXICON) == ()


@pytest.mark.parametrize(("old", "new", "sort", "line", "told"), PLANTED)
def test_planted_fault_is_found(  # noqa: PLR0917 - a row of the table
    tmp_path: Path, old: str, new: str, sort: Sort, line: int | None, told: str
) -> None:
    """A planted fault is told as what it is, with file and line."""
    faults = check([planted(tmp_path, old, new)], LEXICON)
    found = [fault for fault in faults if fault.sort is sort and told in fault.text]
    assert found, "\n".join(map(str, faults))
    assert (found[0].file, found[0].line) == ("trial.toml", line)
    assert found[0].must_be_mended == (sort not in LOOK)


def test_file_without_examples_is_told(tmp_path: Path) -> None:
    """A file of phrases without any example is told as such."""
    (tmp_path / "trial.toml").write_text(GOOD.partition("[examples]")[0])
    (fault,) = check([tmp_path / "trial.toml"], LEXICON)
    assert (fault.sort, fault.file) == (Sort.NO_EXAMPLE, "trial.toml")


def test_number_without_a_unit_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A number whose unit stands nowhere is told with its line, where it is no bare count."""
    flushes = (
        'entry = "order_flush_limit"\nsay = "flush limit <count>"\nread = "flush limit, <count>"'
    )
    slot = "slots.count = { min = 0, max = 9 }"
    example = '"flush limit one" = { kind = "order_flush_limit", count = 1 }'
    written = f'about = "A trial."\nrefused = ["flush"]\n[[phrase]]\n{flushes}\n{slot}\n[examples]\n{example}'
    (tmp_path / "trial.toml").write_text(written)
    assert check([tmp_path / "trial.toml"], LEXICON) == ()
    monkeypatch.setattr(checker, "_COUNTS", {"minutes"})
    (fault,) = check([tmp_path / "trial.toml"], LEXICON)
    assert (fault.sort, fault.line) == (Sort.NO_UNIT, 5)
    assert 'the number "count" has no unit' in fault.text


@pytest.mark.slow
def test_shipped_phrases_have_no_fault() -> None:
    """No shipped phrase file has a fault that must be mended."""
    faults = check(sorted(GRAMMAR_FOLDER.glob("*.toml")), LEXICON)
    assert [str(fault) for fault in faults if fault.must_be_mended] == []
    assert {fault.sort for fault in faults} <= LOOK


def two(folder: Path, *phrases: tuple[str, str]) -> list[str]:
    """What is told of a file with these phrases (kind, words)."""
    tables = [f'[[phrase]]\nentry = "{kind}"\nsay = "{say}"\n' for kind, say in phrases]
    (folder / "trial.toml").write_text('about = "A trial."\n' + "".join(tables))
    return [str(fault) for fault in check([folder / "trial.toml"], LEXICON)]


def test_phrases_that_sound_alike_are_ranked(tmp_path: Path) -> None:
    """What sounds alike is told with how near it is and what would be kept, the nearest first."""
    told = two(
        tmp_path,
        ("drain_opened", "waveform is good"),
        ("drain_zeroed", "waveform is gone"),
        ("drain_levelled", "waveform was good"),
    )
    alike = [line for line in told if "sounds alike" in line]
    assert "drain_levelled" in alike[0] or "drain_opened" in alike[0]
    assert any('"waveform is good" and "waveform is gone"' in line for line in alike)
    apart = [float(line.split(" are ")[1].split()[0]) for line in alike]
    assert apart == sorted(apart)


def test_values_that_sound_alike_are_told(tmp_path: Path) -> None:
    """Two values of one slot that are one sound apart are told, with the kind of entry."""
    text = GOOD.replace("opened wide", "clamped for <reason>", 1).replace("opened", "clamped")
    reasons = '{ loading = "loading", reading = "reading" }'
    (tmp_path / "trial.toml").write_text(
        text.replace('read = "drain clamped wide"', f"slots.reason = {reasons}")
    )
    told = [str(fault) for fault in check([tmp_path / "trial.toml"], LEXICON)]
    values = '"loading" and "reading" are 1.1 apart; both are values of "reason" in drain_clamped'
    assert any(values in line for line in told), told


def test_beginning_of_another_phrase_is_told(tmp_path: Path) -> None:
    """A phrase with which one of another kind begins is told: it is what a cut leaves."""
    told = two(tmp_path, ("drain_opened", "drain opened"), ("drain_zeroed", "drain opened again"))
    assert any('"drain opened" (drain_opened) is how "drain opened again"' in line for line in told)


def test_grammar_that_is_too_large_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where more can be said than is heard in time, that is told for each state of the talk."""
    monkeypatch.setattr(checker, "MOST_ARCS", 10)
    (tmp_path / "trial.toml").write_text(GOOD)
    faults = check([tmp_path / "trial.toml"], LEXICON)
    assert {f.sort for f in faults} == {Sort.TOO_LARGE}
    assert "at most 10 may be" in faults[0].text


def test_unknown_word_comes_with_a_proposal_and_what_it_sounds_like(tmp_path: Path) -> None:
    """An unknown word is told with how it may be said and which known words are near."""
    (fault, *_) = check([planted(tmp_path, "opened wide", "opened widest")], LEXICON)
    assert fault.sort is Sort.UNKNOWN_WORD
    assert "legbook phrases teach widest" in fault.text
    assert "W AY D" in fault.text
    assert "It sounds like: " in fault.text


def test_other_spelling_is_no_new_word(tmp_path: Path) -> None:
    """A word that has one spelling for its sound is to be written with that."""
    planted(tmp_path, "opened wide", "opened wyde")
    (tmp_path / "spelling.toml").write_text('about = "S."\n[spellings]\nwyde = "wide"\n')
    (fault, *_) = check(sorted(tmp_path.glob("*.toml")), LEXICON)
    assert 'as phrases are spelled: "wide"' in fault.text


def test_only_the_named_files_are_reported(tmp_path: Path) -> None:
    """Faults of files that nobody asked about are not told."""
    planted(tmp_path, "opened wide", "opened wyde")
    assert check([tmp_path / "trial.toml"], LEXICON, only=["other.toml"]) == ()


@pytest.mark.parametrize("sort", Sort)
def test_guide_tells_every_sort(sort: Sort) -> None:
    """The trainer's guide has a line for every sort of fault."""
    assert f"| {sort} |" in GUIDE.read_text("utf-8")


DRUGS = """
about = "A trial."

[unit.mcg]
said = "micrograms"
read = "micrograms"
amount = { min = 1, max = 100 }

[drug]
fentanyl = { class = "analgesic", bolus = ["mcg"] }
sufentanil = { class = "analgesic", bolus = ["mcg"] }
mannitol = { class = "osmotherapy", bolus = ["mcg"] }
wydocain = { class = "analgesic", bolus = ["mcg"] }
"""


def test_a_drug_is_told_if_it_is_unknown_or_sounds_like_another(tmp_path: Path) -> None:
    """Of a list of drugs each name that the model lacks is told, and each pair that sounds alike, once."""
    file = tmp_path / "trial.toml"
    file.write_text(DRUGS)
    unknown, alike = check([file], LEXICON)
    assert (unknown.sort, unknown.line) == (Sort.UNKNOWN_WORD, 13)
    assert 'does not know "wydocain"' in unknown.text
    assert (alike.sort, alike.line) == (Sort.SOUNDS_ALIKE, 10)
    assert alike.text.startswith('the drugs "fentanyl" and "sufentanil": ')
    assert "both are given in mcg" in alike.text


def test_a_drug_that_is_said_as_another_is_told(tmp_path: Path) -> None:
    """A wording that two drugs of the list share has two meanings, which must be mended."""
    file = tmp_path / "trial.toml"
    said = DRUGS.replace("wydocain = {", 'lidocaine = { said = "lidocaine | mannitol",')
    file.write_text(said)
    (fault, *_) = [f for f in check([file], LEXICON) if f.sort is Sort.TWO_MEANINGS]
    assert '"mannitol" means both' in fault.text
    assert fault.must_be_mended


def test_an_entry_that_swallows_a_deciding_word_is_told(tmp_path: Path) -> None:
    """An entry with "confirm" in it is told: who confirms in one breath would say a new entry."""
    talk = """
[[phrase]]
talk = "confirm"
say = "confirm"
states = ["listening"]
"""
    file = tmp_path / "trial.toml"
    written = GOOD.replace('say = "drain opened wide"', 'say = "drain opened wide [confirm]"')
    file.write_text(written.replace("[examples]", f"{talk}\n[examples]"))
    (fault,) = [f for f in check([file], LEXICON) if f.sort is Sort.SWALLOWS]
    assert (fault.line, fault.must_be_mended) == (13, True)
    assert '"drain opened wide confirm" has "confirm" in it' in fault.text


CONFIRM = """
[[phrase]]
talk = "confirm"
say = "confirm"
states = ["listening"]
"""


def test_an_entry_that_begins_like_confirm_is_told(tmp_path: Path) -> None:
    """An entry with a word that sounds like "confirm" is told with it, for a person to decide."""
    file = tmp_path / "trial.toml"
    said = GOOD.replace("opened wide", "opened conform").replace(
        "[examples]", f"{CONFIRM}[examples]"
    )
    file.write_text(said)
    known = {**LEXICON, "conform": (("K", "AH", "N", "F", "AO", "R", "M"),)}
    (fault,) = [f for f in check([file], known) if "confirm" in f.text]
    assert (fault.sort, fault.line) == (Sort.SOUNDS_ALIKE, 13)
    assert '"conform" in "drain opened conform" and "confirm" are' in fault.text
    file.write_text(said.replace("conform", "wide"))
    assert [f for f in check([file], known) if "confirm" in f.text] == []


def test_a_phrase_that_is_also_a_confirm_and_an_entry_names_both(tmp_path: Path) -> None:
    """Where a phrase is also "confirm" with an entry behind it, the fault says so in plain words."""
    file = tmp_path / "trial.toml"
    both = GOOD.replace('say = "drain opened wide"', 'say = "[confirm] drain opened wide"')
    file.write_text(both.replace("[examples]", f"{CONFIRM}[examples]"))
    told = [f.text for f in check([file], LEXICON) if f.sort is Sort.TWO_MEANINGS]
    assert len(told) == 1
    assert 'means both drain_opened and the word "confirm" and drain_opened.' in told[0]


def test_what_other_files_refuse_and_mean_holds_beside_a_new_file(tmp_path: Path) -> None:
    """A new phrase that is a counter-example of another file, or a second meaning of its example, is told."""
    (tmp_path / "shipped.toml").write_text(GOOD)
    new = tmp_path / "new.toml"
    new.write_text(
        GOOD.split("[[phrase]]", maxsplit=1)[0].replace('["pressure"]', '["wide"]')
        + '[[phrase]]\nentry = "drain_opened"\nsay = "drain wide | drain opened wide"\n'
        '[[phrase]]\nentry = "drain_zeroed"\nsay = "zeroed [pressure]"\n'
        '[[phrase]]\nentry = "drain_clamped"\nsay = "pressure (fourteen | down) | pressure"\n'
        '[examples]\n"drain wide" = { kind = "drain_opened" }\n'
    )
    told = {
        (fault.sort, fault.line): fault.text
        for fault in check(sorted(tmp_path.glob("*.toml")), LEXICON, ["new.toml"])
    }
    refused = told[Sort.NOT_REFUSED, 12]
    assert refused.startswith('"pressure" is legal now, though shipped.toml lists it as refused.')
    assert '"pressure fourteen" means both' in told[Sort.TWO_MEANINGS, 12]


def test_a_spelling_that_is_read_as_another_is_told_though_the_model_knows_it(
    tmp_path: Path,
) -> None:
    """A phrase with a word that is read as another word could never be understood, and is told."""
    planted(tmp_path, "opened wide", "opened colour")
    (tmp_path / "spelling.toml").write_text('about = "S."\n[spellings]\ncolour = "color"\n')
    assert "colour" in LEXICON
    told = [f for f in check(sorted(tmp_path.glob("*.toml")), LEXICON) if "colour" in f.text]
    assert (told[0].sort, told[0].line) == (Sort.UNKNOWN_WORD, 13)
    assert 'as phrases are spelled: "color"' in told[0].text


def test_two_files_of_one_name_are_told(tmp_path: Path) -> None:
    """A draft with the name of another phrase file is told, though each can be read."""
    for folder in ("shipped", "drafts"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "trial.toml").write_text(GOOD)
    faults = check([tmp_path / f / "trial.toml" for f in ("shipped", "drafts")], LEXICON)
    assert "there are two phrase files of this name" in faults[0].text


def test_words_of_the_talk_are_told_as_such(tmp_path: Path) -> None:
    """Where a phrase also means a word of the talk, the fault names both in plain words."""
    talk = """
[[phrase]]
talk = "confirm"
say = "drain opened wide"
states = ["listening"]
"""
    file = tmp_path / "trial.toml"
    file.write_text(GOOD.replace("[examples]", f"{talk}\n[examples]"))
    told = [f.text for f in check([file], LEXICON) if f.sort is Sort.TWO_MEANINGS]
    assert told
    assert all('the word "confirm"' in text and "drain_opened" in text for text in told)


def test_nothing_but_confirm_confirms(tmp_path: Path) -> None:
    """Another wording that would confirm is told: crews say such words to each other."""
    talk = """
[[phrase]]
talk = "confirm"
say = "confirm | copy that"
states = ["listening"]
"""
    file = tmp_path / "trial.toml"
    file.write_text(GOOD.replace("[examples]", f"{talk}\n[examples]"))
    (fault,) = [f for f in check([file], LEXICON) if f.sort is Sort.CONFIRMS]
    assert fault.must_be_mended
    assert '"copy that" would confirm' in fault.text


def test_a_spelling_that_changes_a_phrase_is_told(tmp_path: Path) -> None:
    """A spelling that makes one word of the phrases another would be kept wrongly without a word."""
    file = tmp_path / "trial.toml"
    file.write_text(GOOD.replace("[examples]", '[spellings]\nfifty = "fifteen"\n[examples]'))
    (fault,) = [f for f in check([file], LEXICON) if f.sort is Sort.SPELLING]
    assert (fault.line, fault.must_be_mended) == (17, True)
    assert '"fifty" is a word of phrases' in fault.text


def test_a_drug_that_is_read_back_in_another_unit_is_told(tmp_path: Path) -> None:
    """Where a unit of a list is said as one and read back as another, its drugs are told."""
    phrase = """
[[phrase]]
entry = "drug_given"
drugs = "bolus"
say = "<drug> <dose> <unit>"
read = "<drug>, <dose> <unit>"
"""
    file = tmp_path / "trial.toml"
    file.write_text(DRUGS + phrase)
    assert [f for f in check([file], LEXICON) if f.sort is Sort.READ_BACK] == []
    file.write_text(DRUGS.replace('read = "micrograms"', 'read = "milligrams"') + phrase)
    told = [f for f in check([file], LEXICON) if f.sort is Sort.READ_BACK]
    assert [fault.line for fault in told] == [10, 11, 12, 13]
    assert "milligrams" in told[0].text
