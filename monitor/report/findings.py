"""What the report says of its material: spells, the sequence, time over limits, margins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from monitor.mechanics.pipe_limits import PullLimit
from monitor.model import Event
from monitor.report.material import Material
from monitor.review.agreed import agreed_limit_N
from monitor.review.allowed import allowed_pull, in_use_at
from monitor.review.calibration import version_at
from monitor.review.corrections import Correction, correction_at
from monitor.review.empty_block import EmptyReadings, empty_readings
from monitor.review.limits import PullMargin, TimeOver, pull_margin, time_over
from monitor.review.line import Line
from monitor.review.pulls import PULL
from monitor.review.sequence import sequence
from monitor.review.spell import Spell, review_spell

# Events other than pulls whose correction is shown: enough to see how it works.
MOST_EVENTS_TOLD = 6


@dataclass(frozen=True, slots=True)
class SpellFindings:
    """One stuck spell with the limits as they were then."""

    spell: Spell
    limits: tuple[PullLimit, ...]
    margins: tuple[PullMargin, ...]  # a pull each


@dataclass(frozen=True, slots=True)
class Findings:
    """All that was found in the span."""

    spells: tuple[SpellFindings, ...]
    lines: tuple[Line, ...]
    over: tuple[TimeOver, ...]
    corrections: tuple[tuple[str, Correction], ...]  # at the peaks of pulls and events
    empty: EmptyReadings


def find(material: Material) -> Findings:
    """Look back on the whole span."""
    first, last = (int(material.span.time_us[at]) for at in (0, -1))
    spells = tuple(
        spell_findings(material, event)
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
    return Findings(
        spells,
        tuple(lines),
        over,
        tuple(_corrections(material, spells)),
        empty_readings(material.span),
    )


def _corrections(
    material: Material, spells: Sequence[SpellFindings]
) -> list[tuple[str, Correction]]:
    """Terms at the peak of each pull, and of the greatest events that no pull tells."""
    pulls = [
        (f"{pull.kind.capitalize()} {pull.number}", pull.peak_us)
        for found in spells
        for pull in found.spell.pulls
        if pull.kind == PULL
    ]
    inside = [(each.spell.event.start_us, each.spell.end_us) for each in spells]
    others = [
        event
        for event in material.events
        if event.kind in ("overpull", "slack_off")
        and not any(start <= event.start_us <= end for start, end in inside)
    ]
    greatest = sorted(others, key=lambda event: -event.peak_excess_N)[:MOST_EVENTS_TOLD]
    peaks = pulls + [
        (event.kind.replace("_", "-").capitalize(), event.peak_time_us)
        for event in sorted(greatest, key=lambda event: event.peak_time_us)
    ]
    found = [(label, _correction(material, at)) for label, at in peaks]
    return [(label, each) for label, each in found if each is not None]


def _correction(material: Material, time_us: int) -> Correction | None:
    version = version_at(material.calibrations, time_us)
    lines = material.lines_at(time_us)
    return correction_at(material.span, time_us, material.rig, lines, version)


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


def spell_findings(material: Material, event: Event) -> SpellFindings:
    """Look back on one stuck spell with the pulls and the pipe that were chosen."""
    rig, at = material.rig, event.start_us
    in_use = in_use_at(rig, material.commands, at)
    lines = in_use.lines_strung
    spell = review_spell(
        material.span,
        event,
        rig,
        travelling_weight_N=in_use.travelling_weight_N,
        mud_density_kg_m3=material.mud_density_at(at),
        chosen=material.chosen_pulls,
    )
    limits = allowed_pull(rig, in_use, event.bit_depth_m, material.pipe_choice)
    pulls = [pull for pull in spell.pulls if pull.kind == PULL]
    return SpellFindings(
        spell,
        limits,
        tuple(pull_margin(pull, limits, rig, lines) for pull in pulls),
    )
