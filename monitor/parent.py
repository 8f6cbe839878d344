"""The parent of the recorder and the web server: starts both, restarts one that dies, stops both.

Parent and children share nothing but a pipe: each child's standard input stays open as long
as the parent lives, so that its end tells a child that the parent is gone, however it died,
on every system.
"""

from __future__ import annotations

import logging
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from monitor.stopping import told_to_stop

_log = logging.getLogger(__name__)

# Set in the children's environment: their standard input is the parent's pipe.
FOLLOWS = "HOOKLOAD_FOLLOWS_PARENT"
STOP_TIMEOUT_s = 10.0
POLL_s = 0.1
# A child that lived this long had started; one that did not, failed at its start.
STARTED_s = 10.0
FAILED_STARTS = 5
LONGEST_PAUSE_s = 30.0
WRONG_USE = 2
OUR_FAULT = 1


class PortTaken(Exception):
    """The web address is in use; the message says how to choose another."""


def follow_parent() -> None:
    """Stop this process when its parent is gone (call first thing in ``record`` and ``serve``).

    Does nothing unless ``run_parent`` started this process. The sign is the end of standard
    input, which the system gives however the parent died.
    """
    if os.environ.pop(FOLLOWS, ""):
        threading.Thread(target=_stop_at_end_of_input, name="parent", daemon=True).start()


def _stop_at_end_of_input() -> None:
    try:
        while os.read(0, 1024):
            pass
    except OSError:
        pass  # a broken pipe is an end too
    if sys.platform == "win32":
        signal.raise_signal(signal.SIGTERM)
    else:
        os.kill(os.getpid(), signal.SIGTERM)
    time.sleep(STOP_TIMEOUT_s)
    os._exit(OUR_FAULT)  # asked to stop and did not: nobody is left to kill this process


def run_parent(
    rig_path: Path,
    source: str,
    data_dir: Path,
    *,
    host: str = "127.0.0.1",
    port: int = 8050,
    record_options: Sequence[str] = (),
    serve_options: Sequence[str] = (),
) -> int:
    """Run ``hookload record`` and ``hookload serve`` until told to stop; return the exit code.

    ``record_options`` and ``serve_options`` are added to the children's command lines
    (``["--bit-depth", "3000 m"]``, ``["--display", "field"]``). 0 after SIGINT or SIGTERM;
    2 or 1 when a child cannot start, with its own message already on stderr. Raises
    ``PortTaken`` (message names the port and the mend) before anything is started.
    """
    refuse_taken_port(host, port)
    hookload = (sys.executable, "-m", "monitor.cli")
    data = ("--data", str(data_dir))
    recorder = (*hookload, "record", "--rig", str(rig_path), "--source", source, *data)
    server = (*hookload, "serve", *data, "--host", host, "--port", str(port))
    return supervise(
        {"recorder": (*recorder, *record_options), "web server": (*server, *serve_options)}
    )


def refuse_taken_port(host: str, port: int) -> None:
    """Raise ``PortTaken`` where no server can listen on this address."""
    try:
        family = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0][0]
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            if sys.platform != "win32":
                probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind((host, port))
    except (OSError, OverflowError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise PortTaken(
            f"port {port} on {host} cannot be used ({reason}); "
            "stop what uses it, or choose another with --port"
        ) from error


def supervise(commands: Mapping[str, Sequence[str]]) -> int:
    """Keep one process for each command running until told to stop; return the exit code."""
    children = [Child(name, tuple(command)) for name, command in commands.items()]
    stop = threading.Event()
    with told_to_stop(stop):
        try:
            for child in children:
                child.start()
            while not stop.wait(POLL_s):
                for child in children:
                    code = child.look_after()
                    if code is not None:
                        return code
        finally:
            _stop_all(children)
    return 0


@dataclass(slots=True)
class Child:
    """One process that is started again whenever it ends by itself."""

    name: str
    command: tuple[str, ...]
    process: subprocess.Popen[bytes] | None = None
    restarts: int = 0
    failed_starts: int = 0  # in a row
    has_started: bool = False  # it has once lived longer than a start takes
    started_at_s: float = 0.0
    due_at_s: float = 0.0

    def start(self) -> None:
        """Start it in a process group of its own: only the parent gets the terminal's Ctrl-C."""
        self.process = subprocess.Popen(
            self.command,
            stdin=subprocess.PIPE,
            env={**os.environ, FOLLOWS: "1"},
            start_new_session=sys.platform != "win32",
            creationflags=getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0),
        )
        self.started_at_s = time.monotonic()

    def look_after(self) -> int | None:
        """Restart it where it ended; an exit code when there is no sense in going on."""
        now_s = time.monotonic()
        if self.process is None:
            if now_s >= self.due_at_s:
                self.start()
            return None
        code = self.process.poll()
        if code is None:
            self.has_started = self.has_started or now_s - self.started_at_s > STARTED_s
            return None
        return self._ended(code, now_s)

    def _ended(self, code: int, now_s: float) -> int | None:
        self._let_go()
        self.failed_starts = 0 if now_s - self.started_at_s > STARTED_s else self.failed_starts + 1
        if not self.has_started and (code == WRONG_USE or self.failed_starts >= FAILED_STARTS):
            _log.error("the %s cannot start (exit code %d); all is stopped", self.name, code)
            return WRONG_USE if code == WRONG_USE else OUR_FAULT
        self.restarts += 1
        pause_s = min(LONGEST_PAUSE_s, 0.5 * 2 ** min(self.failed_starts, 8) - 0.5)
        _log.warning(
            "the %s ended by itself (exit code %d); restart %d in %.1f s",
            self.name, code, self.restarts, pause_s,
        )  # fmt: skip
        self.due_at_s = now_s + pause_s
        return None

    def ask_to_stop(self) -> None:
        """Close its standard input and, where there are signals, pass SIGTERM on."""
        process = self.process
        if process is not None:
            if process.stdin is not None:
                process.stdin.close()
            if sys.platform != "win32":
                process.terminate()

    def wait(self, until_s: float) -> None:
        """Wait for its end, and make an end when it takes too long."""
        if self.process is None:
            return
        try:
            self.process.wait(max(0.0, until_s - time.monotonic()))
        except subprocess.TimeoutExpired:
            _log.warning("the %s did not stop in %.0f s and is killed", self.name, STOP_TIMEOUT_s)
            self.process.kill()
            self.process.wait()
        self._let_go()

    def _let_go(self) -> None:
        if self.process is not None and self.process.stdin is not None:
            self.process.stdin.close()
        self.process = None


def _stop_all(children: Sequence[Child]) -> None:
    for child in children:
        child.ask_to_stop()
    until_s = time.monotonic() + STOP_TIMEOUT_s
    for child in children:
        child.wait(until_s)
