"""What each command does, between its arguments and the modules that do the work."""
