from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from dash import dcc

from monitor.model import ACTIVITY_CODES, EVENT_KINDS, RESULT_COLUMNS
from monitor.web import ids
from monitor.web.app import ASSETS, create_app
from monitor.web.display import EVENT_NAMES, display_units
from monitor.web.live_columns import LIVE_COLUMNS

SCRIPTS = sorted(ASSETS.glob("*.js"))


def components(part: Any) -> list[Any]:
    found = [part]
    children = getattr(part, "children", None)
    for child in children if isinstance(children, list) else [children]:
        if hasattr(child, "to_plotly_json"):
            found += components(child)
    return found


def test_nothing_is_sent_anywhere(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    graphs = [part for part in components(app.layout) if isinstance(part, dcc.Graph)]
    assert len(graphs) == 4
    assert all(graph.config["showSendToCloud"] is False for graph in graphs)
    assert app.config.serve_locally
    for path in ASSETS.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "://" not in text.replace("`${scheme}//", ""), path.name


def test_every_id_the_scripts_ask_for_is_on_the_page(tmp_path: Path) -> None:
    present = {getattr(part, "id", None) for part in components(create_app(tmp_path).layout)}
    known = {value for name, value in vars(ids).items() if name.isupper()}
    assert known <= present
    for script in SCRIPTS:
        text = script.read_text(encoding="utf-8")
        asked = re.findall(r'(?:element|setText|setClass|paper|put|set_props)\("([\w-]+)"', text)
        for name in asked:
            full = name if name in present else f"{name}-value"
            assert full in present, f"{script.name}: {name}"


def test_every_column_the_scripts_read_is_sent() -> None:
    sent = {"seq", "time_us", *LIVE_COLUMNS}
    assert set(LIVE_COLUMNS) - {"block_position_m", "row"} <= set(RESULT_COLUMNS)
    for script in SCRIPTS:
        read = set(re.findall(r"\brow\.(\w+)", script.read_text(encoding="utf-8")))
        assert read - {"append", "remove", "offsetTop", "offsetHeight"} <= sent, script.name


def test_every_event_and_activity_has_its_words() -> None:
    assert set(EVENT_NAMES) == set(EVENT_KINDS)
    words = (ASSETS / "words.js").read_text(encoding="utf-8")
    assert all(f"{code}:" in words for code in ACTIVITY_CODES)


def test_units_are_those_of_the_display_set() -> None:
    assert display_units("field")["force"]["unit"] == "klbf"
    assert display_units("field")["force"]["step"] == 1.0
    assert display_units("tonnes")["force"]["step"] == 0.5
    assert display_units("metric")["length"] == {
        "unit": "m", "scale": 1.0, "offset": 0.0, "decimals": 1, "step": 0.0,
    }  # fmt: skip


def test_scripts_and_styles_stay_short() -> None:
    for path in ASSETS.iterdir():
        assert len(path.read_text(encoding="utf-8").splitlines()) < 400, path.name
