"""Time on wards and transfers, from stays as records have them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from weatherglass.evaluation.counting.ward_time import TRANSFER, joined, ward_time, without
from weatherglass.model.record import Measurement, Record, Series, Stay
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Subject

DAY = datetime(2026, 3, 1, tzinfo=UTC)


def _at(hours: float) -> datetime:
    return DAY + timedelta(hours=hours)


def _stay(starts: float, ends: float | None, *, critical: bool = False, inpatient: bool = True) -> Stay:
    return Stay(
        origin=Origin(f"Encounter/{starts}-{critical}"),
        starts=_at(starts),
        ends=None if ends is None else _at(ends),
        critical_care=critical,
        inpatient=inpatient,
    )


def _record(*stays: Stay, newest: float = 100) -> Record:
    items = [Measurement(Decimal(80), _at(hour), Origin(f"Observation/{hour}")) for hour in (1, newest)]
    return Record(
        subject=Subject(origin=Origin("Patient/p")),
        numbers={Signal.PULSE: Series(items)},
        stays=stays,
        newest=_at(newest),
    )


def _hours(record: Record, died: float | None = None) -> tuple[list[tuple[float, float]], list[float], bool]:
    stretches, transfers, has_stay = ward_time(record, None if died is None else _at(died))
    hour = timedelta(hours=1)
    assert all(each.kind == TRANSFER for each in transfers)
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
        pytest.param((_stay(0, 2, inpatient=False),), ([(1, 100)], [], False), id="a-clinic-is-no-stay"),
        pytest.param((), ([(1, 100)], [], False), id="no-stay-recorded"),
    ],
)
def test_stays(
    stays: tuple[Stay, ...], expected: tuple[list[tuple[float, float]], list[float], bool]
) -> None:
    assert _hours(_record(*stays)) == expected


def test_nobody_is_watched_after_death() -> None:
    assert _hours(_record(_stay(0, None)), died=50)[0] == [(0, 50)]
    assert _hours(_record(), died=50)[0] == []  # One value only: no time passed.


def test_spans() -> None:
    """Joining takes in what touches; taking away leaves both sides."""
    a, b, c, d = (_at(hour) for hour in (0, 1, 2, 3))
    assert joined([(c, d), (a, b), (b, c)]) == [(a, d)]
    assert without([(a, d)], [(b, c)]) == [(a, b), (c, d)]
    assert without([(a, b)], [(a, b)]) == []
    assert without([(b, c)], [(a, d)]) == []
