"""`hookload report`: the page and its tables from one material. Same input, same bytes."""

from __future__ import annotations

from pathlib import Path

from monitor.report.findings import Findings, find
from monitor.report.finished_file import OutputError, finished_file
from monitor.report.material import Material
from monitor.report.page import page
from monitor.report.report_tables import write_tables


def write_report(
    material: Material,
    path: Path,
    *,
    display: str = "metric",
    made: str = "",
    findings: Findings | None = None,
) -> tuple[Findings, list[Path]]:
    """Write the page and its CSV tables; return what was found and all paths."""
    if path.suffix.lower() not in (".html", ".htm"):
        raise OutputError(f"{path}: the report is a page; give a name that ends in .html")
    findings = find(material) if findings is None else findings
    text = page(material, findings, display=display, made=made)
    with finished_file(path) as part:
        part.write_text(text, encoding="utf-8")
    return findings, [path, *write_tables(path, material, findings)]
