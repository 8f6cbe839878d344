"""One uvicorn process for the screens: a clear word on a taken port, a clean stop."""

from __future__ import annotations

import contextlib
import errno
import signal
import socket
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType

import uvicorn

from monitor.web.app import create_app


class PortTaken(Exception):
    """The web address cannot be used; the message says why and what to do."""


class _Server(uvicorn.Server):
    """Stops on SIGINT and SIGTERM and returns, so that the caller chooses the exit code."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        names = [signal.SIGINT, signal.SIGTERM]
        if hasattr(signal, "SIGBREAK"):  # Windows: how a parent stops its child
            names.append(signal.SIGBREAK)
        before = {name: signal.signal(name, self._stop) for name in names}
        try:
            yield
        finally:
            for name, handler in before.items():
                signal.signal(name, handler)

    def _stop(self, number: int, frame: FrameType | None) -> None:
        self.should_exit = True


def listening_socket(host: str, port: int) -> socket.socket:
    """Take the address, or raise `PortTaken`."""
    try:
        family, kind, _, _, address = socket.getaddrinfo(
            host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listener = socket.socket(family, kind)
    except OSError as error:
        raise PortTaken(f"the address {host!r} cannot be used: {error}") from error
    try:
        # Not on Windows, where it would let two servers share the port.
        if hasattr(signal, "SIGHUP"):
            listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
        listener.listen(128)
    except OSError as error:
        listener.close()
        if error.errno == errno.EADDRINUSE:
            raise PortTaken(
                f"port {port} on {host} is in use; stop what uses it or choose another, "
                f"for example --port {port + 1}"
            ) from error
        raise PortTaken(f"port {port} on {host} cannot be used: {error.strerror}") from error
    return listener


def serve(
    data_dir: Path,
    host: str = "127.0.0.1",
    port: int = 8050,
    *,
    display: str = "metric",
    ready: Callable[[str], None] | None = None,
) -> None:
    """Show the record in ``data_dir`` until SIGINT or SIGTERM.

    ``ready`` is called with the address once pages can be asked for. Raises `PortTaken`.
    """
    listener = listening_socket(host, port)
    with listener:
        app = create_app(data_dir, display=display)
        config = uvicorn.Config(
            app.server,
            log_level="warning",
            ws="websockets-sansio",
            ws_ping_interval=20.0,
            timeout_graceful_shutdown=1,
        )
        if ready is not None:
            ready(f"http://{host if ':' not in host else f'[{host}]'}:{port}/")
        _Server(config).run(sockets=[listener])
