"""`hookload replay` as people start it: a file, two processes, a page at the beginning."""

import json
import os
import signal
import time
import urllib.error
import urllib.request
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

from monitor.store.reader import Reader
from tests.cli.test_live import LAND_RIG, ROOT, START_s, free_port, started, wait_for_page

RECORD = str(ROOT / "replay_data" / "trip_in.csv.gz")
ROWS = 18_000  # an hour at 5 Hz

pytestmark = pytest.mark.skipif(
    os.name == "nt", reason="Ctrl-C to a child process works differently on Windows"
)


def whole_record(port: int) -> dict[str, Any]:
    """The overview once the file has been read to its end."""
    ends = time.monotonic() + START_s
    while time.monotonic() < ends:
        with suppress(urllib.error.URLError, OSError):
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/replay/record.json") as answer:
                found: dict[str, Any] = json.loads(answer.read())
            if found["span"] is not None and found["finished"]:
                return found
        time.sleep(0.1)
    raise TimeoutError(f"the record was not finished within {START_s} s")


def test_a_file_is_shown_from_its_beginning_and_its_record_kept_where_asked(
    tmp_path: Path,
) -> None:
    port = free_port()
    kept = tmp_path / "kept"
    words = ("replay", RECORD, "--rig", LAND_RIG, "--speed", "10", "--data", str(kept))
    with started(tmp_path, *words, "--port", str(port)) as process:
        wait_for_page(port, process)
        found = whole_record(port)
        assert found["span"][1] - found["span"][0] == pytest.approx(3600e6, abs=1e6)
        assert found["rig"] == "Heron 3 (invented)"
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=15)
    assert process.returncode == 0, err
    assert f"http://127.0.0.1:{port}/replay?from=start&speed=10" in out
    record = Reader(kept)
    assert record.last_seq() == ROWS
    record.close()
