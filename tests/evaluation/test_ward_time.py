"""Time on wards and transfers, from stays as records have them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from tests.evaluation.wards import at
from weatherglass.evaluation.counting.ward_time import TRANSFER, UNPLANNED_RETURN, joined, ward_time, without
from weatherglass.model.record.care import Stay
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Subject

DAY = datetime(2026, 3, 1, tzinfo=UTC)


def _stay(
    starts: float,
    ends: float | None,
    *,
    critical: bool = False,
    inpatient: bool = True,
    emergency: bool = False,
) -> Stay:
    return Stay(
        origin=Origin(f"Encounter/{starts}-{critical}"),
        starts=at(starts),
        ends=None if ends is None else at(ends),
        critical_care=critical,
        inpatient=inpatient,
        emergency=emergency,
    )


def _record(*stays: Stay, newest: float = 100) -> Record:
    items = [Measurement(Decimal(80), at(hour), Origin(f"Observation/{hour}")) for hour in (1, newest)]
    return Record(
        subject=Subject(origin=Origin("Patient/p")),
        numbers={Signal.PULSE: Series(items)},
        stays=stays,
        newest=at(newest),
    )


def _hours(record: Record, died: float | None = None) -> tuple[list[tuple[float, float]], list[float], bool]:
    stretches, transfers, has_stay = ward_time(record, None if died is None else at(died))
    hour = timedelta(hours=1)
    transfers = [each for each in transfers if each.kind == TRANSFER]
    return (
        [((s.starts - DAY) / hour, (s.ends - DAY) / hour) for s in stretches],
        [(each.at - DAY) / hour for each in transfers],
        has_stay,
    )


@pytest.mark.parametrize(
    ("stays", "expected"),
    [
        pytest.param((_stay(0, 48),), ([(0, 48)], [], True), id="one-ward"),
        pytest.param((_stay(0, 20), _stay(20, 48)), ([(0, 48)], [], True), id="two-wards-in-a-row"),
        pytest.param(
            (_stay(0, 48), _stay(24, 36, critical=True)),
            ([(0, 24), (36, 48)], [24], True),
            id="there-and-back",
        ),
        pytest.param(
            (_stay(0, 20), _stay(22, 40, critical=True)), ([(0, 20)], [22], True), id="theatre-between"
        ),
        pytest.param((_stay(0, 20), _stay(27, 40, critical=True)), ([(0, 20)], [], True), id="much-later"),
        pytest.param(
            (_stay(0, 30, critical=True), _stay(30, 48)), ([(30, 48)], [], True), id="from-intensive-care"
        ),
        pytest.param((_stay(0, None),), ([(0, 100)], [], True), id="still-there"),
        pytest.param((_stay(0, 2, inpatient=False),), ([], [], True), id="a-clinic-is-no-ward"),
        pytest.param(
            (_stay(0, 2, inpatient=False), _stay(10, 20)), ([(10, 20)], [], True), id="clinic-and-ward"
        ),
        pytest.param(
            (_stay(0, 6, inpatient=False, emergency=True),), ([(0, 6)], [], True), id="emergency-department"
        ),
        pytest.param((), ([], [], False), id="no-stay-recorded-and-days-of-silence"),
    ],
)
def test_stays(
    stays: tuple[Stay, ...], expected: tuple[list[tuple[float, float]], list[float], bool]
) -> None:
    assert _hours(_record(*stays)) == expected


def test_without_a_stay_a_silence_of_more_than_a_day_splits_the_time() -> None:
    """Our choice: 24 hours belong together, a second more does not."""
    pulses = [0.0, 10.0, 34.0, 58.001, 60.0]
    items = [Measurement(Decimal(80), at(hour), Origin(f"Observation/{hour}")) for hour in pulses]
    record = Record(
        subject=Subject(origin=Origin("Patient/p")), numbers={Signal.PULSE: Series(items)}, newest=at(60)
    )
    assert _hours(record) == ([(0, 34), (pytest.approx(58.001), 60)], [], False)


def test_nobody_is_watched_after_death() -> None:
    assert _hours(_record(_stay(0, None)), died=50)[0] == [(0, 50)]
    assert _hours(_record(), died=50)[0] == []  # One value only: no time passed.


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        pytest.param(_stay(92, 95, inpatient=False, emergency=True), [20], id="at-72-hours"),
        pytest.param(_stay(92.01, 95, inpatient=False, emergency=True), [], id="later"),
        pytest.param(_stay(40, 60), [], id="planned"),
        pytest.param(_stay(20, 30, inpatient=False, emergency=True), [], id="it-went-on"),
    ],
)
def test_an_unplanned_return_is_placed_where_the_stay_ended(second: Stay, expected: list[float]) -> None:
    """Our choice of 72 hours, common practice without a source; only an emergency stay is unplanned."""
    _, found, _ = ward_time(_record(_stay(0, 20), second), None)
    assert [
        (each.at - DAY) / timedelta(hours=1) for each in found if each.kind == UNPLANNED_RETURN
    ] == expected


def test_an_emergency_stay_that_goes_on_in_another_room_is_no_return() -> None:
    rooms = [
        Stay(origin=Origin("Encounter/e"), starts=at(a), ends=at(b), inpatient=False, emergency=True)
        for a, b in ((0, 2), (3, 5))
    ]
    assert ward_time(_record(*rooms), None)[1] == []


def test_spans() -> None:
    """Joining takes in what touches; taking away leaves both sides."""
    a, b, c, d = (at(hour) for hour in (0, 1, 2, 3))
    assert joined([(c, d), (a, b), (b, c)]) == [(a, d)]
    assert without([(a, d)], [(b, c)]) == [(a, b), (c, d)]
    assert without([(a, b)], [(a, b)]) == []
    assert without([(b, c)], [(a, d)]) == []
