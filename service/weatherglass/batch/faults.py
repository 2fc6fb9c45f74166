"""What ends a run that was used rightly."""


class RunFailedError(Exception):
    """The run failed: nothing was published, and the message holds no values of the input."""
