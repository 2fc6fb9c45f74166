"""What the drug chart acts on is what the finding tells: one fact, over the fixtures and invented records.

No published number is checked here: the grade, the beginning and the doubt of a trigger are those of the
finding that asks the same question, whatever the record holds.
"""

import random
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.charts import ago, bedside, chart, condition, findings, order, reading, readings, rounds
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.bleeding_over import has_stopped
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.medicines.judging.situation import situation_of
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.medicines import Administration, MatchMethod, Medicine, MedicineOrder, Route
from weatherglass.model.record.problems import Condition, ConditionKind, Reason
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.signals import Bleeding, CodedSignal, Consciousness, Sample, Signal
from weatherglass.model.sources import Origin
from weatherglass.pipeline import review_body
from weatherglass.review.questions import QUESTIONS

pytestmark = pytest.mark.property

S, K = Signal, ConditionKind
_DEGREES = (Urgency.PROMPT, Urgency.URGENT, Urgency.EMERGENCY)
_BUNDLES = sorted((Path(__file__).parents[2] / "fixtures" / "bundles").glob("*.json"))
_LISTED = (
    (K.MELAENA, "Melaena"),
    (K.BLEEDING, "Haematemesis"),
    (K.BLEEDING, "Wound haemorrhage"),
    (K.INTRACRANIAL_BLEEDING, "Subdural haematoma"),
    (K.CRITICAL_SITE_BLEEDING, "Retroperitoneal haematoma"),
)
_CHART = (
    order("Apixaban", "factor-xa-inhibitor"),
    order("Warfarin", "vitamin-k-antagonist", starts=300, ends=30),
    order("Aspirin", "aspirin"),
    order("Naproxen", "nsaid"),
    order("Sertraline", "ssri"),
    order("Alteplase", "thrombolytic"),
)


def _drawn(chance: random.Random) -> Record:
    """Return a record in which each thing that bears on bleeding is there or not."""
    vitals = rounds(
        *(
            (hours, {S.PULSE: chance.randint(60, 140), S.SYSTOLIC_PRESSURE: chance.randint(80, 140)})
            for hours in (6, 4, 2, 1)
            if chance.random() < 0.6
        )
    )
    numbers = dict(vitals.numbers)
    results = (
        (S.HAEMOGLOBIN, [(30, chance.randint(100, 140)), (3, chance.randint(60, 130))]),
        (S.INR, [(2, str(chance.randint(10, 90) / 10))]),
        (S.PLATELETS, [(2, chance.randint(10, 300))]),
    )
    drawn = {signal: values for signal, values in results if chance.random() < 0.4}
    seen = [(1.0, chance.choice(list(Bleeding)))]
    return chart(
        {**numbers, **drawn},
        codes={CodedSignal.BLEEDING: seen} if chance.random() < 0.2 else {},
        conditions=tuple(_listed(chance)),
        reasons=tuple(_came_for(chance)),
        orders=_some(chance, _CHART),
    )


def _some(chance: random.Random, lines: tuple[MedicineOrder, ...]) -> tuple[MedicineOrder, ...]:
    return tuple(one for one in lines if chance.random() < 0.4)


def _listed(chance: random.Random) -> list[Condition]:
    return [
        condition(
            kind,
            text=text,
            began=chance.choice((None, 5, 100, 200)),
            confirmed=chance.random() < 0.7,
        )
        for kind, text in _LISTED
        if chance.random() < 0.2
    ]


def _came_for(chance: random.Random) -> list[Reason]:
    kind, text = chance.choice(_LISTED)
    if chance.random() < 0.7:
        return []
    return [Reason(origin=Origin("Encounter/1"), text=text, kinds=frozenset({kind}))]


def _check_bleeding(one: Bedside, told: Finding | None) -> None:
    all_met = situation_of(one).met
    met = all_met.get(Trigger.BLEEDING)
    if told is None or told.state is State.SETTLING:
        assert met is None
        return
    assert met is not None
    is_over = one.bleeding is not None and has_stopped(one, one.bleeding)
    assert told.urgency is (Urgency.ROUTINE if is_over else _DEGREES[met.grade])
    assert (met.since, met.asked_since) == (told.since, told.asked_since)
    assert set(met.origins) <= set(told.evidence)
    critical = all_met.get(Trigger.CRITICAL_BLEEDING)
    assert critical is None or set(critical.origins) <= set(told.evidence)


@pytest.mark.parametrize("seed", range(300))
def test_bleeding(seed: int) -> None:
    """Grade, beginning, present grade's beginning and inputs."""
    one = bedside(_drawn(random.Random(seed)))
    told = findings(one.record, Kind.POSSIBLE_BLEEDING).get("possible-bleeding")
    _check_bleeding(one, told)


@pytest.mark.parametrize("seed", range(300))
def test_nothing_on_the_chart_is_calmer_or_louder(seed: int) -> None:
    """A hold for bleeding is as urgent as the finding, whatever else speaks of the line."""
    record = _drawn(random.Random(seed))
    one = bedside(record)
    told = findings(record, Kind.POSSIBLE_BLEEDING).get("possible-bleeding")
    for each in QUESTIONS:
        for found in each.ask(one):
            if isinstance(found, MedicineFinding) and _is_held_for_bleeding(found):
                assert told is not None
                assert found.urgency >= told.urgency


def _is_held_for_bleeding(found: MedicineFinding) -> bool:
    rules = {one.rule for one in found.reasons}
    return found.action == "hold" and any(each.startswith(("bleeding-", "critical-")) for each in rules)


@pytest.mark.parametrize("path", _BUNDLES, ids=lambda path: path.stem)
def test_bleeding_in_the_fixtures(path: Path) -> None:
    """The invented ward."""
    for review in review_body(path.read_bytes()).reviews:
        for found in _held(review):
            told = next(one for one in review.findings if one.kind is Kind.POSSIBLE_BLEEDING)
            assert found.urgency >= told.urgency


def _held(review: Review) -> list[MedicineFinding]:
    return [one for one in review.findings if isinstance(one, MedicineFinding) and _is_held_for_bleeding(one)]


@pytest.mark.parametrize("seed", range(200))
def test_respiratory_acidosis(seed: int) -> None:
    """The chart judges what sedates by what the gas is said to show: presence, doubt, and the same sample."""
    chance = random.Random(seed)
    vessel = chance.choice(list(Sample))
    gases = [(hours, chance.randint(700, 745), chance.randint(45, 95)) for hours in (30, 9, 3)]
    record = chart(
        {
            S.PH_ARTERIAL: readings(S.PH_ARTERIAL, [(h, f"{a / 100}") for h, a, _ in gases], sample=vessel),
            S.PCO2_ARTERIAL: readings(
                S.PCO2_ARTERIAL, [(h, f"{c / 10}") for h, _, c in gases], sample=vessel
            ),
        },
        conditions=(condition(K.COPD),) if chance.random() < 0.3 else (),
    )
    told = findings(record, Kind.BLOOD_GAS).get("respiratory-acidosis")
    met = situation_of(bedside(record)).met.get(Trigger.REDUCED_CONSCIOUSNESS)
    if told is None or told.state is State.SETTLING:
        assert met is None
        return
    assert met is not None
    assert bool(met.doubt) == (told.urgency is Urgency.PROMPT)
    assert set(met.origins) <= set(told.evidence)


def _infected(chance: random.Random) -> Record:
    """Return a record of somebody who may be infected, of any of the three kinds of patient."""
    signs = rounds(
        *(
            (
                hours,
                {
                    S.RESPIRATION_RATE: chance.choice((14, 21, 25, 31)),
                    S.SPO2: chance.choice((90, 93, 97)),
                    S.PULSE: chance.choice((70, 100, 120, 140)),
                    S.SYSTOLIC_PRESSURE: chance.choice((85, 100, 125)),
                    S.TEMPERATURE: chance.choice(("35.5", "37.0", "38.6")),
                },
            )
            for hours in (30, 12, 3)
        )
    )
    results = ((S.LACTATE, [(4, f"{chance.choice((1.0, 2.4, 4.4))}")]), (S.NEUTROPHILS, [(6, "0.4")]))
    drawn = {signal: values for signal, values in results if chance.random() < 0.3}
    problems = [
        condition(K.INFECTION, text="Pneumonia", began=chance.choice((None, 5, 40))),
        condition(K.SEPSIS, K.INFECTION, text="Sepsis", began=10, confirmed=chance.random() < 0.7),
        condition(K.PREGNANCY, text="Pregnancy", began=900),
        condition(K.CHEMOTHERAPY, text="Chemotherapy", began=90),
    ]
    return chart(
        {**signs.numbers, **drawn},
        codes=dict(signs.codes),
        conditions=tuple(one for one in problems if chance.random() < 0.35),
        administrations=tuple(_given(chance)),
        born=chance.choice((date(1950, 1, 1), date(1990, 1, 1), date(2019, 1, 1))),
    )


def _given(chance: random.Random) -> list[Administration]:
    """Return doses of an antibacterial: none, of now, or of a course that is over."""
    medicine = Medicine(text="Amoxicillin", classes=frozenset({"antibacterial"}), method=MatchMethod.NAME)
    hours = chance.choice(((), (2,), (200, 190), (200, 190, 1)))
    return [
        Administration(
            origin=Origin(f"MedicationAdministration/{hour}"),
            medicine=medicine,
            at=ago(hour),
            route=Route.INTRAVENOUS,
        )
        for hour in hours
    ]


@pytest.mark.parametrize("seed", range(300))
def test_the_antimicrobial_that_is_awaited(seed: int) -> None:
    """What the finding says of the first dose is what the head of the review goes by."""
    one = bedside(_infected(random.Random(seed)))
    due = one.first_antimicrobial
    for key in ("sepsis-risk", "sepsis-signs", "neutropenic-sepsis"):
        told = findings(one.record, Kind.SEPSIS_RISK).get(key)
        if told is not None and due is not None:
            assert ("none recorded" in told.brief) == (due.deadline is not None)


@pytest.mark.parametrize("seed", range(300))
def test_sepsis(seed: int) -> None:
    """Presence, degree and beginning: what the findings of infection tell is what the chart acts on."""
    one = bedside(_infected(random.Random(seed)))
    told = findings(one.record, Kind.SEPSIS_RISK)
    met = situation_of(one).met.get(Trigger.SEPSIS)
    by_score, by_signs = told.get("sepsis-risk"), told.get("sepsis-signs")
    emergencies = [
        each
        for each in (told.get("neutropenic-sepsis"), by_score, by_signs)
        if each is not None and each.urgency is Urgency.EMERGENCY
    ]
    if emergencies:
        assert met is not None
        assert met.grade == 1
    if by_score is not None and by_score.urgency is Urgency.URGENT:
        assert met is not None
        assert met.grade == 0
    if met is not None and not emergencies and one.sepsis is not None:
        is_told = by_score is not None and by_score.urgency is Urgency.URGENT
        is_treated = "neutropenic-sepsis" in told  # More than a day: no emergency, and what harms is held.
        assert is_told or is_treated or "is recorded" in met.short
    for each in emergencies:
        assert met is not None
        assert each.since is None or (met.since is not None and met.since <= each.since)


def _breathless(chance: random.Random) -> Record:
    """Return a record of pressures, saturations and gases, with and without what explains them."""
    born = chance.choice((date(1950, 1, 1), date(1990, 1, 1), date(2021, 1, 1)))
    signs = rounds(
        *(
            (
                hours,
                {
                    S.SYSTOLIC_PRESSURE: chance.choice((usual, usual - 4, 84, 90, 91, 125)),
                    S.SPO2: chance.choice((82, 86, 89, 91, 92, 97)),
                    S.PULSE: 90,
                },
            )
            for usual in (chance.choice((88, 125)),)
            for hours in (70, 60, 50, 40, 30, 20, 12, 3)
        )
    )
    results = ((S.PO2_ARTERIAL, [(2, chance.choice(("6.2", "7.4", "9.1")))]), (S.LACTATE, [(2, "3.4")]))
    drawn: dict[Signal, Any] = {signal: values for signal, values in results if chance.random() < 0.3}
    if chance.random() < 0.5:
        drawn |= {S.WEIGHT: [(50, 60)], S.URINE_VOLUME: (reading(S.URINE_VOLUME, 1, "700", began=13),)}
    problems = (condition(K.COPD), condition(K.LOW_PRESSURE_IS_USUAL), condition(K.INFECTION))
    return chart(
        {**signs.numbers, **drawn},
        codes={**signs.codes, CodedSignal.CONSCIOUSNESS: [(2, chance.choice(list(Consciousness)))]},
        conditions=tuple(one for one in problems if chance.random() < 0.4),
        directives=tuple(_target(chance)),
        born=born,
    )


def _target(chance: random.Random) -> list[Directive]:
    low, high = chance.choice(((88, 92), (94, 98), (90, 94)))
    if chance.random() < 0.5:
        return []
    return [
        Directive(
            origin=Origin("Goal/1"),
            kind=DirectiveKind.OXYGEN_TARGET,
            at=ago(100),
            target_low=Decimal(low),
            target_high=Decimal(high),
        )
    ]


@pytest.mark.parametrize("seed", range(300))
def test_low_oxygen(seed: int) -> None:
    """A saturation or a gas that calls is low oxygen for the chart, and one that the target allows is not."""
    one = bedside(_breathless(random.Random(seed)))
    told = findings(one.record, Kind.SINGLE_SIGN).get("spo2")
    gas = findings(one.record, Kind.BLOOD_GAS).get("hypoxaemia")
    holding = situation_of(one).applies.get(Circumstance.HYPOXIA)
    calls = [each for each in (told, gas) if each is not None and each.urgency >= Urgency.URGENT]
    for each in calls:
        assert holding is not None
        assert set(holding.origins) & set(each.evidence)
        assert each.since is None or (holding.since is not None and holding.since <= each.since)
    if holding is not None and not calls:
        # What scores 3 in NEWS2, and no target allows.
        newest = one.record.series(S.SPO2).items[-1]
        assert newest.value <= 91
        assert one.saturation_floor is None or newest.value < one.saturation_floor


@pytest.mark.parametrize("seed", range(300))
def test_shock(seed: int) -> None:
    """A pressure that is said to be tolerated as usual is no shock, and one that calls as low is."""
    record = _breathless(random.Random(seed))
    one = bedside(record)
    holding = situation_of(one).applies.get(Circumstance.SHOCK)
    usual = findings(record, Kind.LONG_STANDING_LOW_PRESSURE).get("systolic-pressure")
    called = findings(record, Kind.SINGLE_SIGN).get("systolic-pressure")
    assert (holding is not None) == (one.shock is not None)
    if usual is not None and usual.urgency is Urgency.ROUTINE:
        assert holding is None
    if usual is not None and called is None:
        assert Trigger.HYPOTENSION not in situation_of(one).met
    if usual is None and called is not None and called.urgency is Urgency.EMERGENCY and one.has_adult_limits:
        assert (holding is not None) == one.pressure[-1].is_low
    if holding is not None:
        assert called is not None or usual is not None
        assert any(set(holding.origins) <= set(each.evidence) for each in (called, usual) if each)
