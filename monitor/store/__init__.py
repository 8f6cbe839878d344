"""The record: one SQLite file a rig, one writer, many readers."""
