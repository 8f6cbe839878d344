"""Acts on calibrations in the record: kept in order, never edited, and found by row."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from monitor.model import CalibrationAct, Command, Output, Samples
from monitor.store.entry import Entry, Taken
from monitor.store.reader import Reader, calibration_at
from monitor.store.writer import Writer

ACTS = [
    CalibrationAct(3, 30, "calibration_proposed", 1, 0, "A. Person", '{"model":"linear"}'),
    CalibrationAct(7, 70, "calibration_approved", 1, 1, "B. Person", "checked"),
    CalibrationAct(20, 200, "calibration_rolled_back", 0, 0, "B. Person", "wrong cell"),
]


def empty() -> Samples:
    none = np.zeros(0, dtype=np.int64)
    return Samples(none, none, none.astype(np.uint16), {}, {})


def test_a_record_tells_which_calibration_made_a_row(tmp_path: Path) -> None:
    writer = Writer(tmp_path)
    for act in ACTS:
        command = Command(act.seq, act.time_us, act.act, float("nan"), act.text, act.who)
        none = empty()
        output = Output(none.seq, none.time_us, {}, calibrations=[act])
        writer.append(Entry(1, [(none, output)], [Taken(command, act.seq, 1)]))
    writer.close()
    reader = Reader(tmp_path)
    kept = reader.calibrations()
    reader.close()
    assert kept == ACTS
    assert [calibration_at(kept, seq) for seq in (1, 5, 7, 8, 19, 20, 99)] == [0, 0, 1, 1, 1, 0, 0]


def test_a_folder_without_a_record_has_none(tmp_path: Path) -> None:
    reader = Reader(tmp_path)
    assert reader.calibrations() == []
    reader.close()
