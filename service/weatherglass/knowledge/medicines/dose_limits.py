"""Written doses that are looked at: too much, too often, too much for a weight, far above another order.

The rows stand in `dose_limits.toml`. Only a dose that the order says as numbers, or in plain words of one
amount and one frequency, is judged. The
conversion of one opioid into another is left out: no table of it could be read.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, cite, toml_rows
from weatherglass.knowledge.medicines.groups import Members, members_of
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, RestartPlan, Trigger
from weatherglass.model.clauses import Share
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record import ConditionKind
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "dose-limits"
LOW_CLEARANCE: Final = Share(
    value=Decimal(30), source=our_choice("below a clearance of 30 mL/min a low dose is taken to be meant")
)
SILENT_SOURCE: Final = our_choice("a dose that cannot be read is not judged, which some rows say")


class Criteria(Columns, frozen=True):
    """Criteria of a lower dose, of which some are asked for.

    Attributes:
        needed: How many.
        age: From this age on, years.
        at_most_kg: Up to this weight.
        creatinine_from: From this creatinine on, umol/L.
    """

    needed: int
    age: int | None = None
    at_most_kg: Decimal | None = None
    creatinine_from: Decimal | None = None

    def __str__(self) -> str:
        """Say them as the row is printed: "2 of: 80 years or more, 60 kg or less"."""
        said = (
            f"{self.age} years or more" if self.age is not None else "",
            f"{self.at_most_kg} kg or less" if self.at_most_kg is not None else "",
            f"creatinine {self.creatinine_from} or more" if self.creatinine_from is not None else "",
        )
        return f"{self.needed} of: {', '.join(filter(None, said))}"


class _Row(Columns, frozen=True):
    who: tuple[str, ...]
    action: Action
    says: str
    soon: UrgencyWord
    sources: tuple[str, ...]
    unit: Literal["mg", "unit"] = "mg"
    max_daily: Decimal | None = None
    too_low_daily: Decimal | None = None
    max_single: Decimal | None = None
    per_kg_daily: Decimal | None = None
    per_kg_single: Decimal | None = None
    into_a_vein: bool = False
    for_hours: int = 0
    two_in_one: bool = False
    unless: tuple[Circumstance, ...] = ()
    first_of: tuple[str, ...] = ()
    least_per_kg_daily: Decimal | None = None
    treats_from: Decimal = Decimal(0)
    most_often: Decimal | None = None
    max_rate: Decimal | None = None
    times_last: Decimal | None = None
    from_age: int = 0
    below_kg: Decimal | None = None
    from_kg: Decimal | None = None
    unless_treated_for_cancer: bool = False
    for_children: bool = False
    summed: bool = False
    with_problem: tuple[ConditionKind, ...] = ()
    without_problem: tuple[ConditionKind, ...] = ()
    criteria: Criteria | None = None
    in_order: tuple[str, ...] = ()
    soon_unwritten: UrgencyWord | None = None


class DoseLimit(Plain, frozen=True, kw_only=True):
    """One limit of a written dose; what is None does not limit.

    Attributes:
        unit: Of `max_daily` and `max_single`: milligrams, or units of insulin.
        too_low_daily: A dose a day that is no more than this is asked about where fewer than the needed
            criteria are met, and none that is not known could make it enough.
        per_kg_daily: Milligrams for each kilogram a day.
        per_kg_single: Milligrams for each kilogram at once.
        into_a_vein: Only where that is the route, which alone is said where the row names no dose.
        for_hours: Only of an order that has stood so long and whose end is not written.
        two_in_one: Only of a line that holds two of these.
        first_of: Only of an order that is not signed yet, where nothing of these was taken before.
        least_per_kg_daily: The same where less is too little, in kidneys that are known to clear it.
        treats_from: The daily dose above which that is asked: up to it, another use is meant.
        most_often: Doses a day.
        max_rate: Millimoles an hour, where the words of an infusion say its rate.
        times_last: How many times the dose of another order of the same medicine.
        from_age: Only from this age on.
        below_kg: Only below this weight.
        from_kg: Only from this weight on, or where none is known.
        unless_treated_for_cancer: Silent where treatment of a cancer is recorded.
        for_children: Only in children; the others speak of adults only.
        summed: Every line of paracetamol counts together, with what is given when needed.
        with_problem: Only where one of these is recorded; always when empty.
        without_problem: Silent where one of these is recorded.
        criteria: Only where enough of these are met.
        in_order: Words of a dose that is not written as numbers, and in order.
        unwritten: The rule where no dose is written as numbers; None where it is then silent.
    """

    key: str
    who: Members
    unit: Literal["mg", "unit"]
    max_daily: Decimal | None
    too_low_daily: Decimal | None
    max_single: Decimal | None
    per_kg_daily: Decimal | None
    per_kg_single: Decimal | None
    into_a_vein: bool
    for_hours: int
    two_in_one: bool
    first_of: Members | None
    least_per_kg_daily: Decimal | None
    treats_from: Decimal
    most_often: Decimal | None
    max_rate: Decimal | None
    times_last: Decimal | None
    from_age: int
    below_kg: Decimal | None
    from_kg: Decimal | None
    unless_treated_for_cancer: bool
    for_children: bool
    summed: bool
    with_problem: frozenset[ConditionKind]
    without_problem: frozenset[ConditionKind]
    criteria: Criteria | None
    in_order: tuple[str, ...]
    rule: MedicineRule
    unwritten: MedicineRule | None
    source: Source


def _limit(key: str, row: _Row) -> DoseLimit:
    sources = tuple(cite(line) for line in row.sources)
    rule = MedicineRule(
        key=f"dose-{key}",
        trigger=Trigger.WRITTEN_DOSE,
        classes=(),
        medicine=" or ".join(row.who),
        action=row.action,
        reason=row.says,
        soon=(row.soon,),
        unless=row.unless,
        restart=RestartPlan(conditions=("the prescriber has written what was meant",))
        if row.action is Action.HOLD
        else None,
        sources=sources,
    )
    return DoseLimit(
        key=key,
        who=members_of(row.who),
        unit=row.unit,
        max_daily=row.max_daily,
        too_low_daily=row.too_low_daily,
        max_single=row.max_single,
        per_kg_daily=row.per_kg_daily,
        per_kg_single=row.per_kg_single,
        into_a_vein=row.into_a_vein,
        for_hours=row.for_hours,
        two_in_one=row.two_in_one,
        first_of=members_of(row.first_of) if row.first_of else None,
        least_per_kg_daily=row.least_per_kg_daily,
        treats_from=row.treats_from,
        most_often=row.most_often,
        max_rate=row.max_rate,
        times_last=row.times_last,
        from_age=row.from_age,
        below_kg=row.below_kg,
        from_kg=row.from_kg,
        unless_treated_for_cancer=row.unless_treated_for_cancer,
        for_children=row.for_children,
        summed=row.summed,
        with_problem=frozenset(row.with_problem),
        without_problem=frozenset(row.without_problem),
        criteria=row.criteria,
        in_order=row.in_order,
        rule=rule,
        unwritten=replace(rule, key=f"{rule.key}-unwritten", soon=(row.soon_unwritten,))
        if row.soon_unwritten
        else None,
        source=sources[0],
    )


DOSE_LIMITS: Final = tuple(
    _limit(key, row) for key, row in toml_rows("medicines/dose_limits.toml", _Row).items()
)
RULES: Final = tuple(rule for each in DOSE_LIMITS for rule in (each.rule, each.unwritten) if rule is not None)
