"""How one result is told: the number, or the interval that is all that is known of it."""

from weatherglass.model.quantities import as_sent, plain
from weatherglass.model.record import Measurement


def as_told(result: Measurement, *, trimmed: bool = True) -> str:
    """Return a result in words: '4.1', '< 4', '> 6.0', '90 or 120'.

    Args:
        result: The result.
        trimmed: Without zeros at the end, as in a sentence; a list keeps the places that were sent.
    """
    if result.spread is None:
        return plain(result.value) if trimmed else as_sent(result.value)
    low, high = result.spread
    if low is None:
        return f"< {as_sent(high)}" if high is not None else as_sent(result.value)
    return f"{as_sent(low)} or {as_sent(high)}" if high is not None else f"> {as_sent(low)}"
