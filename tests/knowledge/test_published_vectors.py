"""Worked vectors of the published criteria, read as FHIR and reviewed through the real door.

Each case file in fixtures/cases names the table it is constructed from.
"""

import tomllib
from datetime import datetime
from decimal import ROUND_DOWN, Decimal
from pathlib import Path
from typing import Any

import pytest

from tests.records import (
    SNOMED,
    alertness,
    answer_of,
    asked_for,
    earlier,
    measured,
    observation,
    on_air,
    on_oxygen,
    patient,
    points_of,
    quantity,
    score_in,
    stage_in,
)

_CASES = Path(__file__).parents[2] / "fixtures" / "cases"
#: What has no creatinine to judge by.
_BY_URINE = "urine"


def _cases(criterion: str) -> list[Any]:
    return [
        pytest.param(tomllib.loads(path.read_text("utf-8"), parse_float=Decimal), id=path.stem)
        for path in sorted((_CASES / criterion).glob("*.toml"))
    ]


def _observations(given: dict[str, Any], at: str) -> list[dict[str, Any]]:
    found = []
    for signal, value in given.items():
        if signal == "consciousness":
            found.append(alertness(value, at=at))
        elif signal == "oxygen-delivery":
            found.append(on_air(at=at) if value == "air" else on_oxygen(at=at))
        elif "-" in signal or signal in ("spo2", "pulse", "temperature"):
            number, _, unit = str(value).partition(" ")
            found.append(measured(signal, signal, number, unit, at=at))
    if given.get("spo2_scale") == 2:
        target = asked_for(
            "Oxygen therapy, target saturation",
            id="target",
            quantityRange={"low": quantity("88", "%"), "high": quantity("92", "%")},
        )
        found.append(target)
    if given.get("pregnant"):
        found.append(
            {
                "resourceType": "Condition",
                "id": "pregnancy",
                "subject": {"reference": "Patient/p"},
                "clinicalStatus": {
                    "coding": [
                        {
                            "system": "http://terminology.hl7.org/CodeSystem/condition-clinical",
                            "code": "active",
                        }
                    ]
                },
                "code": {"coding": [{"system": SNOMED, "code": "77386006"}], "text": "Pregnant"},
            }
        )
    return found


def _born(age: int | None, at: datetime) -> str:
    return f"{at.year - (70 if age is None else age)}-01-15"


@pytest.mark.parametrize("case", _cases("news2-2017"))
def test_news2_gives_the_points_of_chart_1(case: dict[str, Any]) -> None:
    """RCP NEWS2 2017, Chart 1: every row scores as printed, and the total is their sum."""
    at = case["at"]
    given, expected = case["input"], case["expected"]
    record = [patient(_born(given.get("age_years"), at)), *_observations(given, at.isoformat())]
    score = score_in(answer_of(*record))
    if "not_applicable" in expected:
        assert score.not_applicable
        assert score.total is None
        return
    points = {key: value for key, value in points_of(score).items() if value is not None}
    assert points == expected["points"]
    assert score.total == expected.get("total")
    if "missing" in expected:
        assert {gap.key for gap in score.missing} == set(expected["missing"])
        assert (score.lowest, score.highest) == (expected["lowest"], expected["highest"])
    assert score.tier == {"single-3": "3 in one parameter", "7+": "7 or more"}.get(
        expected["response"], expected["response"]
    )


def _creatinine_record(case: dict[str, Any]) -> list[dict[str, Any]]:
    at = case["at"].isoformat()
    given = case["input"]
    rows = [("scr", given["creatinine"], at)]
    rows += [
        (f"scr-{i}", one["creatinine"], earlier(one["before"], at))
        for i, one in enumerate(given.get("earlier", ()))
    ]
    record: list[dict[str, Any]] = [patient(_born(given.get("age_years"), case["at"]))]
    for identity, value, moment in rows:
        number, _, unit = value.partition(" ")
        one = observation(
            identity,
            "2160-0" if unit == "mg/dL" else "14682-9",
            at=moment,
            valueQuantity=quantity(number, unit),
        )
        if "reference_range" in given:
            limits, _, range_unit = given["reference_range"].partition(" ")
            low, _, high = limits.partition("-")
            one["referenceRange"] = [{"low": quantity(low, range_unit), "high": quantity(high, range_unit)}]
        record.append(one)
    if "height" in given:
        number, _, unit = given["height"].partition(" ")
        record.append(observation("height", "8302-2", at=at, valueQuantity=quantity(number, unit)))
    if "replacement_therapy_started" in given:
        began = earlier(given["replacement_therapy_started"].removesuffix(" before"), at)
        record.append(
            {
                "resourceType": "Procedure",
                "id": "therapy",
                "status": "in-progress",
                "subject": {"reference": "Patient/p"},
                "code": {"coding": [{"system": SNOMED, "code": "302497006"}], "text": "Haemodialysis"},
                "performedPeriod": {"start": began},
            }
        )
    return record


_CREATININE = [
    case
    for case in (*_cases("nhs-aki-2014"), *_cases("kdigo-aki-2012"))
    if not str(case.id).startswith(_BY_URINE)
]


@pytest.mark.parametrize("case", _CREATININE)
def test_creatinine_stages_by_both_criteria(case: dict[str, Any]) -> None:
    """KDIGO 2012 Table 2 and the NHS England 2014 algorithm, each at its own limits."""
    expected = case["expected"]
    answer = answer_of(*_creatinine_record(case))
    if "kdigo_stage" in expected:
        stage = stage_in(answer, "aki-kdigo").stage
        if expected["kdigo_stage"] == "cannot be staged":
            assert stage is None
        else:
            assert (stage or 0) == expected["kdigo_stage"]
    if "nhs_warning_stage" in expected:
        warning = stage_in(answer, "aki-warning-stage")
        assert (warning.stage or 0) == expected["nhs_warning_stage"]
        if "nhs_ratio" in expected:
            assert warning.ratio is not None
            hundredth = Decimal("0.01")
            assert warning.ratio.quantize(hundredth, rounding=ROUND_DOWN) == Decimal(
                expected["nhs_ratio"]
            ).quantize(hundredth, rounding=ROUND_DOWN)
        if "rise_48h" in expected:
            assert warning.rise == Decimal(expected["rise_48h"].partition(" ")[0])
        if "flag" in expected:
            flag = expected["flag"].partition(",")[0]
            assert warning.flag == ("" if flag == "none" else flag.upper())


@pytest.mark.parametrize(
    "case", [case for case in _cases("kdigo-aki-2012") if str(case.id).startswith(_BY_URINE)]
)
def test_urine_stages_by_kdigo(case: dict[str, Any]) -> None:
    """KDIGO 2012, Table 2, column 'Urine output': one volume over its period, and a weight."""
    at, given, expected = case["at"].isoformat(), case["input"], case["expected"]
    (urine,) = given["urine"]
    volume, _, unit = urine["volume"].partition(" ")
    weight, _, kilogram = given["weight"].partition(" ")
    charted = observation("urine", "9187-6", at=None, valueQuantity=quantity(volume, unit))
    charted["effectivePeriod"] = {"start": earlier(f"{urine['hours']} h", at), "end": at}
    weighed = observation("weight", "29463-7", at=at, valueQuantity=quantity(weight, kilogram))
    found = stage_in(answer_of(patient(), charted, weighed), "aki-kdigo")
    assert found.stage == expected["kdigo_stage"]
    shown = {m.key: m.value for m in found.measures}
    if expected["urine_rate"] != "0 mL/kg/h":  # Anuria is judged without the weight.
        rate = Decimal(expected["urine_rate"].partition(" ")[0])
        assert isinstance(shown["urine-rate"], Decimal)
        assert abs(shown["urine-rate"] - rate) <= Decimal("0.001")


def test_the_published_example_gives_5_and_its_reported_6_is_flagged() -> None:
    """UK Core's NEWS2 example reports 6 with 1 for 37.5 degrees; Chart 1 gives 0 for it, and so 5."""
    from weatherglass.model.findings import Kind
    from weatherglass.pipeline import review

    answer = review((_CASES.parent / "published" / "uk-core-news2-example.json").read_bytes())
    score = score_in(answer)
    assert score.total == 5
    assert list(points_of(score).values()) == [2, 2, 0, 0, 1, 0, 0]
    flagged = [f for f in answer.reviews[0].findings if f.kind is Kind.REPORTED_SCORE_DISAGREES]
    assert len(flagged) == 1
    assert {m.key: m.value for m in flagged[0].measures} == {
        "reported-total": Decimal(6),
        "recomputed-total": Decimal(5),
    }
