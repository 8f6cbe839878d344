"""What was normal before, on the report's page: weights trip by trip, places seen tight."""

from __future__ import annotations

from monitor.report.material import Material
from monitor.report.page_parts import table
from monitor.report.wording import bare, day_and_time, unit
from monitor.review.history import TripWeights, last_trips, seen_tight
from monitor.review.spell import Spell
from monitor.review.stands import SAME_PLACE_M, WAYS
from monitor.units import NO_VALUE, format_value


def trips_part(material: Material, display: str) -> str:
    """Moving weights against expected over the last trips of the record, this one included."""
    trips = last_trips([*material.earlier_trip_rows, *material.trip_rows])
    title = "<h2>Weights against expected, trip by trip</h2>"
    if not trips:
        return title + "<p>No trip of three stands or more in this record.</p>"
    load, depth = unit("force", display), unit("length", display)
    head = (
        "From", "Stands", f"bit from<br>{depth}", f"to<br>{depth}", f"usually off<br>{load}",
        f"furthest off<br>{load}", f"there<br>{depth}", f"greatest<br>overpull, {load}",
        f"greatest<br>slack-off, {load}",
    )  # fmt: skip
    note = (
        "<p class='note'>Moving weight of each stand less what was expected before it moved: "
        "the median, and the stand furthest off. A trip that is always heavier out of hole or "
        "lighter into it than expected has more drag than the trip before.</p>"
    )
    return title + table(head, [_trip(trip, display) for trip in trips], words=(0, 1)) + note


def _trip(trip: TripWeights, display: str) -> tuple[str, ...]:
    way = WAYS.get(trip.direction, trip.direction)
    return (
        day_and_time(trip.start_us),
        f"{trip.first_stand} to {trip.last_stand}, {way}",
        bare(trip.from_m, "length", display),
        bare(trip.to_m, "length", display),
        _signed(trip.median_off_N, display),
        _signed(trip.greatest_off_N, display),
        bare(trip.greatest_off_depth_m, "length", display),
        bare(trip.greatest_overpull_N, "force", display),
        bare(trip.greatest_slack_off_N, "force", display),
    )


def _signed(value_N: float, display: str) -> str:
    text = bare(abs(value_N), "force", display)
    if text == NO_VALUE or not text.strip("0."):
        return text
    return ("+" if value_N > 0.0 else "−") + text


def seen_tight_part(material: Material, spell: Spell, display: str) -> str:
    """Where the string was tight before with the bit near where it stuck."""
    near = format_value(SAME_PLACE_M, "length", display)
    title = f"<h3>Tight before within {near} of where it stuck</h3>"
    events = [*material.earlier_events, *material.events]
    spots = seen_tight(events, spell.event.bit_depth_m, spell.event.start_us)
    if not spots:
        return f"{title}<p>Nothing in this record.</p>"
    load, depth = unit("force", display), unit("length", display)
    head = ("When, UTC", "", f"bit<br>{depth}", f"of<br>{load}", f"load<br>{load}")
    rows = [
        (
            day_and_time(spot.event.start_us),
            spot.event.kind.replace("_", "-"),
            bare(spot.event.bit_depth_m, "length", display),
            bare(spot.event.peak_excess_N, "force", display),
            bare(spot.event.peak_hook_load_N, "force", display),
        )
        for spot in spots
    ]
    return title + table(head, rows, words=(0, 1), style_name="narrow")
