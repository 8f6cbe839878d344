"""The Dash app over the record."""
