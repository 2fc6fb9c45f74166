"""From findings to one review: order, urgency, whom to call, ceilings, the words to say."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.wards import order, problem, result
from tests.records import (
    AT,
    SNOMED,
    answer_of,
    creatinines,
    earlier,
    full_set,
    measured,
    observation,
    patient,
    quantity,
    score_in,
)
from tests.review.reviewed import CEILING, review_of
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.signals import Letter

_ILL = {"pulse": "135 /min", "respiration_rate": "28 /min", "spo2": "90 %"}


def _status(identity: str, answer: str, at: str = "2026-02-27T09:00:00+04:00") -> dict[str, Any]:
    value = {"coding": [{"system": SNOMED, "code": answer}]}
    return observation(identity, "304251008", system=SNOMED, at=at, valueCodeableConcept=value)


_NOT_FOR, _FOR = "450476008", "450475007"


class TestUrgency:
    """The most urgent finding that is not settling decides, and its rule is named."""

    @pytest.mark.parametrize(
        ("changed", "urgency"),
        [
            ({}, Urgency.ROUTINE),
            ({"respiration_rate": "25 /min"}, Urgency.URGENT),
            ({"respiration_rate": "22 /min", "spo2": "93 %", "pulse": "95 /min"}, Urgency.URGENT),
            (_ILL, Urgency.EMERGENCY),
        ],
    )
    def test_follows_the_score(self, changed: dict[str, str], urgency: Urgency) -> None:
        """RCP NEWS2 2017, Chart 4: single 3 (within the hour: our choice), 5-6 and 7 or more."""
        one = review_of(*full_set(**changed))
        assert one.urgency is urgency
        assert (one.escalation is None) is (urgency is Urgency.ROUTINE)
        if one.escalation is not None:
            assert one.escalation.decided_by.startswith("NEWS2")
            assert one.escalation.due == datetime.fromisoformat(AT) + one.escalation.within

    def test_roles_never_people(self) -> None:
        one = review_of(*full_set(**_ILL))
        assert one.escalation is not None
        assert one.escalation.roles == ("medical registrar", "critical care outreach team")


class TestHeadline:
    """Ours: whole words, the first sentence where all do not fit, and nothing that is not true."""

    def test_a_long_sentence_ends_where_a_sentence_or_a_word_ends(self) -> None:
        """A combination on the chart leads with the medicines and what they meet."""
        one = review_of(
            *full_set(systolic_pressure="92 mm[Hg]"),
            order("prednisolone 10 mg tablets", "H02AB06", authoredOn="2025-06-01"),
        )
        assert one.headline == "Prednisolone, with hypotension: think of adrenal crisis."

    def test_what_may_be_the_cause_keeps_its_place_behind_two_emergencies(self) -> None:
        """Ours: a bleeding that is only urgent is not crowded out by the signs that it may explain."""
        one = review_of(
            *full_set(pulse="146 /min", systolic_pressure="98 mm[Hg]", respiration_rate="25 /min"),
            result("Hb", "121", at=earlier("27 h")),
            result("Hb", "84"),
        )
        assert one.headline.startswith("Pulse 146")
        assert "Is this patient bleeding?" in one.headline

    @pytest.mark.parametrize(("potassium", "is_first"), [("6.5", True), ("6.4", False)])
    def test_a_potassium_that_kills_comes_before_what_else_a_result_shows(
        self, potassium: str, *, is_first: bool
    ) -> None:
        """Ours: 7.1 stood behind an infection and the gas of the same sample."""
        one = review_of(
            *full_set(),
            result("K", potassium),
            *(
                observation(code, code, valueQuantity=quantity(value, unit))
                for code, value, unit in (
                    ("2746-6", "7.16", "[pH]"),
                    ("1963-8", "11", "mmol/L"),
                )
            ),
        )
        assert one.headline.startswith("Potassium") is is_first

    def test_a_pressure_that_the_pulse_names_is_not_said_once_more(self) -> None:
        one = review_of(*full_set(pulse="188 /min", systolic_pressure="84 mm[Hg]"))
        assert one.headline.startswith("Pulse 188 /min with systolic pressure 84 mmHg.")
        assert one.headline.count("84 mmHg") == 1

    def test_bleeding_says_what_is_recorded(self) -> None:
        """The few words of a ward list name the bleeding."""
        melaena = {
            "resourceType": "Condition",
            "id": "melaena",
            "subject": {"reference": "Patient/p"},
            "clinicalStatus": {"coding": [{"code": "active"}]},
            "code": {"text": "Melaena"},
            "onsetDateTime": "2026-03-01T08:00:00+04:00",
        }
        one = review_of(melaena, measured("hb", "creatinine", "80", "umol/L"))
        assert one.headline == "Bleeding on record: Melaena (08:00 on 1 March)."

    def test_a_result_inside_its_limits_was_assessed(self) -> None:
        """A potassium of 4.7 leads to no finding, which is not the same as nothing assessed."""
        assert review_of(measured("k", "potassium", "4.7", "mmol/L")).headline.endswith(
            " No result that is judged here is beyond its limit."
        )

    def test_a_doubt_is_said_with_the_number(self) -> None:
        """A haemolysed potassium is never named without its caveat, however few the words."""
        haemolysed = {"text": "Sample haemolysed"}
        one = review_of(*full_set(), measured("k", "potassium", "6.4", "mmol/L", note=[haemolysed]))
        assert one.headline == (
            "Potassium 6.4 mmol/L, possibly spurious (the sample is haemolysed): repeat at once."
        )

    def test_a_high_potassium_is_named_as_what_it_is(self) -> None:
        """UK Kidney Association: 6.0 to 6.4 is moderate, 6.5 and above severe."""
        one = review_of(*full_set(), measured("k", "potassium", "6.8", "mmol/L"))
        assert one.headline == "Potassium 6.8 mmol/L: severe hyperkalaemia."

    def test_kidney_injury_in_words_and_nothing_as_urgent_dropped(self) -> None:
        """KDIGO 2012: 2.33 times is stage 2; UK Kidney Association: 6.2 is moderate; both urgent here."""
        one = review_of(
            *full_set(),
            *creatinines("196", [("3 d", "84")]),
            measured("k", "potassium", "6.2", "mmol/L"),
            *(result(name, value) for name, value in (("pH", "7.31"), ("pCO2", "4.3"))),
            observation("hco3", "1959-6", valueQuantity=quantity("16", "mmol/L")),
        )
        assert one.headline == (
            "Acute kidney injury stage 2 (KDIGO): creatinine 196, reference 84. "
            "Potassium 6.2 mmol/L: moderate hyperkalaemia. "
            "Metabolic acidosis, pH 7.31, HCO3 16."
        )

    def test_two_results_as_urgent_as_each_other(self) -> None:
        """A potassium of 6.8 beside a glucose of 2.4: both are emergencies, and both are named."""
        one = review_of(*full_set(), measured("k", "potassium", "6.8", "mmol/L"), result("glucose", "2.4"))
        assert "Glucose 2.4" in one.headline
        assert "Potassium 6.8" in one.headline

    @pytest.mark.parametrize(
        ("value", "diabetes", "said"),
        [
            pytest.param("2.9", True, True, id="2.9-diabetes"),
            pytest.param("3.9", True, True, id="3.9-diabetes"),
            pytest.param("2.9", False, True, id="2.9-none-recorded"),
            pytest.param("3.4", False, False, id="3.4-none-recorded"),
        ],
    )
    def test_a_low_glucose_is_treated_before_anybody_arrives(
        self, value: str, diabetes: bool, said: bool
    ) -> None:
        """JBDS 2021, for adults with diabetes: below 4.0 is treated at once. Below 3.0 for all is ours."""
        known = [problem("Type 2 diabetes mellitus")] if diabetes else []
        one = review_of(*full_set(), result("glucose", value), *known)
        assert "hypoglycaemia" in one.headline
        assert ("consider treating it now by the local protocol" in one.headline) == said
        assert any("consider treating it now" in s for s in one.handover.situation) == said
        (finding,) = (f for f in one.findings if f.kind is Kind.CRITICAL_RESULT)
        assert any(s.key == "jbds-hypoglycaemia-2021" for s in finding.sources) == diabetes or not diabetes

    def test_an_open_total_says_what_is_missing(self) -> None:
        """RCP NEWS2 2017: 2 for 22 a minute, 2 for 93 %, 1 for a pulse of 95."""
        seen = full_set(
            respiration_rate="22 /min",
            spo2="93 %",
            pulse="95 /min",
            systolic_pressure=None,
            consciousness=None,
        )
        assert review_of(*seen).headline.startswith(
            "NEWS2 at least 5 (systolic pressure and alertness not known, so up to 11): breathing 22"
        )

    def test_what_is_known_comes_before_what_a_round_could_come_to(self) -> None:
        """Worst first (our choice): two results as urgent as each other, then the total that is open."""
        seen = full_set(systolic_pressure=None, consciousness=None, temperature=None)
        one = review_of(*seen, result("Hb", "68"), result("platelets", "18"))
        assert one.headline.startswith(
            "Haemoglobin 68 g/L: critically low haemoglobin. Platelets 18 ×10⁹/L: platelets with a very "
            "high risk of bleeding. Not known: systolic pressure, alertness and temperature."
        )

    @pytest.mark.parametrize(
        "changed", [pytest.param({}, id="nothing-urgent"), pytest.param(_ILL, id="an-emergency")]
    )
    def test_an_unknown_age_is_said_in_it(self, changed: dict[str, str]) -> None:
        """RCP NEWS2 2017 is for 16 years and over; an age that is not recorded is read as an adult's."""
        (one,) = answer_of(patient(born=None), *full_set(**changed)).reviews
        assert one.headline.startswith("NEWS2 ")
        assert one.headline.endswith(" Age not recorded: read as an adult's.")
        assert "Age not recorded" not in review_of(*full_set(**changed)).headline

    @pytest.mark.parametrize(("weight", "may_be"), [("19.9", True), ("20", False)])
    def test_a_weight_that_speaks_of_a_child(self, weight: str, may_be: bool) -> None:
        """Ours: 9.1 kg without an age was read as an adult's without a word."""
        kilos = observation("kg", "29463-7", valueQuantity=quantity(weight, "kg"))
        (one,) = answer_of(patient(born=None), *full_set(), kilos).reviews
        assert (f"weight {weight} kg: a child?" in one.headline) is may_be

    def test_an_old_result_speaks_for_nothing(self) -> None:
        """A result older than counts leaves the record without anything to assess."""
        late = datetime.fromisoformat(AT) + timedelta(days=30)
        one = review_of(measured("k", "potassium", "4.7", "mmol/L"), as_of=late)
        assert one.headline.endswith(" Nothing else in the record could be assessed.")


class TestCeiling:
    """A ceiling re-words the response; it never hides a score; no record is unknown."""

    def test_nothing_recorded_is_said_as_unknown(self) -> None:
        one = review_of(*full_set(**_ILL))
        assert (one.ceiling, one.is_limited) == ((), False)
        assert any("not recorded, so not known" in s for s in one.handover.recommendation)

    def test_not_for_resuscitation_says_nothing_else(self) -> None:
        one = review_of(_status("r", _NOT_FOR), *full_set(**_ILL))
        assert not one.is_limited
        assert one.is_not_for_resuscitation
        assert one.urgency is Urgency.EMERGENCY
        assert "not a decision about any other treatment" in one.ceiling[0]
        assert one.escalation is not None
        assert "ceiling" not in one.escalation.reason
        assert one.escalation.besides == (
            "Not for attempted resuscitation is recorded: that limits no other treatment."
        )

    def test_a_ceiling_says_what_the_call_is_for(self) -> None:
        """Plain words: somebody senior decides what to do, and the ceiling says what is left out."""
        one = review_of(CEILING, *full_set(**_ILL))
        assert one.is_limited, one.ceiling
        assert one.escalation is not None
        assert one.escalation.roles == ("medical registrar", "critical care outreach team")
        assert one.escalation.besides.startswith("A treatment ceiling is recorded: ")
        assert one.escalation.reason.endswith(one.escalation.besides)
        assert "within it" not in one.escalation.reason
        assert "critical care outreach team is called for advice" in one.escalation.besides

    def test_what_the_score_asks_for_is_qualified_where_it_stands(self) -> None:
        """RCP NEWS2 2017, Chart 4: level 2 or 3 care at 7 or more; a ceiling stands beside it."""
        limited = answer_of(patient(), CEILING, *full_set(**_ILL))
        asked = score_in(limited).response
        assert asked.endswith(
            "consider a move to level 2 or 3 care, only within the recorded limits of treatment"
        )
        assert "Tell the medical team at once" in asked
        free = score_in(answer_of(patient(), _status("r", _NOT_FOR), *full_set(**_ILL)))
        assert "limits" not in free.response, "a refusal of resuscitation limits no treatment"

    def test_a_routine_response_is_left_as_it_is(self) -> None:
        assert score_in(answer_of(patient(), CEILING, *full_set())).response == "Continue routine scoring"

    def test_conflicting_records_show_both(self) -> None:
        one = review_of(_status("a", _NOT_FOR), _status("b", _FOR, "2026-02-28T09:00:00+04:00"), *full_set())
        assert one.ceiling[0].startswith("Conflicting resuscitation records, ask the team")
        assert "not for attempted" in one.ceiling[0]
        assert "; not for" in one.ceiling[0] or "; for" in one.ceiling[0]

    def test_an_old_decision_wants_confirming(self) -> None:
        one = review_of(_status("r", _NOT_FOR, "2025-06-01T09:00:00+04:00"), *full_set())
        assert "more than 6 months old, confirm" in one.ceiling[0]


class TestHandover:
    """Situation, Background, Assessment, Recommendation: sentences for the telephone."""

    def test_what_is_not_recorded_is_said(self) -> None:
        one = review_of(*full_set())
        assert "Allergies: not recorded." in one.handover.background
        assert any("Admitted with: not recorded" in s for s in one.handover.background)

    def test_times_are_in_the_records_own_zone(self) -> None:
        one = review_of(*full_set(**_ILL))
        assert any("10:00 on 1 March" in s for s in one.handover.assessment)

    def test_who_and_what_first(self) -> None:
        one = review_of(*full_set(**_ILL))
        assert one.handover.situation[0].startswith("I am calling about Ottilie Marsh, born ")
        assert "75 years old, female" in one.handover.situation[0]
        assert "emergency call" in one.handover.situation[1]
        assert "NEWS2 is 9" in one.handover.situation[2]
        assert any("within 30 minutes, by 10:30" in s for s in one.handover.recommendation)

    def test_a_score_is_told_with_its_change(self) -> None:
        day_before = (datetime.fromisoformat(AT) - timedelta(hours=10)).isoformat()
        earlier = [{**o, "id": f"{o['id']}-1", "effectiveDateTime": day_before} for o in full_set()]
        one = review_of(*earlier, *full_set(**_ILL))
        assert one.handover.situation[2].endswith("; was 0 at 00:00.")
        assert one.headline.startswith("NEWS2 9, was 0")

    def test_of_equal_lowest_totals_the_latest_is_told_everywhere(self) -> None:
        """The handover and the finding of the trend count from the same reading."""
        before = [
            {**o, "id": f"{o['id']}-{hours}", "effectiveDateTime": at.isoformat()}
            for hours in (22, 13, 6)
            for at in (datetime.fromisoformat(AT) - timedelta(hours=hours),)
            for o in full_set(**({"pulse": "115 /min"} if hours == 6 else {}))
        ]
        one = review_of(*before, *full_set(**_ILL))
        assert "; was 0 at 21:00 on 28 February, 2 at 04:00." in one.handover.situation[2]
        (trend,) = (f for f in one.findings if f.kind is Kind.SCORE_TREND)
        assert "up from 0 (13 hours before)" in trend.sentence

    def test_signs_are_told_when_no_score_was_computed(self) -> None:
        one = review_of(*full_set(), born="2019-01-01")
        assert any(s.startswith("Observations at") for s in one.handover.assessment)

    def test_no_vital_signs_is_said(self) -> None:
        one = review_of(measured("k", "potassium", "4.2", "mmol/L"))
        assert one.data_age == "No vital signs are recorded."
        assert any(s.startswith("Observations: not recorded") for s in one.handover.assessment)


def test_findings_are_in_order_of_letters() -> None:
    one = review_of(*full_set(**_ILL), measured("k", "potassium", "6.8", "mmol/L"))
    order = list(Letter)
    places = [order.index(f.letter) for f in one.findings]
    assert places == sorted(places)


def test_old_vital_signs_are_too_old_to_rely_on() -> None:
    one = review_of(*full_set(), as_of=datetime.fromisoformat(AT) + timedelta(hours=13))
    assert "too old to rely on" in one.data_age


def test_every_review_carries_the_cautions() -> None:
    one = review_of(*full_set())
    assert any("not a cleared medical device" in caution for caution in one.cautions)
    assert any("never an order" in caution for caution in one.cautions)


def test_what_a_problem_turned_into_names_it_once() -> None:
    """A ruptured ectopic pregnancy with its signs stood beside its own name."""
    known = problem("Ruptured ectopic pregnancy", onsetDateTime=earlier("30 min"))
    one = review_of(*full_set(pulse="128 /min", systolic_pressure="84 mm[Hg]"), known, born="1998-06-01")
    assert one.headline.count("ctopic pregnancy") == 1


class TestWhoIsCalled:
    """Ours: the pharmacist for the chart alone, and the seniors of children below 16."""

    def test_the_pharmacist_is_called_about_the_chart(self) -> None:
        gliclazide = order("Gliclazide 80 mg", "A10BB09")
        low = review_of(result("glucose", "3.4"), gliclazide)
        assert low.escalation is not None
        assert low.escalation.roles == ("ward doctor", "medical registrar"), (
            "the glucose leads, not the chart"
        )
        held = review_of(result("glucose", "2.9", earlier("1 h")), result("glucose", "6.2"), gliclazide)
        assert held.escalation is not None
        assert held.escalation.roles == ("ward doctor", "ward pharmacist")
        # Nothing else in the headline gives its reason (ours).
        (first,) = held.told_first[:1]
        assert first.words.startswith("Consider ")
        assert ": " in first.words

    @pytest.mark.parametrize(("born", "child"), [("2010-03-02", True), ("2010-03-01", False)])
    def test_the_seniors_of_children(self, born: str, child: bool) -> None:
        """Fifteen until the birthday."""
        one = review_of(result("K", "6.7"), born=born)
        assert one.escalation is not None
        assert ("medical registrar" not in one.escalation.roles) == child

    def test_the_chart_comes_after_what_is_wrong(self) -> None:
        """A combination and a score of the same urgency: the score leads."""
        steroid = order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")
        urgent = full_set(
            respiration_rate="22 /min", spo2="93 %", pulse="95 /min", systolic_pressure="96 mm[Hg]"
        )
        one = review_of(*urgent, steroid)
        assert one.escalation is not None
        assert one.escalation.because.kind is Kind.SCORE
        potassium = review_of(
            result("K", "6.1"), order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")
        )
        assert potassium.escalation is not None
        assert potassium.escalation.because.kind is Kind.CRITICAL_RESULT
