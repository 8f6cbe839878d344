"""The live commands as people start and stop them: real processes, real ports."""

import contextlib
import os
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
LAND_RIG = str(ROOT / "config" / "land_rig.toml")
DEMO_SOURCE = "simulate:trip_out?seed=3&speed=1&history=60"
START_s = 30.0  # generous: two processes on a loaded machine

pytestmark = pytest.mark.skipif(
    os.name == "nt", reason="Ctrl-C to a child process works differently on Windows"
)


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextlib.contextmanager
def started(folder: Path, *words: str) -> Iterator[subprocess.Popen[str]]:
    """A `hookload` of its own process group, as a terminal gives it one."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "TMPDIR": str(folder)}
    process = subprocess.Popen(
        [sys.executable, "-m", "monitor.cli", *words],
        cwd=folder, env=environment, text=True, start_new_session=True,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    try:
        yield process
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def wait_for_page(port: int, process: subprocess.Popen[str]) -> str:
    ends = time.monotonic() + START_s
    while time.monotonic() < ends:
        assert process.poll() is None, process.communicate()
        with contextlib.suppress(urllib.error.URLError, OSError):
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=5) as answer:
                page: str = answer.read().decode()
                return page
        time.sleep(0.05)
    raise TimeoutError(f"no page on port {port} within {START_s} s")


def wait_for_record(folder: Path, process: subprocess.Popen[str]) -> None:
    ends = time.monotonic() + START_s
    while not list(folder.glob("*.sqlite")):
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < ends, "no record"
        time.sleep(0.05)


def group_is_gone(process_id: int) -> bool:
    ends = time.monotonic() + 5.0
    while time.monotonic() < ends:
        try:
            os.killpg(process_id, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


def test_demo_shows_a_page_and_ctrl_c_ends_it_cleanly(tmp_path: Path) -> None:
    port = free_port()
    with started(tmp_path, "--port", str(port)) as process:
        assert "Hook Load Monitor" in wait_for_page(port, process)
        os.killpg(process.pid, signal.SIGINT)  # a terminal's Ctrl-C reaches the whole group
        out, err = process.communicate(timeout=15)
        assert process.returncode == 0
        assert f"http://127.0.0.1:{port}" in out
        assert "no safety device" in out
        assert "Traceback" not in err
        assert group_is_gone(process.pid)
        assert not list(tmp_path.glob("hookload-demo-*")), "the demo's record is thrown away"


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_record_stops_cleanly_and_a_second_one_is_refused(
    tmp_path: Path, number: signal.Signals
) -> None:
    data = tmp_path / "record"
    words = ("record", "--rig", LAND_RIG, "--source", DEMO_SOURCE, "--data", str(data))
    with started(tmp_path, *words) as first:
        wait_for_record(data, first)
        time.sleep(0.5)
        with started(tmp_path, *words) as second:
            _, err = second.communicate(timeout=20)
        assert second.returncode == 2
        assert err.startswith("hookload: ")
        assert "Traceback" not in err
        first.send_signal(number)
        _, err = first.communicate(timeout=15)
        assert (first.returncode, err) == (0, "")


def test_a_taken_port_is_refused_with_another_to_try(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        for words in (
            ("demo",),
            ("serve", "--data", str(tmp_path)),
            ("run", "--rig", LAND_RIG, "--source", DEMO_SOURCE, "--data", str(tmp_path / "r")),
        ):
            with started(tmp_path, *words, "--port", port) as process:
                _, err = process.communicate(timeout=20)
            assert process.returncode == 2
            assert f"port {port}" in err
            assert "--port" in err
            assert "Traceback" not in err


@pytest.mark.parametrize("source", ["csv:absent.csv", "las:a.las", "sailing:boat"])
def test_run_with_a_source_that_cannot_be_says_so_once(tmp_path: Path, source: str) -> None:
    words = ("run", "--rig", LAND_RIG, "--source", source, "--data", str(tmp_path / "r"))
    with started(tmp_path, *words, "--port", str(free_port())) as process:
        _, err = process.communicate(timeout=20)
    assert process.returncode == 2
    assert err.startswith("hookload: ")
    assert err.count("\n") == 1
    assert source.partition(":")[2] in err
    assert "Traceback" not in err


def test_run_ends_on_sigterm_with_both_its_children(tmp_path: Path) -> None:
    port = free_port()
    words = ("--rig", LAND_RIG, "--source", DEMO_SOURCE, "--data", "r", "--port", str(port))
    with started(tmp_path, "run", *words) as process:
        wait_for_page(port, process)
        process.terminate()
        _, err = process.communicate(timeout=15)
        assert process.returncode == 0
        assert "Traceback" not in err
        assert group_is_gone(process.pid)


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_an_interrupted_simulation_leaves_nothing_behind(
    tmp_path: Path, number: signal.Signals
) -> None:
    words = ("simulate", "trip_out", "--seed", "1", "--hours", "200", "--out", "long.csv")
    with started(tmp_path, *words) as process:
        ends = time.monotonic() + START_s
        while not list(tmp_path.glob(".long.csv.*")):
            assert process.poll() is None, process.communicate()
            assert time.monotonic() < ends, "nothing was begun"
            time.sleep(0.05)
        process.send_signal(number)
        _, err = process.communicate(timeout=15)
    assert process.returncode == 130
    assert "interrupted" in err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == []


def test_terminated_in_the_background_of_a_script_it_still_ends(tmp_path: Path) -> None:
    """There SIGINT is ignored; SIGTERM must not be."""
    command = f"trap '' INT; exec {sys.executable} -m monitor.cli simulate trip_out --seed 1"
    process = subprocess.Popen(
        ["bash", "-c", f"{command} --hours 200 --out long.csv"],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True,
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    try:
        ends = time.monotonic() + START_s
        while not list(tmp_path.glob(".long.csv.*")):
            assert time.monotonic() < ends, "nothing was begun"
            time.sleep(0.05)
        process.terminate()
        _, err = process.communicate(timeout=15)
    finally:
        process.kill()
        process.communicate()
    assert process.returncode == 130
    assert "interrupted" in err
