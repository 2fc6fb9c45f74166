"""Doses and refusals of single medicines by a kidney function that is low and stable.

The rows stand in `kidney_limits.toml`. Which measure a row asks for is printed with it: eGFR for most,
Cockcroft-Gault with the actual weight for anticoagulants and what is narrow or harms the kidney, and
for everything from 75 years on or at an extreme weight. Long-term dialysis counts as the lowest band.

Left out, with reasons:
    SGLT2 inhibitors: not held for a low eGFR alone. Renin-angiotensin blockers that are taken: a limit of
    30 was rejected by the panel of STOPP 3. Flucloxacillin, metronidazole, doxycycline, ceftriaxone and oral
    amoxicillin: no change. Metformin has rules of its own. Doses of children.
"""

from decimal import Decimal
from typing import Final, Literal

from weatherglass.knowledge.data_files import Columns, TableError, publication, toml_members
from weatherglass.knowledge.medicines.groups import OfMedicines
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, RestartPlan, Trigger
from weatherglass.model.numbers.quantities import Quantity, Unit
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain, replace
from weatherglass.model.sources import Source, our_choice
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.scores import UrgencyWord

PUBLIC_KEY: Final = "kidney-limits"

_RENAL_PRESCRIBING: Final = publication("mhra-dsu")
#: From this age, or below or above these body mass indices, Cockcroft-Gault comes before an eGFR.
MEASURE_SOURCE: Final = _RENAL_PRESCRIBING.at("October 2019, prescribing medicines in renal impairment")
CLEARANCE_FROM_AGE: Final = 75
CLEARANCE_BELOW_BMI: Final = Decimal(18)
CLEARANCE_ABOVE_BMI: Final = Decimal(40)
WEIGHT_SOURCE: Final = our_choice("Cockcroft-Gault is worked out with the newest actual weight")
DIALYSIS_SOURCE: Final = our_choice("long-term dialysis counts as the lowest band of each medicine")


class BandRow(Columns, frozen=True):
    """One band as it is written: of a function below a number, or of one at most."""

    action: Action
    says: str
    below: Decimal | None = None
    at_most: Decimal | None = None
    max_daily_mg: Decimal | None = None
    only_if_known: bool = False
    soon: UrgencyWord | None = None
    unless: tuple[Circumstance, ...] = ()


class Band(Plain, frozen=True, kw_only=True):
    """One band of function.

    Attributes:
        cutoff: When it is met.
        rule: What is then suggested.
        if_too_much: The same where the written dose is above `max_daily_mg`.
        in_injury: The same in stages 2 and 3 of an injury; None where that has rules of its own.
        max_daily_mg: The highest daily dose that is in order; None where no dose is named.
        only_if_known: Whether it is silent unless the written dose is above it.
    """

    cutoff: Cutoff
    rule: MedicineRule
    if_too_much: MedicineRule
    in_injury: MedicineRule | None
    max_daily_mg: Decimal | None
    only_if_known: bool
    source: Source


class KidneyLimit(OfMedicines, frozen=True, kw_only=True, dict=True):
    """The bands of one medicine, the lowest first; its columns are explained in `kidney_limits.toml`."""

    key: str
    by: Literal["clearance", "rate"]
    bands: tuple[BandRow, ...]
    sources: tuple[Source, ...]
    narrow: bool = False
    in_injury: bool = False
    measured_in_injury: bool = False
    route: Literal["", "vein", "mouth"] = ""
    unless: tuple[Circumstance, ...] = ()
    only_when: tuple[Circumstance, ...] = ()
    only_drafts: bool = False
    dialysis: str = ""

    @cached_property
    def limits(self) -> tuple[Band, ...]:
        """The bands, each with what is suggested in it."""
        return tuple(_band(self, band) for band in self.bands)


_HELD_UNTIL: Final = RestartPlan(conditions=("the kidneys are steadily back above that limit",))


def _band(row: KidneyLimit, band: BandRow) -> Band:
    limit = band.below if band.below is not None else band.at_most
    if limit is None or (band.below is not None and band.at_most is not None):
        raise TableError(f"kidney_limits.toml, [{row.key}]: a band is either below or at most a number.")
    unit = Unit.MILLILITRE_PER_MINUTE if row.by == "clearance" else Unit.EGFR
    compare = Compare.BELOW if band.below is not None else Compare.AT_MOST
    usual: UrgencyWord = "prompt" if band.action is Action.HOLD else "routine"
    rule = MedicineRule(
        key=f"kidneys-{row.key}-{limit}",
        trigger=Trigger.LOW_EGFR,
        classes=(),
        medicine=row.medicine,
        action=band.action,
        reason=band.says,
        unless=(*row.unless, *band.unless),
        only_when=row.only_when,
        soon=(band.soon or usual,),
        restart=_HELD_UNTIL if band.action is Action.HOLD else None,
        sources=row.sources,
    )
    return Band(
        cutoff=Cutoff(compare=compare, limit=Quantity(limit, unit), source=row.sources[0]),
        rule=rule,
        if_too_much=replace(rule, key=f"{rule.key}-too-much", soon=("prompt",)),
        in_injury=_in_injury(rule) if row.in_injury and band.action is Action.HOLD else None,
        max_daily_mg=band.max_daily_mg,
        only_if_known=band.only_if_known,
        source=row.sources[0],
    )


def _in_injury(rule: MedicineRule) -> MedicineRule:
    return replace(
        rule,
        key=f"{rule.key}-injury",
        trigger=Trigger.AKI,
        only_when=(Circumstance.AKI_STAGE_2_OR_MORE,),
        soon=(),
        restart=RestartPlan(conditions=("the kidney injury is over and the kidneys are above that limit",)),
    )


def _on_dialysis(rule: MedicineRule) -> MedicineRule:
    """Return a rule for kidneys that do not come back."""
    if rule.restart is None:
        return rule
    back = RestartPlan(conditions=("the renal team has agreed to it",), who="the renal team")
    return replace(rule, key=f"{rule.key}-dialysis", restart=back)


def _asked_on_dialysis(limit: KidneyLimit) -> MedicineRule:
    """Return what is asked on dialysis of a medicine whose refusal does not hold there."""
    return MedicineRule(
        key=f"kidneys-{limit.key}-on-dialysis",
        trigger=Trigger.LOW_EGFR,
        classes=(),
        medicine=limit.medicine,
        action=Action.REVIEW,
        reason=limit.dialysis,
        soon=("routine",),
        sources=(our_choice("a medicine that renal teams choose on dialysis is asked about and not held"),),
    )


#: Every limit, by its medicine.
LIMITS: Final = toml_members("medicines/limits/kidney_limits.toml", KidneyLimit)
#: Where a clearance is asked for and no weight is known.
WEIGHT_NEEDED: Final = MedicineRule(
    key="kidneys-weight-needed",
    trigger=Trigger.LOW_EGFR,
    classes=(),
    medicine="what is dosed by Cockcroft-Gault",
    action=Action.REVIEW,
    reason="Its dose follows the creatinine clearance, for which no weight is recorded.",
    says="Consider weighing the patient before the dose of {0} is judged",
    sources=(MEASURE_SOURCE, our_choice("asked for from 75 years on, with an eGFR below 60")),
)
WEIGHT_NEEDED_BELOW: Final = Cutoff(
    compare=Compare.BELOW, limit=Quantity(Decimal(60), Unit.EGFR), source=WEIGHT_NEEDED.sources[1]
)
#: What is suggested on dialysis in place of a rule that waits for kidneys to come back, by its key.
ON_DIALYSIS: Final = {
    rule.key: _on_dialysis(rule)
    for limit in LIMITS
    for band in limit.limits
    for rule in (band.rule, band.if_too_much)
    if rule.restart is not None
}
#: What is asked on dialysis in place of every band, by the key of the limit.
ASKED_ON_DIALYSIS: Final = {limit.key: _asked_on_dialysis(limit) for limit in LIMITS if limit.dialysis}
#: Every rule that these limits can bring.
RULES: Final = (
    WEIGHT_NEEDED,
    *ASKED_ON_DIALYSIS.values(),
    *ON_DIALYSIS.values(),
    *(
        rule
        for limit in LIMITS
        for band in limit.limits
        for rule in (band.rule, band.if_too_much, band.in_injury)
        if rule is not None
    ),
)
