"""Reads [alarms], [agreed] and [jar]."""

from __future__ import annotations

from monitor.model import EVENT_KINDS
from monitor.rig.alarming import NEVER_PUT_ASIDE, Agreed, AlarmLimits, Jar
from monitor.rig.table import Table

_HIGH_N = 5e6


def _force(table: Table, key: str) -> float | None:
    return table.quantity(key, "force", above=0.0, high=_HIGH_N)


def read_alarms(table: Table) -> AlarmLimits:
    """Limits, delays, and what is out of service with its reason."""
    share = None
    if "overpull_margin_share" in table:
        share = table.number(
            "overpull_margin_share",
            default=0.5,
            low=0.01,
            below=1.0,
            meaning="share of the margin from the expected load to the weakest limit, below 1",
        )
    else:
        table.known("overpull_margin_share")
    usual = AlarmLimits()
    spans = {
        name: table.quantity(name, "time", low=0.0, high=high)
        for name, high in (
            ("on_delay", 10.0),
            ("off_delay", 60.0),
            ("longest_shelf", 12 * 3600.0),
            ("longest_mute", 3600.0),
        )
    }
    given = {f"{name}_s": span for name, span in spans.items() if span is not None}
    deadband = table.quantity("deadband", "force", low=0.0, high=200e3)
    limits = AlarmLimits(
        overpull_N=_force(table, "overpull"),
        slack_off_N=_force(table, "slack_off"),
        overpull_load_N=_force(table, "overpull_load"),
        slack_off_load_N=_force(table, "slack_off_load"),
        overpull_margin_share=share,
        deadband_N=usual.deadband_N if deadband is None else deadband,
        out_of_service=_out_of_service(table.table("out_of_service")),
        **given,
    )
    table.known("out_of_service")
    table.close()
    return limits


def _out_of_service(table: Table) -> tuple[tuple[str, str], ...]:
    found = []
    for kind in table.keys():
        reason = table.text(kind)
        if kind in NEVER_PUT_ASIDE:
            table.fault(kind, "can never be taken out of service")
        elif kind not in EVENT_KINDS:
            table.fault(kind, f"an alarm is expected, one of: {', '.join(EVENT_KINDS)}")
        elif not reason.strip():
            table.fault(kind, "the reason and who decided it, in words")
        else:
            found.append((kind, reason))
    return tuple(sorted(found))


def read_agreed(table: Table) -> Agreed:
    """What may be pulled without calling the company man, with who and when."""
    overpull, slack_off = _force(table, "overpull"), _force(table, "slack_off")
    who, when = table.text("who"), table.text("when")
    greatest = _force(table, "greatest_pull")
    table.close()
    return Agreed(overpull, slack_off, who, when, greatest)


def read_jar(table: Table) -> Jar:
    """Loads at the hook at which the jar is cocked and works towards its blow."""
    jar = Jar(
        cocking_load_N=_force(table, "cocking_load"),
        firing_load_N=_force(table, "firing_load"),
        wait_s=table.quantity("wait", "time", low=0.0, high=1800.0),
    )
    table.close()
    loads = (jar.cocking_load_N, jar.firing_load_N)
    if loads[0] is not None and loads[1] is not None and loads[0] >= loads[1]:
        table.fault("firing_load", "above the cocking load: a jar that fires upwards")
    return jar
