"""Opaque names that travel through the core unopened."""

from typing import NewType

#: Where an input came from, e.g. "Observation/scr-2". The core carries it and never parses it.
Origin = NewType("Origin", str)
