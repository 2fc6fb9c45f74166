"""Orders as ServiceRequest: decisions, oxygen targets, contrast imaging, dialysis."""

from decimal import Decimal
from typing import Any

import pytest

from tests.fhir.reading.taken import LOINC, Taken, coded, percent, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.medicines.order import read_service_request
from weatherglass.model.record.care import DirectiveKind, ProcedureKind, Resuscitation

WRITTEN = "2026-03-01T10:00:00+00:00"


def ordered(**more: Any) -> Taken:
    """Take in one active order."""
    base = {
        "status": "active",
        "intent": "order",
        "authoredOn": WRITTEN,
        "requester": {"display": "Registrar"},
    }
    return take(read_service_request, r4.ServiceRequest, {**base, **more})


class TestDecisions:
    """A decision as an order."""

    @pytest.mark.parametrize(
        "order",
        [
            {"code": coded("304253006")},
            {"code": coded("450476008")},
            {"category": [coded("100822-6", LOINC)], "code": coded("LA33471-6", LOINC)},
            {"code": {"text": "Do not resuscitate"}},
            {"code": coded("89666000"), "doNotPerform": True},
            {"code": {"text": "Cardiopulmonary resuscitation"}, "doNotPerform": True},
        ],
    )
    def test_not_for_resuscitation(self, order: dict[str, Any]) -> None:
        """Coded as a decision, as an answer, in words, or as an act not to be done."""
        directive = ordered(**order).directive
        assert directive.resuscitation is Resuscitation.NOT_FOR
        assert directive.recorded_by == "Registrar"

    @pytest.mark.parametrize(
        ("code", "kind"),
        [
            ("LA33473-2", DirectiveKind.FULL_TREATMENT),
            ("LA33474-0", DirectiveKind.CEILING),
            ("LA33475-7", DirectiveKind.CEILING),
        ],
    )
    def test_initial_treatment_orders(self, code: str, kind: DirectiveKind) -> None:
        """LOINC 100823-4 with its three answers: full, selective, comfort-focused."""
        directive = ordered(category=[coded("100823-4", LOINC)], code=coded(code, LOINC)).directive
        assert directive.kind is kind
        assert directive.text

    def test_a_forbidden_act_is_a_ceiling(self) -> None:
        """Intubation not to be performed."""
        directive = ordered(code={"text": "Intubation"}, doNotPerform=True).directive
        assert (directive.kind, directive.text) == (DirectiveKind.CEILING, "not for intubation")

    def test_a_double_negative_is_left_open(self) -> None:
        """An order not to perform "not for resuscitation"."""
        taken = ordered(code=coded("304253006"), doNotPerform=True)
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]

    @pytest.mark.parametrize(
        "status", ["draft", "on-hold", "revoked", "completed", "entered-in-error", "unknown"]
    )
    def test_other_statuses_are_not_in_force(self, status: str) -> None:
        """Every other status of a ServiceRequest."""
        taken = ordered(code=coded("304253006"), status=status)
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.NOT_FINAL]

    def test_a_proposal_is_not_in_force(self) -> None:
        """Nobody has decided yet."""
        assert ordered(code=coded("304253006"), intent="proposal").keys == [IssueKey.NOT_FINAL]

    def test_an_order_about_something_else_is_counted_as_unused(self) -> None:
        """A blood test is not our business, whether asked for or forbidden."""
        assert ordered(code={"text": "Full blood count"}).unused == ["ServiceRequest"]
        assert ordered(code={"text": "Blood pressure on left arm"}, doNotPerform=True).unused == [
            "ServiceRequest"
        ]


class TestOxygen:
    """Oxygen to a target range."""

    @pytest.mark.parametrize(
        "code", [coded("57485005"), {"text": "Oxygen therapy"}, {"text": "Maintain saturations"}]
    )
    def test_the_range_is_a_target(self, code: dict[str, Any]) -> None:
        """`quantityRange` in percent on an oxygen order."""
        directive = ordered(code=code, quantityRange=percent("94", "98")).directive
        assert (directive.target_low, directive.target_high) == (Decimal(94), Decimal(98))

    def test_the_words_are_a_target(self) -> None:
        """An oxygen order that carries its range in its text."""
        directive = ordered(code={"text": "Oxygen therapy 88-92%"}).directive
        assert directive.target_low == Decimal(88)

    def test_the_range_and_the_same_words_are_one_target(self) -> None:
        """Said twice, recorded once."""
        taken = ordered(
            code={"text": "Oxygen to a target saturation of 94-98 %"}, quantityRange=percent("94", "98")
        )
        assert len(taken.data.directives) == 1

    def test_an_inspired_fraction_is_not_a_target(self) -> None:
        """24-28 % is what goes in, not what is aimed at."""
        taken = ordered(code={"text": "Oxygen therapy"}, quantityRange=percent("24", "28"))
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]


class TestProcedures:
    """Contrast imaging and dialysis that are asked for."""

    @pytest.mark.parametrize(
        ("status", "requested"), [("active", True), ("draft", True), ("completed", False)]
    )
    def test_contrast(self, status: str, requested: bool) -> None:
        """A draft counts, because that is when it can still be changed."""
        taken = ordered(code={"text": "CT abdomen with contrast"}, status=status)
        (procedure,) = taken.data.procedures
        assert procedure.kinds == {ProcedureKind.CONTRAST_IMAGING}
        assert procedure.requested is requested
        assert procedure.at is not None
        assert procedure.at.isoformat() == WRITTEN

    def test_a_scan_planned_for_later_is_visible_now(self) -> None:
        """The request counts from when it was written."""
        taken = ordered(code={"text": "CT pulmonary angiogram"}, occurrenceDateTime="2026-03-09T10:00:00Z")
        (procedure,) = taken.data.procedures
        assert procedure.at is not None
        assert procedure.at.isoformat() == WRITTEN

    def test_a_dialysis_order(self) -> None:
        """Asked for; whether it was done is told by a Procedure."""
        (procedure,) = ordered(code=coded("302497006")).data.procedures
        assert procedure.kinds == {ProcedureKind.RENAL_REPLACEMENT}
        assert procedure.requested

    def test_a_dialysis_draft_does_not_count(self) -> None:
        """Only contrast is checked while it is being ordered."""
        assert ordered(code=coded("302497006"), status="draft").data.procedures == []

    @pytest.mark.parametrize(
        "text", ["CT head without contrast", "MRI brain with contrast", "Barium swallow"]
    )
    def test_other_imaging_is_not_contrast(self, text: str) -> None:
        """No iodinated contrast reaches the blood."""
        assert ordered(code={"text": text}).data.procedures == []

    def test_contrast_not_to_be_given_is_no_ceiling(self) -> None:
        """It is said, and nothing is recorded."""
        taken = ordered(code={"text": "CT with contrast"}, doNotPerform=True)
        assert taken.data.procedures == []
        assert taken.data.directives == []
        assert taken.keys == [IssueKey.RESOURCE_NOT_USED]

    @pytest.mark.parametrize("code", [{"text": "Haemodialysis"}, coded("302497006")])
    def test_dialysis_not_to_be_done_is_a_ceiling(self, code: dict[str, Any]) -> None:
        """Not for dialysis, in words or by code."""
        taken = ordered(code=code, doNotPerform=True)
        assert taken.data.procedures == []
        assert taken.directive.kind is DirectiveKind.CEILING
