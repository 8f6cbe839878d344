"""What the rig file says of alarms, of what was agreed, and of the jar. SI."""

from __future__ import annotations

from dataclasses import dataclass

# Put aside by a person for no longer than this (our choice: a quarter of a tour).
LONGEST_SHELF_S = 3 * 3600.0
# Without sound for no longer than this (our choice: long enough for a talk, not for a stand).
LONGEST_MUTE_S = 300.0
# What can part the line or run into the crown or the floor is never put aside, muted, taken
# out of service or held by a mode: nothing done on stuck pipe or at the line makes it harmless.
NEVER_PUT_ASIDE = ("over_rating", "near_crown", "near_floor")


@dataclass(frozen=True, slots=True)
class AlarmLimits:
    """When it sounds, and how long it may be kept from sounding.

    Excess ``None`` = the greatest of 90 kN, 10 % of string weight, two band half-widths.
    Of several limits given for one kind the one reached first counts.
    """

    overpull_N: float | None = None  # excess over what is expected
    slack_off_N: float | None = None
    overpull_load_N: float | None = None  # fixed hook load, whatever is expected
    slack_off_load_N: float | None = None
    overpull_margin_share: float | None = None  # of the margin from expected to the weakest
    on_delay_s: float = 0.2  # see interpret/alarm_kinds.py for why
    off_delay_s: float = 2.0
    deadband_N: float = 10e3
    longest_shelf_s: float = LONGEST_SHELF_S
    longest_mute_s: float = LONGEST_MUTE_S
    out_of_service: tuple[tuple[str, str], ...] = ()  # kind and reason


@dataclass(frozen=True, slots=True)
class Agreed:
    """What the company man allows without being called."""

    overpull_N: float | None = None
    slack_off_N: float | None = None
    who: str = ""
    when: str = ""
    greatest_pull_N: float | None = None  # hook load, on stuck pipe


@dataclass(frozen=True, slots=True)
class Jar:
    """The jar as seen from the hook, for the string as it is; None = not given."""

    cocking_load_N: float | None = None  # hook load at or below which it is cocked
    firing_load_N: float | None = None  # hook load at or above which it works towards its blow
    wait_s: float | None = None  # from there to the blow
