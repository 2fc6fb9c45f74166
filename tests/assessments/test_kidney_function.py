"""Kidney function by the published equations, through the assessment.

Worked values: CKD-EPI 2021 and 2009, bedside Schwartz and Cockcroft-Gault, computed from
the printed formulas (see the equations' own tests).
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import chart, condition, findings, measures_of, reading, was_done
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex

CR = Signal.CREATININE
BY_2009 = LocalChoices(egfr_equation="ckd-epi-2009")
SEVENTY_FIVE, FIFTY = date(1951, 1, 1), date(1976, 1, 1)


def _function(record: Record, **rest: Any) -> Finding:
    return findings(record, Kind.KIDNEY_FUNCTION, **rest)["filtration-rate"]


@pytest.mark.parametrize(
    ("creatinine", "born", "sex", "by_2021", "by_2009"),
    [
        (80, FIFTY, Sex.MALE, 103, 99),
        (80, FIFTY, Sex.FEMALE, 77, 74),
        (150, SEVENTY_FIVE, Sex.MALE, 42, 39),
        (150, SEVENTY_FIVE, Sex.FEMALE, 31, 29),
        (300, date(1958, 1, 1), Sex.MALE, 19, 18),
        (45, date(1941, 1, 1), Sex.FEMALE, 91, 88),
    ],
)
def test_adults(creatinine: int, born: date, sex: Sex, by_2021: int, by_2009: int) -> None:
    """103.36/98.58, 77.37/74.06, 41.61/38.68, 31.15/29.06, 18.92/17.57, 91.46/87.73, whole."""
    record = chart({CR: [(1, creatinine)]}, born=born, sex=sex)
    new, old = _function(record), _function(record, choices=BY_2009)
    assert (measures_of(new)["egfr"], measures_of(old)["egfr"]) == (by_2021, by_2009)
    assert (measures_of(new)["equation"], measures_of(old)["equation"]) == ("ckd-epi-2021", "ckd-epi-2009")
    assert (">90" in new.sentence) is (by_2021 > 90)
    assert new.urgency is Urgency.ROUTINE


def test_clearance_where_a_weight_is_recorded() -> None:
    """100 umol/L, 70 years, 70 kg: 60.3 (male), 51.0 (female)."""
    for sex, expected in ((Sex.MALE, 60), (Sex.FEMALE, 51)):
        record = chart({CR: [(1, 100)], Signal.WEIGHT: [(9, 70)]}, born=date(1956, 1, 1), sex=sex)
        found = _function(record)
        assert measures_of(found)["creatinine-clearance"] == expected
        assert "70 kg" in found.sentence


def test_no_weight_no_clearance() -> None:
    assert "creatinine-clearance" not in measures_of(_function(chart({CR: [(1, 100)]}, sex=Sex.MALE)))


@pytest.mark.parametrize(("height", "creatinine", "rate"), [("110", 40, 100), ("95", 120, 29)])
def test_children(height: str, creatinine: int, rate: int) -> None:
    """Bedside Schwartz: 110 cm and 40 umol/L give 100.4; 95 cm and 120 give 28.9."""
    record = chart({CR: [(1, creatinine)], Signal.HEIGHT: [(9, height)]}, born=date(2020, 1, 1))
    found = measures_of(_function(record))
    assert (found["egfr"], found["equation"]) == (rate, "bedside-schwartz-2009")


@pytest.mark.parametrize(
    ("rest", "gap"),
    [
        pytest.param({"born": None, "sex": Sex.MALE}, "age", id="age"),
        pytest.param({"sex": Sex.UNKNOWN}, "sex", id="sex"),
        pytest.param({"sex": Sex.OTHER}, "sex", id="other-sex"),
        pytest.param({"born": date(2020, 1, 1), "sex": Sex.MALE}, "height", id="height-of-a-child"),
        pytest.param({"born": date(2025, 6, 1), "sex": Sex.MALE}, "age", id="under-a-year"),
    ],
)
def test_what_is_missing_is_named(rest: dict[str, Any], gap: str) -> None:
    found = _function(chart({CR: [(1, 100)]}, **rest))
    assert [one.key for one in found.missing] == [gap]
    assert "egfr" not in measures_of(found)


class TestReliability:
    """No equation holds in an unsteady state, in pregnancy or on dialysis."""

    def _because(self, record: Record) -> str:
        return str(measures_of(_function(record))["unsteady-state"])

    def test_steady(self) -> None:
        assert self._because(chart({CR: [(72, 100), (1, 100)]}, sex=Sex.MALE)) == "no"

    def test_injury(self) -> None:
        found = _function(chart({CR: [(72, 100), (1, 200)]}, sex=Sex.MALE))
        assert "Not to be relied on: criteria of acute kidney injury are met." in found.sentence
        assert any("never makes a dose safe" in each for each in found.cautions)

    def test_low_urine(self) -> None:
        urine = [reading(Signal.URINE_VOLUME, 0, 20, began=12)]
        record = chart({CR: [(72, 100), (1, 100)], Signal.URINE_VOLUME: urine}, sex=Sex.MALE)
        assert self._because(record) == "criteria of acute kidney injury are met"

    def test_recovering(self) -> None:
        record = chart({CR: [(480, 80), (96, 300), (1, 110)]}, sex=Sex.MALE)
        assert "still changing" in self._because(record)

    def test_pregnancy(self) -> None:
        pregnant = (condition(ConditionKind.PREGNANCY),)
        record = chart({CR: [(1, 60)]}, born=date(1996, 1, 1), sex=Sex.FEMALE, conditions=pregnant)
        assert self._because(record) == "pregnancy"

    def test_therapy(self) -> None:
        therapy = was_done(ProcedureKind.RENAL_REPLACEMENT, hours=10, text="Haemodialysis")
        record = chart({CR: [(100, 500), (40, 500)]}, sex=Sex.MALE, procedures=(therapy,))
        assert "renal replacement therapy" in self._because(record)


def test_the_reported_rate_of_the_same_sample_stands_beside_it() -> None:
    record = chart({CR: [(1, 80)], Signal.EGFR: [(1, 88)]}, born=FIFTY, sex=Sex.MALE)
    found = measures_of(_function(record))
    assert (found["egfr"], found["reported-egfr"]) == (103, 88)
