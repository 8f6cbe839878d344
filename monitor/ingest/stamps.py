"""Written times to whole microseconds UTC, exactly; local time and its ambiguous hour."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo

import numpy as np

from monitor.ingest.counts import Counts
from monitor.ingest.errors import InputError, message
from monitor.model import Ints
from monitor.units import iso_utc, microseconds, zone

NO_TIME = np.iinfo(np.int64).min  # stands for a stamp that could not be read
_QUARTER_us = 15 * 60 * 1_000_000  # zones change their offset at whole quarters of an hour
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 -- local times are counted from a naive epoch
_ONE_us = timedelta(microseconds=1)
ZONE_MEND = 'declare it in the rig file: [input] time_zone = "Europe/Oslo" (or "UTC", "+02:00")'
_LONG_FRACTION = re.compile(r"([.,]\d{6})(\d+)")


class LocalTime:
    """Local times of one zone to UTC, through the hour that occurs twice.

    Of the two possible meanings of an ambiguous time the first is taken unless the row
    before is already past it: so a file in order keeps its order, and a cut of the stream
    changes nothing, since the newest stamp is carried.
    """

    def __init__(self, zone_name: str, counts: Counts) -> None:
        self.zone_name = zone_name
        self._zone: tzinfo = zone(zone_name)
        self._counts = counts
        self.newest_us = NO_TIME

    def to_utc(self, local_us: Ints) -> Ints:
        """UTC of local times counted in microseconds from 1970-01-01T00:00 local."""
        usable = local_us != NO_TIME
        if self._zone is UTC:
            result = local_us
        else:
            quarters, where = np.unique(local_us // _QUARTER_us, return_inverse=True)
            offsets = np.array([self._steady_offset_us(int(q)) for q in quarters], np.int64)
            changing = (offsets == NO_TIME)[where] & usable
            result = np.where(usable & ~changing, local_us - offsets[where], NO_TIME)
            if changing.any():
                self._through_change(local_us, result, changing)
        if usable.any():
            self.newest_us = max(self.newest_us, int(result[usable].max()))
        return result

    def _moment(self, local_us: int, fold: int) -> datetime:
        naive = _EPOCH + timedelta(microseconds=local_us)
        return naive.replace(tzinfo=self._zone, fold=fold)

    def _steady_offset_us(self, quarter: int) -> int:
        """Offset of a whole quarter of an hour, ``NO_TIME`` where it changes or is double."""
        start = quarter * _QUARTER_us
        try:
            found = {
                self._moment(start + shift, fold).utcoffset()
                for shift in (0, _QUARTER_us - 1)
                for fold in (0, 1)
            }
        except OverflowError:  # the mark of an unreadable stamp, or a year no calendar has
            return 0
        offset = found.pop()
        return NO_TIME if found or offset is None else offset // _ONE_us

    def _through_change(self, local_us: Ints, result: Ints, changing: np.ndarray) -> None:
        newest = self.newest_us
        before = 0
        for index in np.flatnonzero(changing).tolist():
            earlier = result[before:index]
            newest = max(newest, int(earlier.max()) if len(earlier) else newest)
            first = microseconds(self._moment(int(local_us[index]), 0))
            second = microseconds(self._moment(int(local_us[index]), 1))
            ran_back = newest - first >= (second - first) / 2 > 0
            result[index] = second if second > newest and ran_back else first
            newest = max(newest, int(result[index]))
            before = index + 1
            if second > first:
                self._say_ambiguous(int(local_us[index]), first, second)
            elif second < first:
                self._say_missing_hour(int(local_us[index]))

    def _say_ambiguous(self, local_us: int, first: int, second: int) -> None:
        hour = (_EPOCH + timedelta(microseconds=local_us)).strftime("%Y-%m-%d %H:00")
        self._counts.note(
            f"local times from {hour} occur twice in {self.zone_name} (summer time ends): the "
            "first reading is taken until the clock runs back, then the second; stamps with "
            "their zone, or in UTC, leave no doubt"
        )

    def _say_missing_hour(self, local_us: int) -> None:
        hour = (_EPOCH + timedelta(microseconds=local_us)).strftime("%Y-%m-%d %H:00")
        self._counts.note(
            f"local times from {hour} do not exist in {self.zone_name} (summer time begins): "
            "taken as if the clock had not yet been put forward; check [input] time_zone"
        )


class WrittenTime:
    """Stamps cell by cell, where the fast reader does not do: rare forms and given formats."""

    def __init__(self, form: str, local: LocalTime | None) -> None:
        self._format = form
        self._local = local
        self._seconds: dict[str, tuple[int, bool]] = {}
        self.zone_lacking = False

    def read(self, cells: Sequence[str | None]) -> Ints:
        """Microseconds UTC of each cell, ``NO_TIME`` where it cannot be read."""
        times = np.full(len(cells), NO_TIME, np.int64)
        naive = np.zeros(len(cells), bool)
        for index, cell in enumerate(cells):
            if cell is None:
                continue
            found = self._one(cell.strip())
            if found is not None:
                times[index], naive[index] = found
        if naive.any():
            if self._local is None:
                self.zone_lacking = True
                times[naive] = NO_TIME
            else:
                times = self._in_order(times, naive, self._local)
        return times

    @staticmethod
    def _in_order(times: Ints, naive: np.ndarray, local: LocalTime) -> Ints:
        if naive.all():
            return local.to_utc(times)
        times[naive] = local.to_utc(times[naive])
        return times

    def _one(self, text: str) -> tuple[int, bool] | None:
        """Microseconds, and whether they are local (no zone in the text)."""
        rounding = 0
        long = _LONG_FRACTION.search(text)
        if long:
            rounding = int(long[2][0] >= "5")
            text = text[: long.end(1)] + text[long.end() :]
        try:
            if self._format:
                time_us, local = self._by_format(text)
            else:
                time_us, local = _count(datetime.fromisoformat(text))
        except (ValueError, OverflowError):
            return None
        return time_us + rounding, local

    def _by_format(self, text: str) -> tuple[int, bool]:
        """By the declared format; whole seconds are remembered, since a file repeats them."""
        fraction_us = 0
        if self._format.endswith((".%f", ",%f")):
            cut = _digits_from(text)
            text, digits = text[:cut] + "0", text[cut:]
            fraction_us = int(digits.ljust(6, "0"))
        known = self._seconds.get(text)
        if known is None:
            moment = datetime.strptime(text, self._format)  # noqa: DTZ007 -- zone comes later
            known = _count(moment)
            if len(self._seconds) > 100_000:
                self._seconds.clear()
            self._seconds[text] = known
        return known[0] + fraction_us, known[1]


def _digits_from(text: str) -> int:
    """Where the run of digits at the end of a text begins."""
    return len(text.rstrip("0123456789"))


def _count(moment: datetime) -> tuple[int, bool]:
    if moment.tzinfo is None:
        return (moment - _EPOCH) // _ONE_us, True
    return microseconds(moment), False


def counted_times(numbers: np.ndarray, unit_s: float, start_us: int) -> Ints:
    """Stamps written as numbers from a start, rounded to whole microseconds."""
    scaled = np.rint(numbers * (unit_s * 1e6))
    usable = np.isfinite(scaled) & (np.abs(scaled) < 4e18)
    times = np.full(len(numbers), NO_TIME, np.int64)
    times[usable] = scaled[usable].astype(np.int64) + start_us
    return times


def is_local(text: str) -> bool:
    """Whether a text is an ISO 8601 time without a zone."""
    try:
        return datetime.fromisoformat(text.strip()).tzinfo is None
    except ValueError:
        return False


def zone_missing(file: str, line: int, column: str, value: str, *, foreign: bool) -> InputError:
    """Refuse stamps without a zone, and say where to declare it."""
    mend = ZONE_MEND
    if foreign:
        mend += f', or [input.columns] "{column}" = {{ channel = "time", zone = "UTC" }}'
    what = "the time has no zone and none is declared"
    return InputError(message(file, what, line=line, column=column, value=value, mend=mend))


def shown_time(time_us: int) -> str:
    """Write a stamp for messages, also one that no calendar has."""
    try:
        return iso_utc(time_us)
    except OverflowError:
        return f"{time_us / 1e6:.6f} s from 1970"
