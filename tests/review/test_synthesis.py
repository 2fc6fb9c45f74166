"""From findings to one review: order, urgency, whom to call, ceilings, the words to say."""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.charts import NOW, TOTALS, rounds
from tests.medicines.wards import order, problem, result
from tests.records import (
    AT,
    SNOMED,
    answer_of,
    creatinines,
    earlier,
    full_set,
    given,
    measured,
    observation,
    patient,
    procedure,
    quantity,
    score_in,
)
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.review import Review
from weatherglass.model.signals import CodedSignal, Letter, OxygenDelivery, Signal
from weatherglass.review.assess import assess

_ILL = {"pulse": "135 /min", "respiration_rate": "28 /min", "spo2": "90 %"}


def _review(*resources: dict[str, Any], as_of: datetime | None = None, born: str = "1950-06-01") -> Review:
    named = patient(born=born, name=[{"text": "Ottilie Marsh"}])
    (one,) = answer_of(named, *resources, as_of=as_of).reviews
    return one


def _status(identity: str, answer: str, at: str = "2026-02-27T09:00:00+04:00") -> dict[str, Any]:
    value = {"coding": [{"system": SNOMED, "code": answer}]}
    return observation(identity, "304251008", system=SNOMED, at=at, valueCodeableConcept=value)


_NOT_FOR, _FOR = "450476008", "450475007"


_CEILING = {
    "resourceType": "CarePlan",
    "id": "plan",
    "status": "active",
    "intent": "plan",
    "subject": {"reference": "Patient/p"},
    "title": "Treatment escalation plan",
    "description": "Ward-level care; not for intensive care",
    "created": "2026-02-27T09:00:00+04:00",
}


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
        one = _review(*full_set(**changed))
        assert one.urgency is urgency
        assert (one.escalation is None) is (urgency is Urgency.ROUTINE)
        if one.escalation is not None:
            assert one.escalation.decided_by.startswith("NEWS2")
            assert one.escalation.due == datetime.fromisoformat(AT) + one.escalation.within

    def test_roles_never_people(self) -> None:
        one = _review(*full_set(**_ILL))
        assert one.escalation is not None
        assert one.escalation.roles == ("medical registrar", "critical care outreach team")


class TestHeadline:
    """Ours: whole words, the first sentence where all do not fit, and nothing that is not true."""

    def test_a_long_sentence_ends_where_a_sentence_or_a_word_ends(self) -> None:
        """A combination on the chart leads with the medicines and what they meet."""
        one = _review(
            *full_set(systolic_pressure="92 mm[Hg]"),
            order("prednisolone 10 mg tablets", "H02AB06", authoredOn="2025-06-01"),
        )
        assert one.headline == "Prednisolone, with hypotension: think of adrenal crisis."

    def test_what_may_be_the_cause_keeps_its_place_behind_two_emergencies(self) -> None:
        """Ours: a bleeding that is only urgent is not crowded out by the signs that it may explain."""
        one = _review(
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
        one = _review(
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
        one = _review(*full_set(pulse="188 /min", systolic_pressure="84 mm[Hg]"))
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
        one = _review(melaena, measured("hb", "creatinine", "80", "umol/L"))
        assert one.headline == "Bleeding on record: Melaena (08:00 on 1 March)."

    def test_a_result_inside_its_limits_was_assessed(self) -> None:
        """A potassium of 4.7 leads to no finding, which is not the same as nothing assessed."""
        assert _review(measured("k", "potassium", "4.7", "mmol/L")).headline.endswith(
            " No result that is judged here is beyond its limit."
        )

    def test_a_doubt_is_said_with_the_number(self) -> None:
        """A haemolysed potassium is never named without its caveat, however few the words."""
        haemolysed = {"text": "Sample haemolysed"}
        one = _review(*full_set(), measured("k", "potassium", "6.4", "mmol/L", note=[haemolysed]))
        assert one.headline == (
            "Potassium 6.4 mmol/L, possibly spurious (the sample is haemolysed): repeat at once."
        )

    def test_a_high_potassium_is_named_as_what_it_is(self) -> None:
        """UK Kidney Association: 6.0 to 6.4 is moderate, 6.5 and above severe."""
        one = _review(*full_set(), measured("k", "potassium", "6.8", "mmol/L"))
        assert one.headline == "Potassium 6.8 mmol/L: severe hyperkalaemia."

    def test_kidney_injury_in_words_and_nothing_as_urgent_dropped(self) -> None:
        """KDIGO 2012: 2.33 times is stage 2; UK Kidney Association: 6.2 is moderate; both urgent here."""
        one = _review(
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
        one = _review(*full_set(), measured("k", "potassium", "6.8", "mmol/L"), result("glucose", "2.4"))
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
        one = _review(*full_set(), result("glucose", value), *known)
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
        assert _review(*seen).headline.startswith(
            "NEWS2 at least 5 (systolic pressure and alertness not known, so up to 11): breathing 22"
        )

    def test_what_is_known_comes_before_what_a_round_could_come_to(self) -> None:
        """Worst first (our choice): two results as urgent as each other, then the total that is open."""
        seen = full_set(systolic_pressure=None, consciousness=None, temperature=None)
        one = _review(*seen, result("Hb", "68"), result("platelets", "18"))
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
        assert "Age not recorded" not in _review(*full_set(**changed)).headline

    @pytest.mark.parametrize(("weight", "may_be"), [("19.9", True), ("20", False)])
    def test_a_weight_that_speaks_of_a_child(self, weight: str, may_be: bool) -> None:
        """Ours: 9.1 kg without an age was read as an adult's without a word."""
        kilos = observation("kg", "29463-7", valueQuantity=quantity(weight, "kg"))
        (one,) = answer_of(patient(born=None), *full_set(), kilos).reviews
        assert (f"weight {weight} kg: a child?" in one.headline) is may_be

    def test_an_old_result_speaks_for_nothing(self) -> None:
        """A result older than counts leaves the record without anything to assess."""
        late = datetime.fromisoformat(AT) + timedelta(days=30)
        one = _review(measured("k", "potassium", "4.7", "mmol/L"), as_of=late)
        assert one.headline.endswith(" Nothing else in the record could be assessed.")


class TestCeiling:
    """A ceiling re-words the response; it never hides a score; no record is unknown."""

    def test_nothing_recorded_is_said_as_unknown(self) -> None:
        one = _review(*full_set(**_ILL))
        assert (one.ceiling, one.is_limited) == ((), False)
        assert any("not recorded, so not known" in s for s in one.handover.recommendation)

    def test_not_for_resuscitation_says_nothing_else(self) -> None:
        one = _review(_status("r", _NOT_FOR), *full_set(**_ILL))
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
        one = _review(_CEILING, *full_set(**_ILL))
        assert one.is_limited, one.ceiling
        assert one.escalation is not None
        assert one.escalation.roles == ("medical registrar", "critical care outreach team")
        assert one.escalation.besides.startswith("A treatment ceiling is recorded: ")
        assert one.escalation.reason.endswith(one.escalation.besides)
        assert "within it" not in one.escalation.reason
        assert "critical care outreach team is called for advice" in one.escalation.besides

    def test_what_the_score_asks_for_is_qualified_where_it_stands(self) -> None:
        """RCP NEWS2 2017, Chart 4: level 2 or 3 care at 7 or more; a ceiling stands beside it."""
        limited = answer_of(patient(), _CEILING, *full_set(**_ILL))
        asked = score_in(limited).response
        assert asked.endswith(
            "consider a move to level 2 or 3 care, only within the recorded limits of treatment"
        )
        assert "Tell the medical team at once" in asked
        free = score_in(answer_of(patient(), _status("r", _NOT_FOR), *full_set(**_ILL)))
        assert "limits" not in free.response, "a refusal of resuscitation limits no treatment"

    def test_a_routine_response_is_left_as_it_is(self) -> None:
        assert score_in(answer_of(patient(), _CEILING, *full_set())).response == "Continue routine scoring"

    def test_conflicting_records_show_both(self) -> None:
        one = _review(_status("a", _NOT_FOR), _status("b", _FOR, "2026-02-28T09:00:00+04:00"), *full_set())
        assert one.ceiling[0].startswith("Conflicting resuscitation records, ask the team")
        assert "not for attempted" in one.ceiling[0]
        assert "; not for" in one.ceiling[0] or "; for" in one.ceiling[0]

    def test_an_old_decision_wants_confirming(self) -> None:
        one = _review(_status("r", _NOT_FOR, "2025-06-01T09:00:00+04:00"), *full_set())
        assert "more than 6 months old, confirm" in one.ceiling[0]


class TestHandover:
    """Situation, Background, Assessment, Recommendation: sentences for the telephone."""

    def test_what_is_not_recorded_is_said(self) -> None:
        one = _review(*full_set())
        assert "Allergies: not recorded." in one.handover.background
        assert any("Admitted with: not recorded" in s for s in one.handover.background)

    def test_times_are_in_the_records_own_zone(self) -> None:
        one = _review(*full_set(**_ILL))
        assert any("10:00 on 1 March" in s for s in one.handover.assessment)

    def test_who_and_what_first(self) -> None:
        one = _review(*full_set(**_ILL))
        assert one.handover.situation[0].startswith("I am calling about Ottilie Marsh, born ")
        assert "75 years old, female" in one.handover.situation[0]
        assert "emergency call" in one.handover.situation[1]
        assert "NEWS2 is 9" in one.handover.situation[2]
        assert any("within 30 minutes, by 10:30" in s for s in one.handover.recommendation)

    def test_a_score_is_told_with_its_change(self) -> None:
        day_before = (datetime.fromisoformat(AT) - timedelta(hours=10)).isoformat()
        earlier = [{**o, "id": f"{o['id']}-1", "effectiveDateTime": day_before} for o in full_set()]
        one = _review(*earlier, *full_set(**_ILL))
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
        one = _review(*before, *full_set(**_ILL))
        assert "; was 0 at 21:00 on 28 February, 2 at 04:00." in one.handover.situation[2]
        (trend,) = (f for f in one.findings if f.kind is Kind.SCORE_TREND)
        assert "up from 0 (13 hours before)" in trend.sentence

    def test_signs_are_told_when_no_score_was_computed(self) -> None:
        one = _review(*full_set(), born="2019-01-01")
        assert any(s.startswith("Observations at") for s in one.handover.assessment)

    def test_no_vital_signs_is_said(self) -> None:
        one = _review(measured("k", "potassium", "4.2", "mmol/L"))
        assert one.data_age == "No vital signs are recorded."
        assert any(s.startswith("Observations: not recorded") for s in one.handover.assessment)


def test_findings_are_in_order_of_letters() -> None:
    one = _review(*full_set(**_ILL), measured("k", "potassium", "6.8", "mmol/L"))
    order = list(Letter)
    places = [order.index(f.letter) for f in one.findings]
    assert places == sorted(places)


def test_old_vital_signs_are_too_old_to_rely_on() -> None:
    one = _review(*full_set(), as_of=datetime.fromisoformat(AT) + timedelta(hours=13))
    assert "too old to rely on" in one.data_age


def test_every_review_carries_the_cautions() -> None:
    one = _review(*full_set())
    assert any("not a cleared medical device" in caution for caution in one.cautions)
    assert any("never an order" in caution for caution in one.cautions)


def test_what_a_problem_turned_into_names_it_once() -> None:
    """A ruptured ectopic pregnancy with its signs stood beside its own name."""
    known = problem("Ruptured ectopic pregnancy", onsetDateTime=earlier("30 min"))
    one = _review(*full_set(pulse="128 /min", systolic_pressure="84 mm[Hg]"), known, born="1998-06-01")
    assert one.headline.count("ctopic pregnancy") == 1


class TestWhoIsCalled:
    """Ours: the pharmacist for the chart alone, and the seniors of children below 16."""

    def test_the_pharmacist_is_called_about_the_chart(self) -> None:
        gliclazide = order("Gliclazide 80 mg", "A10BB09")
        low = _review(result("glucose", "3.4"), gliclazide)
        assert low.escalation is not None
        assert low.escalation.roles == ("ward doctor", "medical registrar"), (
            "the glucose leads, not the chart"
        )
        held = _review(result("glucose", "2.9", earlier("1 h")), result("glucose", "6.2"), gliclazide)
        assert held.escalation is not None
        assert held.escalation.roles == ("ward doctor", "ward pharmacist")
        # Nothing else in the headline gives its reason (ours).
        (first,) = held.told_first[:1]
        assert first.words.startswith("Consider ")
        assert ": " in first.words

    @pytest.mark.parametrize(("born", "child"), [("2010-03-02", True), ("2010-03-01", False)])
    def test_the_seniors_of_children(self, born: str, child: bool) -> None:
        """Fifteen until the birthday."""
        one = _review(result("K", "6.7"), born=born)
        assert one.escalation is not None
        assert ("medical registrar" not in one.escalation.roles) == child

    def test_the_chart_comes_after_what_is_wrong(self) -> None:
        """A combination and a score of the same urgency: the score leads."""
        steroid = order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")
        urgent = full_set(
            respiration_rate="22 /min", spo2="93 %", pulse="95 /min", systolic_pressure="96 mm[Hg]"
        )
        one = _review(*urgent, steroid)
        assert one.escalation is not None
        assert one.escalation.because.kind is Kind.SCORE
        potassium = _review(
            result("K", "6.1"), order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")
        )
        assert potassium.escalation is not None
        assert potassium.escalation.because.kind is Kind.CRITICAL_RESULT


class TestWhatComesFirst:
    """Ours: what results come to together before each of them, and before when somebody measures again."""

    def test_ketoacidosis_before_its_parts(self) -> None:
        (one,) = answer_of(
            patient(),
            *full_set(),
            observation("k", "6873-4", valueQuantity=quantity("6.4", "mmol/L")),
            observation("g", "15074-8", valueQuantity=quantity("29", "mmol/L")),
            observation("h", "2746-6", valueQuantity=quantity("7.08", "[pH]")),
        ).reviews
        assert one.headline.startswith("Criteria of diabetic ketoacidosis are met")
        assert "ketones in the range" not in one.headline
        assert "critically high glucose" not in one.headline

    def test_an_adrenal_crisis_is_asked_about_once(self) -> None:
        """The steroid on the chart says the same of the same values; alone it is asked of the chart."""
        known = [problem("Addison's disease"), order("Hydrocortisone 10 mg tablets", "H02AB09")]
        one = _review(
            *full_set(systolic_pressure="84 mm[Hg]"), *known, result("Na", "122"), result("K", "5.9")
        )
        assert "adrenal crisis" in one.headline.casefold()
        assert "think of adrenal crisis" not in one.headline
        assert not any(f.key == "steroid-adrenal-risk" for f in one.findings)

    def test_the_stage_names_the_creatinine(self) -> None:
        """The potassium stands second, which the creatinine said twice took from it."""
        usual = observation("u", "14682-9", at=earlier("60 d"), valueQuantity=quantity("95", "umol/L"))
        one = _review(*full_set(), usual, result("creatinine", "380"), result("K", "6.1"))
        stage, potassium = (told.words for told in one.told_first)
        assert stage.startswith("Acute kidney injury stage 3")
        assert potassium.startswith("Potassium 6.1")

    def test_what_a_problem_has_come_to_says_its_name(self) -> None:
        """A life-threatening asthma is not followed by "New on record: acute severe asthma"."""
        asthma = {**problem("Acute severe asthma"), "onsetDateTime": earlier("2 h")}
        gas = [
            observation("ph", "2744-1", valueQuantity=quantity("7.36", "[pH]")),
            observation("pco2", "2019-8", valueQuantity=quantity("5.9", "kPa")),
        ]
        one = _review(*full_set(pulse="118 /min", spo2="93 %"), asthma, *gas)
        first, *others = (told.words for told in one.told_first)
        assert first.startswith("Life-threatening asthma")
        assert not any("New on record" in words for words in others)
        assert any(f.key == "asthma-recorded" for f in one.findings)

    def test_behind_ketoacidosis_and_the_chart_stands_what_else_there_is(self) -> None:
        """Neither its own acid nor a line of the chart keeps a rising troponin from the headline."""
        (one,) = answer_of(
            patient(),
            *full_set(),
            order("Dapagliflozin 10 mg", "A10BK01"),
            observation("k", "6873-4", valueQuantity=quantity("6.4", "mmol/L")),
            observation("g", "15074-8", valueQuantity=quantity("29", "mmol/L")),
            observation("h", "2746-6", valueQuantity=quantity("7.24", "[pH]")),
            observation("b", "1963-8", valueQuantity=quantity("12", "mmol/L")),
            observation("t", "67151-1", valueQuantity=quantity("480", "ng/L")),
        ).reviews
        ketones, chart, troponin = (told.words for told in one.told_first)
        assert "Criteria of diabetic ketoacidosis" in ketones
        assert "Dapagliflozin" in chart
        assert troponin == "Troponin 480 ng/L"

    def test_a_score_before_overdue_observations(self) -> None:
        ill = [
            {**r, "effectiveDateTime": earlier("2 h")}
            for r in full_set(respiration_rate="24 /min", spo2="91 %")
        ]
        lactate = observation("l", "2524-7", valueQuantity=quantity("5.2", "mmol/L"))
        (one,) = answer_of(patient(), *ill, lactate).reviews
        assert "NEWS2 5" in one.headline
        assert "overdue" not in one.headline

    def test_the_dying_are_not_asked_for_observations(self) -> None:
        plan = {
            **_CEILING,
            "title": "End of life care plan",
            "description": "End of life care, comfort first",
        }
        ill = [{**r, "effectiveDateTime": earlier("9 h")} for r in full_set(respiration_rate="26 /min")]
        now = datetime.fromisoformat(AT)
        (one,) = answer_of(patient(), plan, *ill, as_of=now).reviews
        assert not [f for f in one.findings if f.kind is Kind.OBSERVATIONS_OVERDUE]
        (other,) = answer_of(patient(), *ill, as_of=now).reviews
        assert [f for f in other.findings if f.kind is Kind.OBSERVATIONS_OVERDUE]

    def test_behind_a_line_of_the_chart_stands_what_the_patient_has(self) -> None:
        """The line of the chart says why; a hyperosmolar state that is not over stood in no headline."""
        before, now = earlier("20 h"), AT
        (one,) = answer_of(
            patient(),
            *full_set(),
            order("Actrapid 50 units in 50 mL", "A10AB01", dosageInstruction=[{"route": {"text": "iv"}}]),
            observation("g1", "14749-6", at=before, valueQuantity=quantity("52", "mmol/L")),
            observation("n1", "2951-2", at=before, valueQuantity=quantity("148", "mmol/L")),
            observation("g2", "14749-6", at=now, valueQuantity=quantity("14", "mmol/L")),
            observation("n2", "2951-2", at=now, valueQuantity=quantity("150", "mmol/L")),
            observation("k2", "2823-3", at=now, valueQuantity=quantity("3.4", "mmol/L")),
        ).reviews
        assert "Actrapid 50 units in 50 mL: potassium 3.4 mmol/L. Hyperosmolar state" in one.headline

    def test_a_bleed_that_is_worse_than_its_name_stands_for_both(self) -> None:
        """A shock index of 1.04 stood behind "new on record: haemothorax"."""
        bled = problem("Haemothorax", since=earlier("4 h"))
        (one,) = answer_of(
            patient(), bled, *full_set(pulse="112 /min", systolic_pressure="108 mm[Hg]")
        ).reviews
        assert "shock index 1.04" in one.headline
        assert "New on record" not in one.headline


def test_a_lactate_does_not_lead_what_it_shows() -> None:
    """Our choice: of equally urgent findings the lactate shows what another one is."""
    stay = {
        "resourceType": "Encounter",
        "id": "e",
        "status": "in-progress",
        "class": {"code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {"start": "2026-03-01T08:00:00+04:00"},
        "reasonCode": [{"text": "Suspected pneumonia"}],
    }
    ill = {"respiration_rate": "40 /min", "pulse": "160 /min", "temperature": "39.6 Cel"}
    high = observation("lactate", "2524-7", valueQuantity=quantity("4.8", "mmol/L"))
    one = _review(*full_set(**ill), stay, high, born="2019-05-01")
    assert one.escalation is not None
    assert one.escalation.because.kind is Kind.SEPSIS_RISK
    assert one.headline.startswith("Suspected infection")


@pytest.mark.parametrize(
    ("hours", "is_awaited"),
    [
        pytest.param((), True, id="no-dose"),
        pytest.param((240, 232), True, id="a-course-that-is-over"),
        pytest.param((0,), False, id="just-given"),
    ],
)
def test_an_antimicrobial_that_nobody_has_given_comes_before_a_result(
    hours: tuple[int, ...], *, is_awaited: bool
) -> None:
    """Ours: the deadline belongs in the headline; doses of a course of last week do not meet it."""
    doses = [
        given("Co-amoxiclav 1.2 g intravenous", earlier(f"{each} h"), id=f"dose-{place}")
        for place, each in enumerate(hours)
    ]
    pneumonia = problem("Pneumonia", since="2026-03-01")
    one = _review(*full_set(**_ILL), pneumonia, result("K", "6.8"), *doses)
    assert ("none recorded" in one.headline) == is_awaited
    if is_awaited:  # But for a potassium that stops the heart first: 7.1 stood third.
        assert one.headline.index("otassium") < one.headline.index("none recorded")
        low = result("glucose", "2.0")
        other = _review(*full_set(**_ILL), pneumonia, low, *doses)
        assert other.headline.index("none recorded") < other.headline.index("lucose")


def test_a_breath_to_be_saved_comes_before_an_antimicrobial() -> None:
    """Ours: too much opioid was named nowhere in the head, behind an antimicrobial that was due."""
    slow = {"respiration_rate": "8 /min", "consciousness": "pain", "spo2": "86 %"}
    opioid = order("Morphine sulfate 30 mg", "N02AA01")
    one = _review(*full_set(**slow), problem("Pneumonia", since=earlier("20 h")), opioid)
    assert one.headline.index("Too much opioid?") < one.headline.index("none recorded")


def test_a_named_problem_that_is_less_pressing_stands_behind_an_emergency() -> None:
    """Ours: a chest pain within the hour stood before a pneumothorax that is decompressed at once."""
    ill = {
        "respiration_rate": "32 /min",
        "spo2": "86 %",
        "pulse": "134 /min",
        "systolic_pressure": "88 mm[Hg]",
    }
    biopsy = procedure("CT-guided lung biopsy", performedDateTime=earlier("3 h"))
    one = _review(*full_set(**ill), biopsy, problem("Chest pain", since=earlier("1 h")))
    assert "Pneumothorax? CT-guided lung biopsy" in one.headline
    assert "Chest pain" not in one.headline.partition("Pneumothorax?")[0]


def test_what_a_high_potassium_comes_of_stands_before_an_antimicrobial() -> None:
    """Ours: digoxin poisoning with a pulse of 38 stood behind an antimicrobial that was due."""
    slow = full_set(pulse="38 /min", consciousness="new-confusion", systolic_pressure="104 mm[Hg]")
    one = _review(
        *slow,
        problem("Pneumonia", since=earlier("20 h")),
        order("Digoxin 125 micrograms", "C01AA05"),
        observation("d", "10535-3", valueQuantity=quantity("4.2", "ug/L")),
        result("K", "6.1"),
    )
    assert one.headline.index("Digoxin poisoning?") < one.headline.index("none recorded")


#: What a single saturation comes without.
_NOT_TAKEN: dict[Any, Any] = dict.fromkeys(
    (
        Signal.RESPIRATION_RATE,
        Signal.SYSTOLIC_PRESSURE,
        Signal.TEMPERATURE,
        CodedSignal.CONSCIOUSNESS,
    )
)


def test_the_newest_round_beside_an_older_one_is_said_once() -> None:
    """Ours: an overdue round stood between the newest total and its repetition."""
    record = rounds(
        (9, TOTALS[0]),
        (3, TOTALS[6]),
        (0.5, {Signal.SPO2: 93, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA, **_NOT_TAKEN}),
    )
    first = assess(record, NOW, LocalChoices()).told_first
    assert first[1].words.startswith("Now NEWS2 at least")
    assert len({id(one.finding) for one in first}) == len(first)
    assert any(one.finding.kind is Kind.OBSERVATIONS_OVERDUE for one in first)
