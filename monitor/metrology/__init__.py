"""Calibration, signal faults and drift of the sensor; friction of sheaves from measured runs."""
