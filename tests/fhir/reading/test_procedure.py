"""Procedures by code, words and status; allergies. Statuses as printed for FHIR R4."""

from typing import Any

import pytest

from tests.fhir.reading.taken import Taken, coded, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.medicines.allergy import read_allergy
from weatherglass.fhir.reading.problems.procedure import read_procedure
from weatherglass.model.record.care import ProcedureKind as Kind
from weatherglass.terminology.procedures import kinds_in_words

AT = "2026-03-01T10:00:00+00:00"


def done(**more: Any) -> Taken:
    """Take in one completed Procedure."""
    return take(read_procedure, r4.Procedure, {"status": "completed", "performedDateTime": AT, **more})


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("Right hemicolectomy", {Kind.SURGERY, Kind.BOWEL_SURGERY}),
        ("Total hip replacement", {Kind.SURGERY, Kind.JOINT_REPLACEMENT}),
        ("Laparoscopic cholecystectomy", {Kind.SURGERY, Kind.GALLBLADDER_SURGERY}),
        ("Exploration of the common bile duct", {Kind.SURGERY, Kind.GALLBLADDER_SURGERY}),
        ("Intravenous thrombolysis", {Kind.THROMBOLYSIS}),
        ("Not for thrombolysis", set()),
        ("Non-invasive ventilation", {Kind.MASK_VENTILATION}),
        ("Not for NIV", set()),
        ("NIV declined", set()),
        ("Thrombolysis assessment", set()),
        ("Coronary artery bypass graft", {Kind.SURGERY, Kind.CARDIAC_SURGERY}),
        ("Craniotomy", {Kind.SURGERY, Kind.NEUROSURGERY}),
        ("Aortic valve replacement", {Kind.SURGERY, Kind.CARDIAC_SURGERY}),
        ("Aortic root replacement", {Kind.SURGERY, Kind.AORTIC_SURGERY}),
        ("Colonoscopy with polypectomy", {Kind.GUT_ENDOSCOPY}),
        ("Mechanical thrombectomy", set()),
        ("Kidney transplant", {Kind.SURGERY, Kind.TRANSPLANT}),
        ("Haemodialysis session", {Kind.RENAL_REPLACEMENT}),
        ("Hemofiltration", {Kind.RENAL_REPLACEMENT}),
        ("Insertion of dialysis catheter", set()),
        ("Fistula for haemodialysis", set()),
        ("Insertion of central venous catheter", {Kind.CHEST_PUNCTURE}),
        ("Removal of subclavian line", set()),
        ("Pleural aspiration", {Kind.CHEST_PUNCTURE}),
        ("CT abdomen with contrast", {Kind.CONTRAST_IMAGING}),
        ("CT abdomen with and without contrast", {Kind.CONTRAST_IMAGING}),
        ("CT head without contrast", set()),
        ("CT head non-contrast", set()),
        ("CT pulmonary angiogram", {Kind.CONTRAST_IMAGING}),
        ("Coronary angiography", {Kind.CONTRAST_IMAGING}),
        ("MR angiography", set()),
        ("MRI spine with contrast", set()),
        ("Drug-eluting coronary stent", {Kind.CORONARY_STENT}),
        ("Caesarean section", {Kind.BIRTH, Kind.SURGERY}),
        ("Normal vaginal delivery", {Kind.BIRTH}),
        ("Normal delivery", {Kind.BIRTH}),
        ("Spontaneous vertex delivery", {Kind.BIRTH}),
        ("Ventouse delivery", {Kind.BIRTH}),
        ("Water birth", {Kind.BIRTH}),
        ("Manual removal of retained placenta", {Kind.BIRTH}),
        ("Repair of second degree perineal tear", {Kind.BIRTH}),
        ("Delivery of oxygen", set()),
        ("Home delivery of medicines", set()),
        ("Red cell transfusion", {Kind.TRANSFUSION}),
        ("Chest X-ray", set()),
    ],
)
def test_words(text: str, kinds: set[Kind]) -> None:
    """What the words of a procedure name."""
    assert kinds_in_words(text) == kinds


class TestProcedure:
    """A Procedure resource."""

    @pytest.mark.parametrize(
        ("code", "kind"),
        [
            ("302497006", Kind.RENAL_REPLACEMENT),
            ("714749008", Kind.RENAL_REPLACEMENT),
            ("36969009", Kind.CORONARY_STENT),
            ("45595009", Kind.GALLBLADDER_SURGERY),
            ("116762002", Kind.TRANSFUSION),
            ("177184002", Kind.BIRTH),
        ],
    )
    def test_codes(self, code: str, kind: Kind) -> None:
        """SNOMED CT codes (714749008 and 116762002 in public value sets, the others from memory)."""
        (procedure,) = done(code=coded(code)).data.procedures
        assert kind in procedure.kinds
        assert procedure.at is not None
        assert procedure.at.isoformat() == AT
        assert not procedure.requested

    def test_a_period_keeps_both_ends(self) -> None:
        """From the start of the operation to its end."""
        period = {"start": "2026-03-01T10:00:00Z", "end": "2026-03-01T12:30:00Z"}
        (procedure,) = done(code={"text": "Laparotomy"}, performedPeriod=period).data.procedures
        assert procedure.at is not None
        assert procedure.ended is not None
        assert (procedure.ended - procedure.at).total_seconds() == 9000

    def test_an_unknown_procedure_keeps_its_words(self) -> None:
        """It is context even where no rule reads it."""
        (procedure,) = done(code={"text": "Drainage of gall bladder"}).data.procedures
        assert (procedure.text, procedure.kinds) == ("Drainage of gall bladder", frozenset())

    @pytest.mark.parametrize("status", ["completed", "in-progress", "stopped"])
    def test_what_began_counts(self, status: str) -> None:
        """A stopped procedure had begun: contrast was given."""
        assert len(done(code={"text": "Haemodialysis"}, status=status).data.procedures) == 1

    @pytest.mark.parametrize("status", ["preparation", "not-done", "on-hold", "entered-in-error", "unknown"])
    def test_what_did_not_begin_is_said(self, status: str) -> None:
        """Every other status."""
        taken = done(code={"text": "Haemodialysis"}, status=status)
        assert taken.data.procedures == []
        assert [(i.key, i.severity) for i in taken.issues] == [(IssueKey.NOT_FINAL, Severity.INFORMATION)]

    def test_contrast_in_preparation_is_a_request(self) -> None:
        """That is when the medicines can still be checked."""
        (procedure,) = done(code={"text": "CT with contrast"}, status="preparation").data.procedures
        assert procedure.requested

    def test_an_unknown_status_is_an_error(self) -> None:
        """Not a status of a Procedure."""
        assert done(code={"text": "Haemodialysis"}, status="finished").keys == [IssueKey.WRONG_TYPE]

    def test_a_procedure_without_a_time_is_said(self) -> None:
        """A rule cannot tell how recent it is."""
        taken = done(code={"text": "Haemodialysis"}, performedDateTime=None)
        assert taken.keys == [IssueKey.NO_TIME]

    def test_a_procedure_that_names_nothing_is_said(self) -> None:
        """No code, no text."""
        assert done().keys == [IssueKey.MISSING_ELEMENT]


class TestAllergy:
    """Allergies are shown as context."""

    @pytest.mark.parametrize(
        ("more", "texts"),
        [
            ({"code": {"text": "Penicillin"}}, ["Penicillin"]),
            ({"code": {"coding": [{"display": "Latex"}]}}, ["Latex"]),
            (
                {"code": {"text": "Penicillin"}, "clinicalStatus": {"coding": [{"code": "active"}]}},
                ["Penicillin"],
            ),
            ({"code": {"text": "Penicillin"}, "verificationStatus": {"coding": [{"code": "refuted"}]}}, []),
            (
                {
                    "code": {"text": "Penicillin"},
                    "verificationStatus": {"coding": [{"code": "entered-in-error"}]},
                },
                [],
            ),
            ({"code": {"text": "Penicillin"}, "clinicalStatus": {"coding": [{"code": "resolved"}]}}, []),
            ({"code": {"text": "Penicillin"}, "clinicalStatus": {"coding": [{"code": "inactive"}]}}, []),
            ({}, []),
        ],
    )
    def test_statuses(self, more: dict[str, Any], texts: list[str]) -> None:
        """What is left out is said."""
        taken = take(read_allergy, r4.AllergyIntolerance, more)
        assert [allergy.text for allergy in taken.data.allergies] == texts
        assert bool(taken.issues) is not bool(texts)

    @pytest.mark.parametrize(
        ("text", "category", "said"),
        [
            ("Zorptide", ["medication"], True),
            ("Zorptide", ["food"], False),
            ("Penicillin", ["medication"], False),
            ("Paracetamol", ["medication"], False),
            ("No known drug allergies", ["medication"], False),
        ],
    )
    def test_a_medicine_that_nobody_knows(self, text: str, category: list[str], said: bool) -> None:
        """It is compared by its words alone, and that is said."""
        taken = take(read_allergy, r4.AllergyIntolerance, {"code": {"text": text}, "category": category})
        assert (taken.keys == [IssueKey.MEDICINE_NOT_RECOGNISED]) is said
