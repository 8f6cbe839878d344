"""Drilling with connections, written by hand, for what is told at connections.

A turning string of 1100 kN that drags 80 kN more up and less down once it slides (common
practice: 5 to 10 % of the string's weight each way).
"""

from __future__ import annotations

from tests.interpret.streams import EMPTY_N, Script, stand_N

TURNING_N = 1100e3
DRAG_N = 80e3
ON_BIT_N = 90e3
DEPTH_M = 2500.0
BOTTOM_M = 2.0


def drill(script: Script, turning_N: float = TURNING_N) -> Script:
    """From slips to bottom and down: lowered turning, drilled slowly, hoisted off turning."""
    script.hold(10, EMPTY_N).move(BOTTOM_M + 6.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 6.2, turning_N + DRAG_N).hold(10, turning_N)
    script.move(BOTTOM_M + 1.0, turning_N, 0.1).hold(6, turning_N)
    script.move(BOTTOM_M, turning_N - ON_BIT_N, 0.008)
    return script.move(BOTTOM_M + 12.0, turning_N, 0.2)


def connect(script: Script, turning_N: float = TURNING_N) -> Script:
    """Rotary stopped at rest, weights caught sliding up and down, slips."""
    script.hold(8, turning_N).move(BOTTOM_M + 16.0, turning_N + DRAG_N, 0.2)
    script.hold(2, turning_N + DRAG_N).move(BOTTOM_M + 13.0, turning_N - DRAG_N, 0.2)
    script.hold(4, turning_N - DRAG_N).ramp(BOTTOM_M + 12.7, EMPTY_N)
    return script.hold(20, EMPTY_N)


def drilled(stands: int) -> Script:
    """Stands drilled; the next weighs ``TURNING_N``.

    Taken at 8.2 m and set at 14.7 m of block height, each is out 6.5 m of pipe when it is done.
    """
    script = Script(BOTTOM_M)
    for left in range(stands, 0, -1):
        turning_N = TURNING_N + left * 6.5 / 27.8 * stand_N(TURNING_N, DEPTH_M)
        connect(drill(script, turning_N), turning_N)
    return script
