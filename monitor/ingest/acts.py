"""ACTS.csv: what people did, and when, beside a record that does not tell it."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

from monitor.ingest.block import split_line
from monitor.ingest.certificate_file import read_certificate
from monitor.ingest.errors import InputError, message
from monitor.ingest.file_head import open_text, refuse_binary
from monitor.ingest.tally import read_tally
from monitor.interpret.agreed import KINDS as AGREED_KINDS
from monitor.interpret.agreed import agreed_kind
from monitor.interpret.tally import NO_TALLY, tally_text
from monitor.model import ACTS, Command
from monitor.rig.rig import Rig
from monitor.units import UnitError, parse_iso, to_si

COLUMNS = ("time", "act", "value", "who")
_LARGEST = 10_000_000


def read_acts(path: Path, rig: Rig) -> list[Command]:
    """Acts in order of time, not yet numbered (``seq`` 0). Every fault is told at once."""
    file = str(path)
    stream, _ = open_text(Path(path))
    with stream:
        raw = stream.read(_LARGEST)
    refuse_binary(raw, file)
    text = raw.decode("utf-8-sig", errors="replace")
    if not text.strip():
        raise InputError(message(file, "is empty", mend=f"the header is {','.join(COLUMNS)}"))
    lines = text.splitlines()
    separator = ";" if lines[0].count(";") >= 2 else ","
    places = _places([cell.strip().lower() for cell in split_line(lines[0], separator)], file)
    commands: list[Command] = []
    faults: list[str] = []
    for line, written in enumerate(lines[1:], 2):
        cells = split_line(written, separator)
        if not any(cell.strip() for cell in cells):
            continue
        try:
            padded = [*cells, *[""] * (max(places.values()) + 1 - len(cells))]
            row = {name: padded[place].strip() for name, place in places.items()}
            commands.append(_command(row, rig, Path(path).parent))
        except _FaultError as fault:
            faults.append(
                message(file, fault.what, line=line, column=fault.column, value=fault.value)
            )
    if faults:
        raise InputError("\n".join(faults))
    return sorted(commands, key=lambda command: command.time_us)


class _FaultError(Exception):
    def __init__(self, column: str, value: str, what: str) -> None:
        super().__init__(what)
        self.column, self.value, self.what = column, value, what


def _places(header: list[str], file: str) -> dict[str, int]:
    lacking = [name for name in ("time", "act", "value") if name not in header]
    if lacking:
        raise InputError(
            message(
                file,
                f"no column {', '.join(lacking)}",
                line=1,
                value=",".join(header),
                mend=f"the header is {','.join(COLUMNS)}",
            )
        )
    return {name: header.index(name) for name in COLUMNS if name in header}


def _command(row: dict[str, str], rig: Rig, folder: Path) -> Command:
    try:
        time_us = parse_iso(row["time"], rig.input.time_zone)
    except UnitError as error:
        raise _FaultError("time", row["time"], _time_fault(str(error))) from None
    act = row["act"].lower().replace(" ", "_")
    if act not in ACTS:
        known = ", ".join(ACTS)
        raise _FaultError("act", row["act"], f"is no act; known: {known}")
    try:
        number = _READ[act](row["value"])
    except (UnitError, ValueError) as error:
        raise _FaultError("value", row["value"], f"for {act}: {error}") from None
    text = row["value"]
    if act == "calibration_proposed":
        # The name of a certificate that lies beside the list.
        text = read_certificate(folder / text, rig.sensor).to_text()
    if act == "tally" and text != NO_TALLY:
        text = tally_text(read_tally(folder / text))
    if act == "lines_strung" and "override:" not in text:
        # What was done is told afterwards and on purpose: it goes before the check that
        # keeps a live act from being a slip of the finger.
        text = f"{text} override: as told in the list of acts"
    if act == "agreed_limit":  # kind and reason; the limit is the number
        kind, rest = agreed_kind(text)
        text = f"{kind}: {rest.partition(':')[2].strip()}".removesuffix(": ")
    if act == "shelve":  # the span stands in the number
        kind, _, reason = _shelf(text)
        text = f"{kind}: {reason}"
    if act == "stuck_mode" and text.startswith("begin"):
        text = "begin"
    return Command(0, time_us, act, number, text, row.get("who", ""))


def _time_fault(text: str) -> str:
    if "no time zone" in text:
        return f'{text}; write it with its zone, or declare [input] time_zone = "UTC"'
    return text


def _lines(text: str) -> float:
    """Read a count of lines, after it ``override: reason`` where one is to be noted."""
    count, _, rest = text.strip().partition(" ")
    number = float(count)
    if not (number.is_integer() and 2 <= number <= 16):
        raise ValueError("a whole number of lines from 2 to 16 is expected")
    if rest and not rest.strip().startswith("override:"):
        raise ValueError("after the count only override: and its reason are expected")
    return number


def _positive(quantity: str, low: float, high: float) -> Callable[[str], float]:
    def read(text: str) -> float:
        number = to_si(text, quantity)
        if not low <= number <= high:
            raise ValueError(f"is out of all reason for a {quantity.replace('_', ' ')}")
        return number

    return read


def _tare(text: str) -> float:
    """Read a tare: without a value it is taken from the hook load of that moment."""
    return to_si(text, "force") if text else math.nan


def _slip_and_cut(text: str) -> float:
    """Read begin, cancel, confirm ..., or the end with the length cut where it was written."""
    word, _, rest = text.partition(" ")
    if word in ("begin", "cancel", "confirm"):
        return math.nan
    length = rest if word == "end" else text
    return to_si(length, "length") if length.strip() else math.nan


def _version(text: str) -> float:
    """Read the number of a calibration, after it ``override: reason`` or the reason."""
    count, _, _ = text.strip().partition(" ")
    if not count:
        return math.nan  # the newest; back: the one before
    number = float(count)
    if not (number.is_integer() and number >= 0):
        raise ValueError("the number of a calibration is expected")
    return number


def _agreed_limit(text: str) -> float:
    """Read ``overpull: 150 kN`` or ``overpull: none``; a reason may follow after a colon."""
    kind, rest = agreed_kind(text)
    limit = rest.partition(":")[0].strip()
    if kind not in AGREED_KINDS or not limit:
        raise ValueError("overpull or slack_off is expected, a colon, and a load or none")
    return math.nan if limit.lower() == "none" else to_si(limit, "force")


def _mute(text: str) -> float:
    """Read ``10 min``, or ``off``."""
    return math.nan if text.strip() == "off" else _positive("time", 1.0, 43_200.0)(text)


def _shelf(text: str) -> tuple[str, str, str]:
    """Kind, span and reason of ``near crown 30 min: reason``; the span begins with a digit."""
    named, _, reason = text.partition(":")
    words = named.split()
    first = next((at for at, word in enumerate(words) if word[0].isdigit()), len(words))
    return "_".join(words[:first]), " ".join(words[first:]), reason.strip()


def _shelve(text: str) -> float:
    """Read the span of ``overpull 30 min`` or ``overpull 30 min: reason``."""
    kind, span, _ = _shelf(text)
    if not kind or not span:
        raise ValueError("an alarm, for how long, and a reason are expected: overpull 30 min: why")
    return _positive("time", 1.0, 43_200.0)(span)


def _stuck_mode(text: str) -> float:
    """Read ``end``, or ``begin`` with the agreed greatest pull where there is one."""
    load = text.strip().removeprefix("begin").strip()
    if text.strip() in ("begin", "end", "not now"):
        return math.nan
    return to_si(load, "force")


def _no_number(text: str) -> float:
    return math.nan


_READ: dict[str, Callable[[str], float]] = {
    "lines_strung": _lines,
    "travelling_weight": _positive("force", 1e3, 5e6),
    "tare": _tare,
    "bit_depth": _positive("length", -500.0, 16000.0),
    "mud_density": _positive("density", 1.0, 4000.0),
    "run": _no_number,
    "slip_and_cut": _slip_and_cut,
    "acknowledge": _no_number,
    "gear": _no_number,
    "duty": _no_number,
    "compensator": _no_number,
    "preparation": _no_number,
    "catch_weight": _no_number,
    "calibration_proposed": _no_number,
    "calibration_approved": _version,
    "calibration_rolled_back": _version,
    "note": _no_number,
    "agreed_limit": _agreed_limit,
    "shelve": _shelve,
    "unshelve": _no_number,
    "mute": _mute,
    "reset_alarm": _no_number,
    "stuck_mode": _stuck_mode,
    "tally": _no_number,
}
