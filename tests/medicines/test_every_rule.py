"""Each rule speaks when its trigger is met, for each of its classes, and in each of its circumstances.

The rules themselves are compared with the published lists in `criteria/test_medicine_rules.py`;
here a record is built for every trigger and circumstance, and the review must say what the
rule says: its action, the stronger or milder one, or nothing.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding, MedicineReason
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import (
    Administration,
    MatchMethod,
    Medicine,
    MedicineOrder,
    OrderStatus,
    Route,
)
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

S, T, R, K, C = Signal, Trigger, Circumstance, ConditionKind, MedicineClass


@dataclass
class Part:
    """What goes into a record to make a trigger or a circumstance."""

    numbers: dict[Signal, Any] = field(default_factory=dict)
    codes: dict[CodedSignal, Any] = field(default_factory=dict)
    problems: tuple[Condition, ...] = ()
    procedures: tuple[Procedure, ...] = ()
    orders: tuple[MedicineOrder, ...] = ()
    doses: tuple[Administration, ...] = ()
    implies: frozenset[Circumstance] = frozenset()


_SCAN = Procedure(
    origin=Origin("ServiceRequest/ct"),
    text="CT with contrast",
    kinds=frozenset({ProcedureKind.CONTRAST_IMAGING}),
    at=reading(S.PULSE, 2, 70).at,
    requested=True,
)
#: NEWS2 of 6: breathing 2, saturation 1, pulse 1, temperature 2.
_ILL: dict[Signal, Any] = {
    S.RESPIRATION_RATE: [(1, 22)],
    S.SPO2: [(1, 95)],
    S.SYSTOLIC_PRESSURE: [(1, 120)],
    S.PULSE: [(1, 100)],
    S.TEMPERATURE: [(1, "39.2")],
}
_ILL_CODES: dict[CodedSignal, Any] = {
    CodedSignal.CONSCIOUSNESS: [(1, Consciousness.ALERT)],
    CodedSignal.OXYGEN_DELIVERY: [(1, OxygenDelivery.AIR)],
}
_NALOXONE = Administration(
    origin=Origin("MedicationAdministration/naloxone"),
    medicine=Medicine(text="naloxone", ingredients=("naloxone",), method=MatchMethod.NAME),
    at=ago(1),
    route=Route.INTRAVENOUS,
)
_REVERSAL = administered("Octaplex", 2, ingredients=["prothrombin complex"], route=Route.INTRAVENOUS)
_INFECTION = condition(K.INFECTION, began=20)


def _problem(*kinds: ConditionKind, **rest: Any) -> Part:
    return Part(problems=(condition(*kinds, **rest),))


TRIGGERS: dict[Trigger, Part] = {
    T.ANY: Part({S.INR: [(1, 6)]}),
    T.AKI: Part({S.CREATININE: [(96, 80), (1, 130)]}, implies=frozenset({R.AKI})),
    T.LOW_EGFR: Part({S.EGFR: [(1, 40)]}, implies=frozenset({R.EGFR_BELOW_45})),
    T.HYPERKALAEMIA: Part({S.POTASSIUM: [(1, "5.7")]}),
    T.HYPOTENSION: Part({S.SYSTOLIC_PRESSURE: [(1, 96)]}, implies=frozenset({R.HYPOTENSION})),
    T.SLOW_PULSE: Part({S.PULSE: [(1, 46)]}),
    T.BRADYCARDIA: Part({S.PULSE: [(1, 38)]}, implies=frozenset({R.BRADYCARDIA})),
    T.BLEEDING: Part({S.HAEMOGLOBIN: [(30, 128), (1, 104)]}, implies=frozenset({R.BLEEDING})),
    T.CRITICAL_BLEEDING: Part(
        problems=(condition(K.INTRACRANIAL_BLEEDING, began=5),),
        implies=frozenset({R.BLEEDING, R.CRITICAL_BLEEDING}),
    ),
    T.HEAD_INJURY: _problem(K.HEAD_INJURY, began=5),
    T.INR_ABOVE_8: Part({S.INR: [(1, "9.2")]}),
    T.INR_5_TO_8: Part({S.INR: [(1, "6.0")]}),
    T.INR_ABOVE_TARGET: Part({S.INR: [(1, "4.4")]}),
    T.LOW_PLATELETS: Part({S.PLATELETS: [(1, 40)]}),
    T.PLATELETS_HALVED_ON_HEPARIN: Part(
        {S.PLATELETS: [(100, 250), (1, 110)]},
        doses=(administered("Dalteparin", 90, C.HEPARIN.value, route=Route.SUBCUTANEOUS),),
        implies=frozenset({R.PLATELETS_HALVED}),
    ),
    T.HYPOGLYCAEMIA: Part({S.GLUCOSE: [(1, "3.1")]}),
    T.REDUCED_CONSCIOUSNESS: Part({S.RESPIRATION_RATE: [(1, 8)]}),
    T.DROWSINESS: Part(codes={CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}),
    T.LACTATE_OR_ACIDOSIS: Part({S.LACTATE: [(1, "4.4")]}),
    T.METABOLIC_ACIDOSIS: Part({S.BICARBONATE: [(1, "12")]}),
    T.SEPSIS: Part(_ILL, _ILL_CODES, (_INFECTION,), implies=frozenset({R.SEPSIS})),
    T.RAISED_KETONES: Part({S.KETONES: [(1, "2.0")]}),
    T.FLUID_LOSS: Part(problems=(condition(K.DEHYDRATION, began=20),), implies=frozenset({R.HYPOVOLAEMIA})),
    T.OPIOID_REVERSED: Part(doses=(_NALOXONE,)),
    T.CONTRAST_PLANNED: Part(procedures=(_SCAN,), implies=frozenset({R.CONTRAST_PLANNED})),
    T.LOW_SODIUM: Part({S.SODIUM: [(1, 120)]}),
    T.LOW_POTASSIUM: Part({S.POTASSIUM: [(1, "2.8")]}),
    T.LOW_MAGNESIUM: Part({S.MAGNESIUM: [(1, "0.5")]}),
}


CIRCUMSTANCES: dict[Circumstance, Part] = {
    R.HYPOTENSION: TRIGGERS[T.HYPOTENSION],
    R.SHOCK: Part({S.SYSTOLIC_PRESSURE: [(1, 85)]}, implies=frozenset({R.HYPOTENSION})),
    R.BRADYCARDIA: TRIGGERS[T.BRADYCARDIA],
    R.PREVENTIVE_DOSE: Part(),
    R.HYPOXIA: Part({S.SPO2: [(1, 91)]}),
    R.HYPOVOLAEMIA: _problem(K.DEHYDRATION, began=20),
    R.FLUID_OVERLOAD: _problem(K.FLUID_OVERLOAD, began=20),
    R.SEPSIS: TRIGGERS[T.SEPSIS],
    R.FIRST_48_HOURS_OF_TREATMENT: Part(),
    R.RESCUE: Part(),
    R.GLUCOSE_LOWERED: Part(orders=(order("lowers", MedicineClass.SULFONYLUREA.value),)),
    R.GLUCOSE_RECOVERED: Part({S.GLUCOSE: [(2, "3.1"), (1, "6.0")]}),
    R.AKI: TRIGGERS[T.AKI],
    R.AKI_STAGE_2_OR_MORE: Part(
        {S.CREATININE: [(96, 80), (1, 170)]}, implies=frozenset({R.AKI, R.EGFR_BELOW_30, R.EGFR_BELOW_45})
    ),
    R.AKI_STAGE_3: Part(
        {S.CREATININE: [(96, 80), (1, 250)]},
        implies=frozenset({R.AKI, R.AKI_STAGE_2_OR_MORE, R.EGFR_BELOW_30, R.EGFR_BELOW_45}),
    ),
    R.EGFR_BELOW_30: Part({S.EGFR: [(1, 25)]}, implies=frozenset({R.EGFR_BELOW_45})),
    R.EGFR_BELOW_45: TRIGGERS[T.LOW_EGFR],
    R.PLATELETS_BELOW_25: Part({S.PLATELETS: [(1, 24)]}),
    R.PLATELETS_HALVED: TRIGGERS[T.PLATELETS_HALVED_ON_HEPARIN],
    R.HEAD_INJURY_WITH_SIGN: Part(codes={CodedSignal.CONSCIOUSNESS: [(1, Consciousness.VOICE)]}),
    R.POTASSIUM_AT_LEAST_6: Part({S.POTASSIUM: [(1, "6.2")]}),
    R.HAEMOLYSED_SAMPLE: Part({S.POTASSIUM: (reading(S.POTASSIUM, 1, "6.2", remarks=[Remark.HAEMOLYSED]),)}),
    R.CONTRAST_PLANNED: TRIGGERS[T.CONTRAST_PLANNED],
    R.BLEEDING: _problem(K.BLEEDING, began=5),
    R.CRITICAL_BLEEDING: TRIGGERS[T.CRITICAL_BLEEDING],
    R.HEART_FAILURE: _problem(K.HEART_FAILURE),
    R.CORONARY_STENT: Part(
        problems=(condition(K.CORONARY_STENT),),
        implies=frozenset({R.SECONDARY_PREVENTION, R.ISCHAEMIC_HEART_DISEASE}),
    ),
    R.RECENT_ACUTE_CORONARY_SYNDROME: Part(
        problems=(condition(K.ACUTE_CORONARY_SYNDROME, began=1000),),
        implies=frozenset({R.SECONDARY_PREVENTION, R.ISCHAEMIC_HEART_DISEASE}),
    ),
    R.SECONDARY_PREVENTION: _problem(K.STROKE, active=False),
    R.TYPE_1_DIABETES: _problem(K.DIABETES_TYPE_1),
    R.LONG_TERM_STEROID: _problem(K.ADRENAL_INSUFFICIENCY),
    R.TRANSPLANT: _problem(K.TRANSPLANT),
    R.SYSTEMIC_SCLEROSIS: _problem(K.SYSTEMIC_SCLEROSIS),
    R.ADRENAL_INSUFFICIENCY: _problem(K.ADRENAL_INSUFFICIENCY),
    R.RECENT_FALL: _problem(K.FALL, began=5),
    R.KETONES_OF_CRISIS: Part({S.KETONES: [(1, "4.0")]}),
    R.SEIZURES_GOING_ON: Part(
        problems=(condition(K.SEIZURES_GOING_ON, began=5),), implies=frozenset({R.EPILEPSY})
    ),
    R.CANCER: _problem(K.CANCER),
    R.EPILEPSY: _problem(K.EPILEPSY),
    R.RECENT_SEIZURE: _problem(K.SEIZURE),
    R.DIABETES_INSIPIDUS: _problem(K.DIABETES_INSIPIDUS),
    R.PALLIATIVE: _problem(K.PALLIATIVE),
    R.INTRAVENOUS: Part(),
    R.REVERSED: Part(doses=(_REVERSAL,)),
    R.EPIDURAL: Part(),
    R.SEDATES_ON_PURPOSE: Part(codes={CodedSignal.OXYGEN_DELIVERY: [(1, OxygenDelivery.VENTILATOR)]}),
}


def _record(order_: MedicineOrder, *parts: Part) -> Record:
    numbers: dict[Signal, Any] = {}
    codes: dict[CodedSignal, Any] = {}
    for part in parts:
        numbers |= part.numbers
        codes |= part.codes
    return chart(
        numbers,
        codes=codes,
        conditions=tuple(problem for part in parts for problem in part.problems),
        procedures=tuple(dict.fromkeys(each for part in parts for each in part.procedures)),
        orders=(order_, *(each for part in parts for each in part.orders)),
        administrations=tuple(dict.fromkeys(each for part in parts for each in part.doses)),
    )


def _finding(record: Record) -> MedicineFinding | None:
    found = [
        f
        for f in assess_medicines(bedside(record))
        if isinstance(f, MedicineFinding) and f.kind is Kind.MEDICINE and f.order == "MedicationRequest/it"
    ]
    assert len(found) <= 1
    return found[0] if found else None


def _reason(rule: MedicineRule, key: MedicineClass, *circumstances: Circumstance) -> MedicineReason | None:
    """Return what the review makes of one rule for one class, in these circumstances."""
    route = Route.INTRAVENOUS if R.INTRAVENOUS in circumstances else Route.SUBCUTANEOUS
    route = Route.INTRAVENOUS if R.SEDATES_ON_PURPOSE in circumstances else route
    route = Route.EPIDURAL if R.EPIDURAL in circumstances else route
    route = Route.RECTAL if R.RESCUE in circumstances else route
    starts = 24 if R.FIRST_48_HOURS_OF_TREATMENT in circumstances else 100
    parts = [TRIGGERS[rule.trigger], *(CIRCUMSTANCES[each] for each in circumstances)]
    line = _dosed(order("it", key.value, route=route, starts=starts), circumstances)
    finding = _finding(_record(line, *parts))
    if finding is None:
        return None
    return next((reason for reason in finding.reasons if reason.rule == rule.key), None)


def _dosed(line: MedicineOrder, circumstances: Iterable[Circumstance]) -> MedicineOrder:
    """Return a line of the chart, for prevention of clots where that is asked for."""
    if R.PREVENTIVE_DOSE not in circumstances:
        return line
    if MedicineClass.ACICLOVIR_LIKE.value in line.medicine.classes:
        medicine = replace(line.medicine, ingredients=("aciclovir",))
        day = Decimal(800)
        return replace(
            line, medicine=medicine, dose=day / 2, dose_unit="mg", daily_dose=day, a_day=Decimal(2)
        )
    return replace(line, medicine=replace(line.medicine, ingredients=("enoxaparin",)), for_prophylaxis=True)


def _implied(rule: MedicineRule, *circumstances: Circumstance) -> set[Circumstance]:
    parts = [TRIGGERS[rule.trigger], *(CIRCUMSTANCES[each] for each in circumstances)]
    return {*circumstances, *(each for part in parts for each in part.implies)}


def _expected(rule: MedicineRule, holds: set[Circumstance]) -> Action | None:
    """Read the rule as it is documented."""
    if holds & set(rule.unless) or (rule.only_when and not holds & set(rule.only_when)):
        return None
    for ease in rule.milder:
        if holds & set(ease.when):
            return ease.action
    stronger = [step.action for step in rule.stronger if holds & set(step.when)]
    return stronger[0] if stronger else rule.action


def _allowed(rule: MedicineRule) -> tuple[Circumstance, ...]:
    """Return circumstances in which the rule speaks at all."""
    already = _implied(rule)
    return () if not rule.only_when or already & set(rule.only_when) else rule.only_when[:1]


def _lines() -> Iterator[Any]:
    for rule in RULES:
        for key in rule.classes:
            if key not in rule.but_not:
                yield pytest.param(rule, key, id=f"{rule.key}-{key.value}")


@pytest.mark.parametrize(("rule", "key"), list(_lines()))
def test_each_class_of_each_rule(rule: MedicineRule, key: MedicineClass) -> None:
    """A medicine of the class alone gets the rule's own action, with its reason, source and trigger."""
    needed = _allowed(rule)
    reason = _reason(rule, key, *needed)
    assert reason is not None
    assert reason.action == str(_expected(rule, _implied(rule, *needed)))
    assert (reason.why, reason.source) == (rule.reason, rule.sources[0])
    assert reason.trigger
    if rule.trigger not in (T.ANY, T.CONTRAST_PLANNED):
        assert reason.measures


#: Words that would make an order of a suggestion, at the beginning of a sentence.
_ORDERS = re.compile(
    r"(?:^|[.:;] )(?:stop|hold|give|start|withhold|discontinue|cease|omit|do not give)\b", re.IGNORECASE
)
#: The only ways in which "stop" is said.
_NOT_TO_BE_STOPPED = re.compile(r"(?:do not|never|not be|not to be) stop(?:ped)?(?: it)?", re.IGNORECASE)


@pytest.mark.parametrize(("rule", "key"), list(_lines()))
@pytest.mark.parametrize("status", [OrderStatus.ACTIVE, OrderStatus.DRAFT, OrderStatus.ON_HOLD])
def test_wording(rule: MedicineRule, key: MedicineClass, status: OrderStatus) -> None:
    """Whatever the rule and the order, a suggestion is put as one and never as an order."""
    parts = [TRIGGERS[rule.trigger], *(CIRCUMSTANCES[each] for each in _allowed(rule))]
    line = order("it", key.value, route=Route.SUBCUTANEOUS, status=status, starts=300)
    record = _record(_dosed(line, _allowed(rule)), *parts)
    found = list(assess_medicines(bedside(record)))
    # What is to go on is said where it might be forgotten: not of a draft, not of an antibiotic that runs.
    assert found or rule.action is Action.CONTINUE
    for finding in found:
        assert isinstance(finding, (MedicineFinding, InteractionFinding))
        said = [finding.sentence, *finding.cautions]
        if isinstance(finding, MedicineFinding):
            assert finding.sentence.startswith(("Consider ", "Possibly spurious: ", "it is already on hold"))
            said += [finding.do_not_stop, *finding.monitor, *finding.would_change]
            said += [finding.restart.condition if finding.restart is not None else ""]
        for text in said:
            assert not _ORDERS.search(text), text
            assert "stop" not in _NOT_TO_BE_STOPPED.sub("", text).lower(), text


def _circumstances() -> Iterator[Any]:
    for rule in RULES:
        asked = [*rule.unless, *(c for step in (*rule.stronger, *rule.milder) for c in step.when)]
        for each in dict.fromkeys(asked):
            if each in CIRCUMSTANCES:
                yield pytest.param(rule, each, id=f"{rule.key}-{each.name.lower()}")


@pytest.mark.parametrize(("rule", "circumstance"), list(_circumstances()))
def test_each_circumstance_of_each_rule(rule: MedicineRule, circumstance: Circumstance) -> None:
    """A circumstance makes the rule stronger, milder or silent, as it is written."""
    needed = (*_allowed(rule), circumstance)
    expected = _expected(rule, _implied(rule, *needed))
    key = next(each for each in rule.classes if each not in rule.but_not)
    reason = _reason(rule, key, *needed)
    assert (reason.action if reason is not None else None) == (str(expected) if expected else None)


@pytest.mark.parametrize(
    "rule",
    [rule for rule in RULES if rule.only_when and _allowed(rule)],
    ids=lambda rule: str(rule.key),
)
def test_silent_without_its_circumstance(rule: MedicineRule) -> None:
    """A rule that needs a circumstance says nothing without it."""
    assert _reason(rule, rule.classes[0]) is None


#: Made by a preventive dose and a fall in haemoglobin together; in `test_bleeding_vectors`.
_OF_A_WRITTEN_DOSE = {R.PREVENTIVE_IN_A_SMALL_FALL, R.PREVENTS_DAYS_AFTER}


def test_every_circumstance_is_built() -> None:
    """No rule asks for a circumstance that these tests cannot make."""
    asked = {
        each
        for rule in RULES
        for each in (
            *rule.unless,
            *rule.only_when,
            *(c for step in (*rule.stronger, *rule.milder) for c in step.when),
        )
    }
    assert asked - _OF_A_WRITTEN_DOSE <= set(CIRCUMSTANCES)


@pytest.mark.parametrize("trigger", list(TRIGGERS), ids=lambda trigger: trigger.name.lower())
class TestNegatives:
    """Whatever the trigger, some lines of the chart are not touched."""

    @staticmethod
    def _classes(trigger: Trigger) -> tuple[str, ...]:
        return tuple({key.value for rule in RULES if rule.trigger is trigger for key in rule.classes})

    def _about(self, trigger: Trigger, order_: MedicineOrder) -> list[MedicineFinding]:
        record = _record(order_, TRIGGERS[trigger])
        return [f for f in assess_medicines(bedside(record)) if isinstance(f, MedicineFinding)]

    def test_stopped(self, trigger: Trigger) -> None:
        """A stopped order that was not given lately is not on the chart."""
        stopped = order("it", *self._classes(trigger), status=OrderStatus.STOPPED)
        assert self._about(trigger, stopped) == []

    def test_run_out(self, trigger: Trigger) -> None:
        """An order whose time has ended is not on the chart."""
        assert self._about(trigger, order("it", *self._classes(trigger), starts=200, ends=100)) == []

    def test_not_begun(self, trigger: Trigger) -> None:
        """An order that begins tomorrow is not on the chart yet."""
        assert self._about(trigger, order("it", *self._classes(trigger), starts=-24)) == []

    def test_on_the_skin(self, trigger: Trigger) -> None:
        """A topical product reaches no rule, but for opioids and nitrates that pass the skin."""
        systemic = {C.OPIOID.value, C.NITRATE.value}
        classes = [key for key in self._classes(trigger) if key not in systemic]
        assert self._about(trigger, order("it", *classes, route=Route.TOPICAL)) == []

    def test_inhaled(self, trigger: Trigger) -> None:
        """An inhaled product reaches no rule, but for insulin and medicines of the lung's vessels."""
        systemic = {C.INSULIN.value, C.PULMONARY_HYPERTENSION.value}
        classes = [key for key in self._classes(trigger) if key not in systemic]
        assert self._about(trigger, order("it", *classes, route=Route.INHALED)) == []

    def test_on_hold(self, trigger: Trigger) -> None:
        """What is on hold gets a question and never a second hold."""
        held = order("it", *self._classes(trigger), status=OrderStatus.ON_HOLD)
        (found,) = self._about(trigger, held)
        assert (found.kind, found.action) == (Kind.MEDICINE_RESTART, "consider restarting")
        assert "Consider holding" not in found.sentence

    def test_no_class(self, trigger: Trigger) -> None:
        """A recognised medicine that no rule speaks of yields nothing."""
        assert self._about(trigger, order("it")) == []

    def test_not_signed_yet(self, trigger: Trigger) -> None:
        """A draft is never held, and never continued: at most it is not to be started."""
        draft = order("it", *self._classes(trigger), status=OrderStatus.DRAFT, starts=-1)
        about = self._about(trigger, draft)
        # Without a circumstance that one says nothing.
        assert bool(about) is (trigger is not T.ANY)
        for found in about:
            assert found.action not in ("hold", "continue")
            assert found.restart is None
