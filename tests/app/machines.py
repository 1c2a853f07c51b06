"""A depot that can be switched off, and a tablet: a real Chromium with a profile of its own, which can be killed."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from pathlib import Path

import uvicorn
from crew_pages import SetServer

import stillbore
from stillbore.app.application import make_app
from stillbore.app.serving import served
from stillbore.store.sqlite import SqliteStore

PACKAGE = Path(stillbore.__file__).parent
BUILT = PACKAGE / "app" / "web"
TOKEN = "a token of the tests, and of nothing else"
PATIENCE_MS = 120_000  # the machine may be busy with much else


class Depot:
    """``stillbore serve`` on a port that stays the same when it is stopped and started again."""

    more = ()
    package = PACKAGE  # of which program

    def __init__(self, folder):
        self.folder = folder
        self.store, self.token_file = folder / "depot.db", folder / "token"
        self.token_file.write_text(TOKEN, encoding="utf-8")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"http://127.0.0.1:{self.port}"
        self.process = None
        self.start()

    def start(self):
        environment = {**os.environ, "PYTHONPATH": str(self.package.parent)}
        self.process = subprocess.Popen(
            [sys.executable, "-m", "stillbore", "serve", "--port", str(self.port), "--store", str(self.store),
             "--token-file", str(self.token_file), "--device", "D1", *self.more],
            cwd=self.folder, env=environment, stdout=subprocess.DEVNULL)
        for _ in range(600):
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=5).close()
                return
            except OSError:
                time.sleep(0.1)
        raise AssertionError("the depot does not start")

    def stop(self):
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None


    def bring(self, store):
        """Start it with a copy of another store; what a killed one left beside its file would belong to no other."""
        self.stop()
        for ending in ("", "-wal", "-shm"):
            Path(f"{self.store}{ending}").unlink(missing_ok=True)
        shutil.copy(store, self.store)
        self.start()


class Tablet:
    """A browser with a profile that outlives it."""

    def __init__(self, playwright, executable, folder, depot, **options):
        self.playwright, self.executable, self.profile, self.depot = playwright, executable, folder, depot
        self.options = options
        self.open()

    def open(self, **options):
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.profile), executable_path=self.executable, headless=True, locale="en-GB",
            **{"args": ["--no-sandbox"], "viewport": {"width": 800, "height": 1200}, **self.options, **options})
        self.context.set_default_timeout(PATIENCE_MS)
        self.page = self.context.pages[0]
        return self

    def visit(self, path="/", page=None):
        """Open an address of the app, and wait until the app stands."""
        page = page or self.page
        page.goto(self.depot.address + path)
        page.wait_for_selector("html[data-kept]", state="attached")
        page.wait_for_selector("#start", state="detached")
        return page

    def ask(self, method, path, body=None):
        """A request of the page, which its worker answers: status and text."""
        return self.page.evaluate(
            "async ([method, path, body]) => { const a = await fetch(path, {method, body}); "
            "return [a.status, await a.text()]; }", [method, path, body])

    def state(self):
        status, text = self.ask("GET", "/host/state")
        assert status == 200
        return json.loads(text)

    def lines(self):
        status, text = self.ask("GET", "/host/log.jsonl")
        assert status == 200
        return text.encode().splitlines()

    def take(self, *lines):
        """Bring lines in; True once they are acknowledged."""
        status, text = self.ask("POST", "/host/take", b"\n".join(lines).decode())
        return status == 200 and not json.loads(text)["refused"]

    def kill(self):
        """Kill the browser as a battery does, every process of it."""
        for folder in Path("/proc").iterdir():
            if folder.name.isdigit():
                try:
                    ours = str(self.profile).encode() in (folder / "cmdline").read_bytes()
                    if ours and b"chrom" in (folder / "cmdline").read_bytes():
                        os.kill(int(folder.name), signal.SIGKILL)
                except OSError:
                    continue
        self.context = None

    def close(self):
        if self.context is not None:
            self.context.close()
            self.context = None


class Running:
    """The server in a thread of its own; SQLite wants to be opened where it is used."""

    def __init__(self, folder, at=None):
        self.path, self.at, self.host = Path(folder) / "jobs.db", at, None
        self.ready = threading.Event()
        self.thread = threading.Thread(target=self._run, daemon=True)
        self.thread.start()
        assert self.ready.wait(20)

    def _run(self):
        self.host = SetServer(self.path, "D1")
        if self.at:
            self.host.at = self.at
        app = served(make_app(self.host), lambda: SqliteStore(self.path))
        self.server = uvicorn.Server(uvicorn.Config(app, port=0, log_level="warning"))
        started = self.server.startup

        async def startup(*arguments, **more):
            await started(*arguments, **more)
            self.base = f"http://127.0.0.1:{self.server.servers[0].sockets[0].getsockname()[1]}"
            self.ready.set()

        self.server.startup = startup
        self.server.run()
        self.host.store.close()

    def stop(self):
        self.server.should_exit = True
        self.thread.join(10)
