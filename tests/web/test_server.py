from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from monitor.web.server import PortTaken, listening_socket, serve
from tests.web.serving import free_port

PROGRAM = (
    "import sys; from pathlib import Path; from monitor.web.server import serve;"
    "serve(Path(sys.argv[1]), port=int(sys.argv[2])); print('stopped')"
)


def test_a_taken_port_is_said_with_the_mend(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(PortTaken, match=f"port {port} .* in use.*--port {port + 1}"):
            serve(tmp_path, port=port)


def test_an_address_that_is_not_ours_is_said() -> None:
    with pytest.raises(PortTaken, match=r"192\.0\.2\.1"):
        listening_socket("192.0.2.1", free_port())


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_stops_it_cleanly(tmp_path: Path, number: signal.Signals) -> None:
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(tmp_path), str(port)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    end = time.monotonic() + 20
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/page.json", timeout=2):
                break
        except OSError:
            assert time.monotonic() < end, process.stderr
            time.sleep(0.1)
    process.send_signal(number)
    out, err = process.communicate(timeout=10)
    assert (out, err, process.returncode) == ("stopped\n", "", 0)
