"""What the report says of its material: spells, the sequence, time over limits, margins."""

from __future__ import annotations

from dataclasses import dataclass

from monitor.mechanics.pipe_limits import PullLimit
from monitor.model import Event
from monitor.report.material import Material
from monitor.review.agreed import agreed_limit_N
from monitor.review.allowed import allowed_pull, in_use_at
from monitor.review.corrections import Correction, correction_at
from monitor.review.limits import PullMargin, TimeOver, pull_margin, time_over
from monitor.review.line import Line
from monitor.review.pulls import PULL
from monitor.review.sequence import sequence
from monitor.review.spell import Spell, review_spell


@dataclass(frozen=True, slots=True)
class SpellFindings:
    """One stuck spell with the limits as they were then."""

    spell: Spell
    limits: tuple[PullLimit, ...]
    margins: tuple[PullMargin, ...]  # a pull each
    corrections: tuple[tuple[str, Correction], ...]  # at the peak of each pull


@dataclass(frozen=True, slots=True)
class Findings:
    """All that was found in the span."""

    spells: tuple[SpellFindings, ...]
    lines: tuple[Line, ...]
    over: tuple[TimeOver, ...]


def find(material: Material) -> Findings:
    """Look back on the whole span."""
    first, last = (int(material.span.time_us[at]) for at in (0, -1))
    spells = tuple(
        _spell(material, event)
        for event in material.events
        if event.kind == "stuck" and event.start_us >= first
    )
    over = time_over_all(material)
    lines = sequence(
        material.span,
        material.trip_rows,
        material.events,
        [each.spell for each in spells],
        [command for command in material.commands if first <= command.time_us <= last],
        [each for each in over if each.name == "agreed"],
        material.notes,
        material.earlier_events,
    )
    return Findings(spells, tuple(lines), over)


def time_over_all(material: Material) -> tuple[TimeOver, ...]:
    """Time over the agreed, the alarm and the event limits."""
    rig, alarms = material.rig, material.alarm_limits_N
    changes, time_us = material.agreed_changes(), material.span.time_us
    asked = (
        ("agreed", "overpull", agreed_limit_N(rig, changes, "overpull", time_us)),
        ("agreed", "slack_off", agreed_limit_N(rig, changes, "slack_off", time_us)),
        ("alarm", "overpull", alarms.get("overpull")),
        ("alarm", "slack_off", alarms.get("slack_off")),
        ("event", "overpull", rig.events.overpull_N),
        ("event", "slack_off", rig.events.slack_off_N),
    )
    found = [time_over(material.span, material.events, *each) for each in asked]
    return tuple(each for each in found if each is not None)


def _spell(material: Material, event: Event) -> SpellFindings:
    rig, at = material.rig, event.start_us
    in_use = in_use_at(rig, material.commands, at)
    lines = in_use.lines_strung
    spell = review_spell(
        material.span,
        event,
        rig,
        travelling_weight_N=in_use.travelling_weight_N,
        mud_density_kg_m3=material.mud_density_at(at),
    )
    limits = allowed_pull(rig, in_use, event.bit_depth_m, material.pipe_choice)
    pulls = [pull for pull in spell.pulls if pull.kind == PULL]
    corrections = [
        (str(pull.number), found)
        for pull in pulls
        if (found := correction_at(material.span, pull.peak_us, rig, lines)) is not None
    ]
    return SpellFindings(
        spell,
        limits,
        tuple(pull_margin(pull, limits, rig, lines) for pull in pulls),
        tuple(corrections),
    )
