"""The certificate as one self-contained page: no script, nothing fetched, A4 and Letter."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from monitor.report.page_parts import table
from monitor.report.page_style import STYLE
from monitor.report.sensor_charts import residual_chart
from monitor.units import NO_VALUE

CAUTIONS = (
    "This page tells what was fitted to the points below. It is no accredited certificate, "
    "awards no class, and is worth what the reference and the people who signed it are worth.",
    "It holds for the sensor as it was mounted, for loads within the range of the points. "
    "Creep, temperature and a remounting are not in its figures unless the points carry them.",
    "Loads at the hook have the sheaves in between: their friction, the number of lines and the "
    "weight of the line go into every load that is turned from one into the other.",
    "The tool advises; it is no safety device. The rig's own weight indicator, procedures and "
    "local rules come first.",
)
SIGNERS = ("Measured by", "Checked by", "Approved by")
_DETAILS = {
    "time": "Time, UTC",
    "reference": "Reference",
    "at_hook": "At the hook",
    "moved": "Block last",
    "block": "Block at",
    "readings": "Readings",
    "scatter": "Scatter",
    "drift": "Drift",
}
_STYLE = """
svg .rising { fill: #171b20; } svg .falling { fill: #fff; stroke: #171b20; stroke-width: 1.4; }
.signatures { display: grid; grid-template-columns: repeat(3, 1fr); gap: 22px; margin-top: 12px;
  break-inside: avoid; }
.signatures div { font-size: 12px; color: #3d444c; }
.signatures b { display: block; color: #171b20; margin-bottom: 30px; }
.signatures span { display: block; border-top: 1px solid #171b20; margin-bottom: 26px;
  padding-top: 3px; }
.points table { font-size: 11px; } .points td, .points th { padding: 2px 4px; }
"""


def certificate_page(found: Mapping[str, Any], settings: Sequence[tuple[str, str]] = ()) -> str:
    """Whole document, from what `certificate` found; ``settings`` are names and values."""
    unit, reading_unit = found["load_unit"], found["reading_unit"]
    title = "Calibration of a dead-line sensor"
    body = [
        f"<header><h1>{title}</h1><p class='under'>{_under(found)}</p></header>",
        _answer(found),
        "<h2>Reference</h2>" + _reference(found),
        f"<h2>Points as read, and what the fit leaves</h2><div class='points'>"
        f"{_points(found['points'], unit, reading_unit, found.get('detail_units', {}))}</div>",
        f"<figure>{residual_chart(dict(found))}<figcaption>What the fit leaves, as a load. "
        "Filled: load rising; open: load falling; shaded: 95 % half width of a load."
        "</figcaption></figure>",
        "<h2>Fit</h2>" + _fit(found),
        "<h2>Repeating and reversing</h2>" + _series(found),
        "<h2>Load of a reading</h2>" + _inverse(found),
    ]
    if found["as_found"]:
        body.append(
            "<h2>As found, before the adjustment</h2>"
            "<p>What the sensor read before, beside the fit above and, where it is known, how far "
            "the calibration it had then was out.</p><div class='points'>"
            f"{_points(found['as_found'], unit, reading_unit, found.get('detail_units', {}))}"
            "</div>"
        )
    body.append("<h2>Settings</h2>" + _settings(found, settings))
    notes = "".join(f"<p>{escape(note)}</p>" for note in found["notes"])
    body.append(f"<h2>Notes on these points</h2>{notes}")
    cautions = "".join(f"<p>{escape(caution)}</p>" for caution in CAUTIONS)
    body.append(f"<h2>Cautions</h2><div class='cautions'>{cautions}</div>")
    body.append("<h2>Signatures</h2>" + _signatures())
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}</title><style>{STYLE}{_STYLE}</style></head>\n"
        f"<body>{chr(10).join(body)}</body></html>\n"
    )


def figure(value: float | None, digits: int = 5) -> str:
    """Give a number in so many digits, a dash where it is not known."""
    if value is None or not math.isfinite(value):
        return NO_VALUE
    return f"{value + 0.0:.{digits}g}".replace("-", "\u2212")


def fixed(value: float, decimals: int) -> str:
    """Give a number with so many decimals, so that a column can be read down."""
    return f"{value + 0.0:.{decimals}f}".replace("-", "\u2212")


def _decimals(rows: Sequence[Mapping[str, Any]], name: str) -> int:
    """Decimals that show two figures of what a fit leaves on the whole."""
    size = math.sqrt(sum(row[name] ** 2 for row in rows) / len(rows))
    return min(max(1 - math.floor(math.log10(size)), 0), 9) if size > 0.0 else 4


def _under(found: Mapping[str, Any]) -> str:
    parts = [f"{len(found['points'])} points, fitted {found['when']}"]
    if found["who"]:
        parts.append(f"by {found['who']}")
    parts.append(f"program version {found['program_version']}")
    return escape("; ".join(parts))


def _answer(found: Mapping[str, Any]) -> str:
    unit, reading_unit = found["load_unit"], found["reading_unit"]
    low, high = found["range"]["load"]
    names = ("", " &times; load", " &times; load&sup2;")
    terms = " ".join(
        f"{'+' if value >= 0 and place else ''}{figure(value, 7)}{name}"
        for place, (value, name) in enumerate(zip(found["coefficients"], names, strict=False))
    )
    widths = [row["half_width_95"] for row in found["inverse"]["table"]]
    facts = (
        ("Range", f"{figure(low, 4)} to {figure(high, 4)} {escape(unit)}<small>at the sensor; "
         "beyond it is extrapolated</small>"),
        ("Standard deviation", f"{figure(found['residual_standard_deviation'], 3)} "
         f"{escape(reading_unit)}<small>of the residuals, {found['degrees_of_freedom']} degrees "
         "of freedom</small>"),
        ("Lower limit factor", f"{figure(found['lower_limit_factor_load'], 3)} {escape(unit)}"
         "<small>2.4 standard deviations as a load</small>"),
        ("&plusmn; of a load, 95 %", f"{figure(min(widths), 3)} to {figure(max(widths), 3)} "
         f"{escape(unit)}<small>over the range, reference included</small>"),
    )  # fmt: skip
    told = "".join(f"<div><dt>{name}</dt><dd>{value}</dd></div>" for name, value in facts)
    shown = f" [{escape(reading_unit)}]" if reading_unit else ""
    return (
        f"<div class='answer'><p>reading{shown} = {terms}, load in {escape(unit)}</p></div>"
        f"<dl class='facts'>{told}</dl>"
    )


def _reference(found: Mapping[str, Any]) -> str:
    reference = found["reference"]
    stated = reference["half_width_95_percent"]
    rows = (
        ("What gave the loads", reference["name"] or "not stated"),
        ("Its certificate", reference["certificate"] or "not stated"),
        (
            "Uncertainty of its loads",
            f"{figure(stated, 3)} % of the greatest load, at 95 %"
            if stated
            else "not stated: taken as none, so that the \u00b1 here is too small",
        ),
    )
    return table(("", ""), [[escape(a), escape(b)] for a, b in rows], (0, 1), "narrow")


def _points(
    rows: Sequence[Mapping[str, Any]], unit: str, reading_unit: str, units: Mapping[str, str]
) -> str:
    in_reading, in_load = _decimals(rows, "residual"), _decimals(rows, "residual_load")
    used = [name for name in _DETAILS if any(name in row.get("details", {}) for row in rows)]
    head = [
        "#", "Series", f"Load at<br>sensor<br>{escape(unit)}",
        f"Reading<br>{escape(reading_unit)}", f"Fit<br>{escape(reading_unit)}",
        f"Left<br>{escape(reading_unit)}", f"Left as load<br>{escape(unit)}",
    ]  # fmt: skip
    has_before = any(row.get("error_before") is not None for row in rows)
    if has_before:
        head.append(f"Out by its<br>calibration<br>{escape(unit)}")
    for name in used:
        shown = f"<br>{escape(units[name])}" if units.get(name) else ""
        head.append(f"{_DETAILS[name].replace(' ', '<br>', 1)}{shown}")
    body = []
    for number, row in enumerate(rows, 1):
        cells = [
            str(number), escape(row["series"] or row["load_is"]),
            fixed(row["reference_load"], in_load), fixed(row["reading"], in_reading),
            fixed(row["fitted"], in_reading), fixed(row["residual"], in_reading),
            fixed(row["residual_load"], in_load),
        ]  # fmt: skip
        if has_before:
            before = row.get("error_before")
            cells.append(NO_VALUE if before is None else fixed(before, in_load))
        cells += [escape(_detail(name, row.get("details", {}))) for name in used]
        body.append(cells)
    first = 8 if has_before else 7
    words = (1, *(first + used.index(name) for name in ("reference", "moved") if name in used))
    return table(head, body, words)


def _detail(name: str, details: Mapping[str, str]) -> str:
    text = details.get(name, "")
    if name == "time":
        return text[11:19] if len(text) >= 19 else text
    return text.replace("_", " ")


def _fit(found: Mapping[str, Any]) -> str:
    names = ("constant", "per load", "per load squared")
    rows = [
        [name, figure(value, 8), figure(error, 3)]
        for name, value, error in zip(
            names, found["coefficients"], found["standard_errors"], strict=False
        )
    ]
    held = ", held at zero at no load" if found["through_zero"] else ""
    return (
        f"<p>Least squares of the reading on the load, {escape(found['model'])}{held}.</p>"
        + table(("Coefficient", "Value", "Standard error"), rows, (0,), "narrow")
        + f"<p>Lower limit factor {figure(found['lower_limit_factor'], 3)} "
        f"{escape(found['reading_unit'])}: 2.4 standard deviations, as the published practice "
        f"for force instruments has it. {_class_words(found)}</p>"
    )


def _class_words(found: Mapping[str, Any]) -> str:
    least, unit = found["least_load_of_class"], escape(found["load_unit"])
    told = [
        f"within {percent} from {figure(least[name], 4)} {unit} up"
        if least[name] is not None and math.isfinite(least[name])
        else f"within {percent} nowhere in this range"
        for name, percent in (("A", "0.25 %"), ("AA", "0.05 %"))
    ]
    return f"By its rule a load is {told[0]}, {told[1]}; to claim a class takes all of it."


def _series(found: Mapping[str, Any]) -> str:
    series = found["series"]
    if not series["levels"]:
        return "<p>No load was applied more than once: neither is known.</p>"
    rows = [
        [figure(level["load"], 5), figure(level["repeatability_percent"], 3),
         figure(level["reversibility_percent"], 3)]
        for level in series["levels"]
    ]  # fmt: skip
    head = (
        f"Load<br>{escape(found['load_unit'])}",
        "Repeatability<br>% of deflection",
        "Reversibility (hysteresis)<br>% of deflection",
    )
    return table(head, rows, (), "narrow")


def _inverse(found: Mapping[str, Any]) -> str:
    inverse = found["inverse"]
    head = (
        f"Reading<br>{escape(found['reading_unit'])}",
        f"Load<br>{escape(found['load_unit'])}",
        f"&plusmn; at 95 %<br>{escape(found['load_unit'])}",
    )
    rows = [
        [figure(row["reading"], 6), figure(row["load"], 6), figure(row["half_width_95"], 3)]
        for row in inverse["table"]
    ]
    return f"<p>{escape(inverse['formula'])}.</p>" + table(head, rows, (), "narrow")


def _settings(found: Mapping[str, Any], settings: Sequence[tuple[str, str]]) -> str:
    rows = list(settings)
    reeving = found["reeving"]
    if reeving is not None:
        rows += [
            ("Rig", str(reeving["rig"])),
            ("Efficiency of a sheave", figure(reeving["sheave_efficiency"], 5)),
            ("Dead-line sheave", str(reeving["dead_line_sheave"])),
        ]
    rows += [("Points", found["points_file"]), ("SHA-256 of the points", found["points_sha256"])]
    seen = {name: value for name, value in rows}
    cells = [[escape(name), escape(value)] for name, value in seen.items()]
    return table(("", ""), cells, (0, 1), "narrow hash")


def _signatures() -> str:
    blocks = "".join(
        f"<div><b>{who}</b><span>name</span><span>signature</span><span>date</span></div>"
        for who in SIGNERS
    )
    return f"<div class='signatures'>{blocks}</div>"
