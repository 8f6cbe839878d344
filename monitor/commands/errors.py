"""Wrong use of a command, said in one sentence."""


class UseError(Exception):
    """Arguments that cannot be obeyed; exit code 2."""
