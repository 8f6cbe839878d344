"""What the scripts in the browser need in order to write numbers: units, and names of flags."""

from __future__ import annotations

from typing import Any

from monitor import __version__
from monitor.model import ACTIVITY_CODES, Quality, State
from monitor.rig.hoisting import (
    COMPENSATOR_STATES,
    DUTIES,
    POSITIONER_STATES,
    ROTATION_LOCK_STATES,
)
from monitor.units import DISPLAY_SETS, factor
from monitor.web.live_columns import LIVE_COLUMNS

# quantity on the page -> (row of the display set, quantity of the unit)
SHOWN = {
    "force": ("force", "force"),
    "length": ("length", "length"),
    "block_position": ("block_position", "length"),
    "speed": ("speed", "speed"),
    "diameter": ("diameter", "length"),
    "work": ("work", "work"),
    "angle": ("angle", "angle"),
    "power": ("power", "power"),
}

EVENT_NAMES = {
    "overpull": "Overpull",
    "slack_off": "Slack-off",
    "stuck": "Stuck",
    "weight_loss": "Weight lost",
    "over_rating": "Over a rating",
    "near_crown": "Block near the crown",
    "near_floor": "Block near the floor",
    "fast_at_mark": "Too fast at a depth mark",
    "line_count_suspect": "Lines strung in doubt",
    "string_suspect": "Bit depth or string in doubt",
    "zero_drift": "Empty block",
    "sensor_fault": "Sensor fault",
    "data_gap": "No data came",
    "light": "String light",
    "jar_blow": "Jar blow",
    "heave_over_limit": "Heave over limit",
    "stationary_too_long": "Pipe still too long",
}

# What a person may say of the hoist.
HOIST_CHOICES = {
    "duty": DUTIES,
    "compensator": COMPENSATOR_STATES,
    "rotation lock": ROTATION_LOCK_STATES,
    "positioner": POSITIONER_STATES,
}


def display_units(display: str) -> dict[str, dict[str, Any]]:
    """Unit, decimals and step of each quantity shown; ``si = value * scale + offset``."""
    units: dict[str, dict[str, Any]] = {}
    for name, (row, quantity) in SHOWN.items():
        shown = DISPLAY_SETS[display][row]
        scale, offset = factor(shown.unit, quantity)
        units[name] = {
            "unit": shown.unit,
            "scale": scale,
            "offset": offset,
            "decimals": shown.decimals,
            "step": shown.step,
        }
    return units


def page_facts(display: str, build: str) -> dict[str, Any]:
    """Everything fixed that the scripts must know; ``build`` tells an old page to load anew."""
    return {
        "version": __version__,
        "build": build,
        "columns": ["seq", "time_us", *LIVE_COLUMNS],
        "units": display_units(display),
        "activities": list(ACTIVITY_CODES),
        "quality": {str(flag.name): int(flag) for flag in Quality if flag},
        "state": {str(flag.name): int(flag) for flag in State if flag},
        "event_names": EVENT_NAMES,
        "hoist_choices": HOIST_CHOICES,
    }
