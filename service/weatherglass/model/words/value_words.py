"""How values and limits are said: the number, or what is known of it, and its unit."""

from collections.abc import Callable
from decimal import Decimal

from weatherglass.model.numbers.quantities import plain, unit_words
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Compare, Cutoff


def number_words(
    one: Measurement,
    write: Callable[[Decimal], str] = plain,
    *,
    below: str = "below",
    above: str = "above",
) -> str:
    """Say the number: '4.1', 'below 4', 'above 6', or '79 or 97' where nobody can choose between two."""
    if one.spread is None:
        return write(one.value)
    low, high = one.spread
    if low is not None and high is not None:
        return f"{write(low)} or {write(high)}"
    return f"{below if low is None else above} {write(one.value)}"


def named_value(signal: Signal, one: Measurement, write: Callable[[Decimal], str] = plain) -> str:
    """Say it with the name of the signal: 'lactate 3.2 mmol/L'."""
    return f"{signal.label} {value_words(signal, one, write)}"


def value_words(signal: Signal, one: Measurement, write: Callable[[Decimal], str] = plain) -> str:
    """Say the number with its unit: '79 %', 'below 1.1 mmol/L'."""
    return f"{number_words(one, write)} {unit_words(signal.unit)}".rstrip()


_COMPARED = {
    Compare.AT_LEAST: "{} or more",
    Compare.ABOVE: "above {}",
    Compare.AT_MOST: "{} or less",
    Compare.BELOW: "below {}",
}


def limit_words(cutoff: Cutoff, write: Callable[[Decimal], str] = str, *, with_unit: bool = True) -> str:
    """Write a limit as it is said: '90 mmHg or less', 'above 40 mmHg'; its number as printed."""
    unit = unit_words(cutoff.limit.unit) if with_unit else ""
    return _COMPARED[cutoff.compare].format(f"{write(cutoff.limit.value)} {unit}".rstrip())


def plain_answer(answer: object) -> str:
    """Say a coded answer: 'new confusion', 'non-blanching rash'."""
    return str(answer).replace("-", " ").replace("non ", "non-")
