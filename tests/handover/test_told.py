"""Which finding speaks for which: common practice, no source; that each course is said once is our choice."""

import pytest

from tests.records import answer_of, earlier, full_set, measured, observation, patient, problem, quantity
from tests.web.records import demo
from weatherglass.cli.printing.text import review_text
from weatherglass.handover.told import Told, named_together, told
from weatherglass.model.findings import SLOW_DECLINE, Finding, Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.review import Review

#: The signs whose course the decline of this patient names.
SIGNS = {"respiration-rate", "spo2", "systolic-pressure", "pulse", "temperature"}


@pytest.fixture(scope="module")
def sepsis() -> Review:
    (one,) = answer_of(*(entry["resource"] for entry in demo("01-sepsis")["entry"])).reviews
    return one


def _trends(review: Review) -> dict[str, Told]:
    every = told(review)
    return {one.finding.key: one for one in every if one.finding.kind is Kind.VITAL_SIGN_TREND}


def _changed(review: Review, key: str, urgency: Urgency) -> Review:
    def made(one: Finding) -> Finding:
        is_it = one.kind is Kind.VITAL_SIGN_TREND and one.key == key
        return replace(one, urgency=urgency) if is_it else one

    return replace(review, findings=tuple(map(made, review.findings)))


def test_a_slow_decline_speaks_for_the_quiet_trends_of_its_signs(sepsis: Review) -> None:
    found = _trends(sepsis)
    (decline,) = (one for key, one in found.items() if key == SLOW_DECLINE)
    spoken_for = {key for key, one in found.items() if one.speaks_by is decline.finding}
    assert spoken_for == set(found) - {SLOW_DECLINE} == SIGNS
    assert decline.agrees == (), "their courses are in its own words"


def test_a_trend_that_asks_for_something_speaks_for_itself(sepsis: Review) -> None:
    pulse = _trends(_changed(sepsis, "pulse", Urgency.PROMPT))["pulse"]
    assert (pulse.speaks_by, pulse.aside) == (None, False)


def test_without_a_slow_decline_each_trend_says_its_own(sepsis: Review) -> None:
    others = replace(sepsis, findings=tuple(f for f in sepsis.findings if f.key != SLOW_DECLINE))
    found = _trends(others)
    assert set(found) == SIGNS
    assert all(one.speaks_by is None for one in found.values())


def test_what_is_not_computed_for_one_reason_is_named_together() -> None:
    """12-child: the scores for adults in one breath; each keeps its own sentence. Our choice."""
    (child,) = answer_of(*(entry["resource"] for entry in demo("12-child")["entry"])).reviews
    every = told(child)
    said = [words for words in named_together(one for one in every if one.aside) if "not computed" in words]
    assert said == ["NEWS2, Age shock index, MEWS, qSOFA, Shock index and SIRS not computed at this age"]
    assert sum("was not computed" in one.finding.sentence for one in every) == 6


def test_what_stands_alone_keeps_its_few_words(sepsis: Review) -> None:
    every = [one for one in told(sepsis) if one.aside and one.speaks_by is not sepsis.lead]
    assert named_together(every) == tuple(one.title for one in every)


def test_a_score_of_the_same_signs_is_its_total(sepsis: Review) -> None:
    """MEWS is of signs that NEWS2 names; CURB-65 has urea besides. Our choice."""
    every = [one for one in told(sepsis) if one.aside and one.speaks_by is sepsis.lead]
    said = named_together(every)
    assert [words for words in said if words.startswith("MEWS")] == ["MEWS 7"]
    assert any(words.startswith("CURB-65") and "urea" in words for words in said)


def test_an_index_that_is_not_known_agrees_with_nothing() -> None:
    """09-incomplete-after-operation: without a pressure there is no shock index, and so no least one."""
    (one,) = answer_of(
        *(entry["resource"] for entry in demo("09-incomplete-after-operation")["entry"])
    ).reviews
    (index,) = (t for t in told(one) if t.finding.key == "shock-index")
    assert "last known" in index.title
    assert not any("at least" in words for t in told(one) for words in t.agrees)


@pytest.mark.parametrize("called", [True, False], ids=["called", "nobody-called"])
def test_what_a_score_asks_for_is_said_by_a_call_that_is_as_urgent(sepsis: Review, called: bool) -> None:
    """The call line stands at the head; without one the score says it. Our choice."""
    one = sepsis if called else replace(sepsis, escalation=None)
    assert [each.is_called for each in told(one) if each.finding is sepsis.lead] == [called]
    assert ("The publication asks for" in review_text(one, ())) is not called


def test_an_open_total_says_itself_what_it_could_ask_for() -> None:
    """NEWS2 7 without alertness, which is 3 more, is called for all the same."""
    (one,) = answer_of(
        patient(), *full_set(respiration_rate="26 /min", spo2="90 %", pulse="95 /min", consciousness=None)
    ).reviews
    assert one.escalation is not None
    (lead,) = (each for each in told(one) if each.finding is one.lead)
    assert lead.is_called is not bool(lead.finding.highest_tier)  # type: ignore[attr-defined]


@pytest.mark.parametrize("glucose", ["22", "2.4"])
def test_a_result_that_a_crisis_holds_is_named_beside_it(glucose: str) -> None:
    """Ketones with ketoacidosis; a result that asks for something at once speaks for itself. Our choice."""
    diabetes = problem("Type 1 diabetes mellitus")
    ketones = observation("k", "6873-4", valueQuantity=quantity("3.4", "mmol/L"))
    acid = observation("v", "2746-6", valueQuantity=quantity("7.24", "[pH]"))
    sugar = observation("g", "15074-8", valueQuantity=quantity(glucose, "mmol/L"))
    (one,) = answer_of(patient(), *full_set(), diabetes, ketones, acid, sugar).reviews
    every = {each.finding.key: each for each in told(one)}
    by = every["ketones-high"].speaks_by
    assert by is not None
    assert (by.key, every["ketones-high"].in_passing) == ("ketoacidosis", True)
    low = every.get("glucose-low")
    assert (low is None) is (glucose == "22")
    assert low is None or low.speaks_by is None


@pytest.mark.parametrize(
    ("before", "in_passing"), [("120", True), (None, False)], ids=["stage-3", "not-staged"]
)
def test_a_very_high_creatinine_is_named_by_the_stage(before: str | None, in_passing: bool) -> None:
    """The same number stood in four lines below each other. Our choice."""
    values = [measured("now", "creatinine", "404", "umol/L")]
    if before is not None:
        values.append(measured("old", "creatinine", before, "umol/L", at=earlier("48 h")))
    (one,) = answer_of(patient(), *full_set(), *values).reviews
    (high,) = (each for each in told(one) if each.finding.key == "creatinine-high")
    assert (high.in_passing, high.speaks_by is not None) == (in_passing, in_passing)


def test_a_total_is_followed_in_its_own_line() -> None:
    """NEWS2 and its rise were two lines that began alike; the line stands where the more urgent one stood."""
    early = full_set(pulse="95 /min")
    for one in early:
        one["id"] += "-early"
        one["effectiveDateTime"] = earlier("10 h")
    now = full_set(pulse="115 /min", respiration_rate="22 /min", temperature="38.5 Cel")
    answer = answer_of(patient(), *early, *now)
    printed = review_text(answer.reviews[0], answer.issues)
    assert "NEWS2 5: up from" not in printed
    assert "      Up from 1 (10 hours before)." in printed
    every = told(answer.reviews[0])
    assert {one.finding.kind for one in every} >= {Kind.SCORE, Kind.SCORE_TREND}
