"""Make ``foreign_headers.csv.gz``: an invented record whose headers are not the project's own.

Reported hook load (lines strung times dead-line tension, uncorrected) in klbf, no tension,
block in feet, local time, missing values as -999.25. Run it from the repository's root:
``python replay_data/foreign_headers.py``.
"""

from __future__ import annotations

import gzip
import io
from datetime import UTC, datetime, timedelta
from pathlib import Path

from monitor.simulate import Simulation

SCENARIO, SEED, HOURS, HZ = "trip_in", 9, 1.0, 1.0
LINES_STRUNG = 10
LBF_N, FOOT_M = 4.4482216152605, 0.3048
UTC_OFFSET = timedelta(hours=1)
MISSING = "-999.25"
MISSING_EVERY = 997  # rows


def text() -> str:
    """Write the record as text."""
    out = io.StringIO(newline="")
    out.write("Date Time;Weight;Travel;Pit\r\n")
    row = 0
    for chunk in Simulation(SCENARIO, SEED, HOURS, HZ).chunks():
        columns = (chunk[name] for name in ("time_us", "deadline_tension", "block_position"))
        for time_us, tension, block in zip(*columns, strict=True):
            row += 1
            stamp = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=int(time_us))
            local = (stamp + UTC_OFFSET).strftime("%d/%m/%Y %H:%M:%S")
            weight = f"{LINES_STRUNG * float(tension) / LBF_N / 1e3:.1f}"
            weight = MISSING if row % MISSING_EVERY == 0 else weight
            out.write(f"{local};{weight};{float(block) / FOOT_M:.2f};{40 + row % 7}\r\n")
    return out.getvalue()


def main() -> None:
    """Write the file beside this one."""
    path = Path(__file__).with_name("foreign_headers.csv.gz")
    with path.open("wb") as raw, gzip.GzipFile("", "wb", 9, raw, mtime=0) as packed:
        packed.write(text().encode())


if __name__ == "__main__":
    main()
