"""Which calibration turns readings into tension, from which act on.

Version 0 is the rig file's. Others are proposed by people, numbered in order, and count only
once approved; going back is an act of its own. Nothing is ever edited: rows keep what was
in force when they came.
"""

from __future__ import annotations

import math
from typing import Any

from monitor import units
from monitor.interpret.stage import Carried
from monitor.metrology.calibration import Calibration
from monitor.metrology.proposal import (
    GREATEST_CHANGE,
    Proposal,
    change_between,
    from_text,
    two_point,
)
from monitor.model import CALIBRATION_ACTS, CalibrationAct, Command
from monitor.rig.rig import Sensor

OVERRIDE = "override:"
# More than a rig's life brings; a fault in a program that proposes ends here.
MOST_VERSIONS = 100
REFUSED_KEPT = 20


class Calibrations(Carried):
    """The versions of one record, and the one in force."""

    STATE = ("versions", "in_force", "since_us", "log", "refused", "reading_of")

    def __init__(self, sensor: Sensor) -> None:
        self.sensor = sensor
        self.versions: list[dict[str, Any]] = []  # version n is at place n - 1
        self.in_force = 0
        self.since_us = 0
        self.log: list[list[int]] = []  # versions in force before the present one
        self.refused: list[str] = []
        self.reading_of = ""  # the channel that tension comes from
        self._fits: dict[tuple[int, str], Calibration] = {}

    def refusal(self, command: Command) -> str:
        """Why an act on the calibrations cannot be taken; empty where it can."""
        if command.act not in CALIBRATION_ACTS:
            return ""
        if not command.who.strip():
            return f"{_words(command.act)} refused: a name is expected, who does this?"
        if command.act == "calibration_proposed":
            why = self._proposal_fault(command)
        else:
            why = self._version_fault(command)
        return f"{_words(command.act)} refused: {why}" if why else ""

    def _proposal_fault(self, command: Command) -> str:
        if len(self.versions) >= MOST_VERSIONS:
            return f"there are {MOST_VERSIONS} in this record already"
        try:
            proposal = from_text(command.text)
        except ValueError as error:
            return str(error)
        return self._channel_fault(proposal)

    def _channel_fault(self, proposal: Proposal) -> str:
        if self.reading_of in ("", proposal.reading_of):
            return ""
        return (
            f"its readings are of {proposal.reading_of}, and tension comes from "
            f"{self.reading_of} here"
        )

    def _version_fault(self, command: Command) -> str:
        version = self._version(command)
        if version is None:
            return "there is no calibration before this one"
        if not 0 <= version <= len(self.versions):
            return f"there is no version {version}; known are 0 to {len(self.versions)}"
        if version == self.in_force:
            return f"version {version} is in force already"
        if command.act == "calibration_rolled_back":
            if version and not self.versions[version - 1]["approved"]:
                return f"version {version} was never approved"
            return ""
        if version == 0:
            return "the rig file's is gone back to, not approved"
        return self._step_fault(version, command.text)

    def _step_fault(self, version: int, text: str) -> str:
        """A calibration that changes every load by a fifth is not one, but a slip of units."""
        before, after = self.fit(), self.fit(version)
        if before is None or after is None:
            return ""
        share = change_between(before, after).greatest_share
        _, told, reason = text.partition(OVERRIDE)
        if not share > GREATEST_CHANGE or (told and reason.strip()):
            return ""
        return (
            f"it changes the load by up to {share:.0%} of the greatest; look at units and "
            f"points, or approve it with {OVERRIDE} and the reason"
        )

    def _version(self, command: Command) -> int | None:
        """Version an act is about; a roll-back without one goes to the one before."""
        if math.isfinite(command.number):
            return int(command.number)
        if command.act == "calibration_rolled_back":
            return self.log[-1][0] if self.log else None
        return len(self.versions) if self.versions else None

    def take(self, command: Command) -> CalibrationAct | None:
        """Take an act; what goes into the record, or None where it is no act of ours."""
        if command.act not in CALIBRATION_ACTS:
            return None
        why = self.refusal(command)
        if why:
            told = f"{units.iso_utc(command.time_us)} {why}"
            self.refused = [*self.refused, told][-REFUSED_KEPT:]
            return None
        if command.act == "calibration_proposed":
            self.versions = [*self.versions, _entry(command)]
            version = len(self.versions)
        else:
            version = self._version(command) or 0
            self._put_in_force(version, command)
        return CalibrationAct(
            seq=command.seq,
            time_us=command.time_us,
            act=command.act,
            version=version,
            in_force=self.in_force,
            who=command.who,
            text=command.text,
        )

    def _put_in_force(self, version: int, command: Command) -> None:
        if command.act == "calibration_approved":
            self.log = [*self.log, [self.in_force]]
            entry = {**self.versions[version - 1], "approved": True}
            self.versions = [
                entry if place == version - 1 else kept for place, kept in enumerate(self.versions)
            ]
        else:
            # Back along the way that was come, so that one more goes further back.
            places = [place for place, (gone,) in enumerate(self.log) if gone == version]
            self.log = self.log[: places[-1]] if places else [*self.log, [self.in_force]]
        self.in_force, self.since_us = version, command.time_us

    def fit(self, version: int | None = None) -> Calibration | None:
        """Fit of a version, of the one in force by itself; None where there is none.

        The rig file's is a straight line for a raw signal with a span, and for a tension
        that comes in converted it is that tension.
        """
        number = self.in_force if version is None else version
        key = (number, self.reading_of if number == 0 else "")
        if key not in self._fits:
            found = self._rig_file() if number == 0 else self.proposal(number).fit()
            if found is None:
                return None
            self._fits[key] = found
        return self._fits[key]

    def applied(self, reading_of: str) -> Calibration | None:
        """Fit that a person has put in force for this channel; None: as the rig file says."""
        if not self.in_force or self.versions[self.in_force - 1]["reading_of"] != reading_of:
            return None
        return self.fit()

    def reference_uncertainty_N(self) -> float:
        """Standard uncertainty of the reference behind the calibration in force."""
        if not self.in_force:
            return 0.0
        return float(self.versions[self.in_force - 1]["reference_uncertainty_N"])

    def proposal(self, version: int) -> Proposal:
        """Give a version as it was proposed."""
        return from_text(self.versions[version - 1]["text"])

    def _rig_file(self) -> Calibration | None:
        sensor = self.sensor
        if self.reading_of == "deadline_signal" and sensor.span_N is not None:
            return two_point(sensor.span_N, sensor.signal_low, sensor.signal_high)
        if self.reading_of == "deadline_tension":
            span_N = sensor.span_N or 450e3
            return two_point(span_N, 0.0, span_N)
        return None

    def status(self) -> dict[str, Any]:
        """What the screens show: which is in force, the newest versions, what was refused."""
        newest = list(enumerate(self.versions, 1))[-20:]
        return {
            "in_force": self.in_force,
            "since_us": self.since_us or None,
            "reading_of": self.reading_of,
            "rig_file": self.sensor.calibration,
            "in_words": self._in_words(),
            "versions": [
                {
                    "version": version,
                    "state": self._state(version, entry),
                    **{name: entry[name] for name in ("who", "time_us", "seq", "in_words")},
                }
                for version, entry in reversed(newest)
            ],
            "refused": self.refused[-1] if self.refused else "",
        }

    def _in_words(self) -> str:
        if self.in_force:
            return str(self.versions[self.in_force - 1]["in_words"])
        if self.reading_of == "deadline_signal":
            return "two points of the rig file: no signal at no load, span at full signal"
        if self.reading_of == "deadline_tension":
            return "tension as it comes in"
        return "no tension comes in"

    def _state(self, version: int, entry: dict[str, Any]) -> str:
        if version == self.in_force:
            return "in force"
        return "approved, not in force" if entry["approved"] else "proposed"


def _words(act: str) -> str:
    return act.replace("_", " ")


def _entry(command: Command) -> dict[str, Any]:
    proposal = from_text(command.text)
    return {
        "text": command.text,
        "who": command.who,
        "seq": command.seq,
        "time_us": command.time_us,
        "approved": False,
        "in_words": proposal.in_words(),
        "reading_of": proposal.reading_of,
        "reference_uncertainty_N": proposal.reference_uncertainty_N,
    }
