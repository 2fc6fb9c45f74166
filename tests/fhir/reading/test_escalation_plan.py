"""Plans as Consent, Flag, CarePlan and Goal (FHIR R4 statuses as printed in the resource pages)."""

from decimal import Decimal
from typing import Any

import pytest

from tests.fhir.reading.taken import SNOMED, coded, percent, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.plans.escalation_plan import read_care_plan, read_consent, read_flag, read_goal
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.model.record.problems import ConditionKind

DNR = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/consentcategorycodes", "code": "dnr"}]}
ADVANCE = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/consentscope", "code": "adr"}]}
CPR = {"text": "Cardiopulmonary resuscitation"}


class TestConsent:
    """An advance decision; scope and category codes of HL7 terminology."""

    def test_do_not_resuscitate(self) -> None:
        """Category `dnr` with its time, end and performer."""
        taken = take(
            read_consent,
            r4.Consent,
            {
                "status": "active",
                "scope": ADVANCE,
                "category": [DNR],
                "dateTime": "2026-03-01T10:00:00Z",
                "performer": [{"display": "Medical consultant"}],
                "provision": {"type": "deny", "code": [CPR], "period": {"end": "2026-09-01"}},
            },
        )
        directive = taken.directive
        assert directive.resuscitation is Resuscitation.NOT_FOR
        assert directive.recorded_by == "Medical consultant"
        assert directive.ends is not None
        assert directive.ends.isoformat() == "2026-09-01T23:59:59+00:00"

    @pytest.mark.parametrize(
        ("provision", "answer"),
        [
            ({"type": "permit", "code": [CPR]}, Resuscitation.FOR),
            ({"type": "deny", "code": [CPR]}, Resuscitation.NOT_FOR),
            (
                {"type": "permit", "provision": [{"type": "deny", "code": [coded("89666000")]}]},
                Resuscitation.NOT_FOR,
            ),
        ],
    )
    def test_the_provision_says_what_is_decided(
        self, provision: dict[str, Any], answer: Resuscitation
    ) -> None:
        """Permit and deny of resuscitation, also as an exception."""
        resource = {"status": "active", "scope": ADVANCE, "provision": provision}
        assert take(read_consent, r4.Consent, resource).directive.resuscitation is answer

    @pytest.mark.parametrize("provision", [{"type": "permit"}, {"type": "permit", "code": [CPR]}])
    def test_a_permitting_dnr_is_left_open(self, provision: dict[str, Any]) -> None:
        """A "do not resuscitate" that permits contradicts itself."""
        taken = take(
            read_consent, r4.Consent, {"status": "active", "category": [DNR], "provision": provision}
        )
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]

    @pytest.mark.parametrize(
        ("kind", "words", "is_read"),
        [
            ("deny", "Intensive care", True),
            ("deny", "Patient would rather not go to intensive care", True),
            ("permit", "Intensive care", False),
            ("deny", "Research", False),
        ],
    )
    def test_what_is_denied_in_words_limits_treatment(self, kind: str, words: str, is_read: bool) -> None:
        """It was dropped, and "treatment ceiling: not recorded" stood over the call."""
        resource = {"status": "active", "provision": {"type": kind, "code": [{"text": words}]}}
        found = take(read_consent, r4.Consent, resource).data.directives
        assert [one.kind for one in found] == ([DirectiveKind.CEILING] if is_read else [])

    def test_an_advance_directive_without_codes_is_pointed_at(self) -> None:
        """Its content is in the notes; nothing is inferred."""
        directive = take(read_consent, r4.Consent, {"status": "active", "scope": ADVANCE}).directive
        assert directive.kind is DirectiveKind.ADVANCE_DIRECTIVE

    def test_another_consent_is_counted_as_unused(self) -> None:
        """A privacy consent is no decision about treatment."""
        taken = take(read_consent, r4.Consent, {"status": "active", "category": [{"text": "Privacy"}]})
        assert taken.unused == ["Consent"]

    @pytest.mark.parametrize("status", ["draft", "proposed", "rejected", "inactive", "entered-in-error"])
    def test_other_statuses_are_not_in_force(self, status: str) -> None:
        """Every other status of a Consent."""
        taken = take(read_consent, r4.Consent, {"status": status, "category": [DNR]})
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.NOT_FINAL]


class TestFlag:
    """A flag on the patient."""

    @pytest.mark.parametrize(
        ("code", "answer"),
        [
            (coded("450475007"), Resuscitation.FOR),
            (coded("450476008"), Resuscitation.NOT_FOR),
            ({"text": "DNACPR"}, Resuscitation.NOT_FOR),
            (
                {"coding": [{"system": SNOMED, "code": "450476008", "display": "Not for attempted CPR"}]},
                Resuscitation.NOT_FOR,
            ),
        ],
    )
    def test_resuscitation(self, code: dict[str, Any], answer: Resuscitation) -> None:
        """Coded, in words, or both: one decision."""
        taken = take(
            read_flag,
            r4.Flag,
            {
                "status": "active",
                "code": code,
                "period": {"start": "2026-02-01"},
                "author": {"display": "Registrar"},
            },
        )
        assert taken.directive.resuscitation is answer
        assert taken.directive.recorded_by == "Registrar"
        assert taken.directive.at is not None

    def test_a_code_and_words_that_disagree_are_both_kept(self) -> None:
        """Conflicting records are for the team to settle."""
        taken = take(read_flag, r4.Flag, {"status": "active", "code": coded("450475007", text="Not for CPR")})
        assert {d.resuscitation for d in taken.data.directives} == set(Resuscitation)

    @pytest.mark.parametrize("text", ["Oxygen alert: 88-92%", "SpO2 88-92%", "Target saturations 88 to 92 %"])
    def test_an_oxygen_target(self, text: str) -> None:
        """A saturation range put up as a flag is meant as a target."""
        directive = take(read_flag, r4.Flag, {"status": "active", "code": {"text": text}}).directive
        assert (directive.target_low, directive.target_high) == (Decimal(88), Decimal(92))

    @pytest.mark.parametrize(
        ("text", "status", "kinds"),
        [
            ("Nil by mouth", "active", [{ConditionKind.NOTHING_BY_MOUTH}]),
            ("NBM", "active", [{ConditionKind.NOTHING_BY_MOUTH}]),
            ("Unsafe swallow", "active", [{ConditionKind.UNSAFE_SWALLOW}]),
            ("Nil by mouth", "inactive", []),
            ("Falls risk", "active", []),
        ],
    )
    def test_a_state_that_is_put_up(self, text: str, status: str, kinds: list[set[ConditionKind]]) -> None:
        """Ours: what is not swallowed is so as long as the flag is up, whenever it was put up."""
        flag = {"status": status, "code": {"text": text}, "period": {"start": "2026-01-01"}}
        taken = take(read_flag, r4.Flag, flag)
        assert [set(one.kinds) for one in taken.data.conditions] == kinds
        assert all(one.began is None for one in taken.data.conditions)
        assert taken.unused == ([] if kinds else ["Flag"])

    @pytest.mark.parametrize(
        "text",
        [
            "COPD",
            "COPD: carbon dioxide retainer",
            "Home oxygen user",
            "Chronic obstructive pulmonary disease",
        ],
    )
    def test_lung_disease_sets_no_target(self, text: str) -> None:
        """Never from a diagnosis."""
        taken = take(read_flag, r4.Flag, {"status": "active", "code": {"text": text}})
        assert taken.data.directives == []
        assert taken.unused == ["Flag"]

    def test_an_advance_directive_flag_without_known_words(self) -> None:
        """The category says what it is; the words are shown."""
        category = {"coding": [{"code": "advance-directive"}]}
        resource = {"status": "active", "category": [category], "code": {"text": "See blue folder"}}
        directive = take(read_flag, r4.Flag, resource).directive
        assert (directive.kind, directive.text) == (DirectiveKind.ADVANCE_DIRECTIVE, "See blue folder")

    @pytest.mark.parametrize(
        ("status", "key", "severity"),
        [
            ("inactive", IssueKey.NOT_FINAL, Severity.INFORMATION),
            ("entered-in-error", IssueKey.NOT_FINAL, Severity.INFORMATION),
            ("paused", IssueKey.WRONG_TYPE, Severity.ERROR),
        ],
    )
    def test_statuses(self, status: str, key: IssueKey, severity: Severity) -> None:
        """Known statuses are information, an unknown one an error."""
        taken = take(read_flag, r4.Flag, {"status": status, "code": {"text": "DNACPR"}})
        assert taken.data.directives == []
        assert [(i.key, i.severity) for i in taken.issues] == [(key, severity)]

    def test_a_modifier_extension_makes_it_unusable(self) -> None:
        """It may negate everything."""
        resource = {"status": "active", "code": {"text": "DNACPR"}, "modifierExtension": [{"url": "urn:x"}]}
        taken = take(read_flag, r4.Flag, resource)
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.MODIFIER]

    def test_a_bad_date_is_said_and_the_decision_kept(self) -> None:
        """A decision is worth more than its date."""
        resource = {"status": "active", "code": {"text": "DNACPR"}, "period": {"start": "last week"}}
        taken = take(read_flag, r4.Flag, resource)
        assert taken.directive.at is None
        assert taken.keys == [IssueKey.BAD_TIME]

    def test_issues_carry_no_words_of_the_record(self) -> None:
        """Free text of the input never reaches an issue."""
        taken = take(
            read_flag, r4.Flag, {"status": "active", "code": {"text": "DNACPR to be discussed with Orla"}}
        )
        assert taken.issues
        assert all("Orla" not in issue.text + issue.path for issue in taken.issues)


def plan(*descriptions: str, **more: Any) -> dict[str, Any]:
    """A plan of our own invention with one activity per description."""
    activity = [{"detail": {"status": "in-progress", "description": text}} for text in descriptions]
    base = {"status": "active", "intent": "plan", "title": "Treatment escalation plan", "activity": activity}
    return {**base, "created": "2026-03-01T10:00:00Z", "author": {"display": "Consultant"}, **more}


class TestCarePlan:
    """A plan with activities in words."""

    def test_each_activity_is_read(self) -> None:
        """A ceiling, a target and a resuscitation decision from one plan."""
        taken = take(
            read_care_plan,
            r4.CarePlan,
            plan("Ward-based care; not for ICU", "Target saturations 88-92%", "DNACPR", "Regular turning"),
        )
        kinds = {d.kind: d for d in taken.data.directives}
        assert kinds[DirectiveKind.CEILING].text == "Ward-based care; not for ICU"
        assert kinds[DirectiveKind.OXYGEN_TARGET].target_high == Decimal(92)
        assert kinds[DirectiveKind.RESUSCITATION].resuscitation is Resuscitation.NOT_FOR
        assert {d.recorded_by for d in kinds.values()} == {"Consultant"}
        assert taken.issues == []

    def test_end_of_life_by_title_and_by_code(self) -> None:
        """SNOMED CT 385736008, dying care, as a category, or words in the title."""
        titled = take(read_care_plan, r4.CarePlan, plan(title="End of life care plan"))
        by_code = take(read_care_plan, r4.CarePlan, plan(category=[coded("385736008")]))
        assert titled.directive.kind is by_code.directive.kind is DirectiveKind.END_OF_LIFE

    def test_an_activity_not_to_be_done_is_a_ceiling(self) -> None:
        """`doNotPerform` of intensive care is said in words."""
        detail = {"status": "in-progress", "description": "Admission to intensive care", "doNotPerform": True}
        directive = take(read_care_plan, r4.CarePlan, plan(activity=[{"detail": detail}])).directive
        assert (directive.kind, directive.text) == (
            DirectiveKind.CEILING,
            "not for admission to intensive care",
        )

    def test_a_double_negative_is_left_open(self) -> None:
        """An order "do not: not for resuscitation" means nothing safe."""
        detail = {"status": "in-progress", "description": "DNACPR", "doNotPerform": True}
        taken = take(read_care_plan, r4.CarePlan, plan(activity=[{"detail": detail}]))
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]

    @pytest.mark.parametrize("status", ["completed", "cancelled", "stopped", "entered-in-error", "on-hold"])
    def test_an_activity_that_is_over_is_said(self, status: str) -> None:
        """Only running activities count."""
        detail = {"status": status, "description": "Not for ICU"}
        taken = take(read_care_plan, r4.CarePlan, plan(activity=[{"detail": detail}]))
        assert taken.data.directives == []
        assert taken.issues[0].path == "Bundle.entry[0].resource.activity[0].detail.status"

    @pytest.mark.parametrize(
        "status", ["draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown"]
    )
    def test_other_statuses_are_not_in_force(self, status: str) -> None:
        """Every other status of a CarePlan."""
        taken = take(read_care_plan, r4.CarePlan, plan("Not for ICU", status=status))
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.NOT_FINAL]

    def test_a_proposal_is_not_in_force(self) -> None:
        """Neither is an option."""
        assert take(read_care_plan, r4.CarePlan, plan("Not for ICU", intent="proposal")).keys == [
            IssueKey.NOT_FINAL
        ]

    def test_a_plan_about_something_else_is_counted_as_unused(self) -> None:
        """A title alone decides nothing."""
        taken = take(read_care_plan, r4.CarePlan, plan("Weekly weight", title="Heart failure care plan"))
        assert taken.unused == ["CarePlan"]
        assert taken.issues == []

    def test_a_plan_for_later_is_not_in_force_yet(self) -> None:
        """Its time is when it starts, not when it was written."""
        taken = take(
            read_care_plan, r4.CarePlan, plan("Not for ICU", period={"start": "2026-03-05T08:00:00Z"})
        )
        assert taken.directive.at is not None
        assert taken.directive.at.isoformat() == "2026-03-05T08:00:00+00:00"


class TestGoal:
    """A saturation target as a goal."""

    @pytest.mark.parametrize(
        "goal",
        [
            {
                "description": {"text": "Keep comfortable"},
                "target": [
                    {"measure": coded("59408-5", "http://loinc.org"), "detailRange": percent("88", "92")}
                ],
            },
            {"description": {"text": "Oxygen saturation"}, "target": [{"detailRange": percent("88", "92")}]},
            {"description": {"text": "SpO2 88-92%"}},
            {"description": {"text": "SpO2 88-92%"}, "target": [{"detailRange": percent("88", "92")}]},
        ],
    )
    def test_is_read_once(self, goal: dict[str, Any]) -> None:
        """By measure, by description, or both."""
        directive = take(read_goal, r4.Goal, {"lifecycleStatus": "active", **goal}).directive
        assert (directive.target_low, directive.target_high) == (Decimal(88), Decimal(92))

    def test_a_goal_that_contradicts_itself_keeps_both(self) -> None:
        """The range and the words differ."""
        goal = {"description": {"text": "SpO2 94-98%"}, "target": [{"detailRange": percent("88", "92")}]}
        taken = take(read_goal, r4.Goal, {"lifecycleStatus": "active", **goal})
        assert {d.target_high for d in taken.data.directives} == {Decimal(92), Decimal(98)}

    def test_another_range_is_no_saturation(self) -> None:
        """A weight in percent of something is counted as unused."""
        goal = {"description": {"text": "Weight"}, "target": [{"detailRange": percent("88", "92")}]}
        assert take(read_goal, r4.Goal, {"lifecycleStatus": "active", **goal}).unused == ["Goal"]

    @pytest.mark.parametrize(
        "status",
        ["proposed", "planned", "on-hold", "completed", "cancelled", "entered-in-error", "rejected"],
    )
    def test_other_statuses_are_not_in_force(self, status: str) -> None:
        """Every other status of a Goal."""
        taken = take(read_goal, r4.Goal, {"lifecycleStatus": status, "description": {"text": "SpO2 88-92%"}})
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.NOT_FINAL]
