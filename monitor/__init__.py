"""Hook Load Monitor: dead-line tension in, hook load, events and trip sheet out."""

__version__ = "0.1.0"
