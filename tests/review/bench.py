"""How long the desk takes at a leg of 8 h: ``python -m tests.review.bench --entries 1500``.

No browser, but all that the page asks for: the routes, the desk, and the journal on the disk.
"""

from __future__ import annotations

import argparse
import gc
import random
import sys
import tempfile
import time
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from starlette.testclient import TestClient

from tests.record.long_journal import append
from tests.review.flight import LEG, SETTINGS, START
from voice.entries.said import Statement
from voice.meaning.decision import Accept
from voice.meaning.decision import Heard as HeardWords
from voice.meaning.grammar import load_grammar
from voice.meaning.listening import Listening
from voice.record.events import Clip, Confirmed, Heard, Kept, LegEnded, ScoredText
from voice.record.journal import Journal
from voice.review.desk import Desk
from voice.review.doorkeeper import Doorkeeper
from voice.review.server import Server

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from voice.record.events import Event

LENGTH = timedelta(hours=8)
END = START + LENGTH
PORT = 8123
BY = {"name": "R. Sand", "role": "charge nurse"}


def long_leg(root: Path, entries: int, seed: int = 1) -> Path:
    """A leg of phrases drawn from the whole grammar; two of three were confirmed. Gives its folder.

    One in five has a rival so near that it has to be understood as well: more than real legs have.
    """
    folder = root / LEG
    with Journal.create(folder, SETTINGS, START, grammar_digest="", model_digest=""):
        pass
    append(folder, _events(entries, random.Random(seed)))
    return folder


def _events(entries: int, rng: random.Random) -> Iterator[Event]:
    said = _phrases(rng)
    rival, _ = next(said)
    for number in range(1, entries + 1):
        text, statement = next(said)
        at = START + LENGTH * number / (entries + 1)
        clip = Clip(name=f"{number:04}.flac", sha256="c" * 64)
        yield Heard(
            at=at,
            start_at=at,
            end_at=at + timedelta(seconds=2),
            alternatives=tuple(
                ScoredText(text=one, score=score)
                for one, score in ((text, 0), (rival, -4 if number % 5 == 0 else -12))
            ),
            decision=Accept(heard=HeardWords(text=text, meaning=statement)),
            dialogue_state="listening",
            clip=clip,
        )
        yield Kept(
            at=at,
            number=number,
            entry=statement.entry,
            heard=text,
            spoken_at=at,
            happened_at=at,
            clip=clip.name,
        )
        if number % 3:
            yield Confirmed(at=at, number=number)
        rival = text
    yield LegEnded(at=END)


def _phrases(rng: random.Random) -> Iterator[tuple[str, Statement]]:
    """Phrases for one entry, of now."""
    while True:
        text, meaning = load_grammar().sample(rng, Listening.LISTENING, SETTINGS)
        if isinstance(meaning, Statement) and meaning.when is None:
            yield text, meaning


class Took(NamedTuple):
    """Seconds by the clock on the wall, and of the processor."""

    wall_s: float
    cpu_s: float


class Bench:
    """The desk at a long leg, and a stopwatch."""

    def __init__(self, folder: Path) -> None:
        self.read = _timed(lambda: self._read(folder))
        """From the files to what is shown; done before the address of the desk is."""
        origin = f"http://127.0.0.1:{PORT}"
        self.page = TestClient(
            self.server.app,
            base_url=origin,
            headers={"origin": origin, "legbook-leg": LEG},
            follow_redirects=False,
        )

    def _read(self, folder: Path) -> None:
        desk = Desk(folder, load_grammar(), lambda: END + timedelta(days=1))
        desk.view()
        gc.freeze()
        self.server = Server(desk, Doorkeeper(time.monotonic), PORT, print, ())

    def open(self) -> Took:
        """From the address to all the data of the page."""
        took = _timed(self._open)
        self.page.post("/who", json=BY)
        return took

    def _open(self) -> None:
        self.page.get(self.server.new_address())
        self.page.get("/")
        self.leg = self.page.get("/data/leg").json()

    def close(self) -> None:
        """Let the journal and the leg go."""
        self.server.close()
        gc.unfreeze()

    def get(self, path: str) -> Took:
        """Until it is answered."""
        return _timed(lambda: self.page.get(path).raise_for_status())

    def act(self, name: str, **told: object) -> Took:
        """Until an act is on the disk and told."""
        head = self.page.get("/data/head").json()["head"]
        asked = {"by": BY, "act": {"act": name, "head": head, **told}}
        return _timed(lambda: self.page.post("/acts", json=asked).raise_for_status())


def _timed(ask: Callable[[], object]) -> Took:
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    ask()
    return Took(time.perf_counter() - wall_s, time.process_time() - cpu_s)


def main() -> None:
    """Build the leg, open it, act on it, and tell how long that took."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=1500)
    parser.add_argument("--times", type=int, default=10)
    asked = parser.parse_args()
    load_grammar()
    with tempfile.TemporaryDirectory() as temporary:
        bench = Bench(long_leg(Path(temporary), asked.entries))
        _tell("read", [bench.read])
        _tell("open", [bench.open()])
        _tell("open again", [bench.get("/data/leg") for _ in range(asked.times)])
        _tell("time line", [bench.get("/data/course") for _ in range(asked.times)])
        _tell("summaries", [bench.get("/data/summary")])
        numbers = range(1, asked.times + 1)
        _tell("first act", [bench.act("approve", number=asked.entries)])
        _tell("approve", [bench.act("approve", number=n) for n in numbers])
        _tell("change the time", [bench.act("time", number=n, time="23:29") for n in numbers])
        _tell("comment", [bench.act("comment", number=n, text="seen") for n in numbers])
        clips = (row["clip"] for row in bench.leg["rows"])
        _tell("listened", [bench.act("listened", clip=next(clips)) for _ in numbers])
        _tell("sign off", [bench.act("sign_off")])
        bench.close()


def _tell(what: str, took: Sequence[Took]) -> None:
    wall, cpu = (sorted(one[which] * 1000 for one in took) for which in (0, 1))
    middle = len(took) // 2
    sys.stdout.write(
        f"{what}: {wall[middle]:.0f} ms in the middle, {wall[-1]:.0f} ms at most; "
        f"of the processor {cpu[middle]:.0f} and {cpu[-1]:.0f} ms\n"
    )


if __name__ == "__main__":
    main()
