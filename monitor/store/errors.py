"""The one error of the record."""

from __future__ import annotations


class StoreError(Exception):
    """The record cannot be opened, written or read; the message says what to do."""
