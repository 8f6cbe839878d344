"""`hookload bench`: what a whole analysis costs beside merely reading the same file.

Both run in fresh processes, one after the other, on a file made by the simulator; this
process stays small, since a child's peak memory starts from its parent's.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from typing import Any

SAMPLES_PER_SECOND = 10.0
COLUMNS = "deadline_tension,block_position"
READ_ONLY = "import sys, pandas; pandas.read_csv(sys.argv[1], parse_dates=['time'])"


class BenchFailed(RuntimeError):
    """One of the measured processes failed; its own words are in the message."""


def bench(hours: float = 24.0, n_rounds: int = 3) -> dict[str, Any]:
    """Seconds, peak memory and the ratio of the two, medians of the rounds."""
    with tempfile.TemporaryDirectory(prefix="hookload-bench-") as folder:
        record, rig = Path(folder, "record.csv"), Path(folder, "record.rig.toml")
        _measured(
            *_hookload("simulate", "drilling", "--seed", "1", "--hours", f"{hours:g}"),
            *("--hz", f"{SAMPLES_PER_SECOND:g}", "--columns", COLUMNS, "--out", str(record)),
        )
        read, analysed = [], []
        for _ in range(n_rounds):
            read.append(_measured(sys.executable, "-c", READ_ONLY, str(record)))
            analysed.append(
                _measured(*_hookload("analyse", str(record), "--rig", str(rig), "--out", folder))
            )
        with record.open("rb") as stream:
            rows = sum(1 for _ in stream) - 1
        return {
            "rows": rows,
            "hours": hours,
            "file_MB": record.stat().st_size / 1e6,
            "rounds": n_rounds,
            "analyse": _median(analysed),
            "pandas_read_csv": _median(read),
            "ratio": _median(analysed)["seconds"] / _median(read)["seconds"],
        }


def _median(parts: list[dict[str, Any]]) -> dict[str, Any]:
    peaks = [part["peak_MB"] for part in parts if part["peak_MB"] is not None]
    return {
        "seconds": median(part["seconds"] for part in parts),
        "peak_MB": max(peaks) if peaks else None,
    }


def bench_text(result: dict[str, Any]) -> str:
    """Write the measurement as a few lines for people."""
    lines = [
        f"{result['rows']:,} rows, {result['file_MB']:.1f} MB; fresh processes, "
        f"median of {result['rounds']} rounds, greatest peak"
    ]
    for key, name in (("analyse", "hookload analyse"), ("pandas_read_csv", "pandas.read_csv")):
        part = result[key]
        peak = "" if part["peak_MB"] is None else f", peak {part['peak_MB']:.0f} MB"
        lines.append(f"{name:<17} {part['seconds']:6.2f} s{peak}")
    lines.append(f"{'ratio':<17} {result['ratio']:6.2f}")
    return "\n".join(lines)


def _hookload(*words: str) -> list[str]:
    return [sys.executable, "-m", "monitor.cli", *words]


def _measured(*command: str) -> dict[str, Any]:
    """Wall-clock seconds and peak resident memory of one process."""
    started = time.perf_counter()
    with subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL
    ) as process:
        said = process.stderr.read() if process.stderr else b""
        peak_MB = None
        if hasattr(os, "wait4"):
            _, status, usage = os.wait4(process.pid, 0)
            process.returncode = os.waitstatus_to_exitcode(status)
            # Linux counts kilobytes here, macOS bytes.
            peak_MB = usage.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)
        else:
            process.wait()
    seconds = time.perf_counter() - started
    if process.returncode:
        raise BenchFailed(f"{command[2]} ended with {process.returncode}: {said.decode()}")
    return {"seconds": seconds, "peak_MB": peak_MB}
