"""Written doses that are looked at: too much, too often, too much for a weight, far above another order.

The rows stand in `dose_limits.toml`. Only a dose that the order says as numbers, or in plain words of one
amount and one frequency, is judged. The
conversion of one opioid into another is left out: no table of it could be read.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines, Who
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, RestartPlan, Trigger
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.once import cached_property
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "dose-limits"
_ROWS: Final = PrintedRows("medicines/limits/dose-limits-rows", globals())
SILENT_SOURCE: Final = our_choice("a dose that cannot be read is not judged, which some rows say")


class Criteria(Columns, frozen=True):
    """Criteria of a lower dose, of which some are asked for."""

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


class DoseLimit(OfMedicines, frozen=True, kw_only=True, dict=True):
    """One limit of a written dose; what is None does not limit.

    Its columns are explained in `dose_limits.toml`.
    """

    key: str
    action: Action
    says: str
    soon: UrgencyWord
    sources: tuple[Source, ...]
    unit: Literal["mg", "unit", "mL", "tablet"] = "mg"
    max_daily: Decimal | None = None
    too_low_daily: Decimal | None = None
    max_single: Decimal | None = None
    per_kg_daily: Decimal | None = None
    per_kg_single: Decimal | None = None
    into_a_vein: bool = False
    not_into_a_vein: bool = False
    written: str = ""
    for_hours: int = 0
    two_in_one: bool = False
    awake: bool = False
    two_doses: bool = False
    given_more: bool = False
    unless: tuple[Circumstance, ...] = ()
    first_of: Who | None = None
    least_per_kg_daily: Decimal | None = None
    treats_from: Decimal = Decimal(0)
    most_often: Decimal | None = None
    max_rate: Decimal | None = None
    max_hourly: Decimal | None = None
    once_into_a_vein: bool = False
    times_last: Decimal | None = None
    from_age: int = 0
    below_kg: Decimal | None = None
    from_kg: Decimal | None = None
    unless_treated_for_cancer: bool = False
    for_children: bool = False
    summed: bool = False
    with_problem: frozenset[ConditionKind] = frozenset()
    without_problem: frozenset[ConditionKind] = frozenset()
    criteria: Criteria | None = None
    in_order: tuple[str, ...] = ()
    soon_unwritten: UrgencyWord | None = None

    @cached_property
    def rule(self) -> MedicineRule:
        """What is suggested."""
        return MedicineRule(
            key=f"dose-{self.key}",
            trigger=Trigger.WRITTEN_DOSE,
            classes=(),
            medicine=self.medicine,
            action=self.action,
            reason=self.says,
            soon=(self.soon,),
            unless=self.unless,
            restart=_WRITTEN_ANEW if self.action is Action.HOLD else None,
            sources=self.sources,
        )

    @cached_property
    def unwritten(self) -> MedicineRule | None:
        """The rule where no dose is written as numbers; None where it is then silent."""
        if self.soon_unwritten is None:
            return None
        return replace(self.rule, key=f"{self.rule.key}-unwritten", soon=(self.soon_unwritten,))


_WRITTEN_ANEW: Final = RestartPlan(conditions=("the prescriber has written what was meant",))
DOSE_LIMITS: Final = toml_members("medicines/limits/dose_limits.toml", DoseLimit)
RULES: Final = tuple(rule for each in DOSE_LIMITS for rule in (each.rule, each.unwritten) if rule is not None)
