"""Named pairs of medicines that are dangerous together, and the same medicine or class twice.

The rows stand in `pairs.toml` and name their groups in `groups.toml`. The list is not complete and
says so wherever it speaks: a pair that is not in it was not looked for.
"""

from decimal import Decimal
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, TableError, toml_members
from weatherglass.knowledge.medicines.groups import Members, Who
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "medicine-pairs"
_ROWS: Final = PrintedRows("medicines/pairs-rows", globals())


class PairCircumstance(StrEnum):
    """What a pair asks besides the triggers and circumstances of the rules."""

    INR_BELOW_RANGE = "INR below 2.0"
    INR_IN_RANGE = "INR 2.0 or more"
    INR_SINCE = "INR measured since both began"
    INR_NOT_DUE = "no INR due for 3 days"
    INR_CLIMBING = "INR above 3.0 and climbing"
    POTASSIUM_UNKNOWN = "no potassium of the last 7 days"
    POTASSIUM_LOW_NORMAL = "potassium below 4.0"
    LIVER_DISEASE = "liver disease"
    PREVENTIVE = "anticoagulant at a preventive dose"
    PREVENTIVE_AND_SAFE = "anticoagulant at a preventive dose, stomach protected or below 65"
    FRESH_CORONARY = "injected in a fresh coronary syndrome"
    BY_VEIN = "the second by vein"
    PARACETAMOL_ADDED = "paracetamol of a day added up"
    QTC_480 = "QTc of 480 or more"
    SLOW_BREATHING = "breathing of 11 or less"
    LEVEL_SINCE = "a level in order since both began"
    FIRST_BEGUN = "the first begun within 8 weeks"
    FRESH_CLOT = "a clot of the last 3 months"
    CHILD = "a child"
    GIVEN_ONCE = "one was a single dose, given 12 hours ago"
    GLUCOSE_BELOW_6 = "a glucose below 6.0 in the last day"


_CIRCUMSTANCES: Final = frozenset(
    each.value for kind in (PairCircumstance, Circumstance, Trigger) for each in kind
)


class Pair(Columns, frozen=True, kw_only=True):
    """One pair; its columns are explained in `pairs.toml`."""

    key: str
    one: Who
    other: Who | None = None
    same: Literal["no", "too", "only", "dose", "routes", "names"] = "no"
    acts_on: bool = False
    ended: bool = False
    above: Decimal | None = None
    below: Decimal | None = None
    harm: str
    asks: str = ""
    urgency: UrgencyWord
    against: Literal["one", "other", "either", "neither"]
    only_when: frozenset[str] = frozenset()
    silent_when: frozenset[str] = frozenset()
    worse_when: frozenset[str] = frozenset()
    calm_when: frozenset[str] = frozenset()
    said_by: frozenset[str] = frozenset()
    sources: tuple[Source, ...]

    def __post_init__(self) -> None:
        """Refuse a pair without a medicine, words or a source, and a circumstance that is none."""
        if unknown := (self.only_when | self.silent_when | self.worse_when | self.calm_when) - _CIRCUMSTANCES:
            raise TableError(f"{sorted(unknown)} is no circumstance.")
        if not (self.harm and self.sources) or self.one == Members():
            raise TableError("a medicine, words or a source is missing.")

    @property
    def second(self) -> Members:
        """The second medicine: of the same group where a class stands on the chart twice."""
        return self.other if self.other is not None else self.one

    @property
    def says(self) -> str:
        """What the reader sees after the names."""
        return f"{self.harm}: {self.asks}" if self.asks else f"{self.harm}."


#: Every pair, in the order of the file; what `said_by` names comes before it.
PAIRS: Final = toml_members("medicines/pairs.toml", Pair)
