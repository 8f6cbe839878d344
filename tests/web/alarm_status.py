"""The alarms' and the stuck-pipe mode's part of the status, for screens: made by the stages."""

from __future__ import annotations

from typing import Any

from monitor.pipeline import Pipeline
from tests.interpret.streams import plain_rig

_STATUS = Pipeline(plain_rig()).status()
ALARMS: dict[str, Any] = _STATUS["alarms"]
STUCK_OFF: dict[str, Any] = _STATUS["stuck_mode"]
STUCK_PROPOSED: dict[str, Any] = {**STUCK_OFF, "proposed": True, "usual_agreed_N": 1.5e6}
STUCK_ON: dict[str, Any] = {
    **STUCK_OFF,
    "on": True,
    "who": "toolpusher (invented)",
    "agreed_pull_N": 1.5e6,
    "agreed_by": "company man (invented)",
    "pulls": 12,
    "last_pull_N": 1.412e6,
    "last_set_down_N": 0.884e6,
    "jar": {"given": True, "state": "cocked", "since_us": None, "wait_s": 60.0,
            "blows": 2, "last_blow_us": None,
            "cocking_load_N": 0.9e6, "firing_load_N": 1.2e6},
}  # fmt: skip


def sounding(priority: str, held: str = "", muted_until_us: int | None = None) -> dict[str, Any]:
    """Status in which something sounds, or is kept from it."""
    sound = {"priority": priority, "held": held, "muted_until_us": muted_until_us, "muted_by": ""}
    return {**ALARMS, "sound": sound}


def shelved(kind: str, until_us: int) -> dict[str, Any]:
    """Status with one alarm shelved."""
    one = {"kind": kind, "until_us": until_us, "who": "driller (invented)",
           "reason": "known ledge", "active": True}  # fmt: skip
    return {**ALARMS, "shelved": [one]}
