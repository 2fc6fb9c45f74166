"""Overdue rounds: RCP NEWS2 2017, Chart 4 (12-hourly, 4-6-hourly, hourly, continuous).

NICE CG50, 2007: every adult in hospital at least every 12 hours. The grace is our choice.
"""

from datetime import date, timedelta
from typing import Any

import pytest

from tests.charts import NORMAL, TOTALS, ago, condition, findings, rounds, scores
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.plain import replace
from weatherglass.model.record.care import CarePlace, Directive, DirectiveKind, Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

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
            pytest.param((replace(HERE, inpatient=False, emergency=True),), 100, True, id="emergency"),
            pytest.param((replace(HERE, inpatient=False),), 20, False, id="outpatient"),
            pytest.param((replace(HERE, ends=ago(0)),), 20, False, id="left-this-moment"),
            pytest.param((replace(HERE, ends=ago(-1)),), 20, True, id="leaves-later"),
            pytest.param((replace(HERE, inpatient=False, ends=ago(90)),), 20, True, id="an-old-visit"),
            pytest.param((), 48, True, id="no-stay-two-days"),
            pytest.param((), 48.1, False, id="no-stay-longer"),
        ],
    )
    def test_stay(self, stays: tuple[Stay, ...], hours: float, told: bool) -> None:
        """A recorded stay decides; without one, two days."""
        assert (_found(rounds((hours, {}), stays=stays)) is not None) == told

    @pytest.mark.parametrize(("total", "urgency"), [(0, R), (4, R), (5, U)])
    def test_on_a_mental_health_ward(self, total: int, urgency: Urgency) -> None:
        """Ours: days pass between rounds there; what is asked for every hour is late as anywhere."""
        there = replace(HERE, kind=CarePlace.MENTAL_HEALTH)
        found = _found(rounds((20, TOTALS[total]), stays=(there,)))
        assert found is not None
        assert found.urgency is urgency

    def test_end_of_life(self) -> None:
        """Observations may have been stopped on purpose."""
        plan = Directive(origin=Origin("CarePlan/1"), kind=DirectiveKind.END_OF_LIFE, at=ago(50))
        found = _found(rounds((20, TOTALS[7]), directives=(plan,)))
        assert found is not None
        assert found.urgency is R
        assert any("on purpose" in caution for caution in found.cautions)

    def test_stopped_on_purpose(self) -> None:
        """A recorded decision ends the rounds: none is late. Our choice."""
        plan = Directive(
            origin=Origin("Flag/1"), kind=DirectiveKind.NO_OBSERVATIONS, at=ago(50), text="No observations"
        )
        assert _found(rounds((20, TOTALS[7]), directives=(plan,))) is None
        over = replace(plan, ends=ago(10))
        assert _found(rounds((20, TOTALS[7]), directives=(over,))) is not None


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
    died = replace(record.subject, deceased=True)
    assert _found(replace(record, subject=died)) is None
    assert _found(replace(record, subject=replace(died, died_at=ago(1)))) is None
    # A review of an earlier moment knows nothing of it.
    assert _found(replace(record, subject=replace(died, died_at=ago(-1)))) is not None


def test_one_open_stay_among_several_is_enough() -> None:
    """A stay that has ended on another ward does not mean that the patient has left."""
    before = Stay(origin=Origin("Encounter/0"), starts=ago(300), ends=ago(200))
    assert _found(rounds((100, {}), stays=(before, HERE))) is not None


def test_no_end_of_life_is_claimed() -> None:
    """The caution is for those whose plan says so."""
    found = _found(rounds((20, TOTALS[7])))
    assert found is not None
    assert found.cautions == ()


_OXYGEN, _ALERT = CodedSignal.OXYGEN_DELIVERY, CodedSignal.CONSCIOUSNESS
_OBSERVED = tuple(NORMAL)
#: A round of which one sign alone is known.
_STRAY = dict.fromkeys((*NORMAL,)) | {Signal.PULSE: 80}


class TestStrayValues:
    """Ours: a stray value neither cancels what a round asked for nor hides the last complete one."""

    def test_a_single_pulse_after_a_high_score(self) -> None:
        """Complete 9, two days ago, then one pulse: overdue since that round, and the 9 is named."""
        record = rounds((48, TOTALS[9]), (0, _STRAY))
        found = _found(record)
        assert found is not None
        assert (found.at, found.since, found.urgency) == (ago(48), ago(47), U)
        assert "overdue by 47 hours" in found.sentence or "overdue by 1 day" in found.sentence
        assert "single values only" in found.sentence
        newest, whole = scores(record, "news2")
        assert (newest.is_current, whole.is_current, whole.total) == (True, False, 9)
        assert "NEWS2 9 at 08:00 on 10 March (last complete set)" in whole.sentence

    @pytest.mark.parametrize(
        ("hours", "lacks", "is_told"),
        [
            pytest.param(25, (CodedSignal.OXYGEN_DELIVERY,), False, id="all-but-one-since"),
            pytest.param(24, (CodedSignal.OXYGEN_DELIVERY,), True, id="of-the-last-day"),
            pytest.param(25, (CodedSignal.OXYGEN_DELIVERY, Signal.TEMPERATURE), True, id="all-but-two-since"),
        ],
    )
    def test_a_round_that_lacks_one_sign_speaks_for_now(
        self, hours: float, lacks: Any, is_told: bool
    ) -> None:
        """A 9 of twelve days ago stood as urgent beside "between 4 and 6, air or oxygen not known"."""
        later = dict.fromkeys(lacks)
        record = rounds((hours, TOTALS[9]), (1, later), (0.5, _STRAY))
        assert (len(scores(record, "news2")) == 2) is is_told

    @pytest.mark.parametrize(
        ("changed", "at"),
        [
            pytest.param(dict(_STRAY), 20, id="one-sign"),
            pytest.param({Signal.TEMPERATURE: None}, 1, id="all-but-one-sign"),
            pytest.param(
                {
                    Signal.TEMPERATURE: None,
                    Signal.SPO2: None,
                    CodedSignal.CONSCIOUSNESS: None,
                },
                1,
                id="four-signs",
            ),
            pytest.param(
                {
                    Signal.TEMPERATURE: None,
                    Signal.SPO2: None,
                    CodedSignal.CONSCIOUSNESS: None,
                    Signal.PULSE: None,
                },
                20,
                id="three-signs",
            ),
        ],
    )
    def test_how_much_makes_a_round(self, changed: dict[Any, Any], at: float) -> None:
        """At least 4 of the 7 signs where the interval is the same."""
        found = _found(rounds((20, TOTALS[0]), (1, changed)), as_of=ago(-20))
        assert found is not None
        assert found.at == ago(at)

    def test_a_stray_value_that_asks_for_more_counts_at_once(self) -> None:
        """A pulse of 135 alone asks for hourly observations."""
        found = _found(rounds((6, TOTALS[0]), (2, _STRAY | {Signal.PULSE: 135})))
        assert found is not None
        assert (found.at, found.since) == (ago(2), ago(1))
        assert "NEWS2 at least 3" in found.sentence

    def test_a_complete_round_always_counts(self) -> None:
        assert _found(rounds((10, TOTALS[9]), (1, TOTALS[0]))) is None

    @pytest.mark.parametrize(
        ("missing", "looked", "said"),
        [
            pytest.param((_OXYGEN,), 6.2, None, id="six-signs-within-6-hours"),
            pytest.param((_OXYGEN,), 6.4, "NEWS2 of at most 2 asks for one every 6 hours", id="six-signs"),
            pytest.param((_OXYGEN, _ALERT), 1.2, None, id="five-signs-within-the-hour"),
            pytest.param((_OXYGEN, _ALERT), 1.4, "NEWS2 9 asks for one every hour", id="five-signs"),
            pytest.param((_OXYGEN, _ALERT, Signal.SPO2), 1.2, None, id="four-signs"),
            pytest.param((*_OBSERVED[:4],), 0, "NEWS2 9 asks for one every hour", id="three-signs"),
        ],
    )
    def test_a_round_that_lacks_something_was_taken(
        self, missing: tuple[Any, ...], looked: float, said: str | None
    ) -> None:
        """Ours: counted from; it asks for less often only as far as its highest possible total does."""
        later = TOTALS[0] | dict.fromkeys(missing)
        found = _found(rounds((10, TOTALS[9]), (0, later)), as_of=ago(-looked))
        assert (found is None) == (said is None)
        if found is not None:
            assert str(said) in found.sentence
            assert ("single values only" in found.sentence) == (len(missing) > 3)

    def test_not_from_an_illness_of_long_ago(self) -> None:
        """Without a recorded stay, rounds more than two days apart are of two illnesses."""
        record = rounds((60, TOTALS[9]), (1, _STRAY))
        assert _found(record) is None
        assert [one.total for one in scores(record, "news2")] == [None]
        assert _found(replace(record, stays=(HERE,))) is not None

    @pytest.mark.parametrize(("hours", "is_late"), [(12.25, False), (20, True)])
    def test_what_an_earlier_stay_asked_for_ended_with_it(self, hours: float, is_late: bool) -> None:
        """A patient readmitted half an hour ago was "overdue by 90 days"; now counted from the arrival."""
        stay = Stay(origin=Origin("Encounter/2"), starts=ago(hours))
        found = _found(replace(rounds((2000, TOTALS[9])), stays=(stay,)))
        assert (found is not None) is is_late
        if found is not None:
            assert (found.urgency, found.since) == (P, ago(hours - 12))
            assert found.sentence.startswith("Observations are overdue by 8 hours: none since the stay began")

    def test_in_pregnancy_one_sign_is_no_round(self) -> None:
        pregnant = (condition(ConditionKind.PREGNANCY),)
        found = _found(rounds((20, {}), (1, _STRAY), conditions=pregnant))
        assert found is not None
        assert found.at == ago(20)

    def test_an_older_set_is_no_more_urgent_than_the_newest_can_be(self) -> None:
        """Complete 9 some hours ago; now all but the temperature is normal: 3 at most."""
        _, whole = scores(rounds((20, TOTALS[9]), (0, {Signal.TEMPERATURE: None})), "news2")
        assert (whole.total, whole.urgency < Urgency.EMERGENCY) == (9, True)

    def test_a_screen_of_an_old_round_is_dated(self) -> None:
        """QSOFA has no row that a pulse could answer: its newest round is the one of before."""
        record = rounds((48, {Signal.RESPIRATION_RATE: 28}), (0, _STRAY))
        (screen,) = scores(record, "qsofa")
        assert "qSOFA 1 at 08:00 on 10 March" in screen.sentence


@pytest.mark.parametrize(
    ("stays", "asked"),
    [
        pytest.param((), True, id="no-stay"),
        pytest.param((HERE,), True, id="here"),
        pytest.param((replace(HERE, ends=ago(5)),), False, id="left"),
    ],
)
def test_who_is_not_in_hospital_has_no_interval(stays: tuple[Stay, ...], asked: bool) -> None:
    """Ours: nobody comes round to somebody who has left."""
    found = scores(rounds((0, TOTALS[5]), stays=stays), "news2")[0]
    assert (bool(found.monitoring), found.monitoring_interval is not None) == (asked, asked)
