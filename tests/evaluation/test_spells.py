"""Which ward and which age a moment belongs to, from stays as records have them."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from tests.evaluation.wards import at
from weatherglass.evaluation.counting.ward_time import ward_time
from weatherglass.evaluation.outcomes import Ending
from weatherglass.evaluation.replay import spells_of, trace_of
from weatherglass.facts.bedside import Bedside
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Stay
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Series
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Sex, Subject

DAY = datetime(2026, 3, 1, tzinfo=UTC)
HOUR = timedelta(hours=1)


def _stay(starts: float, ends: float | None, place: str, *, critical: bool = False) -> Stay:
    return Stay(
        origin=Origin(f"Encounter/{starts}-{place}"),
        starts=at(starts),
        ends=None if ends is None else at(ends),
        place=place,
        critical_care=critical,
    )


def _record(
    *stays: Stay, born: date | None = date(1950, 6, 1), breaths: dict[int, int] | None = None
) -> Record:
    rates = breaths or {1: 14, 72: 14}
    items = [
        Measurement(Decimal(rate), at(hour), Origin(f"Observation/{hour}")) for hour, rate in rates.items()
    ]
    return Record(
        subject=Subject(origin=Origin("Patient/p"), born=born, sex=Sex.FEMALE),
        numbers={Signal.RESPIRATION_RATE: Series(items)},
        stays=stays,
        newest=at(max(rates)),
    )


def _spells(record: Record) -> list[tuple[float, float, str]]:
    assert record.newest is not None
    stretches, _, _ = ward_time(record, None)
    found = spells_of(Bedside(record, record.newest, LocalChoices()), stretches)
    assert sum((one.ends - one.starts for one in found), timedelta()) == sum(
        (one.length for one in stretches), timedelta()
    )
    return [((one.starts - DAY) / HOUR, (one.ends - DAY) / HOUR, one.ward) for one in found]


@pytest.mark.parametrize(
    ("stays", "expected"),
    [
        pytest.param((_stay(0, 48, "Harbour"),), [(0, 48, "Harbour")], id="one"),
        pytest.param(
            (_stay(0, 20, "Harbour"), _stay(20, 48, "Lantern")),
            [(0, 20, "Harbour"), (20, 48, "Lantern")],
            id="moved",
        ),
        pytest.param(
            (_stay(0, 48, "Harbour"), _stay(10, 20, "Lantern")),
            [(0, 10, "Harbour"), (10, 20, "Lantern"), (20, 48, "Harbour")],
            id="away-and-back",
        ),
        pytest.param(
            (_stay(0, 48, "Harbour"), _stay(10, 20, "")),
            [(0, 10, "Harbour"), (10, 20, "Harbour"), (20, 48, "Harbour")],
            id="a-stay-without-a-name-changes-nothing",
        ),
        pytest.param(
            (_stay(0, 48, "Harbour"), _stay(10, 20, "Unit", critical=True)),
            [(0, 10, "Harbour"), (20, 48, "Harbour")],
            id="critical-care-is-no-ward",
        ),
        pytest.param((_stay(0, None, "Harbour"),), [(0, 72, "Harbour")], id="still-there"),
        pytest.param((_stay(0, 48, ""),), [(0, 48, "")], id="not-recorded"),
    ],
)
def test_spells_tile_the_time_on_wards(
    stays: tuple[Stay, ...], expected: list[tuple[float, float, str]]
) -> None:
    assert _spells(_record(*stays)) == expected


@pytest.mark.parametrize(("born", "age"), [(date(1946, 3, 1), 80), (date(1946, 3, 2), 79), (None, None)])
def test_the_age_is_that_of_the_spells_first_day(born: date | None, age: int | None) -> None:
    record = _record(_stay(0, 48, "Harbour"), born=born)
    found = spells_of(Bedside(record, at(72), LocalChoices()), ward_time(record, None)[0])
    assert [one.age for one in found] == [age]


def test_a_finding_that_becomes_more_urgent_is_told_again_and_a_repeat_is_not() -> None:
    """25 breaths score 3 alone, 38 are an emergency alone (our single signs); 38 again is no news."""
    breaths = {1: 14, 6: 25, 12: 38, 18: 38}
    trace = trace_of("p", _record(_stay(0, 48, "Harbour"), breaths=breaths), Ending(), LocalChoices())
    assert trace is not None
    signs = [(one.at, one.urgency) for one in trace.onsets if one.name.startswith("single-sign: ")]
    assert signs == [(at(12), 3)]
    scores = [(one.at, one.urgency, one.is_new) for one in trace.onsets if one.name == "score"]
    assert scores[0][0] == at(6)
    assert scores[0][2]
    assert all(moment < at(18) for moment, _, _ in scores)
    assert trace.sex == "female"
