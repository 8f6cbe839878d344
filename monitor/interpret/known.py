"""Figures for JSON, which has no not-a-number: None stands for what is not known."""

from __future__ import annotations

import math
from typing import Any


def known_or_none(value: float) -> float | None:
    """Give the figure, None where it is not a number."""
    return value if math.isfinite(value) else None


def all_known(value: Any) -> Any:
    """Give the same dict or list with None for each figure that is not a number."""
    if isinstance(value, float):
        return known_or_none(value)
    if isinstance(value, dict):
        return {key: all_known(each) for key, each in value.items()}
    return [all_known(each) for each in value] if isinstance(value, list) else value
