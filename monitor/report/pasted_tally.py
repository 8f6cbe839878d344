"""A pipe tally pasted on a page: the text of the act that gives it."""

from __future__ import annotations

from monitor.ingest.errors import InputError as InputError
from monitor.ingest.tally import tally_of
from monitor.interpret.tally import NO_TALLY, tally_text

WHERE = "the tally"


def pasted_tally(text: str, unit: str) -> str:
    """Text of the act; InputError names every line that is no joint.

    Either the form of TALLY.csv with its header, or rows of a number and a length, or of a
    length alone, in ``unit``.
    """
    text = text.strip()
    if text == NO_TALLY:
        return NO_TALLY
    first, header = text.partition("\n")[0], ""
    if not any(letter.isalpha() for letter in first):
        separator = next((mark for mark in ";\t," if mark in first), "")
        header = separator.join(["joint"] * bool(separator) + [f"length [{unit}]"])
    return tally_text(tally_of(text.encode("utf-8"), WHERE, header))
