"""Keys of a terminal, through a pseudo-terminal."""

from __future__ import annotations

import os
import pty
import termios
from typing import TYPE_CHECKING

import pytest

from voice.capture.keyboard import KeyboardError, TerminalKeys
from voice.session.attention import Way
from voice.session.preferences import Preferences
from voice.session.setups import Equipment

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


@pytest.fixture
def terminal() -> Iterator[tuple[int, int]]:
    """Both ends of a pseudo-terminal: that of the keys, and that of the program."""
    keys, program = pty.openpty()
    yield keys, program
    os.close(keys)
    os.close(program)


def test_a_press_is_told_once(terminal: tuple[int, int]) -> None:
    """A key counts without Enter, several that came together count as one, and each only once."""
    keys, program = terminal
    with TerminalKeys(program) as terminal_keys:
        assert not terminal_keys.pressed()
        os.write(keys, b"  x")
        assert terminal_keys.pressed()
        assert not terminal_keys.pressed()


def test_the_terminal_is_left_as_it_was(terminal: tuple[int, int]) -> None:
    """Lines and their echo come back afterwards, and Ctrl-C works all the time."""
    _, program = terminal
    before = termios.tcgetattr(program)
    with TerminalKeys(program) as terminal_keys:
        assert not termios.tcgetattr(program)[3] & termios.ECHO
        assert termios.tcgetattr(program)[3] & termios.ISIG
    terminal_keys.close()
    assert termios.tcgetattr(program) == before


def test_a_terminal_that_has_gone_presses_nothing() -> None:
    """A terminal that is closed under the program neither stops it nor opens its ear."""
    keys, program = pty.openpty()
    terminal_keys = TerminalKeys(program)
    os.close(keys)
    assert not terminal_keys.pressed()
    terminal_keys.close()
    os.close(program)


def test_what_is_no_terminal_has_no_keys(tmp_path: Path) -> None:
    """A file in the place of the terminal is refused in a sentence that says what to do."""
    with (tmp_path / "typed").open("w+") as file, pytest.raises(KeyboardError, match="terminal"):
        TerminalKeys(file.fileno())


def test_without_a_terminal_no_button_can_be_chosen() -> None:
    """Where the program is not started from a terminal, as here, a button is refused."""
    with pytest.raises(KeyboardError, match="--attention always"):
        Equipment(preferences=Preferences(attention=Way.BUTTON)).attention()
