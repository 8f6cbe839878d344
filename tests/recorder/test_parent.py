"""The parent with small real children; the real pair is driven in tests of the command line."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from monitor.parent import PortTaken, refuse_taken_port, run_parent

PORT = 8121
# A child that follows its parent, leaves its pid in a file a start, and lives until told.
CHILD = """
import os, pathlib, signal, sys, threading
from monitor.parent import follow_parent
told = threading.Event()
signal.signal(signal.SIGTERM, lambda *_: told.set())
follow_parent()
with open(sys.argv[1], "a") as file:
    print(os.getpid(), file=file, flush=True)
while not told.wait(0.02):
    pass
pathlib.Path(sys.argv[1] + ".stopped").write_text("properly")
"""
PARENT = """
import logging, sys
from monitor.parent import supervise
logging.basicConfig(level=logging.WARNING)
children = {name: (sys.executable, "-c", code, path)
            for name, code, path in zip(sys.argv[1::3], sys.argv[2::3], sys.argv[3::3])}
sys.exit(supervise(children))
"""


def parent(*children: tuple[str, str, Path]) -> subprocess.Popen[str]:
    arguments = [str(part) for child in children for part in child]
    return subprocess.Popen(
        [sys.executable, "-c", PARENT, *arguments], stderr=subprocess.PIPE, text=True
    )


def pids(path: Path, at_least: int) -> list[int]:
    until_s = time.monotonic() + 15.0
    while time.monotonic() < until_s:
        if path.exists() and len(found := path.read_text().split()) >= at_least:
            return [int(pid) for pid in found]
        time.sleep(0.02)
    raise AssertionError(f"{path.name}: fewer than {at_least} starts")


def is_alive(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{pid}/stat").read_text().split()[2] != "Z"


def wait_gone(pid: int) -> None:
    until_s = time.monotonic() + 15.0
    while is_alive(pid):
        assert time.monotonic() < until_s, f"process {pid} is still there"
        time.sleep(0.02)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_both_stop_properly_when_the_parent_is_told_to(tmp_path, number):
    one, two = tmp_path / "one", tmp_path / "two"
    with parent(("recorder", CHILD, one), ("web server", CHILD, two)) as process:
        children = [*pids(one, 1), *pids(two, 1)]
        process.send_signal(number)
        assert process.wait(15) == 0
    assert not any(is_alive(pid) for pid in children)
    for path in (one, two):
        assert Path(f"{path}.stopped").read_text() == "properly"


def test_one_that_is_killed_is_started_again_and_the_other_goes_on(tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    with parent(("recorder", CHILD, one), ("web server", CHILD, two)) as process:
        (other,) = pids(two, 1)
        os.kill(pids(one, 1)[0], signal.SIGKILL)
        again = pids(one, 2)[1]
        assert is_alive(again)
        assert is_alive(other)
        process.terminate()
        process.wait(15)
        assert process.stderr is not None
        said = process.stderr.read()
    assert "the recorder ended by itself (exit code -9); restart 1" in said
    assert pids(two, 1) == [other]


def test_children_end_properly_when_the_parent_is_killed(tmp_path):
    one, two = tmp_path / "one", tmp_path / "two"
    with parent(("recorder", CHILD, one), ("web server", CHILD, two)) as process:
        children = [*pids(one, 1), *pids(two, 1)]
        process.kill()
        process.wait(15)
        for pid in children:
            wait_gone(pid)
    for path in (one, two):
        assert Path(f"{path}.stopped").read_text() == "properly"


def test_wrong_use_at_the_start_stops_all_with_its_own_exit_code(tmp_path):
    refused = "import sys; print('rig.toml: wrong', file=sys.stderr); sys.exit(2)"
    one, two = tmp_path / "one", tmp_path / "two"
    with parent(("web server", CHILD, two), ("recorder", refused, one)) as process:
        assert process.wait(15) == 2
        assert process.stderr is not None
        said = process.stderr.read()
    assert "rig.toml: wrong" in said
    assert "the recorder cannot start" in said
    assert not any(is_alive(pid) for pid in (pids(two, 1) if two.exists() else []))


def test_a_taken_port_is_named_with_the_mend_before_anything_starts(tmp_path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", PORT))
        taken.listen()
        with pytest.raises(PortTaken, match=rf"port {PORT} on 127\.0\.0\.1.*--port"):
            run_parent(tmp_path / "no.toml", "simulate:trip_out", tmp_path, port=PORT)
    assert list(tmp_path.iterdir()) == []
    refuse_taken_port("127.0.0.1", PORT)


def test_an_address_of_another_machine_is_refused():
    with pytest.raises(PortTaken, match="cannot be used"):
        refuse_taken_port("192.0.2.1", PORT)
