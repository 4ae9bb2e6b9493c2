"""Signed packs: from one machine to another, and nothing else in them."""

from __future__ import annotations

import zipfile
from datetime import UTC, datetime
from typing import TYPE_CHECKING

import pytest

from voice.entries.leg import LegSettings
from voice.session.own_phrases import chosen_grammar, own_layer, packs, phrases_root
from voice.training.phrases.packs import PackError, fits, install, make_pack, read_pack

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from voice.training.phrases.packs import Pack

pytestmark = pytest.mark.usefixtures("small")
NOW = datetime(2026, 5, 1, 14, 0, tzinfo=UTC)
PHRASE = """
about = "A trial."
refused = ["gasket"]
[[phrase]]
entry = "drain_zeroed"
say = "gasket zeroed"
[examples]
"gasket zeroed" = { kind = "drain_zeroed" }
"""


def proven_phrase(text: str = PHRASE, name: str = "trial") -> None:
    """A phrase with a word that was taught, as if both had been proven here."""
    folder = own_layer().folder
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.toml").write_text(text)
    (folder / f"{name}.proof.json").write_text("{}")
    (folder / "lexicon.txt").write_text("gasket G AE S K AH T\n")


@pytest.fixture
def other_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Go over to another machine, on which there is nothing."""
    return lambda: monkeypatch.setenv("LEGBOOK_HOME", str(tmp_path / "other"))


@pytest.fixture
def packed(tmp_path: Path) -> tuple[Path, Pack]:
    """A pack on this machine."""
    proven_phrase()
    return make_pack(own_layer(), "ward", tmp_path, NOW)


def changed(file: Path, change: dict[str, bytes | None]) -> Path:
    """The pack with some of its files changed, added or left out."""
    with zipfile.ZipFile(file) as old:
        raw: dict[str, bytes | None] = {name: old.read(name) for name in old.namelist()}
    with zipfile.ZipFile(file, "w") as new:
        for name, data in {**raw, **change}.items():
            if data is not None:
                new.writestr(name, data)
    return file


def own_list(text: str, file: str = "checks/zeroing.toml") -> None:
    """A list on this machine's own."""
    place = own_layer().folder / file
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_text(text)


NEEDS = 'about = "Ours."\n[[need]]\nname = "zero"\ntold = [{ kind = "drain_zeroed" }]\n'


def test_pack_that_sounds_like_what_was_added_here_is_told(
    packed: tuple[Path, Pack], other_machine: Callable[[], None]
) -> None:
    """What a pack was not proven beside is named where it sounds alike: this machine's own phrases."""
    other_machine()
    assert fits(*read_pack(packed[0])) == ()
    here = PHRASE.replace("gasket zeroed", "gasket zero").replace("drain_zeroed", "drain_opened")
    proven_phrase(here, "here")
    (near,) = fits(*read_pack(packed[0]))
    assert '"gasket zero" (here.toml)' in near.text


def test_pack_moves_lists(tmp_path: Path, other_machine: Callable[[], None]) -> None:
    """Lists of a programme go with its phrases; one that the other machine has already is refused."""
    proven_phrase()
    own_list(NEEDS, "handoff/needs.toml")
    file, pack = make_pack(own_layer(), "ward", tmp_path, NOW)
    assert "handoff/needs.toml" in pack.files
    other_machine()
    pack, raw = read_pack(file)
    fits(pack, raw)
    assert install(pack, raw).lists
    fits(pack, raw)  # it takes its own place
    own_list(NEEDS, "handoff/needs.toml")
    with pytest.raises(PackError, match='a list "what is left" on this machine'):
        fits(pack, raw)


def test_pack_with_a_faulty_list_does_not_fit(
    tmp_path: Path, other_machine: Callable[[], None]
) -> None:
    """A list that could not be read on a leg is told before it is installed."""
    proven_phrase()
    own_list(NEEDS.replace("drain_zeroed", "drain_zero"), "handoff/needs.toml")
    file, _ = make_pack(own_layer(), "ward", tmp_path, NOW)
    other_machine()
    with pytest.raises(PackError, match='no kind of entry "drain_zero"'):
        fits(*read_pack(file))


def test_pack_moves_phrases_and_words(
    packed: tuple[Path, Pack], other_machine: Callable[[], None]
) -> None:
    """What was packed on one machine is listened for on another once it is installed."""
    file, made = packed
    other_machine()
    assert not chosen_grammar().parse("gasket zeroed", LegSettings())
    pack, raw = read_pack(file)
    assert pack == made
    fits(pack, raw)
    install(pack, raw)
    assert chosen_grammar().parse("gasket zeroed", LegSettings())
    assert [layer.words.keys() for layer in packs()] == [{"gasket"}]


def test_key_is_made_once_and_stays_private(packed: tuple[Path, Pack], tmp_path: Path) -> None:
    """One machine signs all its packs with one key, which only its owner can read."""
    _, again = make_pack(own_layer(), "ward-2", tmp_path, NOW)
    assert again.fingerprint == packed[1].fingerprint
    assert len(again.fingerprint.split()) == 4
    assert (phrases_root() / "signing-key").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"trial.toml": b"about = 'other'"}, "not what was signed"),
        ({"more.toml": b"about = 'more'"}, "not what was signed"),
        ({"lexicon.txt": None}, "not what was signed"),
        ({"signature": b"x" * 64}, "signature of ward.legpack is not right"),
        ({"signature": None}, "is no pack"),
        ({"pack.json": b"{}"}, "is no pack"),
        ({"../trial.toml": b""}, r"'\.\./trial\.toml', which no pack"),
        ({"/etc/trial.toml": b""}, "which no pack"),
        ({"run.py": b""}, "which no pack"),
        ({"big.toml": b"x" * 2_000_001}, "too large"),
        ({f"a{n}.toml": b"" for n in range(200)}, "too large"),
    ],
)
def test_changed_pack_is_refused(
    packed: tuple[Path, Pack], change: dict[str, bytes | None], told: str
) -> None:
    """A pack that was changed, or holds what no pack holds, is refused as a whole."""
    with pytest.raises(PackError, match=told):
        read_pack(changed(packed[0], change))


def test_other_file_is_no_pack(tmp_path: Path) -> None:
    """Any other file is refused with a sentence."""
    (tmp_path / "x.legpack").write_bytes(b"no")
    with pytest.raises(PackError, match="is no pack of phrases"):
        read_pack(tmp_path / "x.legpack")


def test_only_what_is_proven_is_packed(tmp_path: Path) -> None:
    """Without phrases there is no pack, and none with a phrase that has no proof."""
    with pytest.raises(PackError, match="no proven phrases"):
        make_pack(own_layer(), "ward", tmp_path, NOW)
    proven_phrase()
    (own_layer().folder / "trial.proof.json").unlink()
    with pytest.raises(PackError, match=r"trial\.toml has no proof"):
        make_pack(own_layer(), "ward", tmp_path, NOW)


def test_name_and_place_of_a_pack_are_checked(packed: tuple[Path, Pack], tmp_path: Path) -> None:
    """A pack has a plain name, and never takes the place of a file."""
    with pytest.raises(PackError, match="cannot be called"):
        make_pack(own_layer(), "../ward", tmp_path, NOW)
    with pytest.raises(PackError, match="already a file"):
        make_pack(own_layer(), "ward", packed[0].parent, NOW)


def test_newer_pack_replaces_an_older_one_of_the_same_key(
    packed: tuple[Path, Pack], tmp_path: Path, other_machine: Callable[[], None]
) -> None:
    """A pack of the same name replaces the older one, but not where another key signed it."""
    (tmp_path / "new").mkdir()
    proven_phrase(PHRASE.replace("gasket zeroed", "gasket zeroed again"))
    newer, _ = make_pack(own_layer(), "ward", tmp_path / "new", NOW)
    other_machine()
    for file in (packed[0], newer):
        pack, raw = read_pack(file)
        fits(pack, raw)
        install(pack, raw)
    assert chosen_grammar().parse("gasket zeroed again", LegSettings())
    proven_phrase(name="own")
    (tmp_path / "mine").mkdir()
    mine, raw = read_pack(make_pack(own_layer(), "ward", tmp_path / "mine", NOW)[0])
    with pytest.raises(PackError, match="signed by another key"):
        install(mine, raw)
    (phrases_root() / "packs" / "ward" / "pack.json").write_text("{}")
    with pytest.raises(PackError, match="is damaged: it no longer says who signed it"):
        install(mine, raw)


def test_newer_pack_without_a_word_that_is_needed_is_refused(
    packed: tuple[Path, Pack], tmp_path: Path, other_machine: Callable[[], None]
) -> None:
    """Where a phrase of this machine says a word of the older pack, a newer one without it is refused."""
    proven_phrase(PHRASE.replace("gasket zeroed", "drain zeroed again"))
    (own_layer().folder / "lexicon.txt").unlink()
    (tmp_path / "new").mkdir()
    newer, _ = make_pack(own_layer(), "ward", tmp_path / "new", NOW)
    other_machine()
    pack, raw = read_pack(packed[0])
    fits(pack, raw)
    install(pack, raw)
    proven_phrase(PHRASE.replace("gasket zeroed", "gasket zeroed here"), "here")
    (own_layer().folder / "lexicon.txt").unlink()
    with pytest.raises(PackError, match=r'"gasket" is said in here\.toml.*Nothing was installed'):
        fits(*read_pack(newer))


def test_pack_that_does_not_fit_is_refused(
    packed: tuple[Path, Pack], other_machine: Callable[[], None]
) -> None:
    """A pack with a phrase that is a fault on this machine is refused before it is installed."""
    other_machine()
    proven_phrase(name="own")
    own = own_layer().folder / "own.toml"
    own.write_text(PHRASE.replace("drain_zeroed", "drain_opened"))
    pack, raw = read_pack(packed[0])
    with pytest.raises(PackError, match=r"does not fit this machine: .*means both"):
        fits(pack, raw)
    own.rename(own.with_name("trial.toml"))
    with pytest.raises(PackError, match=r"phrase file trial\.toml on this machine already"):
        fits(pack, raw)


def test_key_that_is_damaged_is_told(packed: tuple[Path, Pack], tmp_path: Path) -> None:
    """A key that cannot be read is told; no other is made in its place."""
    assert packed
    (phrases_root() / "signing-key").write_text("no key")
    with pytest.raises(PackError, match="signing-key, cannot be used"):
        make_pack(own_layer(), "ward-2", tmp_path, NOW)
