"""What can go wrong at the command line, and the exit code it means."""


class UsageError(Exception):
    """The command was used wrongly: exit code 2."""


class RunError(Exception):
    """The command failed while running: exit code 1."""
