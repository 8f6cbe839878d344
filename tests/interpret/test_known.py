"""None stands for what is not known: JSON (RFC 8259, section 6) has no not-a-number."""

from __future__ import annotations

import json
import math

from monitor.interpret.known import all_known, known_or_none


def test_only_what_is_no_number_becomes_none() -> None:
    assert known_or_none(0.0) == 0.0
    assert known_or_none(math.nan) is None
    assert known_or_none(math.inf) is None


def test_the_whole_tree_can_be_written_as_json() -> None:
    tree = {"a": [1.5, math.nan, {"b": math.inf, "c": "x", "d": True}], "e": 3, "f": None}
    found = json.loads(json.dumps(all_known(tree), allow_nan=False))
    assert found == {"a": [1.5, None, {"b": None, "c": "x", "d": True}], "e": 3, "f": None}
