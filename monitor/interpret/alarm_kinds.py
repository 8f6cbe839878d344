"""Which events ask for an answer, how urgently, and how long each signal must say so.

After the published alarm-management standard (ISA-18.2 / IEC 62682): an alarm is what needs
a response, so that an event without one is no alarm. Delays of process signals there (15 to
60 s) are far too long for a hoist; ours are stated with their reasons.
"""

from __future__ import annotations

from dataclasses import dataclass

# Hold-offs of the load: two rows at 10 Hz or more are no glitch (the event itself has been
# confirmed for 0.3 s); the load must stay down as long as an event needs to end (2 s).
LOAD_ON_S = 0.2
LOAD_OFF_S = 2.0
# Every other kind has delay and deadband in the condition of its event (see there): 0.2 m
# and 2 s at the crown, 1 s of good signal after a fault.
AT_ONCE_S = 0.0


@dataclass(frozen=True, slots=True)
class AlarmKind:
    """One alarm: the kind of event it stands for, its priority, whether it latches."""

    kind: str
    priority: str
    is_load: bool = False
    latching: bool = False


# In the order in which two that come in one row count. High: seconds decide, what is lifted
# can fall or part. Medium: act now. Low: see to it within the stand. Latching: what happened
# must be looked at even where the load is back (over a rating: inspect; weight lost: find
# out what is gone). A jar blow needs no answer. The published guide is 5, 15 and 80 %.
ALARM_KINDS = (
    AlarmKind("over_rating", "high", latching=True),
    AlarmKind("near_crown", "high"),
    AlarmKind("near_floor", "high"),
    AlarmKind("weight_loss", "high", latching=True),
    AlarmKind("overpull", "medium", is_load=True),
    AlarmKind("slack_off", "medium", is_load=True),
    AlarmKind("stuck", "medium"),
    AlarmKind("sensor_fault", "medium"),
    AlarmKind("heave_over_limit", "medium"),
    AlarmKind("stationary_too_long", "medium"),
    AlarmKind("fast_at_mark", "medium"),
    AlarmKind("light", "low"),
    AlarmKind("line_count_suspect", "low"),
    AlarmKind("string_suspect", "low"),
    AlarmKind("zero_drift", "low"),
    AlarmKind("data_gap", "low"),
)
# Events whose flag ``alarm`` follows from their kind alone; loads pass a limit of their own.
ACT_NOW_KINDS = tuple(
    each.kind for each in ALARM_KINDS if each.priority != "low" and not each.is_load
)
