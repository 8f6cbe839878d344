"""A server over a record in this process, and Chromium to look at it."""

from __future__ import annotations

import os
import shutil
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn

from monitor.web.app import create_app

CHROMIUM_ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
# The project's own range for tests; the first free one is taken.
PORTS = range(8101, 8120)


def free_port() -> int:
    """Return a port nobody listens on."""
    for port in PORTS:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return port
    raise RuntimeError("no free port for the tests")


def chromium_path() -> str | None:
    """Return where Chromium is, None when there is none."""
    names = ("chromium", "chromium-browser", "google-chrome", "chrome")
    given = os.environ.get("CHROMIUM")
    return given or next((path for name in names if (path := shutil.which(name))), None)


@contextmanager
def served(data_dir: Path, *, display: str = "metric", port: int | None = None) -> Iterator[str]:
    """Serve a record from a thread; gives the address."""
    port = port or free_port()
    app = create_app(data_dir, display=display)
    server = uvicorn.Server(
        uvicorn.Config(
            app.server,
            host="127.0.0.1",
            port=port,
            log_level="warning",
            ws="websockets-sansio",
            timeout_graceful_shutdown=1,
        )  # fmt: skip
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    end = time.monotonic() + 20
    while not server.started:
        assert time.monotonic() < end, "the server did not start"
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(10)


class Watched:
    """A page that remembers every complaint and every request to another place."""

    def __init__(self, page: Any, address: str) -> None:
        self.page, self.address = page, address
        self.complaints: list[str] = []
        self.strangers: list[str] = []
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        page.on("request", self._request)

    def _console(self, message: Any) -> None:
        if message.type in ("error", "warning", "trace"):
            self.complaints.append(f"{message.type}: {message.text}")

    def _request(self, request: Any) -> None:
        if not request.url.startswith((self.address, "data:", "blob:")):
            self.strangers.append(request.url)

    def open(self, path: str = "/") -> Any:
        """Load a page and wait until rows arrive."""
        self.page.goto(self.address + path)
        self.page.wait_for_function("window.hookLoad && hookLoad.now.received > 2", timeout=20_000)
        return self.page

    def text(self, name: str) -> str:
        """What an element says."""
        return str(self.page.locator(f"#{name}").inner_text())
