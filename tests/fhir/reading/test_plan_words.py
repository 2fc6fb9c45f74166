"""Decisions in plain words: the phrases are our own, in the manner of ward notes.

What counts as a decision follows the record's duty: a statement in force counts, a
discussion, a revocation or a question does not.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.fhir.reading.plans.plan_words import Reading, read_words
from weatherglass.model.record.care import DirectiveKind, Resuscitation

FOR, NOT_FOR = Resuscitation.FOR, Resuscitation.NOT_FOR


class TestResuscitation:
    """A decision about resuscitation, and what only sounds like one."""

    @pytest.mark.parametrize(
        ("text", "answer"),
        [
            ("DNACPR in place", NOT_FOR),
            ("DNACPR", NOT_FOR),
            ("DNAR form completed 3 March", NOT_FOR),
            ("Code status: DNR", NOT_FOR),
            ("Not for CPR", NOT_FOR),
            ("Not for attempted cardiopulmonary resuscitation", NOT_FOR),
            ("Do not attempt resuscitation", NOT_FOR),
            ("Resuscitation status: not for", NOT_FOR),
            ("CPR: no", NOT_FOR),
            ("Allow natural death", NOT_FOR),
            ("DNACPR, discussed with patient and family on 3 March", NOT_FOR),
            ("DNACPR (discussed with family)", NOT_FOR),
            ("For attempted cardiopulmonary resuscitation", FOR),
            ("For full resuscitation", FOR),
            ("Full code", FOR),
            ("CPR: yes", FOR),
        ],
    )
    def test_a_statement_in_force_counts(self, text: str, answer: Resuscitation) -> None:
        """The decision is read, and nothing is left open."""
        reading = read_words(text)
        assert [one.resuscitation for one in reading.said] == [answer]
        assert not reading.undecided

    @pytest.mark.parametrize(
        "text",
        [
            "DNACPR to be discussed with family",
            "DNACPR discussed with family",
            "DNACPR, for discussion tomorrow",
            "DNACPR revoked on 3 March",
            "DNACPR no longer applies",
            "DNACPR not in place",
            "No DNACPR",
            "Not for DNACPR",
            "DNACPR: no",
            "?DNACPR",
            "Previously DNACPR",
            "Considering DNACPR",
        ],
    )
    def test_a_discussion_or_a_revocation_does_not(self, text: str) -> None:
        """Nothing is recorded, and the doubt is said."""
        reading = read_words(text)
        assert reading.said == ()
        assert reading.undecided

    @pytest.mark.parametrize(
        "text", ["For fluid resuscitation", "CPR training completed", "Diabetes care plan", ""]
    )
    def test_other_words_are_left_alone(self, text: str) -> None:
        """What is not about such a decision is not touched."""
        assert not read_words(text).touches

    def test_a_refusal_of_cpr_is_not_a_refusal_of_treatment(self) -> None:
        """Both halves of the sentence are kept as what they are."""
        kinds = {one.kind: one for one in read_words("For full treatment but not for CPR").said}
        assert kinds[DirectiveKind.RESUSCITATION].resuscitation is NOT_FOR
        assert DirectiveKind.FULL_TREATMENT in kinds
        assert DirectiveKind.CEILING not in kinds


class TestCeilings:
    """A ceiling of treatment keeps the team's own words."""

    @pytest.mark.parametrize(
        "text",
        [
            "Ward-based care",
            "Ward-level care; not for intensive care",
            "Not for ICU",
            "Not for ITU or intubation",
            "NIV ceiling",
            "NIV is the ceiling",
            "HDU only",
            "Ceiling of care: ward",
            "Not for escalation",
            "Do not intubate",
            "Not for dialysis",
            "No admission to intensive care",
            "Not for ICU, consider NIV on the ward",
            "For ward care, not ICU",
            "Ward care, not HDU or ICU",
            "Not for further antibiotics",
        ],
    )
    def test_a_ceiling_is_kept_in_its_words(self, text: str) -> None:
        """One ceiling, with the words as written."""
        (one,) = read_words(text).said
        assert one.kind is DirectiveKind.CEILING
        assert one.text == text

    @pytest.mark.parametrize("text", ["Comfort measures only", "Comfort care only", "Symptom control only"])
    def test_comfort_alone_is_a_ceiling_and_care_at_the_end_of_life(self, text: str) -> None:
        """Ours: of whom comfort alone is asked nobody is called for, and no opioid is held."""
        kinds = {one.kind for one in read_words(text).said}
        assert kinds == {DirectiveKind.CEILING, DirectiveKind.END_OF_LIFE}

    def test_the_sentences_of_one_ceiling_stay_together(self) -> None:
        """Two sentences are one ceiling, in order."""
        (one,) = read_words("Ward-based care. NIV is the ceiling.").said
        assert one.text == "Ward-based care; NIV is the ceiling"

    @pytest.mark.parametrize(
        "text",
        [
            "For full escalation",
            "For full treatment, including intensive care",
            "Ceiling of treatment: full escalation",
        ],
    )
    def test_full_treatment_is_never_a_ceiling(self, text: str) -> None:
        """Otherwise a patient for everything would be shown as limited."""
        assert [one.kind for one in read_words(text).said] == [DirectiveKind.FULL_TREATMENT]

    @pytest.mark.parametrize("text", ["Ceiling of care to be decided", "Ceiling of care not documented"])
    def test_an_open_question_is_said(self, text: str) -> None:
        """A ceiling that is still to be set is not one."""
        assert read_words(text).undecided
        assert read_words(text).said == ()

    @pytest.mark.parametrize(
        "text",
        [
            "No ventilation required",
            "Referred for ICU review",
            "Antibiotics by mouth",
            "Not ICU yet",
            "For ward care",
        ],
    )
    def test_other_care_is_no_ceiling(self, text: str) -> None:
        """Care that merely does not need something limits nothing."""
        assert read_words(text).said == ()


class TestEndOfLife:
    """A recorded end-of-life plan."""

    @pytest.mark.parametrize(
        "text",
        ["End of life care", "Last days of life", "Care of the dying person", "Care of dying", "Now dying"],
    )
    def test_is_read(self, text: str) -> None:
        """The plan keeps its words."""
        (one,) = read_words(text).said
        assert (one.kind, one.text) == (DirectiveKind.END_OF_LIFE, text)

    @pytest.mark.parametrize(
        "text", ["Not end of life", "End-of-life discussion held", "Palliative chemotherapy"]
    )
    def test_is_not_read_into_other_words(self, text: str) -> None:
        """Neither a denial nor a discussion nor palliative treatment is a plan."""
        assert read_words(text).said == ()


class TestObservationsStopped:
    """Rounds that a team ends on purpose. Common practice in palliative care, no source."""

    @pytest.mark.parametrize(
        "text",
        [
            "Not for routine observations",
            "Observations discontinued",
            "Observations have been stopped",
            "Routine nursing observations no longer required",
            "No observations",
            "Stop vital signs",
        ],
    )
    def test_is_read(self, text: str) -> None:
        """The decision keeps its words."""
        (one,) = read_words(text).said
        assert (one.kind, one.text) == (DirectiveKind.NO_OBSERVATIONS, text)

    def test_what_stands_beside_it_is_read_too(self) -> None:
        """The word that ends the rounds takes nothing back of the ceiling beside it."""
        kinds = {one.kind for one in read_words("Observations discontinued: comfort care only").said}
        assert kinds == {
            DirectiveKind.NO_OBSERVATIONS,
            DirectiveKind.CEILING,
            DirectiveKind.END_OF_LIFE,
        }
        kinds = {one.kind for one in read_words("DNACPR, not for observations").said}
        assert kinds == {DirectiveKind.NO_OBSERVATIONS, DirectiveKind.RESUSCITATION}

    @pytest.mark.parametrize(
        "text",
        [
            "Hourly observations stopped, now 4-hourly",
            "No observations recorded since 06:00",
            "Observations to be discussed",
            "Stop observations?",
            "Not for observations, to be confirmed by the consultant",
            "Close observations",
            "Neurological observations hourly",
            "Neuro obs discontinued",
            "Close observations stopped",
        ],
    )
    def test_is_not_read_into_other_words(self, text: str) -> None:
        """What makes them rarer, asks or is still to be settled ends nothing."""
        assert DirectiveKind.NO_OBSERVATIONS not in {one.kind for one in read_words(text).said}


class TestRefusals:
    """What somebody refuses is an advance directive in their words."""

    @pytest.mark.parametrize(
        "text", ["Refuses antibiotics", "Advance decision: declines all further IV antibiotics"]
    )
    def test_antibiotics(self, text: str) -> None:
        (one,) = read_words(text).said
        assert (one.kind, one.text) == (DirectiveKind.ADVANCE_DIRECTIVE, text)


class TestOxygenTargets:
    """88-92 % and 94-98 % are the two targets of the British Thoracic Society guideline (Thorax 2017)."""

    @pytest.mark.parametrize(
        ("text", "low", "high"),
        [
            ("Target saturations 88-92%", 88, 92),
            ("Target sats 88\u201392 %", 88, 92),
            ("Aim SpO2 94 to 98%", 94, 98),
            ("Oxygen prescribed to 88 - 92 %", 88, 92),
            ("SpO2 target 88-92% pending blood gas", 88, 92),
            ("Not for 88-92, target sats 94-98", 94, 98),
            ("Target SpO2 94-98% (88-92% if at risk of hypercapnic respiratory failure)", 94, 98),
        ],
    )
    def test_one_target_is_read(self, text: str, low: int, high: int) -> None:
        """The range in force, never the conditional one."""
        (one,) = read_words(text).said
        assert one.kind is DirectiveKind.OXYGEN_TARGET
        assert (one.target_low, one.target_high) == (Decimal(low), Decimal(high))

    @pytest.mark.parametrize(
        "text",
        [
            "target sats 88-92% then 94-98%",
            "No longer for target saturations 88-92",
            "88-92% if CO2 retainer, target sats",
        ],
    )
    def test_two_targets_or_a_condition_leave_it_open(self, text: str) -> None:
        """Scale 2 hides hypoxia in somebody who should not be on it, so doubt records nothing."""
        reading = read_words(text)
        assert reading.said == ()
        assert reading.undecided

    @pytest.mark.parametrize(
        "text", ["SpO2 88-92% on air today", "Pulse 88-92 on oxygen, target met", "Target INR 2-3 on oxygen"]
    )
    def test_a_reading_is_not_a_target(self, text: str) -> None:
        """A measured saturation, a pulse and an INR are no oxygen target."""
        assert read_words(text).said == ()

    def test_a_scale_in_words_is_a_decision(self) -> None:
        """The scale beside the target is read too."""
        said = read_words("Target saturation 88-92 %: use NEWS2 SpO2 scale 2").said
        assert [one.spo2_scale for one in said if one.kind is DirectiveKind.SPO2_SCALE] == [2]

    def test_a_denied_scale_is_none(self) -> None:
        """The words "not scale 2" do not switch to scale 2."""
        assert read_words("NEWS2 SpO2 scale 2 not to be used").said == ()

    def test_chronic_lung_disease_alone_says_nothing(self) -> None:
        """COPD sets neither a target nor a scale (RCP 2017: scale 1 is the default)."""
        assert not read_words("COPD, on home oxygen").touches


@given(st.text(max_size=200))
def test_no_text_breaks_the_reader(text: str) -> None:
    """Any text ends in decisions that carry what their kind needs."""
    for one in read_words(text, is_target=True, about_oxygen=True).said:
        if one.kind is DirectiveKind.OXYGEN_TARGET:
            assert one.target_low is not None
            assert one.target_high is not None
            assert one.target_low < one.target_high
        elif one.kind is DirectiveKind.CEILING:
            assert one.text


class TestTheSameInOtherWords:
    """How teams write a limit: common practice, no source."""

    @pytest.mark.parametrize(
        "said",
        [
            "Not suitable for intensive care",
            "Not appropriate for ICU",
            "Inappropriate for intensive care",
            "ICU would be inappropriate",
            "Would not benefit from ICU",
            "Patient does not want to go to ICU",
            "Patient wishes not to be admitted to intensive care",
            "Would prefer not to go to intensive care",
            "Does not wish to be moved to ICU",
            "No further active treatment",
            "Not for crash call",
            "Supportive care only",
            "Treat reversible causes only",
            "Full ward-based care",
        ],
    )
    def test_a_ceiling(self, said: str) -> None:
        """Four of these were read as full treatment, or not at all."""
        assert [one.kind for one in read_words(said).said] == [DirectiveKind.CEILING]

    @pytest.mark.parametrize(
        "said",
        [
            "Not for ICU at present",
            "Would not benefit from ICU at the moment, improving",
            "Viral bronchiolitis, supportive care only",
            "Supportive care only: viral illness",
            "No further active treatment of hepatitis C",
        ],
    )
    def test_what_limits_nobody_is_asked_about(self, said: str) -> None:
        """What holds for today, or treats one illness, was a ceiling."""
        assert read_words(said) == Reading(undecided=True)

    @pytest.mark.parametrize(
        "said", ["Not suitable for ICU step-down", "Not for HDU discharge", "Not for crash diet"]
    )
    def test_what_is_no_limit(self, said: str) -> None:
        assert not read_words(said).touches

    @pytest.mark.parametrize("said", ["TLC only", "For TLC", "EOL care", "Expected to die within hours"])
    def test_the_last_days(self, said: str) -> None:
        assert [one.kind for one in read_words(said).said] == [DirectiveKind.END_OF_LIFE]

    @pytest.mark.parametrize(
        "said",
        [
            "Dialysis not indicated",
            "NIV not indicated",
            "Not currently appropriate for ICU",
            "TLC 5.2 L",
            "EOL discussion",
            "Active treatment continues",
        ],
    )
    def test_what_decides_nothing(self, said: str) -> None:
        assert read_words(said).said == ()

    @pytest.mark.parametrize("said", ["Suitable for ICU", "Appropriate for intensive care"])
    def test_full_treatment_stays_so(self, said: str) -> None:
        assert [one.kind for one in read_words(said).said] == [DirectiveKind.FULL_TREATMENT]

    @pytest.mark.parametrize(
        "said",
        [
            "Not for ICU or CPR",
            "Not for intubation, ventilation or CPR",
            "Not for surgery or resuscitation",
            "Not for resuscitation or ventilation",
        ],
    )
    def test_a_refusal_of_resuscitation_in_a_list(self, said: str) -> None:
        """It was a ceiling, and the call said "resuscitation not recorded"."""
        assert NOT_FOR in {one.resuscitation for one in read_words(said).said}

    @pytest.mark.parametrize(
        ("said", "answer"),
        [
            ("Not for ICU but for CPR", FOR),
            ("Not for HDU, CPR: yes", FOR),
            ("Not for ICU, CPR to be discussed", None),
            ("For ward care and CPR", None),
            ("Not for ICU, HDU or CPR?", None),
        ],
    )
    def test_no_refusal_in_a_list(self, said: str, answer: Resuscitation | None) -> None:
        decided = [one.resuscitation for one in read_words(said).said if one.resuscitation]
        assert decided == ([answer] if answer is not None else [])


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("Not for PICU", "CEILING"),
        ("Not for HFNC", "CEILING"),
        ("No life-prolonging treatment", "CEILING"),
        ("Limited interventions", "CEILING"),
        ("Not for rapid response calls", "CEILING"),
        ("For reorientation of care", "END_OF_LIFE"),
        ("Bag and mask only, no chest compressions", ""),
        ("HFNC ongoing", None),
        ("Limited to bed rest", None),
    ],
)
def test_a_childs_plan_in_words(words: str, kind: str | None) -> None:
    """As plans of children are written (common practice); a part of resuscitation is asked about."""
    read = read_words(words)
    assert [one.kind.name for one in read.said] == ([kind] if kind else [])
    assert read.undecided is (kind == "")
