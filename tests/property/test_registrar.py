"""Invariances of gas, ketones, organs and the strip over invented values.

No published number is checked here.

Units and order change nothing, a part that is missing leaves an answer open and never calm, and more
data never makes a closed answer open.
"""

import random
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from tests.charts import bedside, chart, condition, findings, reading
from tests.records import answer_of, observation, patient, quantity
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import overt_dic
from weatherglass.facts.results.curb_65 import curb_65
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.facts.results.phoenix import phoenix
from weatherglass.knowledge.scores.points.organ_failure import SOFA
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Sample, Signal

pytestmark = pytest.mark.property

PH, PCO2, HCO3 = Signal.PH_ARTERIAL, Signal.PCO2_ARTERIAL, Signal.BICARBONATE
ORGANS: dict[Signal, tuple[int, int]] = {
    Signal.PLATELETS: (5, 300),
    Signal.BILIRUBIN: (4, 300),
    Signal.MEAN_PRESSURE: (50, 100),
    Signal.GCS_TOTAL: (3, 15),
    Signal.CREATININE: (50, 600),
}


def _gas(seed: int) -> tuple[str, Decimal, str]:
    chance = random.Random(seed)
    kilopascal = Decimal(chance.randint(20, 120)) / 10
    return f"{chance.randint(690, 765) / 100:.2f}", kilopascal, str(chance.randint(5, 45))


def _told(resources: list[dict[str, Any]]) -> list[tuple[str, Urgency]]:
    (one,) = answer_of(patient(), *resources).reviews
    return [(f.key, f.urgency) for f in one.findings if f.kind is Kind.BLOOD_GAS]


@pytest.mark.parametrize("seed", range(40))
def test_units_and_order_of_a_gas(seed: int) -> None:
    """120 mmHg is 16.0 kPa; values are chosen whole in mmHg, so that both units hold the same number."""
    ph, kilopascal, base = _gas(seed)
    mercury = (kilopascal * Decimal("7.50062")).quantize(Decimal(1))
    exact = mercury / Decimal("7.50062")
    other = [
        observation("ph", "2744-1", valueQuantity=quantity(ph, "[pH]")),
        observation("co2", "2019-8", valueQuantity=quantity(str(mercury), "mm[Hg]")),
        observation("hco3", "1960-4", valueQuantity=quantity(base, "mmol/L")),
    ]
    same = [*other]
    same[1] = observation("co2", "2019-8", valueQuantity=quantity(f"{exact:.6f}", "kPa"))
    assert _told(other) == _told(same) == _told(other[::-1])


@pytest.mark.parametrize("seed", range(60))
def test_an_unnamed_vessel_is_never_calmer_than_what_both_vessels_say(seed: int) -> None:
    """Acid blood asks for somebody whatever the vessel."""
    ph, kilopascal, base = _gas(seed)
    for sample in (Sample.ARTERIAL, Sample.NOT_STATED):
        record = chart(
            {
                PH: [reading(PH, 1, ph, sample=sample)],
                PCO2: [reading(PCO2, 1, kilopascal, sample=sample)],
                HCO3: [(1, base)],
            }
        )
        worst = max(f.urgency for f in findings(record, Kind.BLOOD_GAS).values())
        if Decimal(ph) <= Decimal("7.20"):
            assert worst is Urgency.EMERGENCY
        elif Decimal(ph) < Decimal("7.35"):
            assert worst >= Urgency.PROMPT


@pytest.mark.parametrize("seed", range(60))
def test_a_part_that_is_missing_never_makes_acid_blood_calm(seed: int) -> None:
    ph, kilopascal, base = _gas(seed)
    whole: dict[Signal, Any] = {PH: [(1, ph)], PCO2: [(1, kilopascal)], HCO3: [(1, base)]}
    for gone in (PCO2, HCO3):
        part = {signal: values for signal, values in whole.items() if signal is not gone}
        worst = max(f.urgency for f in findings(chart(part), Kind.BLOOD_GAS).values())
        assert worst >= (Urgency.PROMPT if Decimal(ph) < Decimal("7.35") else Urgency.ROUTINE)


@pytest.mark.parametrize("seed", range(60))
def test_the_whole_total_lies_inside_what_was_open(seed: int) -> None:
    """And what was closed stays as it is."""
    chance = random.Random(seed)
    whole = {signal: [(1, chance.randint(*span))] for signal, span in ORGANS.items()}
    known = chance.sample(list(whole), chance.randint(0, len(whole)))
    part = organ_failure(bedside(chart({signal: whole[signal] for signal in known})), SOFA)
    full = organ_failure(bedside(chart(whole)), SOFA)
    assert part.lowest <= full.lowest
    assert full.highest <= part.highest
    for before, after in zip(part.parts, full.parts, strict=True):
        if not before.is_open:
            assert after.lowest == after.highest == before.lowest


@pytest.mark.parametrize("seed", range(60))
def test_another_part_of_ketoacidosis_never_takes_back_what_was_found(seed: int) -> None:
    """Two parts ask for the third, by the ketones as an emergency; the third confirms it or answers it."""
    chance = random.Random(seed)
    values = {
        Signal.KETONES: f"{chance.randint(0, 80) / 10}",
        Signal.PH_VENOUS: f"{chance.randint(690, 740) / 100:.2f}",
        Signal.GLUCOSE: f"{chance.randint(4, 40)}",
    }
    diabetes = (condition(ConditionKind.DIABETES),)
    whole = chart({signal: [(1, value)] for signal, value in values.items()}, conditions=diabetes)
    told = findings(whole, Kind.METABOLIC).get("ketoacidosis")
    is_met = Decimal(values[Signal.KETONES]) >= 3 and Decimal(values[Signal.PH_VENOUS]) < Decimal("7.3")
    assert (told is not None and told.urgency is Urgency.EMERGENCY) is is_met
    for gone in (Signal.KETONES, Signal.PH_VENOUS):
        part = chart(
            {signal: [(1, value)] for signal, value in values.items() if signal is not gone},
            conditions=diabetes,
        )
        found = findings(part, Kind.METABOLIC).get("ketoacidosis")
        if is_met:
            assert found is not None
            assert found.urgency is (Urgency.EMERGENCY if gone is Signal.PH_VENOUS else Urgency.URGENT)
            assert [gap.key for gap in found.missing] == [gone.value]


def _open_inputs(chance: random.Random) -> dict[Signal, Any]:
    dimer, time = Signal.D_DIMER, Signal.PROTHROMBIN_TIME
    return {
        Signal.UREA: [(1, chance.randint(2, 12))],
        Signal.RESPIRATION_RATE: [(1, chance.randint(10, 40))],
        Signal.SYSTOLIC_PRESSURE: [(1, chance.randint(70, 140))],
        Signal.DIASTOLIC_PRESSURE: [(1, chance.randint(40, 80))],
        Signal.GCS_TOTAL: [(1, chance.randint(3, 15))],
        Signal.PLATELETS: [(1, chance.randint(10, 150))],
        Signal.LACTATE: [(1, str(chance.randint(5, 140) / 10))],
        Signal.MEAN_PRESSURE: [(1, chance.randint(20, 80))],
        Signal.FIBRINOGEN: [(1, str(chance.randint(3, 30) / 10))],
        Signal.INR: [(1, str(chance.randint(9, 30) / 10))],
        dimer: [reading(dimer, 1, str(chance.randint(1, 90) / 10), reference=("0", "0.5"))],
        time: [reading(time, 1, chance.randint(10, 25), reference=("10", "13"))],
    }


def _phoenix(at_bedside: Bedside) -> OpenTotal:
    """Take a child of six."""
    return phoenix(at_bedside, 76)


@pytest.mark.parametrize("score", [curb_65, overt_dic, _phoenix])
@pytest.mark.parametrize("seed", range(80))
def test_more_data_never_opens_a_part_that_was_closed(
    seed: int, score: Callable[[Bedside], OpenTotal]
) -> None:
    """And the whole total lies inside what was open; what stands for seconds or a mean gives way to them."""
    chance = random.Random(seed)
    whole = _open_inputs(chance)
    known = {signal for signal in whole if chance.random() < 0.5}
    if Signal.INR in known:
        known.add(Signal.PROTHROMBIN_TIME)
    if Signal.SYSTOLIC_PRESSURE in known:
        known.add(Signal.MEAN_PRESSURE)
    part = score(bedside(chart({signal: whole[signal] for signal in known})))
    full = score(bedside(chart(whole)))
    assert part.lowest <= full.lowest <= full.highest <= part.highest
    for before, after in zip(part.parts, full.parts, strict=True):
        assert before.lowest <= after.lowest <= after.highest <= before.highest
