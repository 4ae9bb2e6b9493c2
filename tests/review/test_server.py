from __future__ import annotations

import re
import socket
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any

import pytest
from starlette.testclient import TestClient

from tests.review.conftest import SAND, reading
from tests.review.flight import LEG, Flight, at
from voice.entries.errors import LegbookError
from voice.meaning.grammar import load_grammar
from voice.record.shelf import load, verify
from voice.review.desk import Desk
from voice.review.doorkeeper import IDLE_MIN, TOKEN_MIN, Doorkeeper
from voice.review.files import FOLDER
from voice.review.guard import ALWAYS, LARGEST_BYTES
from voice.review.server import Server, serve

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from httpx2 import Response

PORT = 8123
HOST = f"127.0.0.1:{PORT}"
ORIGIN = f"http://{HOST}"
JSON = {"content-type": "application/json", "origin": ORIGIN, "legbook-leg": LEG}


class Hand:
    """The hand of a monotonic clock."""

    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        """Seconds."""
        return self.now_s


class Setup:
    """A server, what it told whoever started it, and a browser that has no session yet."""

    def __init__(self, desk: Desk) -> None:
        self.hand = Hand()
        self.told: list[str] = []
        self.server = Server(desk, Doorkeeper(self.hand), PORT, self.told.append, ())
        self.browser = TestClient(
            self.server.app, base_url=ORIGIN, follow_redirects=False, raise_server_exceptions=False
        )

    def let_in(self) -> TestClient:
        """The browser, with a session and somebody who said who she is."""
        assert self.browser.get(self.server.new_address()).status_code == 303
        assert self.post("/who", SAND.model_dump()).status_code == 200
        return self.browser

    def post(self, path: str, body: object, **headers: str) -> Response:
        """A POST as the page sends it."""
        return self.browser.post(path, json=body, headers={**JSON, **headers})

    def act(self, name: str, head: int | None = None, **told: Any) -> Response:
        """One act, decided on what is shown now."""
        head = self.browser.get("/data/head").json()["head"] if head is None else head
        act = {"act": name, "head": head, **told}
        return self.post("/acts", {"by": SAND.model_dump(), "act": act})


@pytest.fixture
def setup(desk: Desk) -> Iterator[Setup]:
    """A server at a leg."""
    made = Setup(desk)
    yield made
    made.server.close()


@pytest.fixture
def page(setup: Setup) -> TestClient:
    """A browser that was let in."""
    return setup.let_in()


PRIVATE = [
    "/data/leg",
    "/data/head",
    "/data/changes?since=0",
    "/data/summary",
    "/data/course",
    "/data/waveform/0001.flac",
    "/data/entries/1/alternatives",
    "/data/entries/1/history",
    "/data/gaps/1/alternatives",
    "/clips/0001.flac",
]
POSTED = ["/who", "/check", "/acts", "/seats", "/lock"]


# --- who is let in -------------------------------------------------------------------------------


@pytest.mark.parametrize("path", PRIVATE)
def test_nothing_is_told_without_a_session(setup: Setup, path: str) -> None:
    """Without a cookie, with an invented one, or with a token, no route tells anything of the leg."""
    for key in ("", "x" * 43, "\xe9" * 43):
        cookie = f"legbook_desk_{PORT}={key}".encode("latin-1")
        answer = setup.browser.get(path, headers={b"cookie": cookie})
        assert answer.status_code == 401
        assert answer.json()["error"].startswith("The desk is locked")


@pytest.mark.parametrize("path", POSTED)
def test_nothing_is_done_without_a_session(setup: Setup, path: str, folder: Path) -> None:
    """Without a session every act is refused, and the journal stays as it is."""
    before = (folder / "head").read_bytes()
    assert setup.post(path, {"act": "approve", "head": 0, "number": 1}).status_code == 401
    assert (folder / "head").read_bytes() == before


def test_an_address_lets_one_browser_in_once(setup: Setup) -> None:
    """The token of an address works once, and leaves the address line."""
    address = setup.server.new_address()
    first = setup.browser.get(address)
    assert (first.status_code, first.headers["location"]) == (303, "/")
    cookie = first.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    setup.browser.cookies.clear()
    for used in (address, "/?token=", "/?token=%E9%FF", "/?token=x&token=y"):
        again = setup.browser.get(used)
        assert again.status_code == 401
        assert "locked" in again.text


def test_an_address_gets_old(setup: Setup) -> None:
    """An address that nobody used for an hour lets nobody in."""
    address = setup.server.new_address()
    setup.hand.now_s = TOKEN_MIN * 60
    assert setup.browser.get(address).status_code == 401


def test_a_desk_that_nobody_uses_is_locked(setup: Setup, page: TestClient) -> None:
    """After some minutes without use the session is over; a new address is told to the terminal alone."""
    setup.hand.now_s += IDLE_MIN * 60 - 1
    assert page.get("/data/leg").status_code == 200
    setup.hand.now_s += IDLE_MIN * 60 - 1
    assert page.get("/data/head").status_code == 200
    setup.hand.now_s += 1
    answers = [page.get("/data/leg"), page.get("/"), setup.act("approve", 1, number=1)]
    assert [answer.status_code for answer in answers] == [401] * 3
    assert len(setup.told) == 1
    assert "token" not in "".join(answer.text for answer in answers)
    address = setup.told[0].split()[-1]
    assert page.get(address).status_code == 303
    assert page.get("/data/leg").json()["who"] is None


def test_a_desk_can_be_locked_at_once(setup: Setup, page: TestClient) -> None:
    """Whoever leaves the desk ends the session."""
    assert setup.post("/lock", {}).status_code == 200
    assert page.get("/data/leg").status_code == 401


def test_a_second_person_gets_an_address_of_her_own(setup: Setup, page: TestClient) -> None:
    """Somebody who sits at the desk can let in one more browser."""
    address = setup.post("/seats", {}).json()["address"]
    other = TestClient(setup.server.app, base_url=ORIGIN, follow_redirects=False)
    assert other.get(address).status_code == 303
    assert other.get("/data/leg").json()["who"] is None
    assert page.get("/data/leg").json()["who"] == SAND.model_dump()


@pytest.mark.usefixtures("page")
def test_who_acts_is_named(setup: Setup, folder: Path) -> None:
    """No act is written without a name and a role."""
    before = (folder / "head").read_bytes()
    act = {"act": "approve", "head": 1, "number": 3}
    for by in ({}, {"by": None}, {"by": {"name": " ", "role": "nurse"}}):
        assert setup.post("/acts", {**by, "act": act}).status_code == 422
    assert setup.post("/who", {"name": " ", "role": "nurse"}).status_code == 422
    assert (folder / "head").read_bytes() == before


# --- from where ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"[::1]:{PORT}", ""],
)
def test_a_foreign_host_is_refused(page: TestClient, host: str) -> None:
    """A name of the web that leads to this machine is not answered, session or not."""
    answer = page.get("/data/leg", headers={"host": host})
    assert answer.status_code == 421
    assert "rows" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": f"http://localhost:{PORT}"},
        {"origin": f"https://{HOST}"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
@pytest.mark.parametrize("path", ["/data/leg", "/clips/0001.flac", "/", "/acts"])
def test_a_foreign_page_is_refused(
    setup: Setup, page: TestClient, path: str, headers: dict[str, str]
) -> None:
    """What another page of the browser asks for is refused, though the cookie were sent along."""
    posted = path == "/acts"
    answer = setup.post(path, {}, **headers) if posted else page.get(path, headers=headers)
    assert answer.status_code == 403


def test_a_foreign_page_cannot_use_up_an_address(setup: Setup) -> None:
    """A link on another page does not spend the token."""
    address = setup.server.new_address()
    assert setup.browser.get(address, headers={"sec-fetch-site": "cross-site"}).status_code == 403
    assert setup.browser.get(address).status_code == 303


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"content-type": "application/json"}, 403),
        ({"origin": ORIGIN, "content-type": "text/plain"}, 415),
        ({"origin": ORIGIN, "content-type": "application/x-www-form-urlencoded"}, 415),
        ({"origin": ORIGIN}, 415),
    ],
)
def test_a_form_of_another_page_does_nothing(
    page: TestClient, folder: Path, headers: dict[str, str], status: int
) -> None:
    """Without this page's origin, or as anything but JSON, nothing is written."""
    before = (folder / "head").read_bytes()
    body = '{"act":"approve","head":1,"number":3}'
    assert page.post("/acts", content=body, headers=headers).status_code == status
    assert (folder / "head").read_bytes() == before


def test_too_much_is_not_read(page: TestClient) -> None:
    """A request larger than any act is refused before it is read, and so is one without a length."""
    assert page.post("/acts", content=b"x" * (LARGEST_BYTES + 1), headers=JSON).status_code == 413
    assert page.post("/acts", content=iter([b"{}"]), headers=JSON).status_code == 413


@pytest.mark.parametrize("path", ["/", "/data/leg", "/static/desk.js", "/nothing", "/clips/x"])
def test_every_answer_forbids_what_is_foreign(page: TestClient, path: str) -> None:
    """Each answer, of whatever kind, bears the headers that keep out scripts, frames and other hosts."""
    headers = page.get(path).headers
    assert {name: headers[name] for name in ALWAYS} == ALWAYS
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["content-security-policy"].startswith("default-src 'none'")


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods_do_nothing(page: TestClient, method: str) -> None:
    """Only what the page uses is answered."""
    assert page.request(method, "/acts", headers=JSON).status_code in {405, 413}


@pytest.mark.parametrize(
    "path",
    [
        "/clips/../journal.sqlite",
        "/clips/..%2Fjournal.sqlite",
        "/clips/%2e%2e%2fjournal.sqlite",
        "/clips/..%5Cjournal.sqlite",
        "/clips/%2Fetc%2Fpasswd",
        "/clips/0001.flac%00",
        "/clips/0999.flac",
        "/data/waveform/..%2Fhead",
        "/static/../server.py",
        "/static/..%2Fserver.py",
        "/static/%2e%2e/server.py",
        "/static//etc/passwd",
        "/static/..%5Cserver.py",
    ],
)
def test_no_path_leads_out(page: TestClient, folder: Path, path: str) -> None:
    """No way of writing a path reaches a file that is neither a sound of the leg nor of the page."""
    (folder / "clips" / "0999.flac").write_bytes(b"never named by the journal")
    answer = page.get(path)
    assert answer.status_code in {404, 405}
    assert b"SQLite" not in answer.content
    assert b"import" not in answer.content


@pytest.mark.parametrize(
    ("name", "status"),
    [
        ("desk.js", 200),
        ("uplot/uPlot.iife.min.js", 200),
        ("desk.css", 200),
        ("icon.svg", 200),
        ("uplot/release.toml", 404),
        ("", 404),
    ],
)
def test_the_files_of_the_page_are_sent_as_they_lie(
    page: TestClient, name: str, status: int
) -> None:
    """What a browser uses is sent byte for byte, as what it is; nothing else of the folder is."""
    answer = page.get(f"/static/{name}")
    assert answer.status_code == status
    if status == 200:
        assert answer.content == (FOLDER / name).read_bytes()
        kinds = {"js": "text/javascript", "css": "text/css", "svg": "image/svg+xml"}
        assert answer.headers["content-type"].startswith(kinds[name.rsplit(".", maxsplit=1)[-1]])


def test_a_page_asks_for_all_its_scripts_at_once(page: TestClient) -> None:
    """Every module is named in the page, so that none is found only when another has come."""
    named = set(re.findall(r'rel="modulepreload" href="/static/(\S+)"', page.get("/").text))
    assert named == {path.name for path in FOLDER.glob("*.js")}


# --- what is told and done -----------------------------------------------------------------------


def test_a_script_in_a_comment_stays_text(setup: Setup, page: TestClient) -> None:
    """What is typed comes back as data, never as a part of the page."""
    script = "<script>alert(1)</script>\"'{{ 7 * 7 }}"
    assert setup.act("comment", number=1, text=script).status_code == 200
    answer = page.get("/data/leg")
    assert answer.headers["content-type"] == "application/json"
    assert answer.json()["rows"][0]["comments"][0]["text"] == script
    assert "<script>alert" not in page.get("/").text


def test_the_leg_is_told(page: TestClient) -> None:
    """The page gets every entry, every gap, and what most needs a look by its weight."""
    leg = page.get("/data/leg").json()
    assert [row["number"] for row in leg["rows"]] == [*range(1, 9)]
    assert len(leg["gaps"]) == 2
    assert leg["readonly"] is None
    first = max(leg["rows"], key=lambda row: row["need"])
    assert (first["number"], first["why_look"][0]) == (
        2,
        "“fentanyl fifteen micrograms” is nearly as likely",
    )
    assert "never orders care" in leg["caution"]


def test_each_act_is_done_and_told(setup: Setup, page: TestClient, folder: Path) -> None:
    """Every act of the page goes through, answers with a sentence, and stands in the journal."""
    clip = page.get("/data/leg").json()["gaps"][1]["clip"]
    acts: list[tuple[str, dict[str, Any]]] = [
        ("alternative", {"number": 1, "text": "pressure forty", "becomes": "ICP 40 mmHg"}),
        ("type", {"number": 9, "text": "14"}),
        ("time", {"number": 2, "time": "23:31"}),
        ("add", {"text": "drained 6 ml", "clip": clip}),
        ("approve", {"number": 3}),
        ("withdraw", {"number": 8}),
        ("comment", {"text": "a rough flight"}),
        ("write_down", {"number": 4, "text": "pupil looked sluggish"}),
        ("listened", {"clip": "0001.flac"}),
        ("sign_off", {"may_teach": False}),
    ]
    for name, told in acts:
        answer = setup.act(name, **told)
        assert answer.status_code == 200, answer.text
        assert answer.json()["said"].endswith(".")
    assert verify(folder).intact
    assert load(folder).signed is not None


def test_a_change_by_another_is_told(setup: Setup, page: TestClient) -> None:
    """An act on what somebody else has changed answers 409 with the leg as it is now."""
    head = page.get("/data/head").json()["head"]
    setup.act("type", number=1, text="15")
    answer = setup.act("type", head, number=1, text="16")
    assert answer.status_code == 409
    assert "Nothing was written" in answer.json()["error"]
    assert answer.json()["head"] == head + 1
    assert page.get(f"/data/changes?since={head}").json()["rows"][-1]["number"] == 9


def test_two_at_once_lose_nothing(setup: Setup, page: TestClient, folder: Path) -> None:
    """Of many acts on one entry at the same moment one is done, and the others are told so."""
    head = page.get("/data/head").json()["head"]
    with ThreadPoolExecutor(8) as people:
        values = [str(value) for value in range(20, 28)]
        answers = list(people.map(lambda v: setup.act("type", head, number=1, text=v), values))
    assert sorted(answer.status_code for answer in answers) == [200, *[409] * 7]
    assert len(load(folder).entries) == 9
    assert verify(folder).intact


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize(
    "body",
    [
        {},
        {"act": "erase", "head": 1},
        {"act": "approve", "head": 1},
        {"act": "approve", "head": -1, "number": 1},
        {"act": "comment", "head": 1, "number": 1, "text": ""},
        {"act": "comment", "head": 1, "number": 1, "text": "\u202e"},
        {"act": "type", "head": 99, "number": 3, "text": "pressure 400"},
        [],
        "approve",
    ],
)
def test_what_is_no_act_is_refused(setup: Setup, body: object) -> None:
    """A request that is no act is refused in a sentence."""
    answer = setup.post("/acts", {"by": SAND.model_dump(), "act": body})
    assert answer.status_code in {409, 422}
    assert answer.json()["error"]


@pytest.mark.parametrize("body", [b"{", b"\xff\xfe", b'{"act": "comment", "text": "\\ud800"}', b""])
def test_what_is_no_json_is_refused(page: TestClient, body: bytes) -> None:
    """Bytes that are no JSON are refused in a sentence."""
    assert page.post("/acts", content=body, headers=JSON).status_code == 422


def test_what_is_typed_can_be_looked_at_first(setup: Setup, page: TestClient) -> None:
    """A text is told as what it would become, or why it is none, and nothing is written."""
    head = page.get("/data/head").json()["head"]
    told = setup.post("/check", {"text": "40", "number": 1}).json()
    assert told == {"written": "ICP 40 mmHg", "read_back": "pressure, four zero", "time": None}
    told = setup.post("/check", {"text": "pressure 40 at 23:31", "number": 1}).json()
    assert told["time"] == "23:31"
    wrong = setup.post("/check", {"text": "presure 40"})
    assert wrong.status_code == 422
    assert wrong.json()["nearest"]
    assert page.get("/data/head").json()["head"] == head


def test_other_things_that_were_heard_are_told(page: TestClient) -> None:
    """The alternatives of an entry and of a gap are told as what they would become."""
    listed = page.get("/data/entries/1/alternatives").json()["alternatives"]
    assert [(one["written"], one["now"]) for one in listed] == [
        ("ICP 14 mmHg", True),
        ("ICP 40 mmHg", False),
        (None, False),
    ]
    gap = page.get("/data/leg").json()["gaps"][1]["id"]
    listed = page.get(f"/data/gaps/{gap}/alternatives").json()["alternatives"]
    assert [one["written"] for one in listed] == ["Drained 6 mL", "Drained 60 mL"]
    assert page.get(f"/data/gaps/{gap}/alternatives").json()["second"] is None
    assert page.get("/data/gaps/1/alternatives").status_code == 422
    assert page.get("/data/entries/99/alternatives").status_code == 422


def test_both_summaries_are_told(setup: Setup, page: TestClient, desk: Desk) -> None:
    """The summary as flown stays as it was; what differs is marked line by line."""
    setup.act("alternative", **reading(desk, 1, 1))
    told = page.get("/data/summary").json()
    assert "corrected at the desk by R. Sand, charge nurse: misheard" in " ".join(
        told["after"].split()
    )
    assert "R. Sand" not in told["before"]
    for side in ("before", "after"):
        lines = [line["text"] for line in told["lines"] if line["side"] in {"same", side}]
        assert lines == told[side].splitlines()


def test_the_summary_of_a_leg_without_an_end_does_not_count_up_to_now(tmp_path: Path) -> None:
    """While it is flown it counts up to now; days later, worked on at the desk or not, to the last that is known."""
    flight = Flight(tmp_path)
    flight.say("pressure fourteen")
    desk = Desk(flight.folder, load_grammar(), lambda: at(3 * 24 * 60))
    setup = Setup(desk)
    page = setup.let_in()

    def told(side: str) -> str:
        return " ".join(page.get("/data/summary").json()[side].split())

    assert "4320 min so far" in told("after")
    flight.journal.close()
    known = "known of it is of 23:31, after 1 min"
    assert known in told("after")
    assert setup.act("approve", number=1).status_code == 200
    assert known in told("after")
    assert known in told("before")
    desk.close()


def test_sound_and_pictures_are_sent(page: TestClient) -> None:
    """A sound is sent whole or in part; its picture, the course and the history are told."""
    part = page.get("/clips/0001.flac", headers={"range": "bytes=0-3"})
    assert (part.status_code, part.content) == (206, b"RIFF")
    assert page.get("/clips/0001.flac").headers["content-type"] == "audio/wav"
    for path in ("/data/waveform/0001.flac", "/data/course", "/data/entries/1/history"):
        assert page.get(path).status_code == 200


def test_a_changed_sound_is_not_played(page: TestClient, folder: Path) -> None:
    """A sound that is not as it was kept is refused in a sentence."""
    (folder / "clips" / "0001.flac").write_bytes(b"fLaC")
    answer = page.get("/clips/0001.flac")
    assert answer.status_code == 410
    assert "changed" in answer.json()["error"]


def test_read_only_is_said_and_held(open_desk: Callable[..., Desk], folder: Path) -> None:
    """A desk to look only shows the leg, says that it is so, and refuses every act."""
    setup = Setup(open_desk(readonly=True))
    page = setup.let_in()
    assert "looked at only" in page.get("/data/leg").json()["readonly"]
    before = (folder / "head").read_bytes()
    assert setup.act("approve", number=3).status_code == 423
    assert (folder / "head").read_bytes() == before


def test_a_fault_of_the_program_is_told_in_a_sentence(
    setup: Setup, page: TestClient, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever fails inside, the page gets a sentence, and the terminal what failed."""

    def fail() -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(desk, "view", fail)
    answer = page.get("/data/leg")
    assert answer.status_code == 500
    assert answer.json()["error"]
    assert "ZeroDivisionError" in setup.told[-1]
    assert "ZeroDivisionError" not in answer.text


def test_a_port_that_is_taken_is_told(desk: Desk) -> None:
    """Another program at the port is told in a sentence, and no address is shown."""
    told: list[str] = []
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(LegbookError, match="Name another with --port"):
            serve(desk, Doorkeeper(Hand()), told.append, (), port)
    assert told == []


# --- which leg, and who --------------------------------------------------------------------------


@pytest.mark.parametrize("path", PRIVATE)
def test_a_page_of_another_leg_is_told_nothing_of_this(page: TestClient, path: str) -> None:
    """A page that was open before a desk at another leg took the port is answered with a sentence alone."""
    answer = page.get(path, headers={"legbook-leg": "2026-04-30-0800"})
    assert answer.status_code == 409
    assert list(answer.json()) == ["error"]
    assert f"2026-04-30-0800, and the desk is at leg {LEG} now" in answer.json()["error"]


def test_a_sound_is_asked_for_with_its_leg(page: TestClient) -> None:
    """The element that plays has no headers: it names the leg in the address."""
    assert page.get(f"/clips/0001.flac?leg={LEG}").status_code == 200
    assert page.get("/clips/0001.flac?leg=2026-04-30-0800").status_code == 409


@pytest.mark.parametrize("path", POSTED)
@pytest.mark.parametrize("named", ["2026-04-30-0800", ""])
def test_nothing_is_written_into_another_leg(
    setup: Setup, page: TestClient, path: str, named: str, folder: Path
) -> None:
    """What is sent names its leg, or is refused: the same entry number is there in every leg."""
    before = (folder / "head").read_bytes()
    act = {"act": "approve", "head": 1, "number": 1}
    body = {"by": SAND.model_dump(), "act": act}
    assert setup.post(path, body, **{"legbook-leg": named}).status_code == 409
    bare = {name: value for name, value in JSON.items() if name != "legbook-leg"}
    answer = page.post(path, json=body, headers=bare)
    assert (answer.status_code, answer.json()["error"][:23]) == (409, "This page is of no leg,")
    assert (folder / "head").read_bytes() == before


@pytest.mark.usefixtures("page")
def test_an_act_is_of_whom_its_page_names(setup: Setup, folder: Path) -> None:
    """Two windows of one browser share a session: who took over in one acts in the other under no other name."""
    setup.post("/who", {"name": "A. Moss", "role": "physician"})
    assert setup.act("approve", number=3).status_code == 200
    mark = load(folder).entries[2].desk
    assert mark is not None
    assert mark.by == SAND


def test_who_was_too_late_is_told_all_that_changed(setup: Setup, page: TestClient) -> None:
    """A refused page gets speech, remarks, counter and signature too: it asks for nothing of before again."""
    leg = page.get("/data/leg").json()
    head, gap = leg["head"], leg["gaps"][1]
    setup.act("add", text="drained 6 ml", clip=gap["clip"])
    setup.act("comment", text="a rough flight")
    setup.act("listened", clip="0001.flac")
    setup.act("type", number=1, text="15")
    setup.act("sign_off")
    told = setup.act("approve", head, number=1).json()
    assert [one["became"] for one in told["gaps"] if one["id"] == gap["id"]] == [[9]]
    assert [one["text"] for one in told["comments"]] == ["a rough flight"]
    assert told["counter"]["listened"] == 1
    assert told["sign_off"]["by"] == SAND.model_dump()
    assert len(told["rows"]) == 10
