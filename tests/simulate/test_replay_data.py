"""The records in ``replay_data``: small, made by the commands its README gives."""

import gzip
import importlib.util
import re
from pathlib import Path

import pytest

from monitor.report.simulation_file import write_simulation
from monitor.simulate import SCENARIOS, Simulation

FOLDER = Path(__file__).parents[2] / "replay_data"
COMMAND = re.compile(
    r"hookload simulate (\w+) --seed (\d+) --hours (\S+) --hz (\S+) --out replay_data/(\S+?)`"
)
COMMANDS = COMMAND.findall((FOLDER / "README.md").read_text(encoding="utf-8"))


def test_every_scenario_has_a_small_record() -> None:
    assert {command[0] for command in COMMANDS} == set(SCENARIOS)
    for path in FOLDER.iterdir():
        assert path.stat().st_size < 2_000_000


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[4])
def test_the_command_makes_the_same_rows_and_truth(
    command: tuple[str, ...], tmp_path: Path
) -> None:
    scenario, seed, hours, hz, name = command
    path = tmp_path / name
    write_simulation(Simulation(scenario, int(seed), float(hours), float(hz)), path)
    stored = FOLDER / name
    assert gzip.decompress(path.read_bytes()) == gzip.decompress(stored.read_bytes())
    for ending in (".truth.json", ".rig.toml"):
        beside = name.replace(".csv.gz", ending)
        made, kept = (tmp_path / beside).read_text(), (FOLDER / beside).read_text()
        assert made == kept


def test_foreign_record_is_what_its_script_makes() -> None:
    spec = importlib.util.spec_from_file_location("foreign", FOLDER / "foreign_headers.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    stored = gzip.decompress((FOLDER / "foreign_headers.csv.gz").read_bytes())
    assert module.text().encode() == stored
