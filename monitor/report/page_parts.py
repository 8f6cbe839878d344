"""Tables of the report's page: pulls, free length, margins, limits, settings, data quality."""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from monitor.mechanics.wire_rope import LEAST_DESIGN_FACTOR
from monitor.report.findings import Findings, SpellFindings
from monitor.report.material import Material
from monitor.report.wording import bare, clock, day_and_time, figure, sentence_html, unit
from monitor.review.allowed import AS_GIVEN, PipeChoice
from monitor.review.free_length import FreeLength
from monitor.review.line import count, duration
from monitor.review.pulls import Pull
from monitor.review.spell import Spell
from monitor.review.spell_story import free_line
from monitor.rig.rig import Pipe, Rig
from monitor.units import NO_VALUE


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    words: Sequence[int] = (0,),
    style_name: str = "",
) -> str:
    """Table; columns not named in ``words`` are figures, to the right. Cells are HTML."""
    style = ["" if at in words else ' class="n"' for at in range(len(head))]
    top = "".join(f"<th{css}>{cell}</th>" for css, cell in zip(style, head, strict=True))
    body = "".join(
        "<tr>"
        + "".join(f"<td{c}>{cell}</td>" for c, cell in zip(style, row, strict=True))
        + "</tr>"
        for row in rows
    )
    named = f' class="{style_name}"' if style_name else ""
    return f"<table{named}><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"


def moment(time_us: int) -> str:
    """Time of day that leads to its line of the sequence."""
    return f'<a href="#t{time_us}">{clock(time_us)}</a>'


def moved_text(pull: Pull, display: str) -> str:
    """Whether the string moved, and how far."""
    if pull.came_loose:
        return "let go"
    if not pull.moved:
        return "no"
    shift = pull.shift_m if math.isfinite(pull.shift_m) else 0.0
    return f"yes, {figure(max(pull.movement_m, shift), 'block_position', display)}"


def pulls_table(spell: Spell, display: str) -> str:
    """Give each pull and set-down a row."""
    load, travel = unit("force", display), unit("block_position", display)
    head = (
        "", "Time", f"From<br>{load}", f"To<br>{load}", f"±<br>{load}",
        f"Over or under<br>free weight<br>{load}", f"Settled<br>at, {load}",
        f"Block travel<br>{travel}", "Lasted", "String<br>moved",
        f"Slope up<br>{unit('compliance', display)}",
        f"Slope down<br>{unit('compliance', display)}",
    )  # fmt: skip
    rows = []
    for pull in spell.pulls:
        sign = "+" if pull.kind == "pull" else "−"
        rows.append(
            (
                f"{pull.kind.capitalize()} {pull.number}",
                moment(pull.start_us),
                bare(pull.start_load_N, "force", display),
                bare(pull.load_N, "force", display),
                bare(pull.half_width_N, "force", display),
                sign + bare(pull.excess_N, "force", display),
                bare(pull.end_load_N, "force", display),
                _signed(pull.travel_m, display),
                duration(pull.held_s),
                moved_text(pull, display),
                bare(pull.compliance_m_N, "compliance", display),
                bare(pull.slack_compliance_m_N, "compliance", display),
            )
        )
    return table(head, rows, style_name="close")


def _signed(travel_m: float, display: str) -> str:
    text = bare(abs(travel_m), "block_position", display)
    return ("+" if travel_m >= 0.0 else "−") + text


def pulls_notes(spell: Spell, shows_blows: bool, display: str) -> str:
    """What the columns mean, and the jar blows."""
    if spell.blows:
        blows = "; ".join(
            f"{moment(blow.time_us)} {blow.direction}, fired at "
            f"{figure(blow.cocked_N, 'force', display)}"
            for blow in spell.blows
        )
        jars = f"{count(len(spell.blows), 'jar blow')}: {blows}."
    elif shows_blows:
        jars = "No jar blow is seen in the record."
    else:
        jars = "Rows come too slowly for a jar blow to be seen in this record."
    low = "" if math.isfinite(spell.held.down_N) else " (not measured here: estimated)"
    return (
        f"<p class='note'>Loads with the sheave friction settled. Free hoisting weight "
        f"{figure(spell.held.up_N, 'force', display)}, free lowering weight "
        f"{figure(spell.held.low_N, 'force', display)}{low}, neutral midway "
        f"{figure(spell.held.neutral_N, 'force', display)}. The string counts as moved where "
        f"the block travelled more than the change of load can stretch it. Slope: block travel "
        f"for load, up on pulling and down on slacking off from it; a dash where the leg is too "
        f"short, too fast or too crooked to use. {jars}</p>"
    )


def free_part(spell: Spell, material: Material, display: str) -> str:
    """Free length, the grounds for it, and what each slope says by itself."""
    free = spell.free
    parts = [f"<p><strong>{sentence_html(free_line(spell), display)}</strong></p>"]
    if free.legs:
        parts.append(_legs(free, display))
    if material.chosen_pulls is not None:
        numbers = ", ".join(str(number) for number in sorted(material.chosen_pulls))
        parts.append(f"<p>Pulls chosen by hand: {numbers or 'none'}.</p>")
    compliance = material.rig.hoist_compliance_m_N
    hoist = (
        f"line and mast {figure(compliance, 'compliance', display)} taken off"
        if compliance
        else "give of line and mast not known: it only makes the string look longer"
    )
    parts.append(
        f"<p class='note'>By Hooke's law over the sections of the string, by nominal steel "
        f"area, {_stiffening(free)}; {hoist}. {_agreement(free)} The interval holds the "
        f"scatter of the pulls, friction, the scales of load and travel and the stiffness, not "
        f"wear: pipe worn evenly to 80 % of its wall has about a fifth less steel and reads a "
        f"quarter too long. Bit depth "
        f"{figure(free.bit_depth_m, 'length', display)}, "
        f"{figure(free.above_floor_m, 'length', display)} of pipe above the floor.</p>"
    )
    return "".join(parts)


def _stiffening(free: FreeLength) -> str:
    stiff = free.stiffening
    if not stiff.middle:
        return "plain tubes"
    if stiff.is_described:
        return f"drill pipe {(stiff.middle[-1] - 1.0) * 100:.1f} % stiffer by its tool joints"
    return (
        f"tool joints not described: {(stiff.middle[-1] - 1.0) * 100:.1f} % stiffer, give or "
        f"take {stiff.half_width[-1] * 100:.1f} %"
    )


def _agreement(free: FreeLength) -> str:
    agreed = free.agreement
    if not math.isfinite(agreed.compliance_m_N):
        return "Too few slopes to say how well the pulls agree."
    scatter = agreed.deviation_m_N / abs(agreed.compliance_m_N)
    if math.isnan(agreed.friction):
        return (
            f"The slopes agree within {scatter * 100:.1f} %; one sense only, so friction is not "
            "seen."
        )
    return (
        f"The slopes agree within {scatter * 100:.1f} % (one standard deviation); pulling and "
        f"slacking off differ by {200 * agreed.friction:.1f} %."
    )


def _legs(free: FreeLength, display: str) -> str:
    by_pull: dict[int, dict[str, float]] = {}
    for leg in free.legs:
        by_pull.setdefault(leg.pull, {})[leg.sense] = leg.free_length_m
    rows = [
        (
            f"Pull {number}",
            *(
                _by_itself(senses.get(sense, math.nan), free.bit_depth_m, display)
                for sense in ("pulling", "slacking off")
            ),
        )
        for number, senses in sorted(by_pull.items())
    ]
    shown = unit("length", display)
    head = ("By itself", f"pulling, {shown}", f"slacking off, {shown}")
    return table(head, rows, style_name="narrow")


def _by_itself(length_m: float, bit_depth_m: float, display: str) -> str:
    """Length one slope tells; a stuck point below the bit is none."""
    if length_m > bit_depth_m:
        return "at the bit"
    return bare(length_m, "whole_length", display)


def margins_part(
    found: SpellFindings, rig: Rig, display: str, choice: PipeChoice = AS_GIVEN
) -> str:
    """Limits of the pull as hook load, and how near each pull came."""
    load = unit("force", display)
    allowed = _greatest_allowed(found, display) + _choice(choice, rig)
    if not found.limits:
        limits = "<p>The rig file gives no ratings: how much may be pulled is not known here.</p>"
    else:
        limits = table(
            ("Limit, weakest first", f"as hook load, {load}", "acts on", "rating"),
            [
                (
                    escape(limit.name.replace("_", " ")),
                    bare(limit.limit_N, "force", display),
                    escape(limit.acts),
                    escape(limit.printed),
                )
                for limit in found.limits
            ],
            words=(0, 2, 3),
        )
    if not found.margins or not (
        found.limits or any(math.isfinite(m.line_design_factor) for m in found.margins)
    ):
        return allowed + limits
    loads = [pull for pull in found.spell.pulls if pull.kind == "pull"]
    rows = [
        (
            f"Pull {margin.number}",
            bare(pull.load_N, "force", display),
            escape(margin.weakest.replace("_", " ")) or NO_VALUE,
            f"{margin.share * 100:.0f} %" if math.isfinite(margin.share) else NO_VALUE,
            bare(margin.room_left_N, "force", display),
            f"{margin.line_design_factor:.2f}"
            if math.isfinite(margin.line_design_factor)
            else NO_VALUE,
        )
        for margin, pull in zip(found.margins, loads, strict=True)
    ]
    head = (
        "", f"Hook load<br>{load}", "Weakest limit", "reached", f"room left<br>{load}",
        "Drilling line<br>design factor",
    )  # fmt: skip
    least = LEAST_DESIGN_FACTOR["tripping"]
    note = (
        "<p class='note'>Limits in the worse friction direction, travelling equipment included; "
        "each pull counted with its ±. Drilling line: nominal strength over its greatest tension "
        f"while hoisting; this tool keeps to {least:g} on stuck pipe as well. What the pipe has "
        "lost by wear, fatigue or damage beyond its class is not known here.</p>"
    )
    return allowed + limits + table(head, rows, words=(0, 2)) + note


def _greatest_allowed(found: SpellFindings, display: str) -> str:
    if not found.limits:
        return ""
    weakest = found.limits[0]
    return (
        f"<p><strong>At most {figure(weakest.limit_N, 'force', display)} hook load might be "
        f"pulled here, by {escape(weakest.name.replace('_', ' '))}.</strong></p>"
    )


def _choice(choice: PipeChoice, rig: Rig) -> str:
    """Whose condition and design factor the pipe's limit is of."""
    if not rig.string:
        return ""
    pipe = rig.pipe or Pipe()
    condition = choice.pipe_class or pipe.pipe_class
    factor = pipe.design_factor if choice.design_factor is None else choice.design_factor
    whose = "chosen for this report" if choice.is_made else "of the rig file"
    return (
        f"<p>Condition of the pipe: {escape(condition)}; design factor {factor:g}; both {whose}, "
        "where not said otherwise.</p>"
    )


def limits_part(material: Material, findings: Findings, display: str) -> str:
    """Who agreed to what, and the time over each limit."""
    who = _agreed_at_first(material.rig, display) + _agreed_later(material, display)
    load = unit("force", display)
    rows = [
        (
            f"{each.name.capitalize()} limit, {each.kind.replace('_', '-')}",
            bare(each.limit_N, "force", display) + (" at first" if each.is_changed else ""),
            str(each.times),
            duration(each.seconds) if each.times else NO_VALUE,
            clock(each.first_us) if each.first_us is not None else NO_VALUE,
            bare(each.greatest_N, "force", display),
        )
        for each in findings.over
    ]
    head = (
        "Over or under expected", f"limit<br>{load}", "times<br>passed", "time<br>past it",
        "first", f"greatest<br>{load}",
    )  # fmt: skip
    return who + table(head, rows)


def _agreed_at_first(rig: Rig, display: str) -> str:
    agreed = rig.agreed
    if agreed.overpull_N is None and agreed.slack_off_N is None:
        return "<p>No limit was agreed in the rig file.</p>"
    values = [
        f"{way} {figure(value, 'force', display)}"
        for way, value in (("overpull", agreed.overpull_N), ("slack-off", agreed.slack_off_N))
        if value is not None
    ]
    by = escape(agreed.who) or "nobody named"
    return (
        f"<p>Agreed in the rig file: {', '.join(values)}; by {by}, "
        f"{escape(agreed.when) or 'no date'}.</p>"
    )


def _agreed_later(material: Material, display: str) -> str:
    """Each change with who agreed it and when."""
    changes = material.agreed_changes()
    if not changes:
        return "<p class='note'>No agreed limit was changed in this record.</p>"
    load = unit("force", display)
    head = ("Changed, UTC", "limit", f"from<br>{load}", f"to<br>{load}", "agreed by", "why")
    rows = [
        (
            day_and_time(each.time_us),
            each.kind.replace("_", "-"),
            bare(each.before_N, "force", display),
            bare(each.after_N, "force", display),
            escape(each.who),
            escape(each.text),
        )
        for each in changes
    ]
    return table(head, rows, words=(0, 1, 4, 5))
