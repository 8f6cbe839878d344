"""The screens: one Dash app over the record, which it shows and never interprets."""
