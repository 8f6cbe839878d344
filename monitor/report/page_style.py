"""The style sheet of the report: one column, ink on paper, A4 and Letter alike."""

STYLE = """
@page { margin: 15mm 14mm 16mm; @bottom-right { content: "page " counter(page) " of "
  counter(pages); font: 8pt system-ui, sans-serif; color: #5a626b; } }
* { box-sizing: border-box; }
html { -webkit-print-color-adjust: exact; print-color-adjust: exact; }
body { margin: 0 auto; padding: 24px; max-width: 820px; background: #fff; color: #171b20;
  font: 14px/1.42 system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif;
  font-variant-numeric: tabular-nums; }
h1 { font-size: 25px; line-height: 1.15; margin: 0 0 4px; }
h2 { font-size: 17px; margin: 26px 0 8px; padding-top: 7px; border-top: 2px solid #171b20; }
h3 { font-size: 14px; margin: 14px 0 4px; }
p { margin: 0 0 8px; }
.under { color: #5a626b; margin-bottom: 14px; }
.answer { border: 2px solid #171b20; padding: 10px 14px 4px; margin: 0 0 12px; }
.answer p { font-size: 15px; }
.facts { display: grid; grid-template-columns: repeat(4, 1fr); gap: 10px 18px; margin: 0 0 8px; }
.facts dt { color: #5a626b; font-size: 12px; }
.facts dd { margin: 0; font-size: 18px; font-weight: 650; line-height: 1.2; }
.facts dd small { display: block; font-size: 12px; font-weight: 400; color: #3d444c; }
.cautions { background: #f3f1ea; padding: 8px 14px; }
.cautions p { margin: 0 0 4px; font-size: 12.5px; }
table { border-collapse: collapse; width: 100%; font-size: 12.5px; margin: 0 0 8px; }
th { text-align: left; font-weight: 600; vertical-align: bottom; padding: 3px 7px 3px 0;
  border-bottom: 1px solid #171b20; color: #3d444c; font-size: 11.5px; line-height: 1.25; }
td { padding: 3px 7px 3px 0; border-bottom: 1px solid #e0e3e7; vertical-align: top; }
td.n, th.n { text-align: right; }
table.narrow { width: auto; min-width: 46%; }
table.narrow td, table.narrow th { padding-right: 22px; }
table.close td { white-space: nowrap; } table.close td, table.close th { padding-right: 5px; }
td.t { white-space: nowrap; }
.sequence td { font-size: 13px; }
.sequence tr.key td { font-weight: 650; }
.sequence tr.note { color: inherit; font-style: italic; }
.sequence tr.pull td:last-child, .sequence tr.set-down td:last-child { padding-left: 14px; }
figure { margin: 8px 0 14px; }
figcaption { font-size: 12px; color: #3d444c; }
svg { display: block; width: 100%; height: auto; }
svg text { font: 10px system-ui, "Segoe UI", "Helvetica Neue", Arial, sans-serif; fill: #3d444c; }
svg text.name { font-size: 11px; font-weight: 600; fill: #171b20; }
svg text.label { font-size: 10.5px; font-weight: 650; fill: #171b20; }
svg text.small { font-size: 9px; }
svg text.tagged { font-size: 10px; font-weight: 650; fill: #171b20; }
svg .tag { fill: #fff; stroke: #171b20; stroke-width: 1; }
svg .grid { stroke: #e0e3e7; stroke-width: 0.7; }
svg .mark { stroke: #5a626b; stroke-width: 0.8; stroke-dasharray: 2 2; }
svg .limit { stroke: #171b20; stroke-width: 0.8; stroke-dasharray: 6 3; }
svg path { fill: none; stroke-linejoin: round; }
svg .ink { stroke: #171b20; stroke-width: 1.05; }
svg .mid { stroke: #3b6ea5; stroke-width: 0.9; }
svg .band { fill: #d4e1ee; }
svg .shade { fill: #f1ece0; }
svg .pulling { stroke: #171b20; stroke-width: 1.2; }
svg .slack { stroke: #8a929b; stroke-width: 1.0; }
svg .bar { fill: #5f6b78; }
.hash { font: 11px ui-monospace, Menlo, Consolas, monospace; overflow-wrap: anywhere; }
.note { font-size: 12px; color: #3d444c; }
tr, figure, .answer, .cautions { break-inside: avoid; }
h2, h3 { break-after: avoid; }
thead { display: table-header-group; }
@media print { body { padding: 0; max-width: none; font-size: 10pt; }
  .sequence td { font-size: 9pt; } table { font-size: 8.5pt; } th { font-size: 8pt; }
  a { color: inherit; text-decoration: none; } }
@media (max-width: 640px) { .facts { grid-template-columns: repeat(2, 1fr); } }
"""
