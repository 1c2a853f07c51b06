"""People's secrets on this device, and the list of public keys."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from stillbore.app.desk import KEY_LIST
from stillbore.app.host import KEYS, checked_name, new_secret
from stillbore.app.page import REFUSED, desk_of, download, file_of, form_of, go, here, render, text_of
from stillbore.errors import InputFaults, StillboreError
from stillbore.store import keys


async def show(request: Request) -> Response:
    return _page(request, ())


def _page(request: Request, reasons: tuple[str, ...]) -> Response:
    desk = desk_of(request)
    return render(request, "keys.html", REFUSED if reasons else 200, secrets=desk.secrets(), reasons=reasons,
                  public=desk.public_keys(), device=desk.host.device, shortest=keys.SHORTEST_WORDS)


async def save(request: Request) -> Response:
    """Make a person's secret here, or bring one in, or a key list."""
    desk, form = desk_of(request), await form_of(request)
    brought = await file_of(form, "file")
    try:
        if brought is None:
            if text_of(form, "words") != text_of(form, "again"):
                raise StillboreError("The words were not the same twice.", "Write them again.")
            new_secret(desk.host, checked_name(text_of(form, "person")), str(form.get("words", "")))
        else:
            name, text = brought[0], brought[1].decode("utf-8", "replace")
            if name.endswith(".secret"):
                keys.public_of(text, name)
                if name in desk.host.documents.list(KEYS):
                    raise StillboreError(f"There is a {name} here already.", "Secrets are not written over.")
            else:
                keys.read_keys(text, name)
                name = KEY_LIST
            desk.host.documents.write(KEYS, checked_name(name), text)
    except InputFaults as error:
        return _page(request, tuple(map(str, error.faults)))
    except StillboreError as error:
        return _page(request, (f"{error.what} {error.fix}",))
    await desk.commit()
    return go(here(request, "keys"))


async def key_list(request: Request) -> Response:
    """Whose public key is whose, for whoever verifies a record."""
    desk = desk_of(request)
    entries = [keys.key_entry(name, "person", public) for name, public in sorted(desk.public_keys().items())]
    entries.append(keys.key_entry(desk.host.device.name, "device", desk.host.device.key))
    return download("\n".join([f'format = "{keys.FORMAT}"\n', *entries]).encode(), KEY_LIST, "application/toml")


ROUTES = (("/keys", show, ["GET"]), ("/keys", save, ["POST"]), ("/keys/keys.toml", key_list, ["GET"]))
