"""Named pairs of medicines that are dangerous together, and the same medicine or class twice.

The rows stand in `pairs.toml` and name their groups in `groups.toml`. The list is not complete and
says so wherever it speaks: a pair that is not in it was not looked for.
"""

from decimal import Decimal
from enum import StrEnum
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, TableError, cite, toml_rows
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.model.clauses import Share
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "medicine-pairs"

Against = Literal["one", "other", "either", "neither"]
#: Whether one ingredient on two lines makes the pair: never, too, or only that.
Same = Literal["no", "too", "only"]


class PairCircumstance(StrEnum):
    """What a pair asks besides the triggers and circumstances of the rules."""

    INR_BELOW_RANGE = "INR below 2.0"
    INR_IN_RANGE = "INR 2.0 or more"
    INR_SINCE = "INR measured since both began"
    POTASSIUM_UNKNOWN = "no potassium of the last 7 days"
    POTASSIUM_LOW_NORMAL = "potassium below 4.0"
    STOMACH_UNPROTECTED = "no stomach protection on the chart"
    LIVER_DISEASE = "liver disease"
    PREVENTIVE = "anticoagulant at a preventive dose"
    BY_VEIN = "the second by vein"
    PARACETAMOL_ADDED = "paracetamol of a day added up"
    QTC_480 = "QTc of 480 or more"


INR_OF_THE_RANGE: Final = Share(
    value=Decimal("2.0"), source=our_choice("an INR of 2.0 or more is taken to be in its range or above")
)
LOW_NORMAL_POTASSIUM: Final = Share(
    value=Decimal("4.0"), source=our_choice("a potassium below 4.0 leaves room for what raises it")
)
LONG_FOR_A_PAIR: Final = Share(
    value=Decimal(480),
    source=our_choice("from a QTc of 480 ms two medicines that lengthen it are no routine"),
)
INR_ABOVE_USUAL: Final = Share(
    value=Decimal("3.0"), source=our_choice("an INR above 3.0 beside what raises it is not yet settled")
)


class _Row(Columns, frozen=True):
    one: tuple[str, ...]
    harm: str
    urgency: UrgencyWord
    against: Against
    sources: tuple[str, ...]
    asks: str = ""
    other: tuple[str, ...] = ()
    same: Same = "no"
    above: Decimal | None = None
    only_when: tuple[str, ...] = ()
    silent_when: tuple[str, ...] = ()
    worse_when: tuple[str, ...] = ()
    calm_when: tuple[str, ...] = ()
    said_by: tuple[str, ...] = ()


class Pair(Plain, frozen=True, kw_only=True):
    """One pair.

    Attributes:
        key: Stable key.
        one: The first medicine.
        other: The second; the same group again where a class stands on the chart twice.
        is_twice: Whether two lines of one group make it.
        same: Whether the same ingredient twice makes it.
        above: The daily dose of the first, in milligrams, above which it speaks; None for any.
        harm: What they do together, which the few words name.
        asks: What the sentence goes on with; empty where that says it all.
        urgency: How soon somebody should look.
        against: Which of the two is not to be pushed.
        only_when: Silent unless one of these holds.
        silent_when: What is said elsewhere where one of these holds.
        worse_when: What makes it a step more urgent.
        calm_when: What makes it routine.
        said_by: Keys of pairs and combinations that say it already where they name the same orders.
        source: Where it is stated first.
        sources: Everywhere.
    """

    key: str
    one: Members
    other: Members
    is_twice: bool
    same: Same
    above: Decimal | None
    harm: str
    asks: str
    urgency: UrgencyWord
    against: Against
    only_when: frozenset[str]
    silent_when: frozenset[str]
    worse_when: frozenset[str]
    calm_when: frozenset[str]
    said_by: frozenset[str]
    source: Source
    sources: tuple[Source, ...]

    @property
    def says(self) -> str:
        """What the reader sees after the names."""
        return f"{self.harm}: {self.asks}" if self.asks else f"{self.harm}."


_CONDITIONS: Final = frozenset(
    each.value for kind in (PairCircumstance, Circumstance, Trigger) for each in kind
)


def _pair(key: str, row: _Row) -> Pair:
    asked = frozenset((*row.only_when, *row.silent_when, *row.worse_when, *row.calm_when))
    if unknown := asked - _CONDITIONS:
        raise TableError(f"pairs.toml, [{key}]: {sorted(unknown)} is no circumstance.")
    if not (row.one and row.harm and row.sources):
        raise TableError(f"pairs.toml, [{key}]: a medicine, words or a source is missing.")
    one = members_of(row.one)
    sources = tuple(cite(line) for line in row.sources)
    return Pair(
        key=key,
        one=one,
        other=members_of(row.other) if row.other else one,
        is_twice=not row.other,
        same=row.same,
        above=row.above,
        harm=row.harm,
        asks=row.asks,
        urgency=row.urgency,
        against=row.against,
        only_when=frozenset(row.only_when),
        silent_when=frozenset(row.silent_when),
        worse_when=frozenset(row.worse_when),
        calm_when=frozenset(row.calm_when),
        said_by=frozenset(row.said_by),
        source=sources[0],
        sources=sources,
    )


#: Every pair, in the order of the file; what `said_by` names comes before it.
PAIRS: Final = tuple(_pair(key, row) for key, row in toml_rows("medicines/pairs.toml", _Row).items())
URGENCY_SOURCE: Final = our_choice(
    "how urgent a pair is follows the harm its source names; a step less where one is only reported as taken"
)
