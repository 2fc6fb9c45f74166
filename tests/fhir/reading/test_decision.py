"""Observations that record a decision.

Codes: SNOMED CT 304251008 with 450475007 and 450476008, LOINC 100822-6 with LA33470-8
and LA33471-6 (as published in national and portable-medical-order guides).
"""

from decimal import Decimal
from typing import Any

import pytest

from tests.fhir.reading.taken import LOINC, SNOMED, Taken, coded, percent, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.observations.observation import read_observation
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.terminology import observations as codes

AT = "2026-03-01T10:00:00+00:00"


def observed(code: dict[str, Any], **value: Any) -> Taken:
    """Take in one Observation."""
    resource = {"status": "final", "code": code, "effectiveDateTime": AT, **value}
    return take(read_observation, r4.Observation, resource)


def local(code: str) -> dict[str, Any]:
    """One of our own observation codes."""
    return coded(code, codes.LOCAL_SYSTEM)


class TestResuscitation:
    """Every coded way to say it."""

    @pytest.mark.parametrize(
        ("code", "value", "answer"),
        [
            (coded("304251008"), {"valueCodeableConcept": coded("450475007")}, Resuscitation.FOR),
            (coded("304251008"), {"valueCodeableConcept": coded("450476008")}, Resuscitation.NOT_FOR),
            (coded("304251008"), {"valueCodeableConcept": coded("304252001")}, Resuscitation.FOR),
            (coded("304251008"), {"valueCodeableConcept": coded("304253006")}, Resuscitation.NOT_FOR),
            (coded("304252001"), {}, Resuscitation.FOR),
            (coded("304253006"), {}, Resuscitation.NOT_FOR),
            (coded("304253006"), {"valueBoolean": True}, Resuscitation.NOT_FOR),
            (
                coded("100822-6", LOINC),
                {"valueCodeableConcept": coded("LA33470-8", LOINC)},
                Resuscitation.FOR,
            ),
            (
                coded("100822-6", LOINC),
                {"valueCodeableConcept": coded("LA33471-6", LOINC)},
                Resuscitation.NOT_FOR,
            ),
            (coded("304251008"), {"valueString": "Not for CPR"}, Resuscitation.NOT_FOR),
        ],
    )
    def test_is_read(self, code: dict[str, Any], value: dict[str, Any], answer: Resuscitation) -> None:
        """The answer, its time and its recorder are kept."""
        taken = observed(code, performer=[{"display": "Medical consultant"}], **value)
        directive = taken.directive
        assert directive.kind is DirectiveKind.RESUSCITATION
        assert directive.resuscitation is answer
        assert directive.at is not None
        assert directive.at.isoformat() == AT
        assert directive.recorded_by == "Medical consultant"
        assert taken.issues == []

    @pytest.mark.parametrize(
        ("code", "value"),
        [
            (coded("304251008"), {"valueCodeableConcept": {"text": "Discuss with family"}}),
            (coded("304251008"), {}),
            (coded("304253006"), {"valueBoolean": False}),
            (coded("304253006"), {"valueCodeableConcept": coded("373067005")}),
            (coded("304251008"), {"valueString": "DNACPR to be discussed"}),
            (
                coded("304251008"),
                {
                    "valueCodeableConcept": {
                        "coding": [
                            {"system": SNOMED, "code": "450475007"},
                            {"system": SNOMED, "code": "450476008"},
                        ]
                    }
                },
            ),
        ],
    )
    def test_an_unclear_answer_stays_unknown(self, code: dict[str, Any], value: dict[str, Any]) -> None:
        """Nothing is recorded, and a warning names the place."""
        taken = observed(code, **value)
        assert [one.kind for one in taken.data.directives] == [DirectiveKind.UNREAD]
        assert [issue.path for issue in taken.issues] == ["Bundle.entry[0].resource.value"]

    @pytest.mark.parametrize(
        "status", ["preliminary", "entered-in-error", "cancelled", "registered", "unknown"]
    )
    def test_a_decision_not_in_force_is_said_and_left_out(self, status: str) -> None:
        """Only a final, corrected or amended decision counts."""
        taken = observed(coded("304253006"), status=status)
        assert taken.data.directives == []
        assert taken.keys in ([IssueKey.NOT_FINAL], [IssueKey.PRELIMINARY])

    def test_two_records_that_disagree_are_both_kept(self) -> None:
        """The reader does not settle a conflict."""
        base = {"status": "final", "effectiveDateTime": AT}
        taken = take(
            read_observation,
            r4.Observation,
            {**base, "code": coded("304252001")},
            {**base, "code": coded("304253006")},
        )
        assert {d.resuscitation for d in taken.data.directives} == set(Resuscitation)

    def test_the_recorder_may_be_only_a_reference(self) -> None:
        """Without a display the reference is shown; a name is never made up."""
        taken = observed(coded("304253006"), performer=[{"reference": "Practitioner/7"}])
        assert taken.directive.recorded_by == "Practitioner/7"
        assert observed(coded("304253006")).directive.recorded_by == ""


class TestScale:
    """The SpO2 scale: an explicit, attributable decision."""

    @pytest.mark.parametrize(
        "value",
        [
            {"valueInteger": 2},
            {"valueQuantity": {"value": 2, "code": "{score}"}},
            {"valueString": "Scale 2"},
            {"valueCodeableConcept": {"coding": [{"code": "2"}]}},
        ],
    )
    def test_is_read(self, value: dict[str, Any]) -> None:
        """Scale 2 in each way of writing it."""
        assert observed(local("spo2-scale"), **value).directive.spo2_scale == 2

    @pytest.mark.parametrize(
        "value", [{"valueInteger": 3}, {"valueString": "yes"}, {"valueInteger": True}, {}]
    )
    def test_anything_else_is_no_decision(self, value: dict[str, Any]) -> None:
        """A wrong scale would hide hypoxia."""
        taken = observed(local("spo2-scale"), **value)
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_UNKNOWN]

    def test_a_reported_scale_2_part_is_a_decision(self) -> None:
        """A sub-score on SNOMED CT 1104321000000108 shows that scale 2 was used."""
        part = {"code": coded("1104321000000108"), "valueQuantity": {"value": 0, "code": "{score}"}}
        taken = observed(coded("1104051000000101"), component=[part])
        (directive,) = [d for d in taken.data.directives if d.kind is DirectiveKind.SPO2_SCALE]
        assert directive.spo2_scale == 2

    def test_a_scale_2_part_without_a_value_is_none(self) -> None:
        """The unused scale is often sent with a reason for its absence."""
        part = {"code": coded("1104321000000108"), "dataAbsentReason": {"text": "not applicable"}}
        assert observed(coded("1104051000000101"), component=[part]).data.directives == []


class TestOxygenTarget:
    """A target range in percent."""

    @pytest.mark.parametrize(
        "value",
        [
            {"valueRange": percent("88", "92")},
            {
                "component": [
                    {"code": {"text": "Low"}, "valueQuantity": {"value": 88, "code": "%"}},
                    {"code": {"coding": [{"code": "high"}]}, "valueQuantity": {"value": 92, "code": "%"}},
                ]
            },
            {"valueString": "88-92%"},
        ],
    )
    def test_is_read(self, value: dict[str, Any]) -> None:
        """88-92 % in each way of writing it."""
        directive = observed(local("oxygen-target"), **value).directive
        assert (directive.target_low, directive.target_high) == (Decimal(88), Decimal(92))

    @pytest.mark.parametrize(
        "value",
        [
            {"valueRange": percent("24", "28")},
            {"valueRange": percent("92", "88")},
            {"valueRange": {"low": {"value": 88}, "high": {"value": 92}}},
            {"valueRange": {"low": {"value": 88, "code": "%"}}},
            {"valueString": "as before"},
        ],
    )
    def test_anything_else_is_no_target(self, value: dict[str, Any]) -> None:
        """An inspired fraction, a range upside down, a range without unit or end."""
        taken = observed(local("oxygen-target"), **value)
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]


class TestCeiling:
    """Our own code for a ceiling in words."""

    def test_any_words_are_a_ceiling(self) -> None:
        """The code says so; the words are the team's."""
        directive = observed(local("treatment-ceiling"), valueString="Fluids and antibiotics").directive
        assert (directive.kind, directive.text) == (DirectiveKind.CEILING, "Fluids and antibiotics")

    def test_full_treatment_is_not(self) -> None:
        """A ceiling recorded as "full escalation" limits nothing."""
        directive = observed(local("treatment-ceiling"), valueString="For full escalation").directive
        assert directive.kind is DirectiveKind.FULL_TREATMENT

    def test_an_undecided_one_is_said(self) -> None:
        """Still to be discussed is not decided."""
        taken = observed(local("treatment-ceiling"), valueString="Not for ICU: to be discussed")
        assert [one.kind for one in taken.data.directives] == [DirectiveKind.UNREAD]
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]


class TestAdvanceDirective:
    """LOINC 45473-6: that there is one, not what it says."""

    def test_a_yes_is_recorded(self) -> None:
        """To be read in the notes."""
        assert (
            observed(coded("45473-6", LOINC), valueBoolean=True).directive.kind
            is DirectiveKind.ADVANCE_DIRECTIVE
        )

    def test_a_no_is_no_decision(self) -> None:
        """No directive is not "for everything"."""
        taken = observed(coded("45473-6", LOINC), valueCodeableConcept=coded("LA32-8", LOINC))
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]


class TestWishes:
    """LOINC 75773-2, 81376-6, 81378-2: goals, preferences and priorities (from memory): a plan in words."""

    @pytest.mark.parametrize("code", ["75773-2", "81376-6", "81378-2"])
    @pytest.mark.parametrize(
        ("words", "kind"),
        [("Not for intensive care", "CEILING"), ("DNACPR", "RESUSCITATION"), ("To be at home", "UNREAD")],
    )
    def test_is_read_or_named(self, code: str, words: str, kind: str) -> None:
        found = observed(coded(code, LOINC), valueString=words).data.directives
        assert [d.kind.name for d in found] == [kind]


class TestByItsName:
    """A plan under a code of no terminology: its name alone says that it is one (our choice of words)."""

    @pytest.mark.parametrize(
        ("name", "value", "kind", "said"),
        [
            ("Treatment escalation plan", {"valueString": "Ward-based care. Not for NIV."}, "CEILING", None),
            ("Ceiling of care", {"valueString": "HDU"}, "CEILING", None),
            ("TEP", {"valueString": "For full escalation"}, "FULL_TREATMENT", None),
            (
                "Resuscitation status",
                {"valueCodeableConcept": {"text": "DNACPR"}},
                "RESUSCITATION",
                "NOT_FOR",
            ),
            ("Code status", {"valueString": "Full code"}, "RESUSCITATION", "FOR"),
            ("DNACPR in place", {"valueBoolean": True}, "RESUSCITATION", "NOT_FOR"),
            ("Not for resuscitation", {}, "RESUSCITATION", "NOT_FOR"),
            ("Goal of care", {"valueString": "Comfort only"}, None, None),
        ],
    )
    def test_is_read(self, name: str, value: dict[str, Any], kind: str | None, said: str | None) -> None:
        """By its answer, by its question with it, or by a name that is affirmed; other names are not read."""
        found = observed({"text": name}, **value).data.directives
        assert [d.kind.name for d in found] == ([kind] if kind else [])
        if said:
            assert found[0].resuscitation is Resuscitation[said]

    @pytest.mark.parametrize(
        ("name", "value"),
        [
            ("Resuscitation status", {"valueString": "No"}),
            ("For CPR", {"valueBoolean": False}),
            ("Code status", {"valueString": "See notes"}),
            ("Ceiling of care", {"valueString": "Not recorded"}),
            ("Advance care plan", {"valueString": "Wishes to be at home"}),
        ],
    )
    def test_what_decides_nothing_is_kept_as_unread(self, name: str, value: dict[str, Any]) -> None:
        """It was sent: "not recorded" would be false of it."""
        (only,) = observed({"text": name}, **value).data.directives
        assert only.kind is DirectiveKind.UNREAD
        assert only.text.startswith(name)

    @pytest.mark.parametrize("name", ["DNACPR in place", "Treatment escalation plan"])
    def test_that_there_is_none_is_no_decision(self, name: str) -> None:
        """Nothing is recorded, and nothing is unread."""
        assert not observed({"text": name}, valueBoolean=False).data.directives

    def test_without_a_time_it_is_a_decision_without_its_date(self) -> None:
        """A value cannot be scored so; a decision holds."""
        resource = {"status": "final", "code": {"text": "Resuscitation status"}, "valueString": "DNACPR"}
        (only,) = take(read_observation, r4.Observation, resource).data.directives
        assert (only.resuscitation, only.at) == (Resuscitation.NOT_FOR, None)

    @pytest.mark.parametrize(
        ("words", "kinds", "rest"),
        [
            ("No drip, no feeding tube. DNACPR.", ["RESUSCITATION", "UNREAD"], "No drip, no feeding tube"),
            ("Not for intubation. For NIV.", ["CEILING", "UNREAD"], "For NIV"),
            ("Ward-based care. Not for intubation.", ["CEILING"], ""),
            ("Discussed with her son. Ward-based care. Reviewed 12/11. Family aware.", ["CEILING"], ""),
        ],
    )
    def test_what_a_plan_says_beside_its_decisions_is_named(
        self, words: str, kinds: list[str], rest: str
    ) -> None:
        """It was decided with them: "not a decision about any other treatment" stood over it (ours)."""
        found = observed({"text": "Advance care plan"}, valueString=words).data.directives
        assert sorted(d.kind.name for d in found) == kinds
        assert rest in {d.text for d in found} | {""}
