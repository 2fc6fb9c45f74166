"""Units as feeds write them: other cases, spaces, signs and words. Common practice, no source.

Every spelling of the table is kept as it is; these are beside it, and each is reported as read by its name.
"""

from decimal import Decimal
from itertools import permutations
from typing import Any

import pytest

from tests.records import Json, observation, patient, reading_of
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.terminology.units import ACCEPTED, plain

_ONE = Decimal(1)


@pytest.mark.parametrize(
    ("signal", "alike", "spellings"),
    [
        (
            Signal.TEMPERATURE,
            "Cel",
            ["C", "c", "CEL", "deg C", "\u00baC", "\u00b0 C", "\u2103", "degrees Celsius"],
        ),
        (Signal.TEMPERATURE, "[degF]", ["F", "DegF", "\u00b0f", "degrees Fahrenheit", "[DEGF]"]),
        (Signal.PULSE, "/min", ["BPM", "/MIN", "Beats / min", "beats per minute", "pulses/min"]),
        (Signal.RESPIRATION_RATE, "/min", ["RPM", "Breaths per minute", "resp/min"]),
        (Signal.SYSTOLIC_PRESSURE, "mm[Hg]", ["MMHG", "mmhg", "mm hg", "MM[HG]", "mm(Hg)"]),
        (Signal.SYSTOLIC_PRESSURE, "kPa", ["KPA", "kpa"]),
        (Signal.CREATININE, "umol/L", ["UMOL/L", "\u00b5mol / l", "micromol/litre", "mcmol/L", "umoles/L"]),
        (Signal.CREATININE, "mg/dL", ["Mg/dL", "mg / dl", "MG/DL", "milligram/decilitre"]),
        (Signal.WHITE_CELLS, "10*9/L", ["x10*9/L", "10^9/l", "X10E9/L", "GIGA/L", "k/cumm", "10\u2079/l"]),
        (Signal.WHITE_CELLS, "/uL", ["cells/mm^3", "/cumm", "CELLS/UL", "cells/mcL"]),
        (Signal.OXYGEN_FLOW, "L/min", ["L/MIN", "lpm", "litres/min", "L / minute"]),
        (Signal.HAEMOGLOBIN, "g/dL", ["G/DL", "gm/dl", "grams/dL"]),
        (Signal.WEIGHT, "kg", ["KG", "Kg", "kilograms"]),
        (Signal.WEIGHT, "[lb_av]", ["LB", "lbs"]),
        (Signal.URINE_VOLUME, "mL", ["ML", "cc", "millilitres"]),
        (Signal.TROPONIN, "ng/L", ["NG/L", "PG/ML", "pg / ml"]),
        (Signal.EGFR, "mL/min/{1.73_m2}", ["ml/min/1.73 m2", "mL/min/1.73m\u00b2", "ML/MIN/1.73M2"]),
        (Signal.D_DIMER, "ug/mL{FEU}", ["ug/mL FEU", "UG/ML FEU", "mg/l feu"]),
        (Signal.POTASSIUM, "meq/L", ["MEQ/L", "mEq / l", "mMol/L"]),
    ],
)
def test_other_spellings_of_a_unit(signal: Signal, alike: str, spellings: list[str]) -> None:
    known = ACCEPTED[signal][alike]
    for spelling in spellings:
        found = ACCEPTED[signal].written(spelling)
        assert found is not None, spelling
        assert found.apply(_ONE) == known.apply(_ONE), spelling
        assert found.by_name or spelling in ACCEPTED[signal]


@pytest.mark.parametrize(
    ("signal", "spelling"),
    [
        (Signal.POTASSIUM, "mg/dL"),
        (Signal.CREATININE, "mol/L"),
        (Signal.D_DIMER, "ng/mL DDU"),
        (Signal.TEMPERATURE, "kelvins"),
        (Signal.PULSE, "Hz"),
        (Signal.GLUCOSE, "g/dL"),
        (Signal.CREATININE, "umol/L" + " " * 100_000 + "per"),
    ],
)
def test_what_is_another_unit_is_not_read(signal: Signal, spelling: str) -> None:
    assert ACCEPTED[signal].written(spelling) is None


def test_no_plain_spelling_means_two_things() -> None:
    """A factor of ten, or of a thousand, is never lost in a change of case."""
    for signal, units in ACCEPTED.items():
        for spelling, unit in units.items():
            found = units.alike.get(plain(spelling))
            if found is not None:
                assert found.apply(_ONE) == unit.apply(_ONE), (signal, spelling)


def test_a_unit_in_capitals_is_read_and_said() -> None:
    measured = {"value": 7, "unit": "MMOL / L"}
    reading = reading_of(patient(), observation("k", "2823-3", valueQuantity=measured))
    ((_, record),) = reading.records
    assert [one.value for one in record.series(Signal.POTASSIUM).items] == [7]
    assert [issue.key for issue in reading.issues] == [IssueKey.UNIT_BY_NAME]


def test_a_volume_of_urine_in_capitals_is_the_volume_of_its_period() -> None:
    period = {"start": "2026-03-01T08:00:00Z", "end": "2026-03-01T10:00:00Z"}
    volume = observation(
        "u", "9192-6", at=None, effectivePeriod=period, valueQuantity={"value": 90, "unit": "ML"}
    )
    ((_, record),) = reading_of(patient(), volume).records
    assert [one.value for one in record.series(Signal.URINE_VOLUME).items] == [90]


def _alertness(*codings: Json, **rest: Any) -> Consciousness:
    answer = {"coding": list(codings), **rest}
    ((_, record),) = reading_of(patient(), observation("a", "80288-4", valueCodeableConcept=answer)).records
    (answered,) = record.coded(CodedSignal.CONSCIOUSNESS).items
    assert isinstance(answered.value, Consciousness)
    return answered.value


def test_an_answer_in_a_sites_own_code_is_read_by_its_words() -> None:
    """As an answer without any code is."""
    own = {"system": "https://site.example/acvpu", "code": "2", "display": "Responds to voice"}
    assert _alertness(own) is Consciousness.VOICE
    assert _alertness({**own, "display": "two"}, text="Voice") is Consciousness.VOICE


def test_of_two_answers_in_one_the_more_serious_counts_in_any_order() -> None:
    alert = {"system": "http://snomed.info/sct", "code": "248234008"}
    pain = {"system": "https://site.example/acvpu", "code": "P"}
    for codings in permutations((alert, pain)):
        assert _alertness(*codings) is Consciousness.PAIN
