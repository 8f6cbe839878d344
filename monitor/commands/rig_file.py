"""Reading rig files, and the two invented ones that come with the package."""

from __future__ import annotations

from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from monitor.commands.errors import UseError
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig

DEMO_RIG = "land_rig.toml"


def rig_text(path: Path) -> str:
    """Text of a rig file."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise UseError(f"{path}: is not a text file in UTF-8; a rig file is TOML") from error
    except OSError as error:
        raise UseError(f"{path}: rig file cannot be read ({error.strerror})") from error


def load_rig(path: Path) -> Rig:
    """Rig as configured; ConfigError lists every fault."""
    return parse_rig(rig_text(path), file=str(path))


def packaged_rig(name: str = DEMO_RIG) -> Traversable:
    """Give a rig file of the package: from the installed wheel, else from the source tree."""
    package = resources.files("monitor")
    installed = package / "_config" / name
    if installed.is_file():
        return installed
    return resources.files("monitor").joinpath("..", "config", name)
