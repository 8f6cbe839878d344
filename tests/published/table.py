"""Tables of published values: one row a value, in the units it is printed in."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parent
STANDINGS = ("looked up", "from memory", "derived", "common practice")


def rows(name: str) -> list[Any]:
    """One parameter set a row; its id and standing show in the failure."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    for row in table:
        assert row["source"], row
        assert row["standing"] in STANDINGS, row
    return [pytest.param(row, id=f"{row['id']}, {row['standing']}") for row in table]
