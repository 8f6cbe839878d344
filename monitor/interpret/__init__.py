"""Causal stages with carried state: what the rig is doing and what is not normal."""
