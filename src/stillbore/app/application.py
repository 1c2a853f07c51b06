"""The app: which address is which page. Every endpoint is async and starts no thread, so that the same app answers
under a server and in the browser."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from stillbore.app import crew, gauge_page, keys_page, locate_page, more, planner, record_page, survey_page
from stillbore.app.desk import Desk
from stillbore.app.host import Host
from stillbore.app.page import LARGEST_FORM, PAGES, REFUSED, render, templates
from stillbore.app.wording import DEFAULT, wordings
from stillbore.errors import InputFaults, StillboreError

TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".png": "image/png"}
REPORT_STYLE = "report.css"  # of the documents: the pages hold parts of them


def make_app(host: Host) -> Starlette:
    """The app over a host."""
    routes = [Route("/", _first), Route("/static/{name}", _static)]
    for room in (planner, survey_page, keys_page, more, locate_page, gauge_page, crew, record_page):
        routes += [Route("/{language}" + path, endpoint, methods=methods) for path, endpoint, methods in room.ROUTES]
    app = Starlette(routes=routes, exception_handlers={
        StillboreError: _refused, HTTPException: _missing})  # type: ignore[dict-item]
    app.state.desk = Desk(host)
    return app


def load_all() -> None:
    """Load every text, file and template now, not with the first page that shows it."""
    wordings()
    static_files()
    for page in files(PAGES).iterdir():
        templates().get_template(page.name)


async def _first(request: Request) -> Response:
    """The jobs, in the language that the browser asks for, if it is there."""
    wanted = [part.partition(";")[0].strip()[:2].lower() for part in
              request.headers.get("accept-language", "").split(",")]
    return RedirectResponse(f"/{next((each for each in wanted if each in wordings()), DEFAULT)}/", 303)


@cache
def static_files() -> Mapping[str, bytes]:
    """Style sheets, scripts and pictures of the pages, by name."""
    own = {file.name: file.read_bytes() for file in files("stillbore.app.static").iterdir()}
    return {**own, REPORT_STYLE: files("stillbore.report").joinpath("page.css").read_bytes()}


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    sort = next((sort for ending, sort in TYPES.items() if name.endswith(ending)), "")
    if name not in static_files() or not sort:
        return PlainTextResponse("There is no such file.\n", 404)
    return Response(static_files()[name], media_type=sort, headers={"Cache-Control": "no-cache"})


async def _refused(request: Request, error: StillboreError) -> Response:
    """Something that the user can mend, as a page: what is wrong and what to do."""
    faults = error.faults if isinstance(error, InputFaults) else ()
    if request.path_params.get("language") not in wordings():
        request.scope["path_params"] = {**request.path_params, "language": DEFAULT}
    return render(request, "refused.html", REFUSED, what=error.what, fix=error.fix, faults=faults,
                  back=request.headers.get("referer", "") and request.url.path)


async def _missing(request: Request, error: HTTPException) -> Response:
    if request.path_params.get("language") not in wordings():
        request.scope["path_params"] = {**request.path_params, "language": DEFAULT}
    key = {413: "error.too_large", 400: "error.unreadable"}.get(error.status_code, "error.missing")
    return render(request, "error.html", error.status_code, key=key, most=LARGEST_FORM // 1_000_000)
