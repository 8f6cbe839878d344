"""The invented stuck pipe in `replay_data` tells the story that the README walks through."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from monitor.report.findings import Findings, find
from monitor.report.material import from_files
from monitor.report.wording import clock, figure
from monitor.rig.file import parse_rig

ROOT = Path(__file__).parents[2]
TRUTH = json.loads((ROOT / "replay_data" / "stuck_pipe.truth.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def story() -> Findings:
    rig = parse_rig((ROOT / "config" / "land_rig.toml").read_text("utf-8"))
    folder = ROOT / "replay_data"
    material = from_files(
        [folder / "stuck_pipe.csv.gz"],
        rig,
        bit_depth_m=TRUTH["bit_depth_m"],
        acts=folder / "stuck_pipe.acts.csv",
    )
    return find(material)


def test_it_goes_from_first_drag_to_free(story: Findings) -> None:
    (found,) = story.spells
    (truth,) = TRUTH["stuck"]
    key = [line.text for line in story.lines if line.is_key]
    assert [text.split(":")[0].split(" to ")[0] for text in key][0] == "First sign"
    assert any("rising" in text for text in key)
    assert found.spell.outcome == "free"
    assert found.spell.free.low_m < truth["free_length_m"] < found.spell.free.high_m
    assert {line.kind for line in story.lines} >= {"note", "act", "limit", "pull", "set-down"}


def test_the_readme_tells_the_figures_of_the_report(story: Findings) -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    section = " ".join(text.split("## The report\n")[1].split("\n## ")[0].split())
    (found,) = story.spells
    spell, free = found.spell, found.spell.free
    pulls = [pull for pull in spell.pulls if pull.kind == "pull"]
    (drag,) = [line for line in story.lines if line.text.startswith("Drag before it stuck")]
    sizes = [f"{value / 1e3:.0f}" for name, (value, _) in drag.figures.items() if name != "slope"]
    for told in (
        f"stuck at {clock(spell.event.start_us, seconds=False)}",
        f"bit at {figure(spell.event.bit_depth_m, 'length', 'metric')}",
        f"free length {free.free_length_m:.0f} m, between {free.low_m:.0f} and "
        f"{free.high_m:.0f} m at 95 %",
        f"greatest of {len(pulls)} pulls {max(pull.load_N for pull in pulls) / 1e3:.0f} kN",
        f"{min(margin.room_left_N for margin in found.margins) / 1e3:.0f} kN short",
        f"(True: {TRUTH['stuck'][0]['free_length_m']:.0f} m.",
        f"drag of {', '.join(sizes[:-1])} and {sizes[-1]} kN",
    ):
        assert told in section, told
