"""The screens: one Dash app over the record. It shows what the record holds and computes nothing."""
