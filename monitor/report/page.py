"""The report as one self-contained page: no script, nothing fetched, prints on A4 and Letter."""

from __future__ import annotations

import math
from html import escape

from monitor.report.charts import Mark, drag_chart, loop_chart, time_chart
from monitor.report.findings import Findings, SpellFindings
from monitor.report.material import Material
from monitor.report.page_grounds import (
    corrections_part,
    quality_part,
    settings_part,
    source_part,
)
from monitor.report.page_history import seen_tight_part, trips_part
from monitor.report.page_parts import (
    free_part,
    limits_part,
    margins_part,
    pulls_notes,
    pulls_table,
)
from monitor.report.page_style import STYLE
from monitor.report.wording import clock, day_and_time, figure, sentence_html
from monitor.review.jar_blows import can_show_blows
from monitor.review.line import count, duration
from monitor.review.pulls import PULL
from monitor.review.spell import FREE, IN_SLIPS, OPEN, Spell
from monitor.review.stands import STANDS_BEFORE, stands_in_all

CAUTIONS = (
    "This report advises; it is no safety device and replaces no certificate, no inspection and "
    "nobody's judgement. Check a figure before acting on it.",
    "It knows what the sensor and the rig file told it. A wrong number of lines, a wrong "
    "travelling weight or a drifted sensor gives wrong loads that look right.",
    "Free length from stretch takes the string as described, in steel, held at one place. A "
    "free-point tool run in the string goes before it.",
    "Room left is against ratings as given. Wear, fatigue and damage are not in them.",
)
BEFORE_US, AFTER_US = 300_000_000, 240_000_000
OUTCOMES = {
    FREE: "came free",
    IN_SLIPS: "set in slips, not seen free",
    OPEN: "still stuck at the end",
}


def page(
    material: Material, findings: Findings, *, display: str = "metric", made: str = ""
) -> str:
    """Whole document."""
    title = _title(material, findings, display)
    body = [_header(material, findings, title, display)]
    body.append(_cautions())
    body.append(_sequence(findings, display))
    body.append(_overview(material, findings, display))
    for number, found in enumerate(findings.spells, 1):
        body.append(_spell(material, found, number, len(findings.spells), display))
    body.append(trips_part(material, display))
    body.append("<h2>Agreed limits, and time past each limit</h2>")
    body.append(limits_part(material, findings, display))
    body.append("<h2>Settings</h2>" + settings_part(material, display))
    body.append("<h2>What the correction adds, at the peaks</h2>")
    body.append(corrections_part(material, findings, display))
    body.append("<h2>Data quality</h2>" + quality_part(material))
    body.append("<h2>Source record</h2>" + source_part(material))
    if made:
        body.append(f"<p class='note'>Made {escape(made)}.</p>")
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head>\n"
        f"<body>{chr(10).join(body)}</body></html>\n"
    )


def _title(material: Material, findings: Findings, display: str) -> str:
    if not findings.spells:
        return f"Hook load report, {material.rig.name}"
    depth = findings.spells[0].spell.event.bit_depth_m
    where = f" with the bit at {figure(depth, 'length', display)}" if math.isfinite(depth) else ""
    return f"Stuck pipe{where}, {material.rig.name}"


def _header(material: Material, findings: Findings, title: str, display: str) -> str:
    first, last = int(material.span.time_us[0]), int(material.span.time_us[-1])
    parts = [
        f"<header><h1>{escape(title)}</h1>",
        f"<p class='under'>Record of {day_and_time(first)} to {day_and_time(last)} UTC, "
        f"{duration((last - first) / 1e6)}; {stands_in_all(material.trip_rows)}. Loads at the "
        "hook, friction-corrected, travelling equipment included. Times UTC.</p></header>",
    ]
    parts += [_answer(found, display) for found in findings.spells]
    if not findings.spells:
        kinds = sorted({event.kind for event in material.events})
        named = ", ".join(
            count(sum(e.kind == kind for e in material.events), kind.replace("_", " "))
            for kind in kinds
        )
        parts.append(
            f"<div class='answer'><p>No stuck pipe in this record. "
            f"{'Events: ' + escape(named) + '.' if named else 'No events.'}</p></div>"
        )
    return "".join(parts)


def _answer(found: SpellFindings, display: str) -> str:
    spell = found.spell
    free, pulls = spell.free, [pull for pull in spell.pulls if pull.kind == PULL]
    interval = (
        f"<small>{figure(free.low_m, 'whole_length', display)} to "
        f"{figure(free.high_m, 'whole_length', display)} at 95 %</small>"
        if free.has_interval
        else "<small>the data cannot tell</small>"
    )
    length = (
        figure(free.free_length_m, "whole_length", display)
        if free.is_supported
        else "no one figure"
    )
    best = max(pulls, key=lambda pull: pull.load_N, default=None)
    facts = [
        (
            "Stuck",
            f"{clock(spell.event.start_us)}<small>bit "
            f"{figure(spell.event.bit_depth_m, 'length', display)}</small>",
        ),
        (
            "Outcome",
            f"{OUTCOMES.get(spell.outcome, 'not seen')}<small>after "
            f"{duration((spell.end_us - spell.event.start_us) / 1e6)}</small>",
        ),
        ("Free length from the floor", length + interval),
    ]
    if best is not None:
        least = min((m.room_left_N for m in found.margins), default=math.nan)
        room = (
            f"{figure(least, 'force', display)} short of the weakest limit"
            if math.isfinite(least)
            else "limits not known"
        )
        facts.append(
            (
                f"Greatest of {count(len(pulls), 'pull')}",
                f"{figure(best.load_N, 'force', display)}<small>{room}</small>",
            )
        )
    cells = "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in facts)
    return f"<div class='answer'><dl class='facts'>{cells}</dl></div>"


def _cautions() -> str:
    return (
        "<section class='cautions'>"
        + "".join(f"<p>{text}</p>" for text in CAUTIONS)
        + "</section>"
    )


def _sequence(findings: Findings, display: str) -> str:
    rows, seen = [], set()
    for line in findings.lines:
        # One anchor a moment, so that a link finds it.
        anchor = "" if line.time_us in seen else f' id="t{line.time_us}"'
        seen.add(line.time_us)
        style = f"{line.kind}{' key' if line.is_key else ''}"
        rows.append(
            f'<tr{anchor} class="{style}" data-time-us="{line.time_us}">'
            f'<td class="t">{clock(line.time_us)}</td><td>{sentence_html(line, display)}</td></tr>'
        )
    return (
        "<h2>What happened</h2><table class='sequence'><thead><tr><th>UTC</th><th></th></tr>"
        f"</thead><tbody>{''.join(rows)}</tbody></table>"
    )


def _shaded(findings: Findings) -> list[tuple[int, int]]:
    return [(each.spell.event.start_us, each.spell.end_us) for each in findings.spells]


def _overview(material: Material, findings: Findings, display: str) -> str:
    label = "Hook load, over or under expected, and block position over the whole span"
    chart = time_chart(
        material.span.seconds(),
        label,
        display,
        shaded=_shaded(findings),
        marks=[Mark(start, "stuck") for start, _ in _shaded(findings)],
    )
    return f"<h2>The whole span</h2>{_figure(chart, label)}"


def _figure(chart: str, caption: str) -> str:
    return f"<figure>{chart}<figcaption>{escape(caption)}.</figcaption></figure>"


def _spell(material: Material, found: SpellFindings, number: int, of: int, display: str) -> str:
    spell = found.spell
    which = f" {number} of {of}" if of > 1 else ""
    parts = [f"<h2>Stuck{which}: the pulls in time</h2>", _spell_chart(material, spell, display)]
    parts.append(_drag(material, spell, display))
    parts.append(seen_tight_part(material, spell, display))
    if any(pull.kind == PULL for pull in spell.pulls):
        label = (
            "Each pull as a loop: pulling dark, slacking off and setting down light; the "
            "numbers mark the greatest load of each pull; where the friction in the sheaves "
            "turns over, nothing is drawn"
        )
        parts.append("<h2>Load against block position</h2>")
        parts.append(_figure(loop_chart(material.span, spell, label, display), label))
    if spell.pulls:
        parts.append("<h2>Pulls and set-downs</h2>" + pulls_table(spell, display))
        parts.append(pulls_notes(spell, can_show_blows(material.span), display))
    parts.append("<h2>Free length</h2>" + free_part(spell, material, display))
    parts.append("<h2>How near the pulls came to the limits</h2>")
    parts.append(margins_part(found, material.rig, display, material.pipe_choice))
    return "".join(parts)


def _spell_chart(material: Material, spell: Spell, display: str) -> str:
    part = material.span.between(spell.event.start_us - BEFORE_US, spell.end_us + AFTER_US)
    marks = [Mark(pull.peak_us, str(pull.number)) for pull in spell.pulls if pull.kind == PULL]
    agreed = material.rig.agreed
    limits = [] if agreed.overpull_N is None else [(agreed.overpull_N, "agreed overpull")]
    if agreed.slack_off_N is not None:
        limits.append((-agreed.slack_off_N, "agreed slack-off"))
    label = (
        "Hook load with the expected load (blue, its 95 % band filled), what is over or under "
        "it, and block position; numbers are the pulls, the shaded time is the stuck spell"
    )
    chart = time_chart(
        part,
        label,
        display,
        limits=limits,
        shaded=[(spell.event.start_us, spell.end_us)],
        marks=marks,
    )
    return _figure(chart, label)


def _drag(material: Material, spell: Spell, display: str) -> str:
    rows = [r for r in material.trip_rows if r.out_of_slips_us < spell.event.start_us]
    rows = [r for r in rows if r.in_slips_us is not None and r.in_slips_us < spell.event.start_us]
    rows = rows[-STANDS_BEFORE:]
    if len(rows) < 2 or not any(row.max_overpull_N > 0.0 for row in rows):
        return ""
    label = f"Greatest overpull of the last {len(rows)} stands before it stuck"
    return "<h3>Drag before it stuck</h3>" + _figure(drag_chart(rows, label, display), label)
