"""The published load cell: forty points, two runs up."""

from __future__ import annotations

import csv

import numpy as np

from tests.published.table import FOLDER


def load_cell() -> tuple[np.ndarray, np.ndarray]:
    """Loads [lbf] and deflections, the first run before the second."""
    with (FOLDER / "load_cell.csv").open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    loads = np.array([float(row["load_lbf"]) for row in table])
    runs = [[float(row[f"deflection_{run}"]) for row in table] for run in (1, 2)]
    return np.tile(loads, 2), np.concatenate(runs)
