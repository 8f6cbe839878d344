"""Which code carried the state: a digest of every stage's functions and constants.

A snapshot made by other code must not be carried on, and nobody remembers to raise a
number by hand.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Iterable
from types import CodeType, FunctionType, ModuleType
from typing import Any

# Modules and packages whose code makes results.
RESULT_CODE = (
    "monitor.interpret",
    "monitor.pipeline",
    "monitor.mechanics.block_position",
    "monitor.mechanics.braking",
    "monitor.mechanics.compensator",
    "monitor.mechanics.dead_line",
    "monitor.mechanics.derrick",
    "monitor.mechanics.fast_line",
    "monitor.mechanics.free_point",
    "monitor.mechanics.heave",
    "monitor.mechanics.line_work",
    "monitor.mechanics.pipe",
    "monitor.mechanics.pipe_limits",
    "monitor.mechanics.pipe_strength",
    "monitor.mechanics.ratings",
    "monitor.mechanics.reeving",
    "monitor.mechanics.soft_string",
    "monitor.mechanics.stretch",
    "monitor.mechanics.string_up",
    "monitor.mechanics.string_up",
    "monitor.mechanics.survey",
    "monitor.mechanics.wire_rope",
    "monitor.metrology.calibration",
    "monitor.metrology.line_count",
    "monitor.metrology.load_interval",
    "monitor.metrology.proposal",
    "monitor.metrology.response",
    "monitor.metrology.sheave_friction",
    "monitor.metrology.signal_health",
    "monitor.metrology.uncertainty",
    "monitor.metrology.zero_drift",
)


def code_digest(packages: Iterable[str], version: str) -> str:
    """Digest of the named modules and packages: their code and upper-case constants."""
    digest = hashlib.sha256(f"{version} {sys.version_info[:2]}".encode())
    names = sorted(
        name
        for name in sys.modules
        if any(name == package or name.startswith(f"{package}.") for package in packages)
    )
    for name in names:
        _add_module(digest, sys.modules[name])
    return digest.hexdigest()[:16]


def _add_module(digest: Any, module: ModuleType) -> None:
    for name, value in sorted(vars(module).items(), key=lambda item: item[0]):
        if getattr(value, "__module__", module.__name__) != module.__name__:
            continue
        if isinstance(value, FunctionType):
            _add_code(digest, value.__code__)
        elif isinstance(value, type):
            for member_name, member in sorted(vars(value).items()):
                code = getattr(getattr(member, "fget", member), "__code__", None)
                if isinstance(code, CodeType):
                    digest.update(member_name.encode())
                    _add_code(digest, code)
        elif name.isupper() and isinstance(value, bool | int | float | str | tuple):
            digest.update(f"{name}={value!r}".encode())


def _add_code(digest: Any, code: CodeType) -> None:
    digest.update(code.co_code)
    digest.update(repr(code.co_names).encode())
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            _add_code(digest, constant)
        elif isinstance(constant, frozenset):
            digest.update(repr(sorted(map(repr, constant))).encode())
        else:
            digest.update(repr(constant).encode())
