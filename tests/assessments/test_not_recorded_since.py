"""What was abnormal and was left out of every later round is named, with its time, and measured again.

All of it is ours: missing is never normal. An open total of 3 that waits for an hour asks for somebody; a
higher one asks as NEWS2 does (RCP 2017, chart 4: 5 or a single 3).
"""

from datetime import datetime, timedelta

import pytest

from tests.records import AT, Json, alertness, answer_of, earlier, full_set, measured, patient, problem, stay
from weatherglass.model.findings import NOT_RECORDED_SINCE, Finding, Kind, State, Urgency
from weatherglass.model.review import Review

_UNITS = {"pulse": "/min", "systolic-pressure": "mm[Hg]", "respiration-rate": "/min", "spo2": "%"}


def _sign(signal: str, value: str, ago: str) -> Json:
    unit = {**_UNITS, "temperature": "Cel"}[signal]
    return measured(f"{signal}-{ago.replace(' ', '')}", signal, value, unit, at=earlier(ago))


def _well(ago: str) -> list[Json]:
    at = earlier(ago)
    return [
        {**one, "id": f"{one['id']}-{ago.replace(' ', '')}", "effectiveDateTime": at} for one in full_set()
    ]


def _review(*resources: Json, after: timedelta = timedelta(0)) -> Review:
    here = stay(period={"start": earlier("30 h")})
    return answer_of(patient(), here, *resources, as_of=datetime.fromisoformat(AT) + after).reviews[0]


def _named(review: Review) -> Finding | None:
    return next((one for one in review.findings if one.key == NOT_RECORDED_SINCE), None)


_WARM = _sign("temperature", "36.8", "10 min")
_FAST_AND_LOW = (_sign("pulse", "128", "150 min"), _sign("systolic-pressure", "94", "150 min"))


class TestItIsNamed:
    def test_with_its_time_and_age(self) -> None:
        review = _review(*_well("8 h"), *_FAST_AND_LOW, _WARM)
        found = _named(review)
        assert found is not None
        assert found.urgency is Urgency.PROMPT
        assert found.sentence == (
            "Systolic 94 and pulse 128 at 07:30 on 1 March, not recorded since; 2 hours ago, "
            "measure again now."
        )
        assert review.headline.startswith(
            "Systolic 94 and pulse 128 at 07:30 on 1 March, not recorded since."
        )

    def test_where_nobody_is_called_it_stands_before_the_last_whole_round(self) -> None:
        review = _review(*_well("8 h"), _sign("pulse", "122", "150 min"), _WARM)
        assert review.urgency is Urgency.ROUTINE
        assert "Pulse 122 at 07:30 on 1 March, not recorded since. The last complete set" in review.headline

    @pytest.mark.parametrize(
        ("signal", "value"),
        [("pulse", "135"), ("respiration-rate", "26"), ("spo2", "90")],
    )
    def test_a_single_three_asks_as_it_did(self, signal: str, value: str) -> None:
        found = _named(_review(*_well("8 h"), _sign(signal, value, "150 min"), _WARM))
        assert found is not None
        assert found.urgency is Urgency.URGENT

    def test_several_rounds_count_together(self) -> None:
        """Pulse 122 (2), then 94 mmHg (2) and 22 breaths (2): 6 points, each of another round."""
        parts = (_sign("pulse", "122", "150 min"), _sign("systolic-pressure", "94", "100 min"))
        found = _named(_review(*_well("8 h"), *parts, _sign("respiration-rate", "22", "50 min"), _WARM))
        assert found is not None
        assert found.urgency is Urgency.URGENT
        assert found.brief == (
            "Pulse 122 at 07:30 on 1 March, systolic 94 at 08:20 on 1 March, "
            "breathing 22 at 09:10 on 1 March, not recorded since"
        )

    def test_in_pregnancy(self) -> None:
        born, pregnant = patient("1996-02-02"), problem("Pregnancy, 30 weeks")
        answer = answer_of(
            born, pregnant, _sign("pulse", "122", "150 min"), _sign("systolic-pressure", "120", "10 min")
        )
        found = _named(answer.reviews[0])
        assert found is not None
        assert found.urgency is Urgency.URGENT

    def test_the_criteria_of_an_older_round_say_when(self) -> None:
        born, pregnant = patient("1996-02-02"), problem("Pregnancy, 30 weeks")
        answer = answer_of(born, pregnant, _sign("pulse", "122", "150 min"), _WARM)
        (one,) = [f for f in answer.reviews[0].findings if f.key == "maternal-criteria"]
        assert one.sentence.startswith("Maternal Early Warning Criteria at 07:30 on 1 March: one is met")

    def test_in_the_call_its_time_is_said_once(self) -> None:
        spoken = " ".join(_review(*_well("8 h"), *_FAST_AND_LOW, _WARM).handover.spoken)
        assert "at 07:30 on 1 March, not recorded since." in spoken
        assert "Since 07:30" not in spoken


class TestByWhen:
    @pytest.mark.parametrize(("ago", "urgency"), [("60 min", Urgency.ROUTINE), ("61 min", Urgency.PROMPT)])
    def test_an_open_total_waits_for_an_hour(self, ago: str, urgency: Urgency) -> None:
        parts = (_sign("pulse", "122", ago), _sign("systolic-pressure", "100", ago))
        found = _named(_review(*_well("8 h"), *parts, _WARM))
        assert found is not None
        assert found.urgency is urgency

    def test_two_points_ask_for_nobody(self) -> None:
        found = _named(_review(*_well("8 h"), _sign("pulse", "122", "150 min"), _WARM))
        assert found is not None
        assert found.urgency is Urgency.ROUTINE

    def test_it_counts_from_when_it_began(self) -> None:
        """One hour from 07:30; a later temperature moves nothing."""
        due = {
            escalation.due
            for extra in ((), (_sign("temperature", "36.9", "5 min"),))
            if (escalation := _review(*_well("8 h"), *_FAST_AND_LOW, _WARM, *extra).escalation) is not None
        }
        assert due == {datetime.fromisoformat(earlier("90 min"))}

    def test_what_was_measured_again_waits_from_then(self) -> None:
        """Left out, measured, and left out again: the hour counts from the last time, or it is never met."""
        before = (_sign("pulse", "127", "12 h"), _sign("systolic-pressure", "95", "12 h"))
        between = _sign("temperature", "36.8", "10 h")
        found = _named(_review(*_well("20 h"), *before, between, *_FAST_AND_LOW, _WARM))
        assert found is not None
        assert found.since == datetime.fromisoformat(earlier("150 min"))

    def test_what_asks_by_its_level_asks_since_that_began(self) -> None:
        before, between = _sign("pulse", "136", "12 h"), _sign("temperature", "36.8", "10 h")
        again = _sign("pulse", "135", "150 min")
        found = _named(_review(*_well("20 h"), before, between, again, _WARM))
        assert found is not None
        assert found.urgency is Urgency.URGENT
        assert found.since == datetime.fromisoformat(earlier("12 h"))

    def test_the_same_without_a_later_round(self) -> None:
        """An open round of four points that nobody has completed for an hour."""
        score = _review(*_FAST_AND_LOW).lead
        assert score is not None
        assert score.urgency is Urgency.PROMPT
        fresh = (_sign("pulse", "128", "60 min"), _sign("systolic-pressure", "94", "60 min"))
        score = _review(*fresh).lead
        assert score is not None
        assert score.urgency is Urgency.ROUTINE


class TestItIsNot:
    def test_after_a_whole_round(self) -> None:
        assert _named(_review(*_FAST_AND_LOW, *_well("60 min"), _WARM)) is None

    def test_measured_again(self) -> None:
        again = (_sign("pulse", "82", "10 min"), _sign("systolic-pressure", "124", "10 min"))
        assert _named(_review(*_well("8 h"), *_FAST_AND_LOW, *again)) is None

    def test_what_a_sign_of_its_own_says(self) -> None:
        review = _review(*_well("8 h"), _sign("pulse", "145", "150 min"), _WARM)
        assert _named(review) is None
        (sign,) = [one for one in review.findings if one.kind is Kind.SINGLE_SIGN]
        assert sign.brief == "Pulse 145 /min at 07:30 on 1 March"

    @pytest.mark.parametrize(("hours", "is_named"), [(23, True), (25, False)])
    def test_after_a_day(self, hours: int, is_named: bool) -> None:
        parts = (_sign("pulse", "122", f"{hours} h"), _WARM)
        assert (_named(_review(*parts)) is not None) is is_named

    def test_of_the_dying_it_is_measured_no_more(self) -> None:
        dying = problem("Last days of life", onsetDateTime=earlier("10 h"), recordedDate=earlier("10 h"))
        review = _review(dying, *_FAST_AND_LOW, _WARM)
        found = _named(review)
        assert found is not None
        assert found.urgency is Urgency.ROUTINE
        assert found.sentence.endswith("not recorded since; 2 hours ago.")
        assert review.headline == "End-of-life care is recorded: for information."

    def test_out_of_hospital_nobody_is_called(self) -> None:
        gone = stay(status="finished", period={"start": earlier("30 h"), "end": earlier("3 h")})
        review = answer_of(patient(), gone, *_FAST_AND_LOW, _WARM).reviews[0]
        found = _named(review)
        assert found is not None
        assert found.urgency is Urgency.ROUTINE


class TestAnOpenRoundEndsNothing:
    """A temperature alone does not say that a total has come down."""

    _ILL = tuple(
        _sign(signal, value, "150 min")
        for signal, value in (("pulse", "128"), ("systolic-pressure", "94"), ("respiration-rate", "26"))
    )

    def test_no_trend_settles_by_it(self) -> None:
        review = _review(*_well("8 h"), *self._ILL, _WARM)
        assert not any("no longer rising" in one.sentence for one in review.findings)
        trend = next(one for one in review.findings if one.kind is Kind.SCORE_TREND)
        assert "NEWS2 at least 7 at 07:30 on 1 March: up from 0" in trend.sentence

    def test_no_score_settles_by_it(self) -> None:
        review = _review(*_well("8 h"), *self._ILL, _WARM)
        assert review.lead is not None
        assert review.lead.state is not State.SETTLING

    def test_alertness_is_dated_and_leads_before_the_overdue_round(self) -> None:
        voice = {**alertness("voice"), "id": "voice", "effectiveDateTime": earlier("150 min")}
        said = _review(*_well("8 h"), voice, _WARM).headline
        assert said.startswith("Responds only to voice at 07:30 on 1 March. Observations overdue by ")

    def test_what_was_measured_again_ends_it(self) -> None:
        again = (_sign("pulse", "82", "10 min"), _sign("systolic-pressure", "124", "10 min"))
        review = _review(*_well("8 h"), *_FAST_AND_LOW, *again)
        assert review.urgency is Urgency.ROUTINE


class TestInfection:
    """NICE NG253, strata by NEWS2: 5 or 6 moderate, 7 or more high; what was last recorded counts."""

    _PNEUMONIA = problem("Pneumonia", onsetDateTime=earlier("10 h"))

    def _risk(self, *resources: Json) -> Finding:
        found = _review(self._PNEUMONIA, *_well("8 h"), *resources).findings
        return next(one for one in found if one.kind is Kind.SEPSIS_RISK)

    def test_the_risk_is_that_of_all_that_is_known(self) -> None:
        breathing = _sign("respiration-rate", "26", "150 min")
        found = self._risk(*_FAST_AND_LOW, breathing, _WARM)
        assert found.urgency is Urgency.EMERGENCY
        assert "NEWS2 at least 7 (last known values): high risk" in found.sentence
        assert "not recorded (" not in self._risk(breathing, _WARM).sentence

    def test_it_does_not_settle_by_what_is_left_out(self) -> None:
        ill = [*_FAST_AND_LOW, _sign("respiration-rate", "26", "150 min")]
        assert self._risk(*ill, _WARM).state is not State.SETTLING
        again = [*_sign_again("pulse", "82"), *_sign_again("systolic-pressure", "124")]
        assert self._risk(*_FAST_AND_LOW, *again).state is not State.SETTLING


def _sign_again(signal: str, value: str) -> list[Json]:
    return [_sign(signal, value, "10 min")]


class TestBesideWhatCallsByItself:
    """The law: a single catastrophic sign outranks every total, and what adds nothing asks for nothing."""

    def test_a_catastrophic_sign_leads(self) -> None:
        now = (_sign("respiration-rate", "40", "10 min"), _sign("spo2", "90", "10 min"))
        review = _review(*_well("8 h"), *_FAST_AND_LOW, *now)
        assert review.headline.startswith("Breathing 40 /min.")

    def test_where_the_newest_round_asks_as_soon_it_asks_for_nobody(self) -> None:
        now = (_sign("respiration-rate", "22", "10 min"), _sign("systolic-pressure", "92", "10 min"))
        found = _named(
            _review(
                *_well("8 h"), _sign("temperature", "38.5", "150 min"), *now, _sign("pulse", "105", "10 min")
            )
        )
        assert found is not None
        assert found.urgency is Urgency.ROUTINE

    def test_what_both_come_to_is_said(self) -> None:
        """22 breaths and 92 mmHg (2 and 2) with a pulse of 128 (2) before: 6."""
        now = (_sign("respiration-rate", "22", "10 min"), _sign("systolic-pressure", "92", "10 min"))
        found = _named(_review(*_well("8 h"), _sign("pulse", "128", "150 min"), *now))
        assert found is not None
        assert found.urgency is Urgency.URGENT
        assert found.brief == "Pulse 128 at 07:30 on 1 March, not recorded since: NEWS2 at least 6 with it"


def test_the_mind_is_told_once() -> None:
    """Ours: beside a round that calls by itself it stood here, and once more as a sign of its own."""
    before = [alertness("voice", id="a", effectiveDateTime=earlier("50 min"))]
    fast = _sign("respiration-rate", "22", "50 min")
    now = [
        _sign("spo2", "84", "5 min"),
        _sign("pulse", "136", "5 min"),
        _sign("temperature", "39.4", "5 min"),
    ]
    review = _review(*_well("8 h"), *before, fast, *now)
    found = _named(review)
    assert found is not None
    assert found.urgency is Urgency.ROUTINE
    assert found.sentence.startswith("Breathing 22 at ")
    assert "voice" not in found.sentence
    assert any("Responds only to voice" in one.sentence for one in review.findings)
