"""Hindsight over a span of results; pure, may look ahead."""
