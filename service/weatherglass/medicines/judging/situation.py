"""What the drug chart is judged against: the triggers that are met and the circumstances.

Worked out once for a patient, and only where there is a chart to judge.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line
from weatherglass.facts.newborn import is_newborn
from weatherglass.facts.series.limits_met import Met, surely
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.medicine_classes import PROTECTS_THE_STOMACH, MedicineClass
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.medicines.rules.circumstances import CIRCUMSTANCES, CircumstanceRow
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP, IN_LAST_DAYS
from weatherglass.knowledge.medicines.rules.triggers import TRIGGERS
from weatherglass.knowledge.medicines.time_critical import BASAL_INSULIN
from weatherglass.medicines.triggers.illness import illness_triggers, infection_in_hospital
from weatherglass.medicines.triggers.kidneys import kidney_triggers, rate_below_since, rate_now
from weatherglass.medicines.triggers.measured.laboratory import acidosis_triggers, laboratory_triggers
from weatherglass.medicines.triggers.measured.results import (
    POTASSIUM_BY_GRADE,
    result_triggers,
    worse_potassium,
)
from weatherglass.medicines.triggers.met import MetTrigger, since_beyond
from weatherglass.medicines.triggers.operations import operation_triggers
from weatherglass.medicines.triggers.recorded import drowsy_after_thrombolysis, head_injury, recorded_triggers
from weatherglass.medicines.triggers.vital_signs import vital_triggers
from weatherglass.model.plain import Plain, replace
from weatherglass.model.record.care import DirectiveKind, ProcedureKind
from weatherglass.model.record.medicines import PARENTERAL, Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import earliest

_STEROIDS = frozenset({MedicineClass.GLUCOCORTICOID.value, MedicineClass.MINERALOCORTICOID.value})
_LOWERS_GLUCOSE = frozenset(
    {MedicineClass.INSULIN.value, MedicineClass.SULFONYLUREA.value, MedicineClass.GLINIDE.value}
)
_REVERSING = members_of(["reverses-anticoagulants"]).anywhere
_NITRATES = frozenset({MedicineClass.NITRATE.value, MedicineClass.NICORANDIL.value})
#: Circumstances that a line of these classes makes.
_BY_CLASS = (
    (Circumstance.NITRATE_ON_CHART, _NITRATES),
    (Circumstance.GLUCOSE_LOWERED, _LOWERS_GLUCOSE),
    (Circumstance.STOMACH_PROTECTED, PROTECTS_THE_STOMACH),
)
_ASKED_BY_NOTES = tuple(dict.fromkeys(each for entry in DO_NOT_STOP for each in entry.when))


class Applying(Plain, frozen=True):
    """A circumstance that applies: since when, as far as that is known, and what says so."""

    since: datetime | None = None
    origins: tuple[Origin, ...] = ()


_Applies = tuple[Circumstance, Applying]


class Situation(Plain, frozen=True):
    """What is the matter with a patient, as far as the rules ask.

    Attributes:
        triggers: Their names, in the order of `met`.
        applies: The circumstances that apply.
        unconfirmed: Problems that nobody has confirmed, by the circumstance they would make.
        person: What has to be known of the person beside every suggestion.
        for_notes: The circumstances that the do-not-stop list asks for.
        together: What several that are met come to, kept while the chart is gone through.
    """

    met: Mapping[Trigger, MetTrigger]
    triggers: tuple[Trigger, ...]
    applies: Mapping[Circumstance, Applying]
    unconfirmed: Mapping[Circumstance, Condition]
    person: tuple[str, ...]
    for_notes: tuple[Circumstance, ...]
    together: dict[tuple[int, ...], Any]


def situation_of(bedside: Bedside) -> Situation:
    """Work out the triggers and circumstances of a patient."""
    all_met = {
        met.trigger: met
        for several in (
            kidney_triggers(bedside),
            result_triggers(bedside),
            acidosis_triggers(bedside),
            vital_triggers(bedside),
            illness_triggers(bedside),
            recorded_triggers(bedside),
            laboratory_triggers(bedside),
            operation_triggers(bedside),
        )
        for met in several
    }
    for further in (
        head_injury(bedside, all_met),
        drowsy_after_thrombolysis(all_met),
        infection_in_hospital(bedside, all_met),
    ):
        if further is not None:
            all_met[further.trigger] = further
    acute = [met for met in all_met.values() if TRIGGERS[met.trigger].acute and not met.doubt]
    if acute:
        all_met[Trigger.ANY] = _any_of(acute)
    applies: dict[Circumstance, Applying] = {}
    unconfirmed: dict[Circumstance, Condition] = {}
    _from_problems(bedside, applies, unconfirmed)
    applies.update(_measured(bedside, all_met))
    applies.update(_on_chart(bedside, applies))
    for_notes = tuple([each for each in _ASKED_BY_NOTES if each in applies])
    return Situation(all_met, tuple(all_met), applies, unconfirmed, tuple(_person(bedside)), for_notes, {})


def _person(bedside: Bedside) -> Iterator[str]:
    if bedside.is_below(timing.ADULT_LIMITS):
        yield timing.FOR_ADULTS.text
    if bedside.is_pregnant_or_recently:
        yield timing.IN_PREGNANCY.text
    if bedside.directives(DirectiveKind.END_OF_LIFE):
        yield IN_LAST_DAYS.text


def _any_of(acute: list[MetTrigger]) -> MetTrigger:
    worst = max(acute, key=lambda met: (met.grade, met.trigger is Trigger.AKI))
    return replace(
        worst, trigger=Trigger.ANY, since=earliest(met.since for met in acute), grade=0, cautions=()
    )


# Problems and procedures


def _from_problems(
    bedside: Bedside, applies: dict[Circumstance, Applying], unconfirmed: dict[Circumstance, Condition]
) -> None:
    by_kind: dict[ConditionKind, list[Condition]] = {}
    for condition in bedside.record.conditions:
        for kind in condition.kinds:
            by_kind.setdefault(kind, []).append(condition)
    done: dict[ProcedureKind, list[Origin]] = {}
    for procedure in bedside.record.procedures:
        if not procedure.requested:
            for each in procedure.kinds:
                done.setdefault(each, []).append(procedure.origin)
    came = bedside.record.admitted_with()
    if not by_kind and not done and not came:
        return
    for row in CIRCUMSTANCES:
        found = [c for kind in row.problems for c in by_kind.get(kind, ()) if _counts(row, c, bedside.as_of)]
        found = found or [
            c for c in came if not c.kinds.isdisjoint(row.problems) and _goes_on(row, c, bedside)
        ]
        sure = [c for c in found if c.confirmed]
        origins = [c.origin for c in sure] + [o for each in row.procedures for o in done.get(each, ())]
        if origins:
            applies[row.key] = Applying(earliest(c.began for c in sure), tuple(dict.fromkeys(origins)))
        elif found:
            unconfirmed[row.key] = found[0]


def _goes_on(row: CircumstanceRow, came_with: Condition, bedside: Bedside) -> bool:
    if row.within is None:
        return True
    first_days = min(row.within, timing.CAME_WITH_FOR.length)
    return came_with.may_have_begun_within(first_days, bedside.as_of)


def _counts(row: CircumstanceRow, condition: Condition, as_of: datetime) -> bool:
    if not (condition.active or row.lasts):
        return False
    return row.within is None or condition.may_have_begun_within(row.within, as_of)


# What is measured


def _measured(bedside: Bedside, all_met: Mapping[Trigger, MetTrigger]) -> Iterator[_Applies]:
    for trigger, circumstance in (
        (Trigger.HYPOTENSION, Circumstance.HYPOTENSION),
        (Trigger.BRADYCARDIA, Circumstance.BRADYCARDIA),
        (Trigger.BLEEDING, Circumstance.BLEEDING),
        (Trigger.CRITICAL_BLEEDING, Circumstance.CRITICAL_BLEEDING),
        (Trigger.CONTRAST_PLANNED, Circumstance.CONTRAST_PLANNED),
        (Trigger.AKI, Circumstance.AKI),
        (Trigger.MUSCLE_BREAKDOWN, Circumstance.MUSCLE_BREAKDOWN),
        (Trigger.HYPOGLYCAEMIA, Circumstance.LOW_GLUCOSE),
    ):
        met = all_met.get(trigger)
        if met is not None and not met.doubt:
            yield circumstance, Applying(met.since, met.origins)
    if bedside.bleeding is not None and bedside.bleeding_has_stopped:
        yield Circumstance.BLEEDING_STOPPED, Applying(origins=bedside.bleeding.origins)
    yield from _fluid_depletion(bedside)
    yield from _worse(all_met)
    yield from _pressure_and_oxygen(bedside)
    yield from _kidneys(bedside, all_met.get(Trigger.AKI))
    yield from _potassium(bedside, all_met.get(Trigger.HYPERKALAEMIA))
    yield from _infection(bedside, all_met.get(Trigger.SEPSIS))
    for trigger in (Trigger.LOW_POTASSIUM, Trigger.POTASSIUM_BELOW_3_5):
        little = all_met.get(trigger)
        if little is not None and not little.doubt:
            yield Circumstance.TOO_LITTLE_POTASSIUM, Applying(little.since, little.origins)
    low = all_met.get(Trigger.HYPOGLYCAEMIA)
    newest_glucose = bedside.record.series(Signal.GLUCOSE).latest
    if low is not None and newest_glucose is not None and newest_glucose.at != low.measures[0].at:
        yield Circumstance.GLUCOSE_RECOVERED, Applying(newest_glucose.at, (newest_glucose.origin,))
    magnesium = all_met.get(Trigger.HIGH_MAGNESIUM)
    if magnesium is not None and not magnesium.grade and bedside.record.has(ConditionKind.PREECLAMPSIA):
        yield Circumstance.MAGNESIUM_MEANT, Applying(magnesium.since, magnesium.origins)
    if is_newborn(bedside.record, bedside.as_of):
        yield Circumstance.NEWBORN, Applying()
    last_days = tuple(d.origin for d in bedside.directives(DirectiveKind.END_OF_LIFE))
    if last_days:
        yield Circumstance.PALLIATIVE, Applying(origins=last_days)
        yield Circumstance.LAST_DAYS, Applying(origins=last_days)


def _worse(all_met: Mapping[Trigger, MetTrigger]) -> Iterator[_Applies]:
    """Yield what a trigger is beyond its first degree."""
    for trigger, circumstance in (
        (Trigger.LOW_PLATELETS, Circumstance.PLATELETS_BELOW_25),
        (Trigger.PLATELETS_HALVED_ON_HEPARIN, Circumstance.PLATELETS_HALVED),
        (Trigger.HEAD_INJURY, Circumstance.HEAD_INJURY_WITH_SIGN),
        (Trigger.THROMBOLYSED, Circumstance.THROMBOLYSED_WITH_SIGN),
        (Trigger.OPERATION_PLANNED, Circumstance.OPERATION_NEAR),
        (Trigger.RAISED_KETONES, Circumstance.KETONES_OF_CRISIS),
    ):
        met = all_met.get(trigger)
        if met is not None and met.grade and not met.doubt:
            yield circumstance, Applying(met.asked_since or met.since, met.origins)


def _fluid_depletion(bedside: Bedside) -> Iterator[_Applies]:
    """Yield it in the hyperosmolar state, of which it is a part by JBDS."""
    found = bedside.osmolality
    if found is not None and found.is_hyperosmolar:
        yield Circumstance.HYPOVOLAEMIA, Applying(found.at, tuple(one.origin for _, one in found.parts))


def _pressure_and_oxygen(bedside: Bedside) -> Iterator[_Applies]:
    shock, oxygen = bedside.shock, bedside.low_oxygen
    if shock is not None:
        yield Circumstance.SHOCK, Applying(shock.since, (shock.reading.origin,))
    if oxygen is not None:
        yield Circumstance.HYPOXIA, Applying(oxygen.since, oxygen.origins)


def _kidneys(bedside: Bedside, injury: MetTrigger | None) -> Iterator[_Applies]:
    stage = bedside.aki_now.stage if injury is not None else 0
    for least, circumstance in ((2, Circumstance.AKI_STAGE_2_OR_MORE), (3, Circumstance.AKI_STAGE_3)):
        if stage >= least and injury is not None:
            yield circumstance, Applying(bedside.kidneys.injured_since(least), injury.origins)
    if stage >= 2 and injury is not None:
        # During an injury of stage 2 or 3 no estimate is reliable; it counts as below 30.
        since = bedside.kidneys.injured_since(2)
        yield Circumstance.EGFR_BELOW_30, Applying(since, injury.origins)
        yield Circumstance.EGFR_BELOW_45, Applying(since, injury.origins)
        return
    if bedside.kidneys.therapy.is_long_term_at(bedside.as_of):
        yield Circumstance.LONG_TERM_DIALYSIS, Applying()
        yield Circumstance.EGFR_BELOW_30, Applying()
        yield Circumstance.EGFR_BELOW_45, Applying()
        return
    found = None if bedside.is_pregnant_or_recently else rate_now(bedside)
    if found is None:
        return
    for cutoff, circumstance in (
        (triggers.EGFR_30, Circumstance.EGFR_BELOW_30),
        (triggers.EGFR_45, Circumstance.EGFR_BELOW_45),
    ):
        if surely(cutoff, found[0]):
            yield circumstance, Applying(rate_below_since(bedside, cutoff, found), (found[0].origin,))


def _potassium(bedside: Bedside, high: MetTrigger | None) -> Iterator[_Applies]:
    if high is None:
        return
    if high.doubt:
        yield Circumstance.HAEMOLYSED_SAMPLE, Applying(high.measures[0].at, high.origins)
        return
    items = bedside.record.series(Signal(high.measures[0].key)).items
    of_signal = worse_potassium(bedside, Signal(high.measures[0].key))
    limits = tuple(zip(of_signal, POTASSIUM_BY_GRADE, strict=False))
    for cutoff, circumstance in limits[: high.grade]:
        until = [one for one in items if high.measures[0].at is None or one.at <= high.measures[0].at]
        yield circumstance, Applying(since_beyond(until, cutoff, least=Met.YES), high.origins)


def _infection(bedside: Bedside, met: MetTrigger | None) -> Iterator[_Applies]:
    # Serious illness without any sign of infection meets the trigger and not this.
    if met is None or (bedside.infection is None and bedside.sepsis is None):
        return
    yield Circumstance.SEPSIS, Applying(met.since, met.origins)


# What is on the chart


def _on_chart(bedside: Bedside, applies: Mapping[Circumstance, Applying]) -> Iterator[_Applies]:
    lines = bedside.drug_chart.exposed
    for circumstance, classes in _BY_CLASS:
        found = tuple(line.order for line in lines if not classes.isdisjoint(line.classes))
        if found:
            yield circumstance, Applying(origins=found)
    since = bedside.as_of - timing.REVERSED_FOR.length
    given = (one for one in bedside.record.administrations if one.at >= since)
    reversing = tuple(one.origin for one in given if not _REVERSING.isdisjoint(one.medicine.ingredients))
    if reversing:
        yield Circumstance.REVERSED, Applying(origins=reversing)
    if bedside.insulin_by_vein:
        yield Circumstance.INSULIN_INFUSION_ON_CHART, Applying(origins=bedside.insulin_by_vein)
    yield from _steroid_by_injection(bedside, lines)
    if Circumstance.LONG_TERM_STEROID not in applies:
        steroids = tuple(line.order for line in _long_term_steroids(bedside, lines))
        if steroids:
            yield Circumstance.LONG_TERM_STEROID, Applying(origins=steroids)


def _steroid_by_injection(bedside: Bedside, lines: Iterable[Line]) -> Iterator[_Applies]:
    """Yield it where the last dose still acts, and whether more of it is ordered."""
    since = bedside.as_of - timing.STEROID_INJECTION_ACTS_FOR.length
    glucocorticoid = MedicineClass.GLUCOCORTICOID.value
    injected = [
        line.charted
        for line in lines
        if line.charted is not None and line.charted.route in PARENTERAL and glucocorticoid in line.classes
    ]
    # A dose without its route went as the line of the same medicine says.
    by_a_line = {name for order in injected for name in order.medicine.ingredients}
    for dose in reversed(bedside.record.administrations):
        if dose.at < since:
            return
        went_by_it = dose.route is Route.UNKNOWN and not by_a_line.isdisjoint(dose.medicine.ingredients)
        if (dose.route in PARENTERAL or went_by_it) and glucocorticoid in dose.medicine.classes:
            break
    else:
        return
    yield Circumstance.STEROID_INJECTED, Applying(dose.at, (dose.origin,))
    ordered = tuple(order.origin for order in injected)
    if ordered:
        yield Circumstance.STEROID_INJECTIONS_ORDERED, Applying(dose.at, (dose.origin, *ordered))


def is_replaced_by_infusion(bedside: Bedside, line: Line) -> bool:
    """Tell whether a line is insulin that is not long-acting, while insulin goes into a vein in its place."""
    if MedicineClass.INSULIN not in line.classes or bedside.named(line).is_one_of(BASAL_INSULIN):
        return False
    # One more than itself is enough to ask for.
    return any(one != line.order for one in bedside.insulin_by_vein[:2])


def _long_term_steroids(bedside: Bedside, lines: Iterable[Line]) -> Iterator[Line]:
    for line in lines:
        if _STEROIDS.isdisjoint(line.classes):
            continue
        # A beginning that nobody recorded may be long ago.
        lasting = line.since is None or bedside.as_of - line.since >= timing.LONG_TERM_STEROID.length
        if lasting or MedicineClass.MINERALOCORTICOID in line.classes or _is_carried_on(bedside, line):
            yield line


def _is_carried_on(bedside: Bedside, line: Line) -> bool:
    """Tell whether a steroid was written on coming in, beside what steroids treat for long: an old dose."""
    came = bedside.admitted_at
    if came is None or line.since is None or line.since - came > timing.CARRIED_ON_WITHIN.length:
        return False
    long = bedside.record.conditions_of(*timing.STEROIDS_FOR_LONG)
    return any(one.began is not None and came - one.began >= timing.LONG_TERM_STEROID.length for one in long)
