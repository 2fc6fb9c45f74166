"""Opaque names that travel through the core unopened."""

from typing import NamedTuple, NewType

#: Where an input came from, e.g. "Observation/scr-2". The core carries it and never parses it.
Origin = NewType("Origin", str)


class Label(NamedTuple):
    """A security label of an input, as it was sent; results carry it and no rule reads it."""

    system: str
    code: str
    display: str = ""
