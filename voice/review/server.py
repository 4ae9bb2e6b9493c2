"""The desk as a page: routes from requests to the desk and back.

The desk itself is asked on one thread of its own, one request after the other, so that acts cannot
cross; sounds are sent beside it.
"""

from __future__ import annotations

import asyncio
import gc
import socket
from concurrent.futures import ThreadPoolExecutor
from traceback import format_exc
from typing import TYPE_CHECKING, TypeVar

import uvicorn
from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from pydantic import ValidationError
from starlette.applications import Starlette
from starlette.responses import (
    HTMLResponse,
    JSONResponse,
    RedirectResponse,
    Response,
)
from starlette.routing import Route

from voice.entries.errors import LegbookError
from voice.entries.review import Reviewer
from voice.report.telling import CAUTION
from voice.review.acts import Asked
from voice.review.answers import ToCheck, another_leg, checked, opened, refused, summaries
from voice.review.course import Courses
from voice.review.desk import ConflictError
from voice.review.doorkeeper import IDLE_MIN
from voice.review.files import PageFiles
from voice.review.guard import Guard, error
from voice.review.part_of_file import as_asked
from voice.review.second import second_told
from voice.review.waveform import as_wav, waveform

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from pydantic import BaseModel
    from starlette.requests import Request

    from voice.meaning.handoff import Need
    from voice.record.events import Heard
    from voice.review.desk import Desk
    from voice.review.doorkeeper import Doorkeeper, Session
    from voice.review.options import Option

HOST = "127.0.0.1"
"""This machine and no other."""

_T = TypeVar("_T")


class Server:
    """The application for one desk."""

    def __init__(
        self,
        desk: Desk,
        doorkeeper: Doorkeeper,
        port: int,
        show: Callable[[str], None],
        needs: tuple[Need, ...],
    ) -> None:
        """Serve ``desk`` under ``port`` of this machine.

        ``show`` tells a sentence to whoever started the server, and to nobody else; ``needs`` is
        what a handoff has to tell.
        """
        self._desk = desk
        self._leg_id = desk.leg.id
        self._doorkeeper = doorkeeper
        self._show = show
        self._needs = needs
        self._address = f"http://{HOST}:{port}/"
        # a cookie is for a host, whatever its port: two desks must not take each other's
        self._cookie = f"legbook_desk_{port}"
        self._worker = ThreadPoolExecutor(max_workers=1)
        self._files = PageFiles()
        self._courses = Courses()
        pages = Environment(
            loader=PackageLoader("voice.review"),
            autoescape=select_autoescape(default=True),
            undefined=StrictUndefined,
        )
        self._open_page = pages.get_template("desk.html")
        self._locked_page = pages.get_template("locked.html")
        hosts = frozenset({f"{HOST}:{port}", f"localhost:{port}"})
        self.app = Guard(Starlette(routes=self._routes()), hosts)

    def new_address(self) -> str:
        """An address that lets one browser in, once."""
        return f"{self._address}?token={self._doorkeeper.new_token()}"

    def _routes(self) -> list[Route]:
        get, post = ["GET"], ["POST"]
        return [
            Route("/", self._page, methods=get),
            Route("/static/{name:path}", self._files.send, methods=get),
            Route("/data/leg", self._let_in(self._leg), methods=get),
            Route("/data/head", self._let_in(self._head, use=False), methods=get),
            Route("/data/changes", self._let_in(self._changes, use=False), methods=get),
            Route("/data/summary", self._let_in(self._summary), methods=get),
            Route("/data/course", self._let_in(self._course), methods=get),
            Route("/data/waveform/{clip}", self._let_in(self._waveform), methods=get),
            Route(
                "/data/entries/{number:int}/alternatives", self._let_in(self._options), methods=get
            ),
            Route("/data/entries/{number:int}/history", self._let_in(self._history), methods=get),
            Route(
                "/data/gaps/{number:int}/alternatives", self._let_in(self._gap_options), methods=get
            ),
            Route("/clips/{clip}", self._let_in(self._clip), methods=get),
            Route("/who", self._let_in(self._who), methods=post),
            Route("/check", self._let_in(self._check), methods=post),
            Route("/acts", self._let_in(self._act), methods=post),
            Route("/seats", self._let_in(self._seat), methods=post),
            Route("/lock", self._let_in(self._lock), methods=post),
        ]

    def get_ready(self) -> None:
        """Work out what a page asks for first, so that it need not wait for it."""
        self._desk.view()
        self._courses.of(self._desk.leg)

    def close(self) -> None:
        """Let the journal go."""
        self._worker.submit(self._desk.close).result()
        self._worker.shutdown()

    async def _ask(self, question: Callable[[], _T]) -> _T:
        """Ask the desk, on its thread."""
        return await asyncio.get_running_loop().run_in_executor(self._worker, question)

    # --- letting in ------------------------------------------------------------------------------

    async def _page(self, request: Request) -> Response:
        token = request.query_params.get("token")
        if token is not None and (key := self._doorkeeper.open(token)):
            answer = RedirectResponse("/", 303)
            answer.set_cookie(self._cookie, key, httponly=True, samesite="strict")
            return answer
        if self._session(request) is None:
            return HTMLResponse(self._locked_page.render(sentence=self._locked()), 401)
        leg, closed = await self._ask(lambda: (self._desk.leg.id, self._desk.closed))
        return HTMLResponse(
            self._open_page.render(
                leg=leg,
                caution=CAUTION,
                readonly=closed is not None,
                idle_min=IDLE_MIN,
                modules=self._files.modules,
            )
        )

    def _session(self, request: Request, *, use: bool = True) -> Session | None:
        return self._doorkeeper.session(request.cookies.get(self._cookie, ""), use=use)

    def _locked(self) -> str:
        """How to go on without a session: the new address is shown to whoever started the server."""
        if not self._doorkeeper.waits:
            self._show(f"The desk is locked. Go on with: {self.new_address()}")
        return (
            f"The desk is locked: it was not used for {IDLE_MIN} minutes, or its address was used "
            "before. A new address stands where legbook review was started."
        )

    def _let_in(
        self,
        route: Callable[[Request, Session], Awaitable[Response]],
        *,
        use: bool = True,
    ) -> Callable[[Request], Awaitable[Response]]:
        """The route for those with a session; whatever goes wrong in it is told in a sentence."""

        async def guarded(request: Request) -> Response:
            session = self._session(request, use=use)
            if session is None:
                return error(401, self._locked())
            try:
                if sentence := another_leg(request, self._leg_id):
                    return error(409, sentence)
                return await route(request, session)
            except ConflictError as wrong:
                # whatever the page does not know yet, though it asked with an older head
                now = await self._ask(lambda: self._desk.changes(0))
                return error(409, str(wrong), **now.model_dump(mode="json"))
            except (LegbookError, ValidationError) as wrong:
                return refused(wrong)
            except Exception:  # noqa: BLE001 - whatever it is, the page gets a sentence
                self._show(f"Something failed that should not. Please report it.\n{format_exc()}")
                return error(
                    500,
                    "Something failed that should not. What was kept is safe. Please report what "
                    "stands where legbook review was started.",
                )

        return guarded

    # --- looking ---------------------------------------------------------------------------------

    async def _leg(self, _request: Request, session: Session) -> Response:
        return _told(await self._ask(lambda: opened(self._desk, session.who)))

    async def _head(self, _request: Request, _session: Session) -> Response:
        return JSONResponse({"head": await self._ask(lambda: self._desk.head)})

    async def _changes(self, request: Request, _session: Session) -> Response:
        since = request.query_params.get("since", "")
        if not since.isdecimal():
            return error(422, "Since which event?")
        return _told(await self._ask(lambda: self._desk.changes(int(since))))

    async def _summary(self, _request: Request, _session: Session) -> Response:
        flown, leg, now = await self._ask(
            lambda: (
                self._desk.flown(),
                self._desk.leg,
                self._desk.now if self._desk.is_flown else None,
            )
        )
        return _told(await asyncio.to_thread(summaries, flown, leg, now, self._needs))

    async def _course(self, _request: Request, _session: Session) -> Response:
        leg = await self._ask(lambda: self._desk.leg)
        return _told(await asyncio.to_thread(self._courses.of, leg))

    async def _waveform(self, request: Request, _session: Session) -> Response:
        name = request.path_params["clip"]
        sound = await self._ask(lambda: self._desk.clip(name))
        return _told(await asyncio.to_thread(waveform, sound))

    async def _options(self, request: Request, _session: Session) -> Response:
        number = request.path_params["number"]
        listed, heard = await self._ask(
            lambda: (self._desk.options(number), self._desk.heard_of(number))
        )
        return _readings(listed, heard)

    async def _gap_options(self, request: Request, _session: Session) -> Response:
        number = request.path_params["number"]
        listed, heard = await self._ask(
            lambda: (self._desk.gap_options(number), self._desk.speech(number))
        )
        return _readings(listed, heard)

    async def _history(self, request: Request, _session: Session) -> Response:
        number = request.path_params["number"]
        rows = await self._ask(lambda: self._desk.history(number))
        return JSONResponse({"history": [row.model_dump(mode="json") for row in rows]})

    async def _clip(self, request: Request, _session: Session) -> Response:
        name = request.path_params["clip"]
        sound = await self._ask(lambda: self._desk.clip(name))
        wav = await asyncio.to_thread(as_wav, sound)
        return as_asked(wav, request.headers.get("range"), "audio/wav")

    # --- acting ----------------------------------------------------------------------------------

    async def _who(self, request: Request, session: Session) -> Response:
        session.who = Reviewer.model_validate_json(await request.body())
        self._worker.submit(self._desk.get_ready)  # while the reviewer reads on
        return JSONResponse({"who": session.who.model_dump()})

    async def _check(self, request: Request, _session: Session) -> Response:
        asked = ToCheck.model_validate_json(await request.body())
        return _told(await self._ask(lambda: checked(self._desk, asked)))

    async def _act(self, request: Request, _session: Session) -> Response:
        asked = Asked.model_validate_json(await request.body())
        return _told(await self._ask(lambda: self._desk.do(asked.act, asked.by)))

    async def _seat(self, _request: Request, _session: Session) -> Response:
        return JSONResponse({"address": self.new_address()})

    async def _lock(self, request: Request, _session: Session) -> Response:
        self._doorkeeper.close(request.cookies.get(self._cookie, ""))
        return JSONResponse({})


def _readings(listed: tuple[Option, ...], heard: Heard | None) -> Response:
    told = [one.model_dump(mode="json", exclude={"statement"}) for one in listed]
    return JSONResponse(
        {"alternatives": told, "second": None if heard is None else second_told(heard)}
    )


def _told(model: BaseModel) -> Response:
    return Response(model.model_dump_json(), media_type="application/json")


def serve(
    desk: Desk,
    doorkeeper: Doorkeeper,
    show: Callable[[str], None],
    needs: tuple[Need, ...],
    port: int = 0,
) -> None:
    """Serve the desk until it is interrupted; ``port`` 0 takes any that is free.

    Raises ``LegbookError`` where the port is taken.
    """
    with socket.socket() as listener:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listener.bind((HOST, port))
            listener.listen()  # whoever is quick with the address waits a moment
        except OSError as taken:
            raise LegbookError(
                f"Port {port} cannot be used: {taken.strerror}. Name another with --port."
            ) from taken
        server = Server(desk, doorkeeper, listener.getsockname()[1], show, needs)
        server.get_ready()
        gc.freeze()  # an act need not wait for the garbage collector, to which a leg is much
        show(f"The desk is open at: {server.new_address()}")
        show("The address lets one browser in, once. Close the desk with Ctrl-C.")
        config = uvicorn.Config(
            server.app, log_config=None, access_log=False, proxy_headers=False, server_header=False
        )
        try:
            uvicorn.Server(config).run([listener])
        finally:
            server.close()
