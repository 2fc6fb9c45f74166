"""Invariances of the children's sepsis tables, the latest results and fluid balance over invented values.

No published number is checked here. Order, units and codings change nothing; more data never makes a
closed answer open or a grave one calm; a well child is quiet.
"""

import random
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, bedside, chart, condition, findings, reading, rounds
from tests.records import answer_of, earlier, observation, patient, quantity
from weatherglass.facts.fluid_balance import FluidBalance
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal, Skin

pytestmark = pytest.mark.property

RR, HR, SPO2, TEMP = Signal.RESPIRATION_RATE, Signal.PULSE, Signal.SPO2, Signal.TEMPERATURE
IN, OUT, URINE, WEIGHT = Signal.FLUID_INTAKE, Signal.FLUID_OUTPUT, Signal.URINE_VOLUME, Signal.WEIGHT
ILL = condition(ConditionKind.INFECTION, began=30, text="Pneumonia")
#: Rates of rest that no table of that age minds, by years.
WELL = {1: (28, 110), 3: (26, 105), 5: (20, 95), 7: (20, 90), 9: (19, 88), 13: (16, 80), 15: (15, 75)}


def _born(years: int) -> date:
    return date(NOW.year - years, 1, 2)


def _signs(chance: random.Random) -> dict[Any, Any]:
    return {
        RR: chance.randint(12, 70),
        HR: chance.randint(50, 200),
        SPO2: chance.randint(80, 100),
        TEMP: str(chance.randint(345, 405) / 10),
        CodedSignal.CONSCIOUSNESS: chance.choice([Consciousness.ALERT, Consciousness.VOICE]),
        CodedSignal.SKIN: chance.choice(list(Skin)),
        CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR,
    }


def _child(signs: dict[Any, Any], years: int, *, ill: bool = True) -> Finding | None:
    record = rounds((1, signs), born=_born(years), conditions=(ILL,) if ill else ())
    return findings(record, Kind.SEPSIS_RISK).get("sepsis-signs")


def _urgency(one: Finding | None) -> Urgency:
    return one.urgency if one is not None else Urgency.ROUTINE


@pytest.mark.parametrize("years", WELL)
@pytest.mark.parametrize("seed", range(25))
def test_another_sign_never_calms_a_child(seed: int, years: int) -> None:
    """What some signs ask for, all of them ask for at least."""
    chance = random.Random(seed * 100 + years)
    whole = _signs(chance)
    some = {sign: value for sign, value in whole.items() if chance.random() < 0.5}
    assert _urgency(_child(some, years)) <= _urgency(_child(whole, years))


@pytest.mark.parametrize("years", WELL)
@pytest.mark.parametrize("seed", range(10))
def test_a_sign_that_was_missing_is_not_missing_once_it_is_sent(seed: int, years: int) -> None:
    chance = random.Random(seed * 100 + years)
    whole = _signs(chance)
    some = {sign: value for sign, value in whole.items() if chance.random() < 0.5}
    part, full = _child(some, years), _child(whole, years)
    if part is not None and full is not None:
        assert {gap.key for gap in full.missing} <= {gap.key for gap in part.missing}


@pytest.mark.parametrize("years", WELL)
@pytest.mark.parametrize("seed", range(10))
def test_the_order_of_signs_changes_nothing(seed: int, years: int) -> None:
    whole = _signs(random.Random(seed * 100 + years))
    turned = dict(reversed(whole.items()))
    said, again = _child(whole, years), _child(turned, years)
    assert (said and said.sentence) == (again and again.sentence)


@pytest.mark.parametrize("years", WELL)
@pytest.mark.parametrize("ill", [True, False])
def test_a_well_child_is_quiet(years: int, ill: bool) -> None:
    breaths, pulse = WELL[years]
    well = {
        RR: breaths,
        HR: pulse,
        SPO2: 98,
        TEMP: "36.8",
        CodedSignal.CONSCIOUSNESS: Consciousness.ALERT,
        CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.AIR,
    }
    assert _urgency(_child(well, years, ill=ill)) is Urgency.ROUTINE


RESULTS = [
    ("haemoglobin", Signal.HAEMOGLOBIN, "718-7", (("121", "g/L"), ("12.1", "g/dL"))),
    ("sodium", Signal.SODIUM, "2951-2", (("137", "mmol/L"), ("137", "meq/L"))),
    ("potassium", Signal.POTASSIUM, "2823-3", (("4.2", "mmol/L"), ("4.2", "meq/L"))),
    ("crp", Signal.CRP, "1988-5", (("96", "mg/L"), ("9.6", "mg/dL"))),
]


def _strip(resources: list[dict[str, Any]]) -> list[tuple[Any, ...]]:
    (one,) = answer_of(patient(), *resources).reviews
    return [
        (row.key, row.newest.value, row.newest.at, row.previous and (row.previous.value, row.previous.at))
        for row in one.latest.rows
    ]


def _results(unit: int, *, again: bool = True) -> list[dict[str, Any]]:
    found = []
    for key, _, code, said in RESULTS:
        value = quantity(*said[unit])
        found.append(observation(key, code, valueQuantity=value))
        if again:
            found.append(observation(f"{key}-before", code, at=earlier("30 h"), valueQuantity=value))
    return found


@pytest.mark.parametrize("seed", range(10))
def test_units_and_order_of_the_latest_results(seed: int) -> None:
    turned = _results(0)
    random.Random(seed).shuffle(turned)
    said = _strip(_results(0))
    assert {row[0] for row in said} == {key for key, *_ in RESULTS}
    assert _strip(turned) == said
    other = [(key, value and value.normalize(), at) for key, value, at, _ in _strip(_results(1))]
    assert other == [(key, value.normalize(), at) for key, value, at, _ in said]


def test_another_coding_beside_the_first_changes_nothing() -> None:
    """A local code before or after the one that is read."""
    local = {"system": "https://ward.example/codes", "code": "HB-1"}
    plain = _strip(_results(0))
    for place in (0, 1):
        some = _results(0)
        for one in some:
            one["code"]["coding"].insert(place, local)
        assert _strip(some) == plain


@pytest.mark.parametrize("seed", range(20))
def test_a_result_that_is_taken_away_takes_only_its_own_line(seed: int) -> None:
    chance = random.Random(seed)
    whole = _strip(_results(0))
    gone = chance.choice([key for key, *_ in RESULTS])
    left = [one for one in _results(0) if one["id"].removesuffix("-before") != gone]
    assert _strip(left) == [row for row in whole if row[0] != gone]


def test_an_earlier_result_changes_no_newest() -> None:
    alone, after = _strip(_results(0, again=False)), _strip(_results(0))
    assert [row[:3] for row in alone] == [row[:3] for row in after]
    assert all(row[3] is None for row in alone)
    assert all(row[3] is not None for row in after)


def _charted(chance: random.Random, signal: Signal) -> list[Measurement]:
    """Return a volume for every two hours of a day and a bit, in order."""
    return [reading(signal, ended, chance.randint(0, 300), began=ended + 2) for ended in range(26, -2, -2)]


def _fluid(numbers: dict[Signal, Any]) -> FluidBalance:
    return bedside(chart(numbers)).fluid_balance


def _some(chance: random.Random, whole: list[Measurement]) -> list[Measurement]:
    return [one for one in whole if chance.random() < 0.9]


@pytest.mark.parametrize("seed", range(60))
def test_more_of_the_chart_never_opens_a_balance(seed: int) -> None:
    chance = random.Random(seed)
    taken, passed = _charted(chance, IN), _charted(chance, URINE)
    part = _fluid({IN: _some(chance, taken), URINE: _some(chance, passed)}).day
    full = _fluid({IN: taken, URINE: passed, WEIGHT: [(40, "70"), (1, "72")]}).day
    assert full is not None
    assert full.difference is not None
    if part is not None:
        assert full.taken.volume >= part.taken.volume
        assert full.given_off.volume >= part.given_off.volume


@pytest.mark.parametrize("gone", [IN, URINE])
@pytest.mark.parametrize("seed", range(10))
def test_a_side_that_nobody_charted_is_no_zero(seed: int, gone: Signal) -> None:
    chance = random.Random(seed)
    whole = {IN: _charted(chance, IN), URINE: _charted(chance, URINE)}
    del whole[gone]
    day = _fluid(whole).day
    assert day is None or day.difference is None


@pytest.mark.parametrize("seed", range(30))
def test_a_weight_changes_no_volume(seed: int) -> None:
    chance = random.Random(seed)
    whole = {IN: _charted(chance, IN), URINE: _charted(chance, URINE)}
    bare = _fluid(whole)
    weighed = _fluid({**whole, WEIGHT: [(2, chance.randint(40, 120))]})
    assert (weighed.day, weighed.cumulative, weighed.gaps) == (bare.day, bare.cumulative, bare.gaps)
    assert bare.urine is not None
    assert bare.urine.per_kilogram is None
    assert weighed.urine is not None
    assert weighed.urine.per_kilogram is not None


def _periods(code: str, name: str, unit: str, each: Decimal) -> list[dict[str, Any]]:
    found = []
    for hours in range(0, 24, 6):
        span = {"start": earlier(f"{hours + 6} h"), "end": earlier(f"{hours} h")}
        value = quantity(str(each), unit)
        found.append(observation(f"{name}-{hours}", code, at=None, effectivePeriod=span, valueQuantity=value))
    return found


def _said(resources: list[dict[str, Any]]) -> str:
    (one,) = answer_of(patient(), *resources).reviews
    (found,) = (each for each in one.findings if each.key == "fluid-balance")
    return found.sentence


@pytest.mark.parametrize("seed", range(8))
def test_units_and_order_of_a_balance(seed: int) -> None:
    """1000 mL is 1 L, in any order."""
    chance = random.Random(seed)
    taken, passed = Decimal(chance.randint(100, 160) * 10), Decimal(chance.randint(5, 30) * 10)
    millilitres = [*_periods("9103-3", "in", "mL", taken), *_periods("9192-6", "urine", "mL", passed)]
    litres = [*_periods("9103-3", "in", "L", taken / 1000), *_periods("9192-6", "urine", "L", passed / 1000)]
    said = _said(millilitres)
    assert f"in {taken * 4}, urine {passed * 4} mL in 24 hours" in said
    assert _said(litres) == said
    chance.shuffle(millilitres)
    assert _said(millilitres) == said


def test_an_even_balance_calls_nobody() -> None:
    record: Record = chart(
        {
            IN: [reading(IN, 0, 2000, began=24)],
            URINE: [reading(URINE, 0, 1700, began=24)],
            WEIGHT: [(30, "70"), (2, "70.3")],
        }
    )
    assert "fluid-balance" not in findings(record, Kind.CONTEXT)
