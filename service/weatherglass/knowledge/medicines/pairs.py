"""Named pairs of medicines that are dangerous together, and the same medicine or class twice.

The rows stand in `pairs.toml` and name their groups in `groups.toml`. The list is not complete and
says so wherever it speaks: a pair that is not in it was not looked for.
"""

from datetime import timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, TableError, toml_members
from weatherglass.knowledge.medicines.groups import Members, Who
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.model.clauses import Share, Window
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "medicine-pairs"


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
    GLUCOSE_BELOW_6 = "a glucose below 6.0 in the last day"


INR_OF_THE_RANGE: Final = Share(
    value=Decimal("2.0"), source=our_choice("an INR of 2.0 or more is taken to be in its range or above")
)
STOMACH_OF_THE_OLD: Final = Share(
    value=Decimal(65),
    source=our_choice("below 65 an NSAID of days beside a preventive dose is common after operations"),
)
LOW_NORMAL_POTASSIUM: Final = Share(
    value=Decimal("4.0"), source=our_choice("a potassium below 4.0 leaves room for what raises it")
)
NEAR_LOW_GLUCOSE: Final = Share(
    value=Decimal("6.0"), source=our_choice("a glucose below 6.0 leaves little room where it goes on falling")
)
SLOW_FOR_A_PAIR: Final = Share(
    value=Decimal(11),
    source=our_choice("at 11 breaths or less two medicines that slow breathing are no routine, awake or not"),
)
LONG_FOR_A_PAIR: Final = Share(
    value=Decimal(480),
    source=our_choice("from a QTc of 480 ms two medicines that lengthen it are no routine"),
)
FRESH_CORONARY_FOR: Final = Window(
    length=timedelta(days=8),
    source=our_choice("in the first 8 days of a coronary syndrome an injected anticoagulant belongs to it"),
)
FRESH_CLOT_FOR: Final = Window(
    length=timedelta(days=92), source=our_choice("a clot is under treatment for three months at least")
)
INR_DUE: Final = Window(
    length=timedelta(days=3),
    source=our_choice("beside what raises it an INR of 3.0 or less waits for the third day of both"),
)
INR_ABOVE_USUAL: Final = Share(
    value=Decimal("3.0"), source=our_choice("an INR above 3.0 beside what raises it is not yet settled")
)
INR_CLIMBS_BY: Final = Share(
    value=Decimal("0.5"), source=our_choice("an INR climbs where it is 0.5 above an earlier one of two weeks")
)
INR_COMPARED_WITHIN: Final = Window(
    length=timedelta(days=14),
    source=our_choice("whether an INR climbs is asked of the two weeks before it"),
)
BEGUN_LATELY: Final = Window(
    length=timedelta(weeks=8),
    source=our_choice("a medicine counts as newly begun for eight weeks, in which severe rashes come"),
)
BEGUN_HERE_AFTER: Final = Window(
    length=timedelta(days=1),
    source=our_choice("what was ordered within a day of coming in may have been taken before"),
)
FIRST_EVERY_OTHER_DAY: Final = Share(
    value=Decimal(25), source=our_choice("lamotrigine on valproate begins with 25 mg every other day")
)
LEVEL_SETTLES: Final = Window(
    length=timedelta(days=2),
    source=our_choice("a level that is in order two days after both began speaks for the doses as they are"),
)


_CIRCUMSTANCES: Final = frozenset(
    each.value for kind in (PairCircumstance, Circumstance, Trigger) for each in kind
)


class Pair(Columns, frozen=True, kw_only=True):
    """One pair.

    Attributes:
        key: Stable key.
        one: The first medicine.
        other: The second; None where two lines of one group make it.
        same: Whether one ingredient on two lines makes it: never, too, only that, only in one dose of a day,
            only into a vein and by mouth, only by two names.
        acts_on: Whether one of them makes it for a time after it has ended (`washouts`).
        ended: Whether it is the end of the first, of late, that makes it.
        above: The daily dose of the first, in milligrams, above which it speaks; None for any.
        below: The daily dose of the first, in milligrams, from which it is silent; None for any.
        harm: What they do together, which the few words name.
        asks: What the sentence goes on with; empty where that says it all.
        urgency: How soon somebody should look.
        against: Which of the two is not to be pushed.
        only_when: Silent unless one of these holds.
        silent_when: What is said elsewhere where one of these holds.
        worse_when: What makes it a step more urgent.
        calm_when: What makes it routine.
        said_by: Keys of pairs and combinations that say it already where they name the same orders.
        sources: Where it is stated, the first one first.
    """

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
        """Refuse a pair without a medicine, words or a source, and a circumstance that is none.

        Raises:
            TableError: If it is one.
        """
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
URGENCY_SOURCE: Final = our_choice(
    "how urgent a pair is follows the harm its source names; a step less where one is only reported as taken"
)
