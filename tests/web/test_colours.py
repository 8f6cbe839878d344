"""Digits are read at three metres in sun and at night: 7:1, measured from the style sheet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ASSETS = Path(__file__).parents[2] / "monitor" / "web" / "assets"


def tokens(light: str) -> dict[str, str]:
    sheet = (ASSETS / "tokens.css").read_text(encoding="utf-8")
    block = re.search(rf'data-light="{light}"\] \{{(.*?)\}}', sheet, re.DOTALL)
    assert block is not None
    return dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block[1]))


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("light", ["night", "dim", "day"])
@pytest.mark.parametrize(
    ("ink", "ground", "least"),
    [
        ("ink", "panel", 7.0),
        ("ink", "ground", 7.0),
        ("ink", "well", 7.0),
        ("ink", "act-now-ground", 7.0),
        ("ink", "be-ready-ground", 7.0),
        ("button-ink", "button", 7.0),
        ("ink-soft", "panel", 4.5),
        ("ink-soft", "ground", 4.5),
        ("act-now", "act-now-ground", 3.0),
        ("be-ready", "be-ready-ground", 3.0),
        ("act-now", "panel", 3.0),
        ("be-ready", "panel", 3.0),
        ("trace", "panel", 4.5),
    ],
)
def test_contrast(light: str, ink: str, ground: str, least: float) -> None:
    colours = tokens(light)
    assert contrast(colours[ink], colours[ground]) >= least


def test_colours_stand_in_one_file_only() -> None:
    for path in sorted(ASSETS.iterdir()):
        if path.name != "tokens.css":
            text = path.read_text(encoding="utf-8").replace("rgba(0,0,0,0)", "")
            assert not re.search(r"#[0-9a-fA-F]{3,8}\b(?=[;\"' ])|rgba?\(|hsl", text), path.name
