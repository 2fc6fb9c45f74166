"""A deadline counts from when its reason began, whoever looks and whenever; every door says the same one.

How soon somebody should come is ours (no publication gives minutes for every urgency); that it counts
from the reason and not from the look is what a deadline means: common practice, no source.
"""

import json
from datetime import datetime, timedelta

import pytest

from tests.medicines.wards import result
from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    measured,
    ordered,
    patient,
    problem,
    round_before,
    stay,
)
from weatherglass.batch.ward.ward_row import ward_row
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.writing.frame.detail import Stamp
from weatherglass.model.findings import Kind
from weatherglass.model.review import Review
from weatherglass.model.words.call_words import call_line, due_in_short
from weatherglass.web.view import first_of
from weatherglass.web.ward_line import ward_line

_NOW = datetime.fromisoformat(AT)
_ILL = {
    "respiration_rate": "26 /min",
    "spo2": "91 %",
    "systolic_pressure": "105 mm[Hg]",
    "pulse": "118 /min",
}


def _review(*resources: Json, as_of: datetime | None = None) -> Review:
    (one,) = answer_of(patient(), *resources, as_of=as_of).reviews
    return one


def _due(one: Review) -> datetime:
    assert one.escalation is not None
    return one.escalation.due


def _potassium(value: str, before: str) -> Json:
    at = earlier(before) if before else AT
    return measured(f"k-{before}", "potassium", value, "mmol/L", effectiveDateTime=at)


class TestFromWhenItBegan:
    def test_a_new_reason_counts_from_its_own_time(self) -> None:
        one = _review(*round_before("", **_ILL), as_of=_NOW + timedelta(minutes=10))
        assert _due(one) == _NOW + timedelta(minutes=30)
        assert one.escalation is not None
        assert one.escalation.overdue is None
        assert "within 20 minutes, by 10:30" in call_line(one.escalation, one.clock)

    def test_looking_later_moves_nothing(self) -> None:
        rounds = round_before("", **_ILL)
        dues = {_due(_review(*rounds, as_of=_NOW + timedelta(minutes=m))) for m in (0, 10, 29, 30, 31, 200)}
        assert dues == {_NOW + timedelta(minutes=30)}

    def test_the_same_value_again_moves_nothing(self) -> None:
        first = [*round_before("3 h"), _potassium("6.7", "3 h")]
        again = [
            *first,
            *round_before("1 h"),
            _potassium("6.7", "1 h"),
            *round_before(""),
            _potassium("6.6", ""),
        ]
        assert _due(_review(*first, as_of=_NOW)) == _due(_review(*again)) == _NOW - timedelta(hours=2.5)

    def test_a_round_with_too_little_in_it_moves_nothing(self) -> None:
        """A pulse alone between two rounds of NEWS2 9 says nothing about the nine."""
        stray = measured("stray", "pulse", "82", "/min", effectiveDateTime=earlier("2 h"))
        one = _review(*round_before("4 h", **_ILL), stray, *round_before("", **_ILL))
        assert _due(one) == _NOW - timedelta(hours=3.5)

    def test_another_reason_as_urgent_moves_nothing(self) -> None:
        one = _review(*round_before("3 h"), _potassium("6.7", "3 h"), *round_before("", **_ILL))
        assert one.headline.startswith("NEWS2 9")
        assert _due(one) == _NOW - timedelta(hours=2.5)

    def test_a_step_up_counts_from_the_step(self) -> None:
        """UK Kidney Association 2023: moderate from 6.0, severe from 6.5."""
        one = _review(
            *round_before("5 h"), _potassium("6.1", "5 h"), *round_before(""), _potassium("6.6", "")
        )
        assert _due(one) == _NOW + timedelta(minutes=30)


class TestPassed:
    @pytest.mark.parametrize(
        ("late", "said"),
        [
            pytest.param(timedelta(minutes=31), "10:30, 1 min ago", id="just passed"),
            pytest.param(timedelta(hours=11, minutes=5), "10:30, 10 h 35 min ago", id="in the night"),
            pytest.param(
                timedelta(days=2, hours=3, minutes=30), "10:30 on 1 March, 2 days 3 h ago", id="for days"
            ),
        ],
    )
    def test_it_is_said_with_by_how_much(self, late: timedelta, said: str) -> None:
        one = _review(_potassium("6.7", ""), as_of=_NOW + late)
        assert one.escalation is not None
        line = call_line(one.escalation, one.clock)
        assert line.endswith(f"now: it was due by {said}.")

    def test_at_its_own_moment_it_is_not_passed(self) -> None:
        one = _review(_potassium("6.7", ""), as_of=_NOW + timedelta(minutes=30))
        assert one.escalation is not None
        assert one.escalation.overdue is None

    def test_what_passed_some_seconds_ago_is_due(self) -> None:
        """A door with a clock of its own said "0 min ago"."""
        one = _review(_potassium("6.7", ""), as_of=_NOW + timedelta(minutes=30, seconds=40))
        assert one.escalation is not None
        assert one.escalation.overdue is not None
        assert call_line(one.escalation, one.clock).endswith("now: it is due by 10:30.")
        assert due_in_short(one.escalation, one.clock) == "by 10:30"
        assert "0 min" not in review_text(one, ())
        assert (ward_line(one).late, first_of(one).is_overdue) == ("", False)

    def test_every_door_says_it(self) -> None:
        """Text, handover, page, ward list and the request to call somebody."""
        answer = answer_of(patient(), *round_before("", **_ILL), as_of=_NOW + timedelta(hours=2))
        (one,) = answer.reviews
        assert one.escalation is not None
        passed = "was due by 10:30, 1 h 30 min ago"
        assert passed in review_text(one, ())
        assert passed in first_of(one).line
        assert passed in first_of(one).due
        assert passed in ward_row(one).call
        assert passed in due_in_short(one.escalation, one.clock)
        assert passed in one.handover.situation[1]
        bundle = json.loads(answer.collection(Stamp(software="1", rules={})))
        (request,) = (
            e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "CommunicationRequest"
        )
        assert request["occurrencePeriod"] == {"start": AT, "end": "2026-03-01T10:30:00+04:00"}


def _stay(name: str, begins: str, ends: str = "") -> Json:
    period = {"start": earlier(begins), **({"end": earlier(ends)} if ends else {})}
    return stay(id=name, status="finished" if ends else "in-progress", period=period)


class TestBeforeThePatientCame:
    """Ours: what began before the present time in hospital counts from its start, a transfer included."""

    @pytest.mark.parametrize(
        ("stays", "began"),
        [
            pytest.param([_stay("a", "5 h")], "5 h", id="came-later"),
            pytest.param([_stay("a", "20 h")], "9 h", id="was-there"),
            pytest.param([_stay("a", "5 h"), _stay("b", "20 h", "5 h")], "9 h", id="transferred"),
            pytest.param([_stay("a", "5 h"), _stay("b", "60 h", "29 h")], "5 h", id="readmitted"),
            pytest.param([_stay("a", "5 h"), _stay("b", "60 h", "28.9 h")], "9 h", id="within-24-hours"),
            pytest.param([], "9 h", id="no-stay"),
        ],
    )
    def test_counts_from(self, stays: list[Json], began: str) -> None:
        one = _review(*stays, _potassium("6.8", "9 h"), as_of=_NOW)
        assert _due(one) == datetime.fromisoformat(earlier(began)) + timedelta(minutes=30)


class TestWithoutATime:
    """Ours: due when it may be due at the earliest, never called late; a later look gives no more time."""

    @staticmethod
    def _dated(at: str, as_of: str) -> Review:
        result = measured("k", "potassium", "6.2", "mmol/L", effectiveDateTime=at)
        return _review(result, as_of=datetime.fromisoformat(f"{as_of}+04:00"))

    @pytest.mark.parametrize(
        ("as_of", "said"),
        [
            pytest.param("2026-03-01T00:20:00", "within 40 minutes, by 01:00", id="early"),
            pytest.param("2026-03-01T00:50:00", "within 10 minutes, by 01:00", id="no-more-time"),
            pytest.param("2026-03-01T01:01:00", "now", id="it-may-be-past"),
            pytest.param("2026-03-01T23:00:00", "now", id="late-in-the-day"),
            pytest.param("2026-03-02T00:59:00", "now", id="the-latest-is-not-past"),
            pytest.param(
                "2026-03-02T01:30:00",
                "now: it was due by 01:00, 30 min ago",
                id="past-at-any-rate",
            ),
        ],
    )
    def test_of_a_date_alone(self, as_of: str, said: str) -> None:
        one = self._dated("2026-03-01", as_of)
        assert one.escalation is not None
        assert call_line(one.escalation, one.clock).endswith(f"registrar {said}.")

    def test_no_door_names_a_time(self) -> None:
        answer = answer_of(
            patient(),
            measured("k", "potassium", "6.2", "mmol/L", effectiveDateTime=AT[:10]),
            as_of=_NOW,
        )
        (one,) = answer.reviews
        assert one.escalation is not None
        assert (first_of(one).due, first_of(one).due_at, first_of(one).is_overdue) == ("now", "", False)
        assert (ward_line(one).due, ward_line(one).due_at, ward_line(one).late) == ("now", "", "")
        assert ward_row(one).call == call_line(one.escalation, one.clock)
        bundle = json.loads(answer.collection(Stamp(software="1", rules={})))
        (request,) = (
            e["resource"] for e in bundle["entry"] if e["resource"]["resourceType"] == "CommunicationRequest"
        )
        assert request["occurrencePeriod"] == {"start": AT}
        assert request["payload"][0]["contentString"].endswith(", now.")

    @pytest.mark.parametrize(
        ("stays", "as_of", "said"),
        [
            pytest.param([], timedelta(), "within 4 hours, by 14:00", id="one-round"),
            pytest.param([], timedelta(hours=3), "within 1 hour, by 14:00", id="looked-at-later"),
            pytest.param([], timedelta(hours=5), "now", id="later-still"),
            pytest.param([_stay("a", "3 h")], timedelta(), "within 1 hour, by 11:00", id="stay"),
            pytest.param(
                [_stay("a", "6 h")],
                timedelta(),
                "now: it was due by 08:00, 2 h ago",
                id="missing-all-the-stay",
            ),
        ],
    )
    def test_of_no_date_at_all(self, stays: list[Json], as_of: timedelta, said: str) -> None:
        """An undated problem was there when the record begins, or when the patient came."""
        order = ordered("Paracetamol 1 g tablets", "N02BE01", authoredOn=earlier("20 h"))
        one = _review(problem("Epilepsy"), order, *stays, *round_before(""), as_of=_NOW + as_of)
        assert one.escalation is not None
        assert call_line(one.escalation, one.clock).endswith(f"{said}.")

    @pytest.mark.parametrize("hours", [0, 1, 5])
    def test_of_no_date_in_a_record_without_one(self, hours: int) -> None:
        """Ours: what nothing dates is asked for now; an hour from each look would never come."""
        order = ordered("Paracetamol 1 g tablets", "N02BE01", authoredOn=earlier("20 h"))
        now = _NOW + timedelta(hours=hours)
        one = _review(problem("Addison's disease"), problem("Haematemesis"), order, as_of=now)
        assert one.escalation is not None
        assert one.escalation.is_now
        assert one.escalation.overdue is None


def test_a_missing_medicine_keeps_its_hour_when_a_result_leads() -> None:
    """Type 1 diabetes and no insulin: a sodium that is found later does not give it a new hour. Ours."""
    known = [
        problem("Type 1 diabetes"),
        ordered("Paracetamol 1 g tablets", "N02BE01", authoredOn=earlier("20 h")),
        _stay("a", "6 h"),
        *round_before("5 h"),
        result("glucose", "21", at=earlier("4 h")),
    ]
    before = _review(*known, as_of=_NOW - timedelta(minutes=30))
    sodium = result("Na", "114", at=(_NOW - timedelta(minutes=20)).isoformat())
    after = _review(*known, sodium, as_of=_NOW)
    assert before.escalation is not None
    assert after.escalation is not None
    assert before.escalation.because.kind is Kind.MEDICINE_MISSING
    assert after.escalation.because.kind is Kind.CRITICAL_RESULT
    assert before.urgency is after.urgency
    assert _due(after) == _due(before) < _NOW


def test_a_repeat_of_what_makes_it_worse_moves_no_hour() -> None:
    """A glucose of 21 and again of 22: insulin has been missing with it since the first of them. Ours."""
    known = [
        problem("Type 1 diabetes"),
        ordered("Paracetamol 1 g tablets", "N02BE01", authoredOn=earlier("20 h")),
        _stay("a", "6 h"),
        *round_before("5 h"),
        result("glucose", "21", at=earlier("4 h")),
    ]
    again = result("glucose", "22", at=earlier("1 h"))
    before, after = _review(*known, as_of=_NOW), _review(*known, again, as_of=_NOW)
    assert _due(after) == _due(before) == _NOW - timedelta(hours=3)


def test_what_is_due_at_this_moment_is_due_now() -> None:
    """No "within 1 minute" of a time that has come."""
    one = _review(_potassium("6.8", ""), as_of=_NOW + timedelta(minutes=30))
    assert one.escalation is not None
    assert call_line(one.escalation, one.clock).endswith("now: it is due by 10:30.")


def test_an_antimicrobial_that_is_due_names_the_allergy_its_order_meets() -> None:
    """Whoever hurries to give what is charted would give it; how it is worded is ours."""
    allergy = {
        "resourceType": "AllergyIntolerance",
        "id": "a",
        "clinicalStatus": {"coding": [{"code": "active"}]},
        "code": {"text": "Penicillin"},
        "patient": {"reference": "Patient/p"},
    }
    order = ordered(
        "Co-amoxiclav 1.2 g", "J01CR02", authoredOn=earlier("1 h"), reasonCode=[{"text": "Pneumonia"}]
    )
    meets = "Co-amoxiclav 1.2 g on the chart meets a recorded allergy"
    one = _review(allergy, order, *round_before("2 h", **_ILL), as_of=_NOW)
    assert meets in one.headline
    assert "Recorded allergy:" not in one.headline
    assert meets not in _review(order, *round_before("2 h", **_ILL), as_of=_NOW).headline
