"""A held string worked by the block, made from Hooke's law alone: no rig, no pipeline."""

from __future__ import annotations

import numpy as np

from monitor.model import State
from monitor.review.pulls import Held
from monitor.review.span import Span

START_US = 1_772_000_000_000_000
HELD = Held(1000e3, 900e3, 100e3, 4e-6, 40e3, 40e3)


def span_of(block_m: np.ndarray, load_N: np.ndarray, hz: float = 10.0) -> Span:
    """Span at full rate, friction settled in the direction the block moves or last moved."""
    count = len(block_m)
    speed = np.gradient(block_m) * hz
    way = np.sign(np.where(np.abs(speed) > 0.005, speed, 0.0))
    for row in range(1, count):
        way[row] = way[row] or way[row - 1]
    columns = {
        "hook_load_N": load_N.astype(float),
        "block_position": block_m.astype(float),
        "block_speed_m_s": speed,
        "friction_state": way,
        "activity": np.full(count, 4.0),
        "state": np.full(count, float(State.NONE)),
        "room_left_N": np.full(count, 500e3),
        "hook_load_half_width_N": np.full(count, 8e3),
    }
    return Span(START_US + (np.arange(count) * 1e6 / hz).astype(np.int64), columns)


def loops(
    tops_N: list[float], *, compliance_m_N: float = 3e-6, seconds: float = 20.0
) -> tuple[np.ndarray, np.ndarray]:
    """Block and load of pulls to ``tops_N`` and back to 800 kN, the string held all along."""
    rows = int(seconds * 10)
    rest = np.zeros(50)
    load = [np.full(50, 800e3)]
    for top in tops_N:
        load += [np.linspace(800e3, top, rows), rest + top, np.linspace(top, 800e3, rows)]
        load += [rest + 800e3]
    force = np.concatenate(load)
    return 10.0 + compliance_m_N * (force - 800e3), force
