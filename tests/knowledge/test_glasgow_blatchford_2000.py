"""Blatchford O et al., Lancet 2000;356:1318-1321, its table as restated (the paper was not read)."""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import NOW, bedside, chart, condition, was_done
from weatherglass.assessments.blood.bleeding import assess_bleeding
from weatherglass.facts.blood.blatchford import blatchford
from weatherglass.facts.results.open_points import Known, OpenTotal, points_of_part
from weatherglass.knowledge.scores.points import glasgow_blatchford_2000 as score
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex

HAEMATEMESIS = condition(ConditionKind.MELAENA, ConditionKind.BLEEDING, began=3, text="Haematemesis")
MELAENA = condition(ConditionKind.MELAENA, ConditionKind.BLEEDING, began=3, text="Melaena")


@pytest.mark.parametrize(
    ("part", "bands"),
    [
        ("urea", "6.4:0 6.5:2 7.9:2 8.0:3 9.9:3 10:4 24.9:4 25:6"),
        ("haemoglobin-of-men", "130:0 129:1 120:1 119:3 100:3 99:6"),
        ("haemoglobin-of-women", "120:0 119:1 100:1 99:6"),
        ("systolic-pressure", "110:0 109:1 100:1 99:2 90:2 89:3"),
        ("pulse", "99:0 100:1"),
    ],
)
def test_both_ends_of_every_band(part: str, bands: str) -> None:
    for value, _, points in (band.partition(":") for band in bands.split()):
        number = Known("", ((NOW, Decimal(value)),))
        known = dict.fromkeys((row.input for row in score.ROWS if row.part == part), number)
        found = points_of_part(part, score.ROWS, known)
        assert (found.lowest, found.highest) == (int(points), int(points)), value


def _score(*conditions: Any, sex: Sex = Sex.MALE, **numbers: str) -> OpenTotal | None:
    values = {"UREA": "20", "HAEMOGLOBIN": "82", "SYSTOLIC_PRESSURE": "98", "PULSE": "118", **numbers}
    series = {Signal[name]: [(1, value)] for name, value in values.items() if value}
    return blatchford(bedside(chart(series, sex=sex, conditions=conditions)))


def test_what_is_known_is_added_up() -> None:
    """Urea 4, haemoglobin 6, systolic 2, pulse 1; whether the patient fainted is not recorded."""
    found = _score(HAEMATEMESIS)
    assert found is not None
    assert (found.lowest, found.highest) == (13, 15)
    assert [one.part for one in found.unknown] == ["fainting"]


@pytest.mark.parametrize(("days", "is_shown"), [(0.5, False), (7, False), (7.1, True)])
def test_not_once_somebody_has_looked_inside(days: float, *, is_shown: bool) -> None:
    """Ours: the score was told three days after an ulcer had been clipped."""
    looked = was_done(ProcedureKind.GUT_ENDOSCOPY, hours=24 * days)
    values = {
        Signal.UREA: "20",
        Signal.HAEMOGLOBIN: "82",
        Signal.SYSTOLIC_PRESSURE: "98",
        Signal.PULSE: "118",
    }
    series = {signal: [(1, value)] for signal, value in values.items()}
    record = chart(series, conditions=(HAEMATEMESIS,), procedures=(looked,))
    assert (blatchford(bedside(record)) is not None) is is_shown


def test_what_the_record_says_besides() -> None:
    """Melaena 1, syncope 2, liver disease 2, heart failure 2."""
    others = (
        MELAENA,
        condition(ConditionKind.LIVER_DISEASE, text="Cirrhosis"),
        condition(ConditionKind.HEART_FAILURE, text="Heart failure"),
        condition(ConditionKind.FALL, text="Syncope and fall"),
    )
    found = _score(*others)
    assert found is not None
    assert (found.lowest, found.unknown) == (20, ())


def test_what_was_not_measured_is_open() -> None:
    found = _score(HAEMATEMESIS, UREA="", HAEMOGLOBIN="")
    assert found is not None
    assert found.lowest == 3
    assert [one.part for one in found.unknown] == ["urea", "haemoglobin", "fainting"]


def test_haemoglobin_where_the_sex_is_not_known() -> None:
    """119 is 3 points in a man and 1 in a woman: both ends are kept; 99 is 6 in both."""
    found = _score(HAEMATEMESIS, sex=Sex.UNKNOWN, HAEMOGLOBIN="119")
    assert found is not None
    assert next((one.lowest, one.highest) for one in found.parts if one.part == "haemoglobin") == (1, 3)
    found = _score(HAEMATEMESIS, sex=Sex.UNKNOWN, HAEMOGLOBIN="99")
    assert found is not None
    assert "haemoglobin" not in [one.part for one in found.unknown]


def test_only_for_bleeding_from_the_gut() -> None:
    assert _score(condition(ConditionKind.BLEEDING, began=3, text="Bleeding wound")) is None


def test_every_number_it_counts_is_named_as_evidence() -> None:
    """The urea that adds points is named too, though the sentence does not print it."""
    series = {Signal.UREA: [(1, "20")], Signal.SYSTOLIC_PRESSURE: [(1, "98")], Signal.PULSE: [(1, "118")]}
    one = bedside(chart(series, conditions=(HAEMATEMESIS,)))
    (finding,) = assess_bleeding(one)
    urea = one.record.series(Signal.UREA).latest
    assert urea is not None
    assert urea.origin in finding.evidence
