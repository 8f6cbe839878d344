"""The screens over a real record."""
