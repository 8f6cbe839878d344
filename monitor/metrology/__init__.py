"""Calibration, signal faults and drift of the sensor. Nothing here yet."""
