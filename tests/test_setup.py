"""Set-up on first use, with every command that it would run noted instead of run."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from voice import gate, setup_machine
from voice.setup_machine import DEV_LOCK, RUN_LOCK, SetupError, SystemPackage

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).resolve().parents[1]


class Machine:
    """A machine on which commands are noted; those that hold a word of ``fails`` fail."""

    def __init__(self) -> None:
        self.ran: list[str] = []
        self.fails: set[str] = set()
        self.python: Path | None = None

    def run(self, command: Sequence[str], **_: object) -> subprocess.CompletedProcess[bytes]:
        """Stand in for ``subprocess.run``."""
        line = " ".join(map(str, command))
        self.ran.append(line)
        failed = any(word in line for word in self.fails)
        if "-m venv" in line and not failed and self.python:
            self.python.parent.mkdir(parents=True, exist_ok=True)
            self.python.touch()
        return subprocess.CompletedProcess(command, int(failed))

    def count(self, word: str) -> int:
        """How many commands held ``word``."""
        return sum(word in line for line in self.ran)


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> Machine:
    """A machine on which nothing really runs."""
    machine = Machine()
    monkeypatch.setattr(subprocess, "run", machine.run)
    return machine


@pytest.fixture
def clone(tmp_path: Path, machine: Machine, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fresh clone, on a machine that has every system package."""
    for name in (RUN_LOCK, DEV_LOCK):
        (tmp_path / name).write_text(f"pins of {name}\n")
    machine.python = tmp_path / ".venv" / "bin" / "python"
    monkeypatch.setattr(setup_machine, "install_system", lambda _: None)
    return tmp_path


def test_first_call_makes_the_environment_and_the_second_runs_nothing(
    clone: Path, machine: Machine
) -> None:
    """Everything is installed once, and a second call starts at once."""
    python = setup_machine.prepare(clone, testing=False)
    assert python == clone / ".venv" / "bin" / "python"
    assert machine.count("-m venv --clear") == 1
    assert machine.count(f"--require-hashes -r {clone / RUN_LOCK}") == 1
    machine.ran.clear()
    assert setup_machine.prepare(clone, testing=False) == python
    assert machine.ran == []


def test_the_gate_adds_its_tools_to_a_running_environment(clone: Path, machine: Machine) -> None:
    """What only the gate needs is added when the gate is first called, and serves both commands."""
    setup_machine.prepare(clone, testing=False)
    machine.ran.clear()
    setup_machine.prepare(clone, testing=True)
    assert machine.count("-m venv") == 0
    assert machine.count(str(clone / DEV_LOCK)) == 1
    machine.ran.clear()
    setup_machine.prepare(clone, testing=False)
    assert machine.ran == []


def test_new_pins_are_installed_into_the_old_environment(clone: Path, machine: Machine) -> None:
    """A lock file that changed is installed again, without making the environment afresh."""
    setup_machine.prepare(clone, testing=False)
    machine.ran.clear()
    (clone / RUN_LOCK).write_text("other pins\n")
    setup_machine.prepare(clone, testing=False)
    assert machine.count("-m venv") == 0
    assert machine.count("--require-hashes") == 1


def test_a_system_package_that_came_to_be_needed_is_installed_into_an_old_set_up(
    clone: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A machine that was set up before lacks what has been added since."""
    asked: list[str] = []

    def install(packages: Sequence[SystemPackage]) -> None:
        asked.extend(package.name for package in packages)

    setup_machine.prepare(clone, testing=True)
    monkeypatch.setattr(setup_machine, "install_system", install)
    setup_machine.prepare(clone, testing=True)
    assert asked == []
    added = (*setup_machine.FOR_TESTS, SystemPackage("harpsichord", lambda: False))
    monkeypatch.setattr(setup_machine, "FOR_TESTS", added)
    setup_machine.prepare(clone, testing=True)
    assert "harpsichord" in asked


@pytest.mark.parametrize("broken", ["-m venv", "--require-hashes", "--editable"])
def test_a_set_up_that_was_broken_off_is_made_afresh(
    clone: Path, machine: Machine, broken: str
) -> None:
    """A step that fails says what to do, and the next call begins again from the start."""
    machine.fails.add(broken)
    with pytest.raises(SetupError, match=r"call again"):
        setup_machine.prepare(clone, testing=False)
    machine.fails.clear()
    machine.ran.clear()
    setup_machine.prepare(clone, testing=False)
    assert machine.count("-m venv --clear") == 1


@pytest.mark.parametrize("harm", ["no python", "moved", "not JSON", "not a table"])
def test_a_damaged_or_moved_environment_is_made_afresh(
    clone: Path, machine: Machine, harm: str
) -> None:
    """An environment that cannot be relied on is thrown away and made again."""
    python = setup_machine.prepare(clone, testing=False)
    stamp = clone / ".venv" / "legbook-setup.json"
    if harm == "no python":
        python.unlink()
    elif harm == "moved":
        stamp.write_text(json.dumps(json.loads(stamp.read_text()) | {"root": "/elsewhere"}))
    else:
        stamp.write_text("half a st" if harm == "not JSON" else "[]")
    machine.ran.clear()
    setup_machine.prepare(clone, testing=False)
    assert machine.count("-m venv --clear") == 1


def test_a_copy_without_its_lock_file_is_told_so(clone: Path) -> None:
    """A missing lock file is named."""
    (clone / RUN_LOCK).unlink()
    with pytest.raises(SetupError, match=r"requirements\.lock is not there.*Clone it again"):
        setup_machine.prepare(clone, testing=False)


def _package(name: str, *, present: Sequence[bool]) -> SystemPackage:
    answers = iter(present)
    return SystemPackage(name, lambda: next(answers))


@pytest.fixture
def root_with_apt(monkeypatch: pytest.MonkeyPatch) -> None:
    """A root user on a Debian."""
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}")


@pytest.mark.usefixtures("root_with_apt")
def test_missing_system_packages_are_installed(machine: Machine) -> None:
    """Only what is missing is asked of the system."""
    setup_machine.install_system(
        [_package("here", present=[True]), _package("wanted", present=[False, True])]
    )
    (line,) = machine.ran
    assert line.endswith(
        "apt-get -o DPkg::Lock::Timeout=120 install -y -q --no-install-recommends wanted"
    )


@pytest.mark.usefixtures("root_with_apt")
def test_package_lists_are_fetched_when_the_first_try_fails(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On a machine that never fetched its lists, they are fetched and the package is installed."""
    machine.fails.add(" install ")
    noted = machine.run

    def run(command: Sequence[str], **options: object) -> subprocess.CompletedProcess[bytes]:
        result = noted(command, **options)
        if "update" in command:
            machine.fails.clear()
        return result

    monkeypatch.setattr(subprocess, "run", run)
    setup_machine.install_system([_package("wanted", present=[False, True])])
    assert [line.count("update") for line in machine.ran] == [0, 1, 0]


@pytest.mark.usefixtures("root_with_apt")
def test_a_package_that_cannot_be_installed_is_named(machine: Machine) -> None:
    """When the system refuses, the sentence names the package and the command."""
    machine.fails.add("apt-get")
    with pytest.raises(SetupError, match=r"lacks wanted .*sudo apt-get install wanted"):
        setup_machine.install_system([_package("wanted", present=[False, False])])


@pytest.mark.usefixtures("machine", "root_with_apt")
def test_a_package_that_is_still_missing_after_it_was_installed_is_named() -> None:
    """An installation that brought nothing is not taken for one that did."""
    with pytest.raises(SetupError, match=r"lacks wanted"):
        setup_machine.install_system([_package("wanted", present=[False, False, False])])


@pytest.mark.parametrize("programs", [set(), {"apt-get"}, {"apt-get", "sudo"}])
def test_without_the_right_to_install_nothing_is_tried(
    machine: Machine, monkeypatch: pytest.MonkeyPatch, programs: set[str]
) -> None:
    """Who may not install is told what to install, and never asked for a password."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(shutil, "which", lambda name: name in programs or None)
    machine.fails.add("sudo -n")
    with pytest.raises(SetupError, match=r"lacks one, two .*apt-get install one two"):
        setup_machine.install_system(
            [_package("one", present=[False]), _package("two", present=[False])]
        )
    assert machine.count("apt-get") == 0


def test_sudo_is_used_where_it_needs_no_password(
    machine: Machine, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A user whose sudo asks nothing has the packages installed."""
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    monkeypatch.setattr(shutil, "which", lambda name: f"/usr/bin/{name}")
    setup_machine.install_system([_package("wanted", present=[False, True])])
    assert machine.ran[-1].startswith("sudo -n env DEBIAN_FRONTEND=noninteractive apt-get")


def test_what_is_called_missing_is_missing() -> None:
    """The tests for a library and for a program say yes and no on this very machine."""
    assert setup_machine._library("libc.so.6")()
    assert not setup_machine._library("libnosuch.so.9")()
    assert setup_machine._program("sh")()
    assert not setup_machine._program("no-such-program")()


@pytest.mark.parametrize(
    ("arguments", "module"),
    [
        (["test", "-k", "drain"], ["voice.gate", "-k", "drain"]),
        (["demo", "--fast"], ["voice.cli", "demo", "--fast"]),
        ([], ["voice.cli"]),
    ],
)
def test_the_command_that_follows(
    monkeypatch: pytest.MonkeyPatch, arguments: list[str], module: list[str]
) -> None:
    """``test`` leads to the gate and everything else to the command line, arguments unchanged."""
    monkeypatch.setattr(setup_machine, "prepare", lambda *_, **__: Path("python"))
    assert setup_machine.command(arguments) == ["python", "-P", "-m", *module]


def _main(*arguments: str, lines_before: str = "") -> subprocess.CompletedProcess[str]:
    """Run ``python3 voice`` in a process of its own, from another folder, after ``lines_before``."""
    script = (
        f"import sys, runpy\n{lines_before}\nrunpy.run_path(sys.argv.pop(1), run_name='__main__')"
    )
    return subprocess.run(
        [sys.executable, "-c", script, str(ROOT / "voice"), *arguments],
        check=False,
        capture_output=True,
        text=True,
        cwd="/",
    )


def test_an_old_python_is_told_so() -> None:
    """A Python that is too old gets one sentence and no traceback."""
    result = _main("demo", lines_before="sys.version_info = (3, 9, 2)")
    assert result.returncode == 1
    assert result.stderr.startswith("legbook: this is Python 3.9, and legbook needs 3.11")
    assert "Traceback" not in result.stderr


@pytest.mark.parametrize(
    ("failure", "status", "told"),
    [
        ("s.SetupError('No room.')", 2, "legbook: No room.\n"),
        (
            "KeyboardInterrupt",
            130,
            "legbook: Set-up was stopped; the next call begins it anew.\n",
        ),
    ],
)
def test_a_set_up_that_fails_ends_with_its_sentence(failure: str, status: int, told: str) -> None:
    """What a person has to do is said on one line, without a traceback."""
    result = _main(
        "demo",
        lines_before=f"sys.path.insert(0, {str(ROOT)!r}); from voice import setup_machine as s\n"
        f"def prepare(*a, **k): raise {failure}\n"
        "s.prepare = prepare",
    )
    assert (result.returncode, result.stderr) == (status, told)


def _pins(lock: str) -> dict[str, str]:
    text = (ROOT / lock).read_text(encoding="utf-8")
    return dict(re.findall(r"^([\w.-]+)==(\S+)", text, re.MULTILINE))


def test_the_gate_tests_the_pins_that_run() -> None:
    """Every package that legbook runs with is in the gate's lock file at the same version."""
    assert _pins(RUN_LOCK).items() <= _pins(DEV_LOCK).items()


@pytest.mark.parametrize("lock", [RUN_LOCK, DEV_LOCK])
def test_every_pin_has_its_hash_and_no_address(lock: str) -> None:
    """A lock file names a hash for each package, and no place to fetch it from."""
    text = (ROOT / lock).read_text(encoding="utf-8")
    for pin in re.split(r"\n(?=\S)", text.strip()):
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", pin), pin
    assert "://" not in text


def test_the_lock_holds_what_the_project_asks_for() -> None:
    """Each dependency that pyproject.toml pins stands in the lock file at that version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = project["project"]["dependencies"] + project["dependency-groups"]["dev"]
    pins = _pins(DEV_LOCK)
    for requirement in asked:
        name, version = requirement.split(";")[0].strip().split("==")
        assert pins[name.lower()] == version


def test_the_gate_runs_every_check_even_after_one_failed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One failure fails the gate, is named, and hides nothing that comes after it."""
    machine = Machine()
    machine.fails.add("mypy")
    monkeypatch.setattr(subprocess, "run", machine.run)
    assert gate.main([]) == 1
    assert [line.split("/")[-1].split()[0] for line in machine.ran] == [
        "ruff",
        "ruff",
        "mypy",
        "lint-imports",
        "pytest",
    ]
    assert capsys.readouterr().err == "Does not hold: mypy.\n"


def test_the_gate_passes_its_arguments_to_pytest(monkeypatch: pytest.MonkeyPatch) -> None:
    """Arguments choose the tests, and coverage of a part is not taken for that of the whole."""
    machine = Machine()
    monkeypatch.setattr(subprocess, "run", machine.run)
    assert gate.main(["-k", "drain"]) == 0
    assert machine.ran[-1].endswith("/pytest -k drain")
