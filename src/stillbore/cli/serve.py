"""stillbore serve: the app on this machine, and for the tablets that may reach it."""

from __future__ import annotations

from pathlib import Path

import click

from stillbore.errors import StillboreError

FILE = click.Path(dir_okay=False, path_type=Path)


@click.command("serve")
@click.option("--store", "path", type=FILE, envvar="STILLBORE_STORE", default="jobs.db", show_default=True,
              help="The store: one file. Also from STILLBORE_STORE.")
@click.option("--device", default="D1", show_default=True, help="This machine's name in the log.")
@click.option("--host", default="127.0.0.1", show_default=True,
              help="Where to listen. From elsewhere only the tablets' app and the exchange are to be had.")
@click.option("--port", type=click.IntRange(0, 65535), default=8730, show_default=True)
@click.option("--token-file", type=FILE, help="A file with the token of the exchange; without it there is none.")
@click.option("--certificate", type=FILE, help="The server's certificate (PEM); tablets need one that they trust.")
@click.option("--certificate-key", type=FILE, help="Its private key (PEM).")
def command(path: Path, device: str, host: str, port: int, token_file: Path | None, certificate: Path | None,
            certificate_key: Path | None) -> None:
    """Open the app: the pages at http://127.0.0.1:8730 for this machine, and /tablet for tablets, until Ctrl-C."""
    try:
        import uvicorn

        from stillbore.app.application import make_app
        from stillbore.app.server import Server
        from stillbore.app.serving import served
    except ImportError as error:
        raise StillboreError(f"The app needs {error.name}, which is not installed.",
                             "Install it with: pip install 'stillbore[app,records]'") from None
    from stillbore.store.sqlite import SqliteStore

    if (certificate is None) != (certificate_key is None):
        raise StillboreError("A certificate goes with its key.", "Give both --certificate and --certificate-key.")
    server = Server(path, device)
    click.get_current_context().call_on_close(server.store.close)
    app = served(make_app(server), lambda: SqliteStore(path), _token(token_file))
    scheme = "https" if certificate else "http"
    click.echo(f"{path.name} at {scheme}://{host}:{port}; Ctrl-C ends it.")
    uvicorn.run(app, host=host, port=port, log_level="warning", access_log=False, server_header=False,
                ssl_certfile=certificate, ssl_keyfile=certificate_key)


def _token(path: Path | None) -> str:
    try:
        return path.read_text(encoding="utf-8").strip() if path else ""
    except (OSError, ValueError):
        raise StillboreError(f"{path} cannot be read.", "Give the file with the token.") from None
