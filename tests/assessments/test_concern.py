"""A recorded concern: RCP NEWS2 2017, judgement before the score (from memory).

How long a concern counts and how soon to look are our choices.
"""

import pytest

from tests.charts import ago, answers, chart, findings, measures_of
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Concern, Signal

STAFF, CARER, PATIENT, NONE = Concern.STAFF, Concern.CARER, Concern.PATIENT, Concern.NONE


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.CONCERN).get("concern")


@pytest.mark.parametrize(
    ("who", "said"),
    [(STAFF, "A member of staff"), (CARER, "A relative or carer"), (PATIENT, "The patient")],
)
def test_whoever_is_worried(who: Concern, said: str) -> None:
    """Each of them is a trigger of its own, without any score."""
    found = _found(chart(codes={CodedSignal.CONCERN: [(2, who)]}))
    assert found is not None
    assert found.urgency is Urgency.URGENT
    assert found.sentence.startswith(f"{said} is worried")
    assert measures_of(found)["concern"] == who.value


def test_in_their_own_words() -> None:
    """The note is said as it was written."""
    written = answers(CodedSignal.CONCERN, [(2, STAFF)], text="Not himself.")
    found = _found(chart(codes={CodedSignal.CONCERN: written}))
    assert found is not None
    assert found.sentence.endswith(": Not himself.")


@pytest.mark.parametrize(
    ("given", "state", "since"),
    [
        pytest.param([(24, STAFF)], State.CONTINUING, 24, id="24-hours-ago"),
        pytest.param([(24.1, STAFF)], None, None, id="longer-ago"),
        pytest.param([(2, NONE)], None, None, id="nobody"),
        pytest.param([(20, STAFF), (3, CARER)], State.CONTINUING, 20, id="two-in-a-row"),
        pytest.param([(20, STAFF), (10, NONE), (3, CARER)], State.NEW, 3, id="again"),
        pytest.param([(5, STAFF), (3, NONE)], State.SETTLING, 5, id="no-longer"),
    ],
)
def test_states(given: list[tuple[float, Concern]], state: State | None, since: float | None) -> None:
    """A concern counts for a day; a later "no" makes it settling and asks for nobody."""
    found = _found(chart(codes={CodedSignal.CONCERN: given}))
    assert (found.state if found else None) == state
    if found is not None and since is not None:
        assert found.since == ago(since)
        assert (found.urgency is Urgency.ROUTINE) == (state is State.SETTLING)


def test_nothing_recorded() -> None:
    """No record is no concern and no reassurance."""
    assert _found(chart({Signal.PULSE: [(1, 80)]})) is None
