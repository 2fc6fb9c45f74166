"""What a caller says of the answer that is written: how much of a review, and who made it."""

from collections.abc import Mapping
from enum import StrEnum

from weatherglass.model.plain import Plain, field

#: Base address of the local code systems where a site publishes them under none of its own.
DEFAULT_BASE = "urn:weatherglass:codes:"


class Detail(StrEnum):
    """How much of a review is written."""

    BRIEF = "brief"  # Scores, stages and the outcome: what ordinary records can store.
    FULL = "full"
    HISTORY = "history"  # Full, and the past scores of the timeline as Observations of their own.


class Stamp(Plain, frozen=True, kw_only=True):
    """What identifies the software and its rules in every answer.

    Attributes:
        software: Version of the software.
        rules: Edition or content hash by rule set.
        code_base: Base address of the local code systems.
    """

    software: str
    rules: Mapping[str, str] = field(default_factory=dict)
    code_base: str = DEFAULT_BASE
