"""Which columns go to the browsers, and how finely they are written on the wire."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from monitor.store.rows import Rows
from monitor.web.ring import Row

# name -> decimals on the wire: finer than any screen shows, short enough for ten a second
LIVE_COLUMNS: Mapping[str, int] = {
    "hook_load_N": 0,
    "hook_load_half_width_N": 0,
    "block_position_m": 3,
    "block_speed_m_s": 4,
    "activity": 0,
    "bit_depth_m": 3,
    "hole_depth_m": 3,
    "weight_on_bit_N": 0,
    "drill_off_N_s": 0,
    "tare_age_s": 0,
    "tare_depth_m": 2,
    "expected_up_N": 0,
    "expected_down_N": 0,
    "expected_N": 0,
    "band_N": 0,
    "excess_N": 0,
    "room_left_N": 0,
    "stand": 0,
    "last_pull_N": 0,
    "last_set_down_N": 0,
    "pulls": 0,
    "still_s": 1,
    "string_still_s": 1,
    "quality": 0,
    "state": 0,
    "row": 0,
}
INTEGER_COLUMNS = ("activity", "stand", "pulls", "quality", "state", "row")
STRIP_COLUMNS = ("hook_load_N", "excess_N", "block_position_m", "expected_N", "band_N")


def wire_rows(rows: Rows) -> list[Row]:
    """Turn columns into one list a row; a missing value stays NaN, which becomes null in JSON."""
    columns: list[list[object]] = [rows.seq.tolist(), rows.time_us.tolist()]
    for name, decimals in LIVE_COLUMNS.items():
        column = rows.columns.get(name)
        if column is None:
            columns.append([None] * len(rows))
        elif name in INTEGER_COLUMNS:
            columns.append(column.astype(np.int64).tolist())
        else:
            columns.append(np.round(column.astype(np.float64), decimals).tolist())
    return [list(row) for row in zip(*columns, strict=True)]
