"""Reference loads at hand on a rig, and what each of them can say of a sensor."""

from __future__ import annotations

from dataclasses import dataclass

AT_SENSOR, AT_HOOK, BELOW_HOOK = "at the sensor", "at the hook", "below the hook"


@dataclass(frozen=True, slots=True)
class ReferenceKind:
    """One kind of known load. ``usual_percent``: what its load is commonly known to, 95 %."""

    name: str
    title: str
    acts: str
    fixes_gain: str  # "yes", "no", or what else it takes
    fixes_zero: str
    how: str  # in a few sentences for whoever stands on the floor
    usual_percent: float  # our choice, for a start; the reference's own certificate goes before


KINDS: dict[str, ReferenceKind] = {
    kind.name: kind
    for kind in (
        ReferenceKind(
            "load_cell",
            "Load cell below the hook",
            BELOW_HOOK,
            "yes, from two loads on; the sheaves' friction is in it",
            "only as well as the travelling weight is known",
            "Hang or pull known loads below a load cell with a certificate. At each load raise "
            "the block half a metre, hold it, capture; lower it half a metre, hold it, capture.",
            0.5,
        ),
        ReferenceKind(
            "known_string",
            "Known string, vertical hole",
            AT_HOOK,
            "with the empty block as second load",
            "no",
            "Off bottom in a vertical hole, string turning slowly so that the hole does not hold "
            "it: the neutral weight. Buoyed weight of the string plus travelling equipment.",
            2.0,
        ),
        ReferenceKind(
            "empty_block",
            "Empty travelling equipment",
            AT_HOOK,
            "no: it is one small load",
            "yes, once the gain is known and the equipment was weighed",
            "Slips set, elevators open and empty. Raise the block half a metre and hold it, "
            "capture; lower it and hold it, capture again.",
            1.0,
        ),
        ReferenceKind(
            "anchor_pull",
            "Hydraulic pull at the anchor",
            AT_SENSOR,
            "yes, and nothing of the sheaves is in it",
            "yes",
            "A calibrated cylinder loads the sensor itself, with the dead line relieved. Go up in "
            "five steps or more and down again without overshooting.",
            0.5,
        ),
        ReferenceKind(
            "no_load",
            "Dead line slack",
            AT_SENSOR,
            "no",
            "yes: this is the zero itself",
            "Only with the block hung off and the line slack at the anchor, as during slip and "
            "cut.",
            0.0,
        ),
    )
}

# Arm, area and fluid of the common sensor at the anchor. Common practice.
GEOMETRY = (
    (
        "Arm ratio",
        "Sensors at the anchor feel a share of the tension: the arm from pivot to line over the "
        "arm from pivot to sensor. Worn pins or a shifted sensor change the gain, not the zero.",
    ),
    (
        "Effective area",
        "A hydraulic sensor's pressure is its force over the effective area of its diaphragm. A "
        "diaphragm of another size, or one that is stretched, changes the gain.",
    ),
    (
        "Fluid gap",
        "Too little fluid and the diaphragm rests on its base: the load sags at high tension, "
        "comes late, and the reading no longer follows small changes. Air does the same and "
        "makes the response slow. Check the gap with the load off and pump up to the mark.",
    ),
)
