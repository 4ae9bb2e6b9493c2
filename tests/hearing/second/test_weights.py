"""The second listener's weights on disk."""

from __future__ import annotations

import shutil
from importlib.util import find_spec
from typing import TYPE_CHECKING

import pytest

from voice.hearing.second import weights
from voice.hearing.second.weights import WeightsError, find_weights, verify

if TYPE_CHECKING:
    from pathlib import Path


def test_the_package_brings_what_was_measured() -> None:
    """The weights that are installed are whole."""
    verify(find_weights())


def test_without_the_package_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no weights are installed, the sentence names the extra that brings them."""
    monkeypatch.setattr(weights, "PACKAGE", "no_such_package_of_weights")
    with pytest.raises(WeightsError, match=r"legbook\[second\]"):
        find_weights()


def test_a_folder_may_be_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Who has the weights from elsewhere names their folder, which is checked like the package's."""
    monkeypatch.setenv(weights.VARIABLE, str(tmp_path))
    assert find_weights() == tmp_path
    with pytest.raises(WeightsError, match="cannot be read"):
        verify(find_weights())


def test_the_package_is_not_run(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of the package only data is used: its code is not imported."""
    spec = find_spec(weights.PACKAGE)
    assert spec is not None
    assert spec.loader is not None
    monkeypatch.setattr(type(spec.loader), "exec_module", None)
    assert find_weights().is_dir()


def test_other_weights_are_refused(tmp_path: Path) -> None:
    """A file that differs by one byte is not used, and one that is absent is told of."""
    for name in weights.SHA256:
        shutil.copyfile(find_weights() / name, tmp_path / name)
    verify(tmp_path)
    with (tmp_path / "tokenizer.json").open("ab") as file:
        file.write(b" ")
    with pytest.raises(WeightsError, match="not the one that was measured"):
        verify(tmp_path)
    (tmp_path / "model.bin").unlink()
    with pytest.raises(WeightsError, match="cannot be read"):
        verify(tmp_path)
