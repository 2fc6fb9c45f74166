"""Values at the ends of what a number or a time can be: an issue or left out, never a fault."""

import pytest

from tests.records import answer_of, measured, ordered, patient, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.times import read_when
from weatherglass.pipeline import review
from weatherglass.stamp import stamp


@pytest.mark.parametrize(
    "at",
    [
        "0001-01-01T00:00:00+14:00",
        "9999-12-31T23:59:59-12:00",
        "0001-01-01",
        "9999-12-31",
        "1849-12-31",
        "2151",
    ],
)
def test_a_time_beyond_any_record_is_no_time(at: str) -> None:
    """Windows are counted from every time, so a time at the end of the calendar cannot be used."""
    assert read_when(at) is None
    answer = answer_of(
        patient(), measured("hr", "pulse", "80", "/min"), measured("hr2", "pulse", "81", "/min", at=at)
    )
    assert IssueKey.BAD_TIME in {issue.key for issue in answer.issues}
    assert answer.collection(stamp())


@pytest.mark.parametrize("at", ["1850-01-01", "2150-12-31", "1899-06-01"])
def test_an_old_birth_date_is_a_date(at: str) -> None:
    assert read_when(at) is not None


@pytest.mark.parametrize("value", ["1e999999", "1e16", "1e-999999", "9" * 19])
def test_a_dose_beyond_any_medicine_is_no_dose(value: str) -> None:
    """Found by mutation: the day's sum of such doses could not be formed."""
    order = ordered(
        "furosemide",
        dosageInstruction=[
            {
                "timing": {"repeat": {"frequency": 4, "period": 1, "periodUnit": "h"}},
                "doseAndRate": [{"doseQuantity": {"value": 7777, "unit": "mg"}}],
            }
        ],
    )
    whole = text(
        {
            "resourceType": "Bundle",
            "type": "collection",
            "entry": [{"resource": r} for r in (patient(), measured("hr", "pulse", "80", "/min"), order)],
        }
    )
    assert review(whole.replace(b"7777", value.encode())).collection(stamp())
