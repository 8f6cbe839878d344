"""Reading rig files, and the two invented ones that come with the package."""

from __future__ import annotations

import re
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from monitor.commands.errors import UseError
from monitor.ingest.tally import read_tally, tally_table
from monitor.rig.file import parse_rig
from monitor.rig.rig import Rig

DEMO_RIG = "land_rig.toml"


def rig_text(path: Path, tally: Path | None = None) -> str:
    """Text of a rig file, with the lengths of a pipe tally where one is given beside it."""
    text = _text(path)
    if tally is None:
        return text
    if re.search(r"^\s*\[tally\]", text, flags=re.MULTILINE):
        raise UseError(f"{path}: has a [tally] of its own; give --tally or that, not both")
    return text + tally_table(read_tally(tally))


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise UseError(f"{path}: is not a text file in UTF-8; a rig file is TOML") from error
    except OSError as error:
        raise UseError(f"{path}: rig file cannot be read ({error.strerror})") from error


def load_rig(path: Path, tally: Path | None = None) -> Rig:
    """Rig as configured; ConfigError lists every fault."""
    return parse_rig(rig_text(path, tally), file=str(path))


def packaged_rig(name: str = DEMO_RIG) -> Traversable:
    """Give a rig file of the package: from the installed wheel, else from the source tree."""
    package = resources.files("monitor")
    installed = package / "_config" / name
    if installed.is_file():
        return installed
    return resources.files("monitor").joinpath("..", "config", name)
