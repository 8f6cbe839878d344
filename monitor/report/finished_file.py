"""Output files that are either whole or not there.

A file is written beside its place and renamed onto it when it is complete, so that a full
disk, a kill or Ctrl-C never leaves half a table under a name somebody trusts.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


class OutputError(Exception):
    """A folder or file cannot be written; the message says which and what to do."""


def output_folder(path: Path) -> Path:
    """Make the folder (with its parents) and prove that it can be written to."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise OutputError(f"{path}: is a file; --out must name a folder") from error
    except OSError as error:
        raise OutputError(_refusal(path, "folder cannot be made", error)) from error
    probe = path / f".writable.{os.getpid()}"
    try:
        probe.touch()
        probe.unlink()
    except OSError as error:
        raise OutputError(_refusal(path, "folder cannot be written to", error)) from error
    return path


@contextmanager
def finished_file(path: Path) -> Iterator[Path]:
    """Give a temporary path beside ``path``, renamed onto it only if the block ends well."""
    if path.is_dir():
        raise OutputError(f"{path}: is a folder; give a file name")
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.touch()
        yield part
        os.replace(part, path)
    except OSError as error:
        raise OutputError(_refusal(path, "cannot be written", error)) from error
    finally:
        with suppress(OSError):  # already renamed, or never made
            part.unlink()


def _refusal(path: Path, what: str, error: OSError) -> str:
    reason = error.strerror or str(error)
    return f"{path}: {what} ({reason}); choose another place or mend its permissions"
