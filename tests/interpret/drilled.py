"""Drilling with connections, written by hand, for what is told at connections.

A turning string of 1100 kN that drags 80 kN more up and less down once it slides (common
practice: 5 to 10 % of the string's weight each way).
"""

from __future__ import annotations

from tests.interpret.streams import EMPTY_N, Script

TURNING_N = 1100e3
DRAG_N = 80e3
ON_BIT_N = 90e3
BOTTOM_M = 2.0


def drill(script: Script) -> Script:
    """From slips to bottom and down: lowered turning, drilled slowly, hoisted off turning."""
    script.hold(10, EMPTY_N).move(BOTTOM_M + 6.0, EMPTY_N, 0.8).hold(10, EMPTY_N)
    script.ramp(BOTTOM_M + 6.2, TURNING_N + DRAG_N).hold(10, TURNING_N)
    script.move(BOTTOM_M + 1.0, TURNING_N, 0.1).hold(6, TURNING_N)
    script.move(BOTTOM_M, TURNING_N - ON_BIT_N, 0.008)
    return script.move(BOTTOM_M + 12.0, TURNING_N, 0.2)


def connect(script: Script) -> Script:
    """Rotary stopped at rest, weights caught sliding up and down, slips."""
    script.hold(8, TURNING_N).move(BOTTOM_M + 16.0, TURNING_N + DRAG_N, 0.2)
    script.hold(2, TURNING_N + DRAG_N).move(BOTTOM_M + 13.0, TURNING_N - DRAG_N, 0.2)
    script.hold(4, TURNING_N - DRAG_N).ramp(BOTTOM_M + 12.7, EMPTY_N)
    return script.hold(20, EMPTY_N)


def drilled(stands: int) -> Script:
    script = Script(BOTTOM_M)
    for _ in range(stands):
        connect(drill(script))
    return script
