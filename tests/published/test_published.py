"""Formulas against the tables beside this file; an engineer checks the tables by the book."""

from __future__ import annotations

import math

import pytest

from monitor.mechanics import fast_line, line_work, pipe, reeving, stretch, wire_rope
from monitor.rig.catalogue import wire_rope_weight_N_m
from monitor.rig.rig import Section
from monitor.units import from_si, to_si
from tests.published.table import rows


@pytest.mark.parametrize("row", rows("reeving_factors"))
def test_load_factor(row):
    factor = reeving.load_factor(
        int(row["lines"]),
        1 / float(row["sheave_friction_factor_K"]),
        row["dead_line_sheave"],
        row["direction"],
    )
    expected = float(row["load_over_dead_line_tension"])
    assert factor == pytest.approx(expected, abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("fast_line_factors"))
def test_fast_line_factor(row):
    n, e = int(row["lines"]), 1 / float(row["sheave_friction_factor_K"])
    extra = int(row["extra_lead_sheaves"])
    factor = fast_line.fast_line_tension_N(1.0, n, e, "hoisting", extra)
    expected = float(row["fast_line_factor"])
    assert factor == pytest.approx(expected, abs=float(row["tolerance_factor"]))
    if row["efficiency"]:
        efficiency = fast_line.block_and_tackle_efficiency(n, e, "hoisting", extra)
        tolerance = float(row["tolerance_efficiency"])
        assert efficiency == pytest.approx(float(row["efficiency"]), abs=tolerance)


@pytest.mark.parametrize("row", rows("line_tensions"))
def test_line_tension(row):
    load, n = float(row["load_lbf"]), int(row["lines"])
    e = 1 / float(row["sheave_friction_factor_K"])
    if row["line_end"] == "fast":
        extra = int(row["extra_lead_sheaves"])
        tension = fast_line.fast_line_tension_N(load, n, e, row["direction"], extra)
    else:
        tension = reeving.dead_line_tension_N(load, n, e, "fixed", row["direction"])
    expected = float(row["tension_lbf"])
    assert tension == pytest.approx(expected, abs=float(row["tolerance_lbf"]))


@pytest.mark.parametrize("row", rows("design_factors"))
def test_design_factor(row):
    strength_N = wire_rope.nominal_strength_N(
        to_si(f"{row['diameter_in']} in", "length"), row["grade"]
    )
    assert from_si(strength_N, "lbf", "force") == pytest.approx(float(row["strength_lb"]))
    tension_N = to_si(f"{row['fast_line_tension_lb']} lbf", "force")
    factor = wire_rope.design_factor(strength_N, tension_N)
    assert factor == pytest.approx(float(row["design_factor"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("wire_rope_weights"))
def test_wire_rope_weight(row):
    weight = wire_rope_weight_N_m(to_si(f"{row['diameter_in']} in", "length"))
    expected = float(row["weight_lb_ft"])
    in_lb_ft = from_si(weight, "lb/ft", "weight_per_length")
    assert in_lb_ft == pytest.approx(expected, abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("buoyancy_factors"))
def test_buoyancy_factor(row):
    # 65.5 ppg of steel is 7848.6 kg/m3, the house takes 7850: 1e-5 of a factor, within 1e-4.
    factor = pipe.buoyancy_factor(to_si(f"{row['mud_ppg']} ppg", "density"))
    assert factor == pytest.approx(float(row["factor"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("tensile_capacities"))
def test_tensile_capacity(row):
    capacity_N = pipe.tensile_capacity_N(
        to_si(f"{row['outside_diameter_in']} in", "length"),
        to_si(f"{row['inside_diameter_in']} in", "length"),
        to_si(f"{row['yield_ksi']} ksi", "pressure"),
        row["class"],
    )
    in_lbf = from_si(capacity_N, "lbf", "force")
    assert in_lbf == pytest.approx(float(row["capacity_lb"]), abs=float(row["tolerance_lb"]))


@pytest.mark.parametrize("row", rows("trip_work"))
def test_trip_work(row):
    depth = to_si(f"{row['depth_ft']} ft", "length")
    stand = to_si(f"{row['stand_ft']} ft", "length")
    weight = to_si(f"{row['pipe_in_mud_lb_ft']} lb/ft", "weight_per_length")
    travelling = to_si(f"{row['travelling_lb']} lbf", "force")
    excess = to_si(f"{row['assembly_excess_lb']} lbf", "force")
    if row["kind"] == "casing":
        work_J = line_work.casing_work_J(depth, stand, weight, travelling)
    else:
        work_J = line_work.round_trip_work_J(depth, stand, weight, travelling, excess)
    in_ton_miles = from_si(work_J, "ton-miles", "work")
    assert in_ton_miles == pytest.approx(float(row["ton_miles"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", rows("free_lengths"))
def test_free_length(row):
    tube = Section(
        "tube",
        None,
        to_si(f"{row['outside_diameter_in']} in", "length"),
        to_si(f"{row['inside_diameter_in']} in", "length"),
        math.nan,  # the weight must not be used
    )
    length_m = stretch.free_length_m(
        to_si(f"{row['stretch_in']} in", "length"),
        to_si(f"{row['pull_lb']} lbf", "force"),
        [tube],
        5000.0,
    )
    in_ft = from_si(length_m, "ft", "length")
    assert in_ft == pytest.approx(float(row["free_length_ft"]), abs=float(row["tolerance_ft"]))


@pytest.mark.parametrize("row", rows("unit_factors"))
def test_unit(row):
    tolerance = float(row["relative_tolerance"])
    assert to_si(row["text"], row["quantity"]) == pytest.approx(float(row["si"]), rel=tolerance)
