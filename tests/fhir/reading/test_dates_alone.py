"""Dates without a time of day, as the readers keep them.

FHIR R4, `datatypes.html#dateTime`: "a date, date-time or partial date"; what a date
alone may serve for is our choice, written down in `fhir/times.py`.
"""

from datetime import UTC, datetime, timedelta

import pytest

from tests.clinical.medicines.wards import problem
from tests.records import bundle, full_set, observation, patient, quantity, text
from weatherglass.clinical.dates_alone import is_date_alone, is_month_alone, is_year_alone
from weatherglass.clinical.record import Record, Remark
from weatherglass.clinical.signals import Signal
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.fhir.times import read_when


def _record(*resources: object) -> Record:
    ((_, record),) = read_bytes(text(bundle(patient(), *resources))).records  # type: ignore[arg-type]
    return record


@pytest.mark.parametrize(
    ("written", "alone", "month", "year"),
    [
        ("2025", True, False, True),
        ("2025-06", True, True, False),
        ("2025-06-20", True, False, False),
        ("2025-06-20T12:00:00Z", False, False, False),
        ("2025-06-20T12:00:00+00:00", False, False, False),
        ("2025-06-20T00:00:00+04:00", False, False, False),
    ],
)
def test_how_much_was_written_stays_with_the_moment(
    written: str, *, alone: bool, month: bool, year: bool
) -> None:
    """An instant at noon or midnight is an instant all the same."""
    when = read_when(written)
    assert when is not None
    assert (is_date_alone(when.at), is_month_alone(when.at), is_year_alone(when.at)) == (alone, month, year)


def test_a_value_of_a_day() -> None:
    """Its mark and its remark agree."""
    creatinine = observation("c", "14682-9", at="2025-06-20", valueQuantity=quantity("80", "umol/L"))
    (one,) = _record(creatinine).series(Signal.CREATININE)
    assert is_date_alone(one.at)
    assert Remark.DAY_ONLY in one.remarks


@pytest.mark.parametrize(
    ("start", "known"), [("2026-02-28T10:00:00+04:00", True), ("2026-02-28", False), ("2026-02", False)]
)
def test_a_day_is_no_beginning_of_a_period_in_hours(start: str, *, known: bool) -> None:
    """Urine over a period that began on some day would be spread over up to a day too many or too few."""
    urine = observation(
        "u",
        "9187-6",  # LOINC: urine output.
        at=None,
        effectivePeriod={"start": start, "end": "2026-03-01T10:00:00+04:00"},
        valueQuantity=quantity("900", "mL"),
    )
    (one,) = _record(urine).series(Signal.URINE_VOLUME)
    assert (one.began is not None) == known


@pytest.mark.parametrize(
    ("since", "seen"),
    [("2026-03-02", True), ("2026-03-02T00:00:00Z", False), ("2026-03-03", False), ("2026-03-01", True)],
)
def test_only_a_date_may_have_begun_already_elsewhere(since: str, *, seen: bool) -> None:
    """2 March has begun east of Greenwich at 20:00 UTC on the first; midnight UTC of it has not come."""
    record = _record(*full_set(), problem("Heart failure", since=since))
    moment = datetime(2026, 3, 1, 20, tzinfo=UTC)
    assert bool(record.until(moment).conditions) == seen
    assert record.until(moment + timedelta(days=3)).conditions
