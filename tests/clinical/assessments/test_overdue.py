"""Overdue rounds: RCP NEWS2 2017, Chart 4 (12-hourly, 4-6-hourly, hourly, continuous).

NICE CG50, 2007: every adult in hospital at least every 12 hours. The grace is our choice.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.charts import ago, condition, findings, rounds
from tests.clinical.assessments.test_trends_score import TOTALS
from weatherglass.clinical.findings import Finding, Kind, State, Urgency
from weatherglass.clinical.local_choices import LocalChoices
from weatherglass.clinical.record import ConditionKind, Directive, DirectiveKind, Record, Stay
from weatherglass.clinical.references import Origin
from weatherglass.clinical.signals import CodedSignal, Consciousness, Signal

U, P, R = Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
HERE = Stay(origin=Origin("Encounter/1"), starts=ago(200))


def _found(record: Record, **rest: Any) -> Finding | None:
    return findings(record, Kind.OBSERVATIONS_OVERDUE, **rest).get("observations-overdue")


@pytest.mark.parametrize(
    ("changed", "hours", "urgency"),
    [
        pytest.param(TOTALS[0], 12.25, None, id="0-within-12-hours-and-the-grace"),
        pytest.param(TOTALS[0], 12.3, P, id="0-after-12-hours"),
        pytest.param(TOTALS[1], 6.25, None, id="1-within-6-hours-and-the-grace"),
        pytest.param(TOTALS[1], 6.3, P, id="1-after-6-hours"),
        pytest.param(TOTALS[4], 6.3, P, id="4-after-6-hours"),
        pytest.param(
            {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, 1.25, None, id="single-3-within-an-hour"
        ),
        pytest.param({CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}, 1.3, U, id="single-3-after-an-hour"),
        pytest.param(TOTALS[5], 1.25, None, id="5-within-an-hour"),
        pytest.param(TOTALS[5], 1.3, U, id="5-after-an-hour"),
        pytest.param(TOTALS[7], 1.3, U, id="7-recorded-hourly-at-least"),
    ],
)
def test_interval_of_the_last_score(changed: dict[Any, Any], hours: float, urgency: Urgency | None) -> None:
    """The interval that the last score asks for, at both ends."""
    found = _found(rounds((hours, changed)))
    assert (found.urgency if found else None) == urgency


def test_since_when_and_why() -> None:
    """The finding begins when the round was due."""
    found = _found(rounds((40, TOTALS[0]), (3, TOTALS[5])))
    assert found is not None
    assert (found.state, found.since, found.at) == (State.NEW, ago(2), ago(3))
    assert "overdue by 2 hours" in found.sentence
    assert "NEWS2 5 asks for one every hour" in found.sentence
    assert found.evidence


def test_the_grace_is_the_sites_choice() -> None:
    """A site may be stricter or milder."""
    record = rounds((1.2, TOTALS[5]))
    assert _found(record, choices=LocalChoices(observation_grace=timedelta(0))) is not None
    assert _found(record, choices=LocalChoices(observation_grace=timedelta(minutes=30))) is None


class TestWhoIsHere:
    """Only somebody in hospital can be overdue."""

    @pytest.mark.parametrize(
        ("stays", "hours", "told"),
        [
            pytest.param((HERE,), 100, True, id="staying"),
            pytest.param(
                (Stay(origin=Origin("Encounter/1"), starts=ago(200), ends=ago(5)),), 20, False, id="left"
            ),
            pytest.param((), 48, True, id="no-stay-two-days"),
            pytest.param((), 48.1, False, id="no-stay-longer"),
        ],
    )
    def test_stay(self, stays: tuple[Stay, ...], hours: float, told: bool) -> None:
        """A recorded stay decides; without one, two days."""
        assert (_found(rounds((hours, {}), stays=stays)) is not None) == told

    def test_end_of_life(self) -> None:
        """Observations may have been stopped on purpose."""
        plan = Directive(origin=Origin("CarePlan/1"), kind=DirectiveKind.END_OF_LIFE, at=ago(50))
        found = _found(rounds((20, TOTALS[7]), directives=(plan,)))
        assert found is not None
        assert found.urgency is R
        assert any("on purpose" in caution for caution in found.cautions)


class TestWhereNews2IsNotMeant:
    """The guideline's least for adults; nothing for children."""

    @pytest.mark.parametrize(("hours", "told"), [(12.25, False), (12.3, True)])
    def test_pregnancy(self, hours: float, told: bool) -> None:
        """Every adult in hospital at least every 12 hours."""
        record = rounds((hours, TOTALS[7]), conditions=(condition(ConditionKind.PREGNANCY),))
        found = _found(record)
        assert (found is not None) == told
        if found is not None:
            assert found.sources[0].key == "nice-cg50-2007"

    def test_a_child(self) -> None:
        """No interval is published with the score for children that is used here."""
        assert _found(rounds((30, {Signal.PULSE: 150}), born=date(2020, 1, 1))) is None


def test_at_the_newest_datum_nothing_is_overdue() -> None:
    """Without a later moment of review nothing can be late."""
    assert _found(rounds((5, TOTALS[9])), as_of=ago(5)) is None


def test_nobody_looks_for_the_observations_of_the_dead() -> None:
    """A death that is recorded ends the rounds."""
    record = rounds((20, TOTALS[7]))
    assert _found(record) is not None
    assert _found(replace(record, subject=replace(record.subject, deceased=True))) is None


def test_one_open_stay_among_several_is_enough() -> None:
    """A stay that has ended on another ward does not mean that the patient has left."""
    before = Stay(origin=Origin("Encounter/0"), starts=ago(300), ends=ago(200))
    assert _found(rounds((100, {}), stays=(before, HERE))) is not None


def test_no_end_of_life_is_claimed() -> None:
    """The caution is for those whose plan says so."""
    found = _found(rounds((20, TOTALS[7])))
    assert found is not None
    assert found.cautions == ()
