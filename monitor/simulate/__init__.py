"""A simulated rig with physics of its own and a known truth. Everything it makes is invented."""

from monitor.simulate.simulation import SCENARIOS, Simulation, simulate

__all__ = ["SCENARIOS", "Simulation", "simulate"]
