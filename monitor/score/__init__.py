"""The scorecard: simulated records through the one pipeline, compared with their truth."""
