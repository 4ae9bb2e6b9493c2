"""Models from elsewhere, and those that must stay there."""

from __future__ import annotations

import hashlib
import re
import threading
import zipfile
from http.server import HTTPServer, SimpleHTTPRequestHandler
from typing import TYPE_CHECKING, Any

import pytest

from voice.acoustics.shipped import CHECKSUMS, ModelDamagedError
from voice.hearing import official
from voice.hearing.model import ModelFolderError
from voice.meaning.grammar import load_grammar
from voice.session.models import (
    SHIPPED_MODEL,
    UnknownModelError,
    UselessModelError,
    chosen_model,
    models,
    models_root,
)
from voice.training import bringing_in
from voice.training.bringing_in import BringInError, bring_in, fetch, use
from voice.training.telling import told

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

GRAMMAR = load_grammar()


def nothing_came_in() -> bool:
    """Whether the machine is as if no model had ever been named."""
    left = list(models_root().iterdir()) if models_root().exists() else []
    return left == [] and chosen_model() == SHIPPED_MODEL


def test_a_model_is_copied_vouched_for_and_used(elsewhere: Path) -> None:
    """A folder becomes a model of this machine, and what happens to the folder no longer matters."""
    model = use(str(elsewhere), GRAMMAR)
    (elsewhere / "am" / "final.mdl").unlink()
    assert chosen_model() == model
    assert model.folder == models_root() / "tiny"
    assert model.spellings(GRAMMAR)["color"] == "colour"
    assert [m.name for m in models()] == ["shipped", "tiny"]


def test_a_model_that_changes_afterwards_is_refused(elsewhere: Path) -> None:
    """The checksums of the day on which it was brought in hold from then on."""
    model = bring_in(elsewhere, GRAMMAR)
    weights = model.folder / "am" / "final.mdl"
    weights.write_bytes(weights.read_bytes()[:-1] + b"!")
    with pytest.raises(ModelDamagedError, match=r"final\.mdl is damaged.*legbook model use FOLDER"):
        model.spellings(GRAMMAR)


def test_a_model_that_comes_with_checksums_must_keep_them(elsewhere: Path) -> None:
    """A file that differs from the model's own list stays outside."""
    (elsewhere / CHECKSUMS).write_text(f"{'0' * 64}  am/final.mdl\n")
    with pytest.raises(ModelDamagedError):
        use(str(elsewhere), GRAMMAR)
    assert nothing_came_in()


def test_the_same_model_may_come_again_but_no_other_of_its_name(elsewhere: Path) -> None:
    """Bringing in twice mends a damaged copy; another model of that name changes nothing."""
    model = bring_in(elsewhere, GRAMMAR)
    (model.folder / "am" / "final.mdl").unlink()
    assert bring_in(elsewhere, GRAMMAR).spellings(GRAMMAR)
    (elsewhere / "conf" / "model.conf").open("a").write("--beam=12.0\n")
    with pytest.raises(BringInError, match="another model called tiny"):
        bring_in(elsewhere, GRAMMAR)
    assert model.spellings(GRAMMAR)


def test_a_folder_without_a_model_is_refused(tmp_path: Path) -> None:
    """The file that is lacking is named, and nothing is copied."""
    with pytest.raises(ModelFolderError, match=r"lacks am/final\.mdl"):
        use(str(tmp_path), GRAMMAR)
    assert nothing_came_in()


@pytest.mark.parametrize("name", ["shipped", ".hidden"])
def test_some_names_are_taken(elsewhere: Path, name: str) -> None:
    """No model can pass for the shipped one or hide from the list."""
    with pytest.raises(BringInError, match="another name"):
        bring_in(elsewhere.rename(elsewhere.with_name(name)), GRAMMAR)
    assert nothing_came_in()


def test_a_model_without_the_words_that_every_leg_needs_is_refused(elsewhere: Path) -> None:
    """Without "fifty", fifty would be heard as fifteen: the model stays outside."""
    grammar_file = elsewhere / "graph" / "Gr.fst"
    grammar_file.write_bytes(grammar_file.read_bytes().replace(b"fifty", b"fyfti"))
    with pytest.raises(UselessModelError, match="no words for fifty"):
        use(str(elsewhere), GRAMMAR)
    assert nothing_came_in()


def test_a_model_over_which_kaldi_ends_the_process_is_refused(elsewhere: Path) -> None:
    """It breaks down in a process of its own, and its last words are told."""
    settings = elsewhere / "conf" / "model.conf"
    settings.write_text(settings.read_text().replace("--endpoint.silence-phones=1\n", ""))
    with pytest.raises(BringInError, match=r"breaks down over the model tiny \(.*silence"):
        use(str(elsewhere), GRAMMAR)
    assert nothing_came_in()


def test_a_model_that_is_too_slow_is_refused(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A trial that does not end in time is ended, and the model stays outside."""
    monkeypatch.setattr(bringing_in, "TRIAL_MAY_TAKE_S", 0.01)
    with pytest.raises(BringInError, match="too slow"):
        bring_in(elsewhere, GRAMMAR)
    assert nothing_came_in()


def test_a_full_disk_is_told(elsewhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the copy fails, the sentence says so and nothing is left behind."""

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("shutil.copytree", full)
    with pytest.raises(BringInError, match="No space left"):
        bring_in(elsewhere, GRAMMAR)
    assert nothing_came_in()


def test_a_name_is_no_folder() -> None:
    """What is neither a model of this machine nor a folder is refused."""
    with pytest.raises(UnknownModelError, match="nowhere"):
        use("nowhere", GRAMMAR)


def test_the_shipped_model_can_be_taken_again(elsewhere: Path) -> None:
    """The word "shipped" goes back, and a model that was brought in is taken by its name."""
    use(str(elsewhere), GRAMMAR)
    assert use("shipped", GRAMMAR) == SHIPPED_MODEL == chosen_model()
    assert use("tiny", GRAMMAR) == chosen_model() != SHIPPED_MODEL


@pytest.fixture
def network(elsewhere: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A network of this test alone, with the tiny model in place of the official one."""
    served = tmp_path / "served"
    served.mkdir()
    archive = served / "tiny.zip"
    with zipfile.ZipFile(archive, "w") as packed:
        for file in sorted(elsewhere.rglob("*")):
            packed.write(file, file.relative_to(elsewhere.parent))

    class Server(SimpleHTTPRequestHandler):
        def __init__(self, *arguments: Any, **named: Any) -> None:
            super().__init__(*arguments, directory=str(served), **named)

        def log_message(self, *_: object) -> None:
            """Say nothing."""

    server = HTTPServer(("127.0.0.1", 0), Server)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    monkeypatch.setattr(official, "NAME", "tiny")
    monkeypatch.setattr(official, "ADDRESS", f"http://127.0.0.1:{server.server_port}/tiny.zip")
    monkeypatch.setattr(official, "SHA256", hashlib.sha256(archive.read_bytes()).hexdigest())
    yield archive
    server.shutdown()
    thread.join()
    server.server_close()


def test_the_official_model_is_fetched_checked_and_brought_in(network: Path) -> None:
    """It is there afterwards, the choice stays, and progress ended with all its bytes."""
    seen: list[tuple[int, int]] = []
    model = fetch(GRAMMAR, lambda come, total: seen.append((come, total)))
    size = network.stat().st_size
    assert seen[-1] == (size, size)
    assert model.name == "tiny"
    assert model.spellings(GRAMMAR)
    assert chosen_model() == SHIPPED_MODEL


def test_another_archive_than_the_pinned_one_is_thrown_away(network: Path) -> None:
    """One changed byte is found before anything is unpacked."""
    network.write_bytes(network.read_bytes()[:-1] + b"?")
    with pytest.raises(BringInError, match="Nothing of it is kept"):
        fetch(GRAMMAR, lambda *_: None)
    assert nothing_came_in()


def test_without_a_network_another_way_is_named(
    network: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where nobody answers, the sentence says what to do instead."""
    network.unlink()
    for address in (official.ADDRESS, "http://127.0.0.1:1/tiny.zip"):
        monkeypatch.setattr(official, "ADDRESS", address)
        with pytest.raises(BringInError, match="legbook model use FOLDER"):
            fetch(GRAMMAR, lambda *_: None)


def test_the_pinned_model_is_one_of_vosks_own() -> None:
    """The address is where Vosk itself fetches models, and the checksum is a SHA-256."""
    assert official.ADDRESS == (
        "https://alphacephei.com/vosk/models/vosk-model-small-en-us-0.15.zip"
    )
    assert len(bytes.fromhex(official.SHA256)) == 32


def test_a_model_is_told_with_all_that_it_cannot_hear(elsewhere: Path) -> None:
    """Every phrase that loses something is told, with what to say instead or that there is nothing."""
    lines = "\n".join(told(bring_in(elsewhere, GRAMMAR), GRAMMAR))
    assert lines.startswith("tiny: 0.6 MB, 100 words, in ")
    assert "Nobody has measured" in lines
    assert '"color" as "colour"' in lines
    assert re.search(r"It lacks \d{3} words of the grammar: ", lines)
    assert "wet filter: NOT AT ALL" in lines
    assert 'new bag on: say "bag changed"' in lines
    assert "without cloudy, hazy" in lines
    assert "talk.toml: confirm" not in lines
    assert "talk.toml: stop reading: NOT AT ALL" in lines


def test_of_the_shipped_model_nothing_is_lacking() -> None:
    """The shipped model can say every phrase of the grammar."""
    assert list(told(SHIPPED_MODEL, GRAMMAR))[1:] == ["  Every phrase of the grammar can be said."]
