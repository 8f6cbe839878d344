"""summary.json: what a record held, in one object a program may read."""

from __future__ import annotations

import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from monitor import __version__
from monitor.model import Event
from monitor.report.finished_file import finished_file
from monitor.units import from_si, iso_utc

CAUTION = "Advises people; it is no safety device. Check a figure before acting on it."


def plain(value: Any) -> Any:
    """Turn NaN and infinity, which JSON has no word for, into null; numpy scalars into plain."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [plain(item) for item in value]
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def json_text(value: Any) -> str:
    """JSON as all our files and ``--json`` write it."""
    return json.dumps(plain(value), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def write_json(path: Path, value: Any) -> None:
    """Write one JSON file whole or not at all."""
    with finished_file(path) as part:
        part.write_text(json_text(value), encoding="utf-8")


def scaled(value: Any, divisor: float, decimals: int) -> float | None:
    """SI number in a printed unit, None where it is not known."""
    if value is None or not math.isfinite(value):
        return None
    return round(float(value) / divisor, decimals)


def span_part(first_us: int | None, last_us: int | None) -> dict[str, Any]:
    """First and last time of the record and the time between them."""
    if first_us is None or last_us is None:
        return {"start": None, "end": None, "span_s": None}
    return {
        "start": iso_utc(first_us),
        "end": iso_utc(last_us),
        "span_s": (last_us - first_us) / 1e6,
    }


def results_part(totals: Mapping[str, Any], events: Iterable[Event]) -> dict[str, Any]:
    """Interpretation in the units of the file contract, from the pipeline's totals."""
    work_J = float(totals.get("line_work_J") or 0.0)
    return {
        "stands": totals.get("stands"),
        "events": dict(sorted(Counter(event.kind for event in events).items())),
        "alarms": dict(totals.get("alarms") or {}),
        "greatest_hook_load_kN": scaled(totals.get("greatest_hook_load_N"), 1e3, 3),
        "line_work_MJ": scaled(work_J, 1e6, 6),
        "ton_miles": round(from_si(work_J, "ton-miles", "work"), 6),
        "margins_kN": {
            name: scaled(margin_N, 1e3, 3)
            for name, margin_N in dict(totals.get("margins_N") or {}).items()
        },
        "stuck": [_stuck_spell(spell) for spell in totals.get("stuck") or ()],
        "friction": totals.get("friction"),
        "acts_refused": list(totals.get("acts_refused") or ()),
        "calibration_in_force": totals.get("calibration_in_force", 0),
        "sensor": _sensor(dict(totals.get("sensor") or {})),
    }


def _sensor(told: dict[str, Any]) -> dict[str, Any]:
    """What the record says of its sensor, loads at the hook in kN."""
    moved = told.pop("zero_moved_N", {})
    return {**told, "zero_moved_kN": {way: scaled(N, 1e3, 3) for way, N in moved.items()}}


def _stuck_spell(spell: Mapping[str, Any]) -> dict[str, Any]:
    """One spell of stuck pipe; lengths along the string from the rig floor, null = unknown."""
    return {
        "start": _stamp(spell.get("start_us", spell.get("start"))),
        "end": _stamp(spell.get("end_us", spell.get("end"))),
        "free_length_m": spell.get("free_length_m"),
        "low_m": spell.get("low_m"),
        "high_m": spell.get("high_m"),
    }


def _stamp(value: Any) -> str | None:
    return iso_utc(value) if isinstance(value, int) else value


def heading(rig_name: str, files: Iterable[Path]) -> dict[str, Any]:
    """Name the record the summary is of, and the version that made it."""
    return {
        "rig": rig_name,
        "files": [str(path) for path in files],
        "version": __version__,
        "caution": CAUTION,
    }
