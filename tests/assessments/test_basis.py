"""What a finding rests on, and since when it stands; the rules are ours."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, Course, course_of, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.series.runs import Run, Stepped
from weatherglass.model.findings import Kind, Measure, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Measurement, Remark
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Origin, our_choice
from weatherglass.model.subject import Subject

_NOW = datetime(2026, 3, 12, 9, 0, tzinfo=UTC)
_BEDSIDE = Bedside(Record(subject=Subject(origin=Origin("Patient/p"))), _NOW, LocalChoices())


def _value(hours_ago: int, name: str, *remarks: Remark) -> Measurement:
    return Measurement(
        Decimal(5), _NOW - timedelta(hours=hours_ago), Origin(name), remarks=frozenset(remarks)
    )


def test_time_and_places_follow_from_the_inputs() -> None:
    """The newest input gives the time, whatever the order; a place stands once, what is absent nowhere."""
    found = rests_on(_BEDSIDE, None, _value(1, "a"), None, Origin("b"), _value(3, "c"), Origin("a"))
    assert found["at"] == _NOW - timedelta(hours=1)
    assert found["evidence"] == ("a", "b", "c")
    assert not found["provisional"]


def test_a_value_with_its_signal_is_shown_too() -> None:
    """What is said to be measured is among the inputs; numbers that were worked out follow it."""
    pulse, ratio = _value(1, "a"), Measure(key="ratio", label="ratio", value=Decimal(2))
    basis = rests_on(_BEDSIDE, None, (Signal.PULSE, pulse), _value(2, "b"))
    assert (basis["at"], basis["evidence"]) == (pulse.at, ("a", "b"))
    source = our_choice("invented")
    found = tell(
        About(Kind.CONTEXT, "invented", Letter.OVERALL),
        Urgency.ROUTINE,
        basis,
        brief="Pulse 5",
        measures=[ratio],
        sources=[source, source],
    )
    assert [one.key for one in found.measures] == [Signal.PULSE.value, "ratio"]
    assert (found.sentence, found.sources) == ("Pulse 5.", (source,))


def test_one_preliminary_input_is_enough() -> None:
    """A change from a preliminary result may change with it, though the newest is final."""
    assert rests_on(_BEDSIDE, None, _value(5, "a", Remark.PROVISIONAL), _value(1, "b"))["provisional"]


def test_a_moment_a_run_and_steps_say_how_it_stands() -> None:
    """A run that ended is settling, and one long past is none; a moment alone is there now."""
    began, ended, long_ago = (_NOW - timedelta(hours=hours) for hours in (30, 2, 300))
    assert course_of(_BEDSIDE, began) == Course(began, None, State.CONTINUING)
    assert course_of(_BEDSIDE, ended, began) == Course(ended, began, State.NEW)
    assert course_of(_BEDSIDE, Run(began, ended, is_present=False)) == Course(began, None, State.SETTLING)
    assert course_of(_BEDSIDE, Run(long_ago, long_ago, is_present=False)) == Course()
    stepped = Stepped(Run(ended, _NOW, is_present=True), began)
    assert course_of(_BEDSIDE, stepped) == Course(began, ended, State.NEW)
    assert course_of(_BEDSIDE, None) == Course()
