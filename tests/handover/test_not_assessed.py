"""What was not assessed is said first, and never reads as reassurance.

RCP NEWS2 2017: totals and what each asks for (Chart 4: 0, 1-4, a single 3, 5-6, 7 or more) and the most
points of a row (Chart 1). That a missing value is never normal, and the words, are ours.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.wards import result
from tests.records import (
    AT,
    Json,
    answer_of,
    bundle,
    earlier,
    full_set,
    measured,
    observation,
    patient,
    quantity,
    reading_of,
    score_in,
    text,
)
from weatherglass.cli.printing.text import review_text
from weatherglass.model.findings import MissingReason, ScoreFinding, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.review import Review
from weatherglass.pipeline import review, review_reading
from weatherglass.review.selection import Selection
from weatherglass.web.view import first_of, patient_view

_REASSURING = "Nothing urgent found"
_ROWS = (
    "respiration_rate",
    "spo2",
    "oxygen",
    "systolic_pressure",
    "pulse",
    "consciousness",
    "temperature",
)


def _review(*resources: Json, born: str | None = "1950-06-01", as_of: datetime | None = None) -> Review:
    (one,) = answer_of(patient(born=born), *resources, as_of=as_of).reviews
    return one


def _narrowed(*resources: Json) -> Review:
    only = Selection(frozenset({"aki-kdigo"}))
    (one,) = review(text(bundle(patient(), *resources)), only=only).reviews
    return one


def _score(*resources: Json, **person: Any) -> ScoreFinding:
    return score_in(answer_of(patient(**person), *resources))


class TestNoVitalSigns:
    """A record without a single vital sign was not assessed, whatever else it holds."""

    @pytest.mark.parametrize(
        "resources",
        [
            pytest.param([measured("k", "potassium", "4.7", "mmol/L")], id="a-normal-potassium"),
            pytest.param([measured("scr", "creatinine", "118", "umol/L")], id="one-creatinine"),
        ],
    )
    def test_the_headline_begins_with_it(self, resources: list[Json]) -> None:
        one = _review(*resources)
        assert one.headline.startswith("Not assessed: no vital signs are recorded.")
        assert one.not_assessed == "Not assessed: no vital signs are recorded."
        assert one.urgency is Urgency.ROUTINE, "nothing asks for a call either"

    def test_what_was_found_follows(self) -> None:
        one = _review(measured("scr", "creatinine", "118", "umol/L"))
        assert "Creatinine 118" in one.headline

    def test_a_pressing_result_still_leads(self) -> None:
        """A potassium of 6.8 is not put behind what is missing, which is said all the same."""
        one = _review(measured("k", "potassium", "6.8", "mmol/L"))
        assert one.headline.startswith(("Potassium 6.8", "Severe hyperkalaemia"))
        assert one.not_assessed == "Not assessed: no vital signs are recorded."

    def test_the_words_at_the_head_of_the_page_and_of_the_text(self) -> None:
        one = _review(measured("scr", "creatinine", "118", "umol/L"))
        first = first_of(one)
        assert (first.urgency, first.not_assessed) == ("not assessed", one.not_assessed)
        said = review_text(one, ())
        assert "ROUTINE" not in said
        assert "NOT ASSESSED: no vital signs are recorded." in said

    def test_a_call_stands_in_its_own_place(self) -> None:
        one = _review(measured("k", "potassium", "6.8", "mmol/L"))
        assert (one.standing, first_of(one).urgency) == ("emergency", "emergency")


class TestIncompleteRound:
    """A round that could still reach a higher response is said to be incomplete, with what is missing."""

    def test_one_pulse(self) -> None:
        """One row known and six open: 0 to 17."""
        one = _review(measured("p", "pulse", "75", "/min"))
        assert one.headline == (
            "Not assessed: breathing, saturation, air or oxygen, systolic pressure, alertness and "
            "temperature are not known, so NEWS2 is between 0 and 17."
        )
        assert first_of(one).urgency == "not assessed"

    def test_one_row_open(self) -> None:
        """Alertness scores 0 or 3, and a single 3 asks for a review."""
        one = _review(*full_set(consciousness=None))
        assert one.headline == "Not fully assessed: alertness is not known, so NEWS2 is between 0 and 3."
        assert _REASSURING not in one.headline

    def test_what_scores_is_named(self) -> None:
        one = _review(*full_set(temperature=None, pulse="95 /min"))
        assert one.headline.endswith("NEWS2 is between 1 and 4: pulse 95.")

    def test_a_complete_round_is_as_it_was(self) -> None:
        one = _review(*full_set())
        assert one.headline == "NEWS2 0. Nothing urgent found."
        assert one.not_assessed == ""
        assert first_of(one).not_assessed == ""

    def test_a_round_that_cannot_reach_another_response(self) -> None:
        """Total 1 to 3 by the pulse, air or oxygen open: 0 to 2 more points stay inside 1-4."""
        one = _review(*full_set(oxygen=None, pulse="95 /min"))
        assert one.headline == (
            "NEWS2 at least 1 (air or oxygen not known): pulse 95. Nothing urgent found in what was measured."
        )
        assert one.not_assessed == ""

    def test_a_spot_check_after_a_whole_round(self) -> None:
        """The last complete total is named with its time, and does not stand for now."""
        before = [{**r, "id": f"{r['id']}-0", "effectiveDateTime": earlier("1 h")} for r in full_set()]
        one = _review(*before, measured("p", "pulse", "75", "/min"))
        assert one.headline.endswith("The last complete set, at 09:00 on 1 March, gave 0.")
        assert _REASSURING not in one.headline

    def test_a_child(self) -> None:
        """Bedside PEWS, Parshuram 2009: from 8 a review is asked for."""
        one = _review(measured("p", "pulse", "75", "/min"), born="2019-01-01")
        assert one.headline.startswith("Not assessed: ")
        assert _REASSURING not in one.headline

    def test_signs_that_no_score_reads(self) -> None:
        """A diastolic pressure alone tells of nothing."""
        alone = observation(
            "dbp",
            "8462-4",
            valueQuantity=quantity("70", "mm[Hg]"),
        )
        one = _review(alone)
        assert one.headline.startswith("Not assessed: ")
        assert _REASSURING not in one.headline


@pytest.mark.parametrize("left_out", range(2 ** len(_ROWS) - 1))
def test_reassurance_only_where_nothing_open_could_change_the_response(left_out: int) -> None:
    """RCP NEWS2 2017, Charts 1 and 4, over every choice of rows left out of a normal round.

    Air or oxygen alone adds at most 2, which is a response of its own (1 to 4) beside a total of 0.
    """
    missing = [row for place, row in enumerate(_ROWS) if left_out >> place & 1]
    one = _review(*full_set(**dict.fromkeys(missing)))
    assert (_REASSURING in one.headline) == (not missing)
    assert bool(one.not_assessed) == bool(missing)
    assert one.headline.startswith("Not ") == bool(missing)


class TestWhatAnIncompleteScoreAsksFor:
    """The response of the lowest possible total never stands alone."""

    def test_both_ends_and_what_to_do_now(self) -> None:
        score = _score(measured("p", "pulse", "75", "/min"))
        assert (score.tier, score.highest_tier) == ("0", "7 or more")
        said = score.response
        assert said == "complete the set now: it could reach 17 (emergency)"
        assert score.monitoring.startswith("complete the set now")

    def test_a_higher_response_is_kept(self) -> None:
        """Urgent already, and could be an emergency."""
        score = _score(
            *full_set(
                respiration_rate="22 /min",
                spo2="93 %",
                pulse="95 /min",
                systolic_pressure=None,
                consciousness=None,
            )
        )
        assert (score.lowest, score.highest) == (5, 11)
        assert "urgent assessment" in score.response
        assert "could reach 11 (emergency)" in score.response

    def test_a_complete_score_asks_for_what_it_did(self) -> None:
        score = _score(*full_set())
        assert score.response == "Continue routine scoring"
        assert score.monitoring == "at least every 12 hours"
        assert score.highest_tier == ""

    def test_the_text_says_it_although_it_is_routine(self) -> None:
        one = _review(*full_set(consciousness=None))
        assert "complete the set now" in " ".join(review_text(one, ()).split())


class TestOldVitalSigns:
    """What is too old to rely on reassures nobody."""

    def test_a_total_of_then_is_said_as_one(self) -> None:
        """Ours: 12 hours; observations are overdue only a quarter of an hour later."""
        late = datetime.fromisoformat(AT) + timedelta(hours=12, minutes=10)
        one = _review(*full_set(), as_of=late)
        assert one.headline.startswith("Not assessed now: the newest vital signs are ")
        assert one.headline.endswith("NEWS2 0 at 10:00 on 1 March.")
        assert first_of(one).urgency == "not assessed now"

    def test_of_a_child(self) -> None:
        """No interval is published with the score, so nothing is overdue."""
        late = datetime.fromisoformat(AT) + timedelta(hours=13)
        one = _review(*full_set(), born="2019-01-01", as_of=late)
        assert one.headline.startswith("Not assessed now: the newest vital signs are 13 hours old.")
        assert _REASSURING not in one.headline

    def test_at_the_limit_they_count(self) -> None:
        late = datetime.fromisoformat(AT) + timedelta(hours=12)
        assert _review(*full_set(), as_of=late).headline == "NEWS2 0. Nothing urgent found."


class TestOneQuestionOnly:
    """A narrowed review says nothing of a score that was not asked for, and still what is not recorded."""

    def test_with_vital_signs(self) -> None:
        one = _narrowed(*full_set(), measured("scr", "creatinine", "80", "umol/L"))
        assert one.not_assessed == ""
        assert one.is_narrowed

    def test_without(self) -> None:
        one = _narrowed(measured("scr", "creatinine", "80", "umol/L"))
        assert one.headline.startswith("Not assessed: no vital signs are recorded.")


class TestSignsThatCouldNotBeUsed:
    """Never "not recorded" of something that was sent; how it is worded is ours."""

    def test_in_words(self) -> None:
        one = _review(observation("rr", "9279-1", valueString="about 28"), as_of=datetime.fromisoformat(AT))
        assert one.not_assessed == "Not assessed: vital signs were sent, and none of them could be used."
        assert one.data_age == "No vital signs could be used."
        assert "respiration rate about 28" in one.headline
        assert "NOT ASSESSED\n  Vital signs were sent" in review_text(one, ())

    @pytest.mark.parametrize(
        ("when", "reason"),
        [
            (AT, MissingReason.NOT_READ),
            (earlier("15 min"), MissingReason.NOT_READ),
            (earlier("16 min"), MissingReason.NOT_RECORDED),
            (None, MissingReason.NOT_READ),
        ],
    )
    def test_of_one_round(self, when: str | None, reason: MissingReason) -> None:
        """What came with the round, or nobody knows when; it was "not recorded". Ours."""
        unread = observation("rr", "9279-1", at=when, valueString="about 34")
        answer = answer_of(patient(), *full_set(respiration_rate=None), unread)
        (part,) = (each for each in score_in(answer).parts if each.missing is not None)
        assert part.missing is not None
        assert (part.missing.reason, part.shown) == (reason, reason.value)
        said = " ".join(answer.reviews[0].handover.assessment)
        assert ("respiration rate sent and not read" in said) is (reason is MissingReason.NOT_READ)
        assert ("not recorded: respiration rate" in said) is (reason is MissingReason.NOT_RECORDED)

    def test_on_the_page(self) -> None:
        words = (("rr", "9279-1", "about 34"), ("scr", "14682-9", "see comment"))
        reading = reading_of(
            patient(), *(observation(n, code, at=None, valueString=said) for n, code, said in words)
        )
        answer = review_reading(reading, as_of=datetime.fromisoformat(AT))
        view = patient_view(answer.reviews[0], reading.records[0][1], answer.issues, LocalChoices())
        assert {sign.key: sign.value for sign in view.signs}["respiration-rate"] == "sent and not read"
        assert {sign.key: sign.value for sign in view.signs}["pulse"] == "not recorded"
        assert view.no_kidneys == "A creatinine was sent and not read"

    def test_with_a_date_alone(self) -> None:
        one = _review(
            measured("rr", "respiration-rate", "28", "/min", effectiveDateTime=AT[:10]),
            as_of=datetime.fromisoformat(AT),
        )
        assert one.not_assessed == "Not assessed: vital signs were sent, and none of them could be used."


class TestLongAgo:
    """Ours: without a stay, vital signs of more than 48 hours ago call nobody; in a stay they do."""

    @pytest.mark.parametrize(("hours", "calls"), [(48, True), (48.1, False)])
    def test_without_a_stay(self, hours: float, calls: bool) -> None:
        one = _review(
            *full_set(respiration_rate="30 /min", spo2="84 %", systolic_pressure="78 mm[Hg]"),
            as_of=datetime.fromisoformat(AT) + timedelta(hours=hours),
        )
        assert (one.escalation is not None) == calls
        if not calls:
            assert one.headline.startswith("Not assessed now")
            assert "NEWS2 9" in one.headline

    def test_in_a_stay_that_began_since_it_calls_nobody(self) -> None:
        """What was measured in an earlier stay is not how the patient is now."""
        stay = {
            "resourceType": "Encounter",
            "id": "e",
            "status": "in-progress",
            "class": {"code": "IMP"},
            "subject": {"reference": "Patient/p"},
            "period": {"start": "2026-03-31T10:00:00+04:00"},
        }
        one = _review(
            stay, *full_set(spo2="80 %"), as_of=datetime.fromisoformat(AT) + timedelta(days=30, hours=1)
        )
        assert one.escalation is None
        assert one.headline.startswith("Not assessed now: the newest vital signs are 30 days old.")

    def test_in_a_stay_it_still_calls(self) -> None:
        stay = {
            "resourceType": "Encounter",
            "id": "e",
            "status": "in-progress",
            "class": {"code": "IMP"},
            "subject": {"reference": "Patient/p"},
            "period": {"start": earlier("10 d")},
        }
        one = _review(
            stay,
            *full_set(respiration_rate="30 /min", spo2="84 %", systolic_pressure="78 mm[Hg]"),
            as_of=datetime.fromisoformat(AT) + timedelta(hours=60),
        )
        assert one.escalation is not None


class TestAtTheBedside:
    """Where nobody is called and nobody knows how the patient is, the set is asked for. Our choice."""

    def test_signs_that_are_missing(self) -> None:
        (one,) = answer_of(patient(), *full_set(systolic_pressure=None)).reviews
        assert one.escalation is None
        assert one.at_bedside == "Take a full set of observations now."

    def test_all_is_known(self) -> None:
        (one,) = answer_of(patient(), *full_set()).reviews
        assert one.at_bedside == ""

    def test_only_some_questions_were_asked(self) -> None:
        """Kidneys alone were asked about: nobody said that no signs were taken."""
        body = text(bundle(patient(), observation("c", "14682-9", valueQuantity=quantity("80", "umol/L"))))
        (one,) = review(body, only=Selection(frozenset({"aki-kdigo"}))).reviews
        assert "Take a full set" not in one.at_bedside


class TestBesideACall:
    """Somebody is called for one thing, and nobody knows that the patient is not far sicker. Our choice."""

    def test_an_open_total_comes_right_behind_the_reason(self) -> None:
        """Chart 4: a potassium is urgent, a total of up to 11 would be an emergency."""
        seen = full_set(respiration_rate="22 /min", systolic_pressure=None, consciousness=None)
        one = _review(*seen, result("K", "6.1"))
        assert one.urgency is Urgency.URGENT
        first, second = (told.words for told in one.told_first[:2])
        assert first.startswith("Potassium 6.1")
        assert second.startswith("NEWS2 at least 2 (systolic pressure and alertness not known, so up to 8)")
        assert second in one.headline
        assert f"{second}." in one.handover.spoken
        assert "at least 2" in first_of(one).headline
        assert second in " ".join(review_text(one, ()).split())

    def test_a_whole_round_says_nothing_more(self) -> None:
        one = _review(*full_set(respiration_rate="22 /min"), result("K", "6.1"))
        assert not any("not known" in told.words for told in one.told_first)

    def test_what_could_not_ask_for_more_than_the_reason_does(self) -> None:
        """Chart 1: the temperature alone adds 3 at most, so that 2 becomes 5, which is urgent too."""
        one = _review(*full_set(respiration_rate="22 /min", temperature=None), result("K", "6.1"))
        assert not any("temperature not known" in told.words for told in one.told_first)

    def test_an_emergency_is_not_outdone(self) -> None:
        one = _review(*full_set(systolic_pressure=None, consciousness=None), result("K", "6.7"))
        assert one.told_first[0].words.startswith("Potassium 6.7")
        assert not any("not known" in told.words for told in one.told_first)

    @pytest.mark.parametrize(
        ("signs", "hours", "said"),
        [
            pytest.param([], 0, "Not assessed: no vital signs are recorded.", id="none"),
            pytest.param(full_set(), 20, "Not assessed now: the newest vital signs are", id="old"),
            pytest.param(full_set(), 0, "", id="a-whole-round"),
        ],
    )
    def test_the_call_says_that_nobody_measured(self, signs: list[Json], hours: int, said: str) -> None:
        """A registrar who is called for a potassium asks how the patient is."""
        now = datetime.fromisoformat(AT) + timedelta(hours=hours)
        one = _review(*signs, result("K", "6.7", at=now.isoformat()), as_of=now)
        unknown = [words for words in one.handover.spoken if words.startswith("Not assessed")]
        assert len(unknown) == (1 if said else 0)
        assert all(words.startswith(said) for words in unknown)
        assert ("Take a full set of observations now." in one.at_bedside) is bool(said)

    def test_what_is_done_at_once_stands_in_the_text_and_in_the_handover(self) -> None:
        one = _review(*full_set(), result("K", "6.7"))
        first = "12-lead ECG and heart monitor now."
        assert f"Until then: {first}" in review_text(one, ())
        assert any(words.startswith(f"Until then: {first}") for words in one.handover.recommendation)


@pytest.mark.parametrize(
    ("words", "ago", "is_asked"),
    [
        ("Complaining of central chest pain", "10 min", True),
        ("Looks grey and clammy", "10 min", True),
        ("Slept well, denies chest pain", "10 min", False),
        ("Complaining of central chest pain", "40 min", False),
    ],
)
def test_danger_in_words_after_the_newest_round(words: str, ago: str, is_asked: bool) -> None:
    """Ours: "ROUTINE, this call is not urgent" stood over chest pain written down after a calm round."""
    rounds = [{**one, "effectiveDateTime": earlier("20 min")} for one in full_set()]
    note = observation("n", "note", system="urn:local", at=earlier(ago), valueString=words)
    note["code"]["text"] = "Nursing note"
    one = _review(*rounds, note, as_of=datetime.fromisoformat(AT))
    assert one.headline.startswith("Not fully assessed: what may be danger was written down") is is_asked
    assert ("This call is not urgent." in one.handover.spoken) is (not is_asked and "denies" not in words)
