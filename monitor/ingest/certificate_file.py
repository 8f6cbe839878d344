"""CERT.json as `hookload calibrate` writes it, read back as a calibration to propose."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np

from monitor.ingest.errors import InputError, message
from monitor.metrology.calibration import fit_calibration
from monitor.metrology.proposal import Proposal, from_text
from monitor.rig.rig import Sensor
from monitor.units import UnitError, factor, known_units, quantity_of

_LARGEST = 10_000_000
# What the points give must be what the file says it gave, but for rounding in its digits.
_SAME = 1e-6


def read_certificate(path: Path, sensor: Sensor) -> Proposal:
    """Points of a certificate in SI; InputError where it cannot be used on this sensor."""
    file = str(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(message(file, f"certificate cannot be read ({error})")) from None
    try:
        content: Any = json.loads(text[:_LARGEST])
        loads = [float(point["reference_load"]) for point in content["points"]]
        readings = [float(point["reading"]) for point in content["points"]]
        model, through_zero = str(content["model"]), bool(content["through_zero"])
        coefficients = [float(value) for value in content["coefficients"]]
        load_unit, reading_unit = str(content["load_unit"]), str(content["reading_unit"])
    except (ValueError, KeyError, TypeError):
        raise InputError(
            message(file, "is no certificate", mend="make one with hookload calibrate")
        ) from None
    try:
        fit = fit_calibration(
            np.array(loads), np.array(readings), model, through_zero=through_zero
        )
    except ValueError as error:
        raise InputError(message(file, str(error))) from None
    greatest = max(abs(value) for value in readings)
    off = [
        abs(own - told) * max(abs(load) for load in loads) ** power
        for power, (own, told) in enumerate(zip(fit.coefficients, coefficients, strict=False))
    ]
    if len(coefficients) != len(fit.coefficients) or max(off) > _SAME * greatest:
        raise InputError(
            message(file, "its points do not give its coefficients: it was changed or damaged")
        )
    reading_of, per_unit = _reading(file, reading_unit, sensor)
    load_factor = factor(load_unit, "force")[0]
    proposal = Proposal(
        reading_of=reading_of,
        loads_N=tuple(load * load_factor for load in loads),
        readings=tuple(reading * per_unit for reading in readings),
        model=model,
        through_zero=through_zero,
        series=tuple(str(point.get("series", "")) for point in content["points"]),
        certificate=path.name,
        measured=str(content.get("when", "")),
        measured_by=str(content.get("who", "")),
    )
    try:
        return from_text(proposal.to_text())
    except ValueError as error:
        raise InputError(message(file, str(error))) from None


def _reading(file: str, unit: str, sensor: Sensor) -> tuple[str, float]:
    """Channel the readings belong to, and one of their units in SI."""
    quantities = quantity_of(unit) if unit else ()
    if "force" in quantities:
        return "deadline_tension", factor(unit, "force")[0]
    if sensor.signal_quantity in quantities:
        try:
            return "deadline_signal", factor(unit, "signal")[0]
        except UnitError as error:
            raise InputError(message(file, str(error))) from None
    known = ", ".join(known_units("force")[:3])
    raise InputError(
        message(
            file,
            f"its readings are in {unit or 'no unit'}, and the sensor gives a "
            f"{sensor.signal_quantity}",
            mend=f"readings in the unit of [sensor] signal, or of tension ({known} ...)",
        )
    )
