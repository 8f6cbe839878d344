"""Pure: rows in, chart data or a figure out."""
