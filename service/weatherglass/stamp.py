"""The software stamp that every door puts on its answers."""

from functools import cache

from weatherglass import __version__
from weatherglass.fhir.writing.frame.detail import DEFAULT_BASE, Stamp
from weatherglass.review.catalogue import rule_sets


@cache
def stamp(code_base: str = DEFAULT_BASE) -> Stamp:
    """Return the stamp of this software and its rule sets."""
    return Stamp(software=__version__, rules=rule_sets(), code_base=code_base)
