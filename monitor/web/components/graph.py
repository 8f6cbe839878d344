"""A graph that sends nothing anywhere and takes no gestures."""

from __future__ import annotations

from typing import Any

from dash import dcc

# The chart library's button would send the data to a company's server: off, everywhere.
CONFIG: dict[str, Any] = {
    "showSendToCloud": False,
    "showEditInChartStudio": False,
    "plotlyServerURL": "",
    "displaylogo": False,
    "displayModeBar": False,
    "staticPlot": True,
    "responsive": False,
}


def graph(name: str, class_name: str, *, follows_panel: bool = False) -> dcc.Graph:
    """Return an empty graph; its points come later, decimated."""
    return dcc.Graph(
        id=name,
        figure={"data": [], "layout": {}},
        config={**CONFIG, "responsive": follows_panel},
        responsive=follows_panel,
        className=class_name,
    )
