"""One page: the template and what it is filled with; and the form that comes back, bounded before it is read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, FunctionLoader, StrictUndefined
from markupsafe import Markup
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import FormParser, MultiPartException, MultiPartParser
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from stillbore.app.addresses import at, slug, unslug
from stillbore.app.desk import Desk
from stillbore.app.wording import DEFAULT, Wording, wordings
from stillbore.report.document import plain

PAGES = "stillbore.app.pages"  # the templates
LARGEST_FORM = 24_000_000  # bytes; a photo is a few million, a gauge log of a day less
MOST_FIELDS = 3000
REFUSED = 422  # the status of a page that says why something was not accepted


@cache
def templates() -> Environment:
    """The templates, read as package data; what is filled in is escaped, and what cannot be seen is made visible."""
    def read(name: str) -> str:
        return files(PAGES).joinpath(name).read_text(encoding="utf-8")

    def shown(value: object) -> object:
        return plain(value) if isinstance(value, str) and not isinstance(value, Markup) else value

    made = Environment(loader=FunctionLoader(read), autoescape=True, undefined=StrictUndefined, finalize=shown,
                       trim_blocks=True, lstrip_blocks=True)
    made.globals["slug"] = slug
    return made


def desk_of(request: Request) -> Desk:
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


def wording_of(request: Request) -> Wording:
    """The language of the address. A page in a language that is not there is not there."""
    found = wordings().get(request.path_params.get("language", DEFAULT))
    if found is None:
        raise HTTPException(404)
    return found


def named(request: Request, what: str) -> str:
    """A name that stands in the address."""
    return unslug(request.path_params[what])


def here(request: Request, *parts: str) -> str:
    """The address of another page in the same language."""
    return at(wording_of(request).language, *parts)


def render(request: Request, template: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A page."""
    t = wording_of(request)
    path = request.url.path
    others = {name: path.replace(f"/{t.language}", f"/{name}", 1) for name in wordings() if name != t.language}

    def address(*parts: str) -> str:
        return at(t.language, *parts)

    text = templates().get_template(template).render(t=t, at=address, others=others, **values)
    return HTMLResponse(text, status, headers={"Cache-Control": "no-store"})


def go(address: str) -> Response:
    """To another page, which is then asked for anew: nothing is sent twice."""
    return RedirectResponse(address, 303)


class _Parts(MultiPartParser):
    """Keeps what is sent in memory: in the browser there are no threads that could write it to a file."""

    spool_max_size = LARGEST_FORM


async def form_of(request: Request) -> FormData:
    """What was sent. What is too large is refused before it is read to its end."""
    said = request.headers.get("content-length", "0")
    if not said.isdecimal() or int(said) > LARGEST_FORM:
        raise HTTPException(413)

    async def bounded() -> Any:
        size = 0
        async for part in request.stream():
            size += len(part)
            if size > LARGEST_FORM:
                raise HTTPException(413)
            yield part

    sort = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    try:
        if sort == "multipart/form-data":
            return await _Parts(request.headers, bounded(), max_files=MOST_FIELDS, max_fields=MOST_FIELDS,
                                max_part_size=LARGEST_FORM).parse()
        return await FormParser(request.headers, bounded()).parse()
    except (MultiPartException, ValueError, KeyError):
        raise HTTPException(400) from None


def text_of(form: FormData, name: str) -> str:
    """A text field; "" where it was not sent. Line ends are those of the file, not of the form."""
    value = form.get(name, "")
    return value.replace("\r\n", "\n").strip() if isinstance(value, str) else ""


async def file_of(form: FormData, name: str) -> tuple[str, bytes] | None:
    """A file that was sent with its name; None where none was chosen."""
    value = form.get(name)
    if not isinstance(value, UploadFile) or not value.filename:
        return None
    return value.filename.replace("\\", "/").rpartition("/")[2][:100], await value.read()


def download(data: bytes, name: str, sort: str = "application/octet-stream") -> Response:
    """A file to keep. It is never shown as a page of this app, whatever is in it."""
    safe = "".join(letter if letter.isascii() and (letter.isalnum() or letter in "._-") else "_" for letter in name)
    return Response(data, media_type=sort, headers={
        "Content-Disposition": f'attachment; filename="{safe}"', "Cache-Control": "no-store",
        "Content-Security-Policy": "sandbox; default-src 'none'"})


Values = Mapping[str, Any]
