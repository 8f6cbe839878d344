"""A rig with physics of its own and known truth."""
