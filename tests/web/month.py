"""How soon any moment of a month is painted: `python -m tests.web.month FOLDER`.

Makes a record of thirty invented days (a row a second, the last day ten a second; about two
minutes and 1 GB in FOLDER, where it is kept and used again), opens the Replay page over it in
Chromium and goes to moments all over it. Figures in milliseconds, from asking to painted.
"""

from __future__ import annotations

import random
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from monitor.model import Event, Output, Samples, TripRow
from monitor.store.entry import Entry, Settings
from monitor.store.writer import Writer
from tests.store.invented import START_us
from tests.web.replayed import LAND_RIG
from tests.web.serving import CHROMIUM_ARGUMENTS, chromium_path, served
from tests.web.synthetic import COUNTS, CYCLE_S, HOIST_S, STATUS, results

DAY_us = 86_400_000_000
DAYS = 30
ROWS = 40_000
SPANS_s = (600, 86_400, DAYS * 86_400)
SEEKS = 40


def fill(folder: Path, days: int = DAYS) -> None:
    """Write the month through the writer that every record is written by."""
    writer = Writer(folder)
    writer.set_durable(False)
    writer.start(Settings("csv:month.csv", LAND_RIG.read_text(encoding="utf-8"), None), START_us)
    seq, at_us, end_us = 1, START_us, START_us + days * DAY_us
    while at_us < end_us:
        step_us = 100_000 if at_us >= end_us - DAY_us else 1_000_000
        n = min(ROWS, (end_us - at_us) // step_us)
        time_us = at_us + step_us * np.arange(n, dtype=np.int64)
        writer.append(_entry(seq, time_us))
        seq, at_us = seq + n, int(time_us[-1]) + step_us
    writer.close()


def _entry(seq: int, time_us: np.ndarray) -> Entry:
    columns, block = results(time_us, START_us, "trip")
    n = len(time_us)
    none = np.zeros(n, dtype=np.uint16)
    samples = Samples(
        np.arange(seq, seq + n, dtype=np.int64),
        time_us,
        none,
        {"deadline_tension": columns["hook_load_plain_N"] / 10, "block_position": block},
        {"deadline_tension": none, "block_position": none},
    )
    first, last = int(time_us[0]), int(time_us[-1])
    output = Output(samples.seq, time_us, columns, _events(seq, first, last), _stands(first, last))
    return Entry(
        last, [(samples, output)], status=STATUS, counts=COUNTS, arrival_us=last,
        finished=True, stopped=True,
    )  # fmt: skip


def _events(seq: int, first_us: int, last_us: int) -> list[Event]:
    """One overpull an hour."""
    hours = range(first_us // 3_600_000_000, last_us // 3_600_000_000)
    one = Event(seq, "overpull", 0, 0, None, 0, 2000.0, 1.1e6, 1.0e6, 8e4, 0.9)
    return [
        replace(
            one,
            seq=seq + at,
            start_us=hour * 3_600_000_000 + 30_000_000,
            raised_us=hour * 3_600_000_000 + 30_300_000,
            peak_time_us=hour * 3_600_000_000 + 34_000_000,
            end_us=hour * 3_600_000_000 + 39_000_000,
            alarm=hour % 7 == 0,
        )
        for at, hour in enumerate(hours)
    ]


def _stands(first_us: int, last_us: int) -> list[TripRow]:
    cycle_us = int(CYCLE_S * 1e6)
    numbers = range((first_us - START_us) // cycle_us, (last_us - START_us) // cycle_us)
    return [
        TripRow(
            number + 1, "out", START_us + number * cycle_us,
            START_us + number * cycle_us + int(HOIST_S * 1e6),
            2400.0, 27.5, 1e6, 1e6, 0.0, 0.0, 0.37,
        )
        for number in numbers
    ]  # fmt: skip


def seek_ms(page: Any, us: float) -> float:
    """Go to a moment; milliseconds from asking to painted, as the page itself measured."""
    seeks = page.evaluate("() => hookLoad.replay.seeks")
    page.evaluate(f"() => hookLoad.replay.seek({us})")
    page.wait_for_function(f"() => hookLoad.replay.seeks > {seeks}")
    return float(page.evaluate("() => hookLoad.replay.seekMs[hookLoad.replay.seekMs.length - 1]"))


def measure(folder: Path) -> dict[int, list[float]]:
    """Milliseconds of each seek, by the span that is shown [s]."""
    from playwright.sync_api import sync_playwright

    drawn = random.Random(1)
    with served(folder) as address, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=CHROMIUM_ARGUMENTS
        )
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        page.goto(f"{address}/replay")
        page.wait_for_function("window.hookLoad && hookLoad.replay.seeks > 0", timeout=30_000)
        first, last = page.evaluate("() => hookLoad.replay.record.span")
        found: dict[int, list[float]] = {}
        for span_s in SPANS_s:
            page.evaluate(f"() => hookLoad.replay.zoom({span_s}e6, hookLoad.replay.at)")
            found[span_s] = [
                seek_ms(page, first + (last - first) * drawn.random()) for _ in range(SEEKS)
            ]
        browser.close()
    return found


def main() -> None:
    """Make the record where it is not there yet, and print what was measured."""
    folder = Path(sys.argv[1])
    if not (folder / "record.sqlite").exists():
        fill(folder)
    for span_s, times in measure(folder).items():
        median, late = np.percentile(times, [50, 95])
        print(
            f"{span_s / 3600:7.1f} h shown: median {median:.0f} ms, 95 % within {late:.0f} ms, "
            f"slowest {max(times):.0f} ms"
        )


if __name__ == "__main__":
    main()
