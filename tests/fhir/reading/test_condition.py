"""Conditions by code, by words and by status.

ICD-10 titles: WHO 2019 edition and ICD-10-CM, as printed; the statuses are those of
FHIR R4 condition-clinical and condition-ver-status.
"""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.fhir.reading.taken import PATIENT, Taken, coded, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey, Severity
from weatherglass.fhir.reading.problems.condition import read_condition
from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.knowledge import data_files
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.problems import ConditionKind as Kind
from weatherglass.terminology import problems
from weatherglass.terminology.problems import ICD_10, ICD_10_CM


def recorded(**more: Any) -> Taken:
    """Take in one Condition."""
    return take(read_condition, r4.Condition, more)


def kinds_of(code: dict[str, Any]) -> frozenset[Kind]:
    """What a code means."""
    (condition,) = recorded(code=code).data.conditions
    return condition.kinds


class TestCodes:
    """Codes decide before words."""

    @pytest.mark.parametrize(
        ("code", "system", "kinds"),
        [
            pytest.param("J44.9", ICD_10, {Kind.COPD}, id="copd"),
            pytest.param("J441", ICD_10_CM, {Kind.COPD}, id="without-the-dot"),
            pytest.param("J96.02", ICD_10_CM, {Kind.HYPERCAPNIA}, id="cm-acute-with-hypercapnia"),
            pytest.param("J96.01", ICD_10, {Kind.HYPERCAPNIA}, id="who-type-2"),
            pytest.param("J96.01", ICD_10_CM, set(), id="cm-with-hypoxia-is-not-hypercapnia"),
            pytest.param("J96.00", ICD_10, set(), id="who-type-1"),
            pytest.param("N18.3", ICD_10, {Kind.CHRONIC_KIDNEY_DISEASE}, id="ckd"),
            pytest.param("N17.9", ICD_10, set(), id="acute-kidney-failure-is-not-ckd"),
            pytest.param("Z99.2", ICD_10, {Kind.DIALYSIS}, id="dialysis"),
            pytest.param(
                "I21.4", ICD_10, {Kind.ISCHAEMIC_HEART_DISEASE, Kind.ACUTE_CORONARY_SYNDROME}, id="mi"
            ),
            pytest.param("I25.2", ICD_10, {Kind.ISCHAEMIC_HEART_DISEASE}, id="old-mi-is-not-acute"),
            pytest.param("G45.4", ICD_10, set(), id="transient-global-amnesia-is-no-tia"),
            pytest.param("E10.9", ICD_10, {Kind.DIABETES, Kind.DIABETES_TYPE_1}, id="type-1"),
            pytest.param("K76.0", ICD_10, set(), id="fatty-liver"),
            pytest.param("I85.00", ICD_10_CM, {Kind.LIVER_DISEASE}, id="cm-varices-without-bleeding"),
            pytest.param(
                "I85.0", ICD_10, {Kind.LIVER_DISEASE, Kind.MELAENA, Kind.BLEEDING}, id="who-varices"
            ),
            pytest.param("O67.0", ICD_10, {Kind.BLEEDING, Kind.PREGNANCY}, id="haemorrhage-in-labour"),
            pytest.param("O68.0", ICD_10, {Kind.PREGNANCY}, id="another-trouble-of-labour"),
            pytest.param("A41.9", ICD_10, {Kind.SEPSIS, Kind.INFECTION}, id="sepsis"),
            pytest.param("R65.1", ICD_10, {Kind.SEPSIS, Kind.INFECTION}, id="who-severe-sepsis"),
            pytest.param("R65.10", ICD_10_CM, set(), id="cm-sirs-without-infection"),
            pytest.param("B20", ICD_10, set(), id="hiv-is-no-acute-infection"),
            pytest.param("C34.1", ICD_10, {Kind.CANCER}, id="lung-cancer"),
            pytest.param("C44.3", ICD_10, set(), id="skin-cancer"),
            pytest.param("O00.1", ICD_10, {Kind.PREGNANCY, Kind.ECTOPIC_PREGNANCY}, id="ectopic"),
            pytest.param("O14.1", ICD_10, {Kind.PREGNANCY, Kind.PREECLAMPSIA}, id="pre-eclampsia"),
            pytest.param("O80", ICD_10, {Kind.POSTPARTUM}, id="delivery"),
            pytest.param("F01.9", ICD_10, {Kind.DEMENTIA}, id="dementia-is-not-usual-confusion"),
            pytest.param("F11.21", ICD_10_CM, set(), id="opioids-in-remission"),
            pytest.param("COPD", ICD_10, set(), id="not-a-code-of-the-system"),
            pytest.param(
                "J44.9", "http://hl7.org/fhir/sid/icd-10-de", {Kind.COPD}, id="another-national-edition"
            ),
            pytest.param("J44.9", "urn:somewhere", set(), id="an-unknown-system"),
            pytest.param("13645005", "http://snomed.info/sct", {Kind.COPD}, id="snomed-copd"),
            pytest.param(
                "433144002", "http://snomed.info/sct", {Kind.CHRONIC_KIDNEY_DISEASE}, id="snomed-ckd-3"
            ),
        ],
    )
    def test_a_code_means_what_its_title_says(self, code: str, system: str, kinds: set[Kind]) -> None:
        """Both editions, the exceptions, and the codes that only look right."""
        assert kinds_of(coded(code, system, text="-")) == kinds

    def test_two_codings_of_one_problem_are_joined(self) -> None:
        """Each adds what it says."""
        both = {"coding": [{"system": ICD_10, "code": "I50.0"}, {"system": ICD_10, "code": "I48.0"}]}
        assert kinds_of(both) == {Kind.HEART_FAILURE, Kind.ATRIAL_FIBRILLATION}

    def test_words_are_read_when_no_code_is_known(self) -> None:
        """An unlisted code falls back to its text, a listed exception does not."""
        assert kinds_of(coded("93880001", text="Primary malignant neoplasm of lung")) == {Kind.CANCER}
        assert kinds_of(coded("C44.3", ICD_10, text="Malignant neoplasm of skin")) == frozenset()

    def test_lung_disease_makes_no_decision(self) -> None:
        """A COPD Condition alone never sets a scale (RCP 2017)."""
        taken = recorded(code=coded("13645005", text="COPD"))
        assert [d for d in taken.data.directives if d.kind is DirectiveKind.SPO2_SCALE] == []
        assert taken.data.directives == []


class TestWords:
    """Problems in plain words."""

    @pytest.mark.parametrize(
        ("text", "kinds"),
        [
            ("COPD", {Kind.COPD}),
            ("Tingling around the mouth", {Kind.LOW_CALCIUM_SIGNS}),
            ("Perioral paraesthesia", {Kind.LOW_CALCIUM_SIGNS}),
            ("Carpopedal spasm", {Kind.LOW_CALCIUM_SIGNS}),
            ("Numbness of the left arm", set()),
            ("Type 2 respiratory failure", {Kind.HYPERCAPNIA}),
            ("Type 1 respiratory failure", set()),
            ("Type 2 diabetes mellitus without complication", {Kind.DIABETES, Kind.DIABETES_TYPE_2}),
            ("Type 1 diabetes", {Kind.DIABETES, Kind.DIABETES_TYPE_1}),
            ("Non-insulin dependent diabetes", {Kind.DIABETES}),
            ("Diabetes insipidus", {Kind.DIABETES_INSIPIDUS}),
            ("High blood pressure", {Kind.HYPERTENSION}),
            ("Pulmonary hypertension", {Kind.STRAINED_HEART}),
            ("Malignant hypertension", {Kind.HYPERTENSION}),
            ("Acute kidney injury", set()),
            ("Mechanical aortic valve", {Kind.MECHANICAL_VALVE, Kind.STRAINED_HEART}),
            ("Bioprosthetic aortic valve", set()),
            (
                "Non-ST elevation myocardial infarction",
                {Kind.ACUTE_CORONARY_SYNDROME, Kind.ISCHAEMIC_HEART_DISEASE},
            ),
            ("Bleeding disorder", set()),
            ("Upper GI bleed", {Kind.BLEEDING, Kind.MELAENA}),
            ("Vomiting fresh blood", {Kind.BLEEDING, Kind.MELAENA, Kind.VOMITING_OR_DIARRHOEA}),
            ("Coffee-ground vomit", {Kind.BLEEDING, Kind.MELAENA}),
            ("Black, tarry stools", {Kind.BLEEDING, Kind.MELAENA}),
            ("Vomiting blood glucose 21", {Kind.VOMITING_OR_DIARRHOEA}),
            ("Parkinson\u2019s disease", {Kind.PARKINSONS}),
            ("Dementia", {Kind.DEMENTIA}),
            ("Long-standing confusion", {Kind.CHRONIC_CONFUSION}),
            ("Influenza vaccination", set()),
            ("Pneumonia, organism not specified", {Kind.INFECTION, Kind.PNEUMONIA}),
            (
                "Hepatic encephalopathy",
                {Kind.LIVER_DISEASE, Kind.ENCEPHALOPATHY, Kind.HEPATIC_ENCEPHALOPATHY},
            ),
            ("Poor oral intake for a week", {Kind.MALNUTRITION}),
        ],
    )
    def test_are_read(self, text: str, kinds: set[Kind]) -> None:
        """The kinds that the words name."""
        assert kinds_in_words(text).kinds == kinds

    @pytest.mark.parametrize(
        "text",
        [
            "No history of COPD",
            "No history of COPD, diabetes or stroke",
            "Family history of breast cancer",
            "FH: stroke",
            "Mother had type 2 diabetes",
            "Infant of diabetic mother",
            "Baby of a mother with epilepsy",
            "Pulmonary embolism ruled out",
            "Rule out pulmonary embolism",
            "Negative for COVID-19",
            "Pneumonia unlikely",
            "Not pregnant",
            "At risk of venous thromboembolism",
            "Screening for malignant neoplasm of colon",
            "Without heart failure",
        ],
    )
    def test_denials_and_other_people_do_not_count(self, text: str) -> None:
        """Nothing is read, and the issue says that a part was set aside."""
        taken = recorded(code={"text": text})
        (condition,) = taken.data.conditions
        assert condition.kinds == frozenset()
        assert taken.keys == [IssueKey.VALUE_NOT_USABLE]

    def test_a_denial_ends_with_its_sentence(self) -> None:
        """What follows it counts again."""
        words = kinds_in_words("No history of COPD. Heart failure")
        assert words.kinds == {Kind.HEART_FAILURE}
        assert words.set_aside
        assert kinds_in_words("No fever but pneumonia").kinds == {Kind.INFECTION, Kind.PNEUMONIA}

    @pytest.mark.parametrize(
        "text", ["Query pneumonia", "?pneumonia", "Possible pneumonia", "Suspected pneumonia"]
    )
    def test_a_question_is_kept_unconfirmed(self, text: str) -> None:
        """A differential diagnosis is shown, not acted on."""
        (condition,) = recorded(code={"text": text}).data.conditions
        assert condition.kinds == {Kind.INFECTION, Kind.PNEUMONIA}
        assert not condition.confirmed

    @pytest.mark.parametrize(
        ("text", "active"),
        [("History of stroke", True), ("History of pneumonia", False), ("Previous DVT", False)],
    )
    def test_what_lasts_stays_and_what_passed_is_past(self, text: str, active: bool) -> None:
        """A stroke keeps counting, an infection of the past does not."""
        (condition,) = recorded(code={"text": text}).data.conditions
        assert condition.active is active

    @given(st.text(max_size=200))
    def test_no_text_breaks_the_reader(self, text: str) -> None:
        """Any text is read or left alone."""
        assert kinds_in_words(text).kinds <= frozenset(Kind)


class TestUsualLowPressure:
    """Low pressure that is this person's usual state."""

    @pytest.mark.parametrize(
        "more",
        [
            {"code": {"text": "Long-standing low blood pressure"}},
            {"code": coded("45007003"), "note": [{"text": "Long-standing, without symptoms."}]},
            {"code": {"text": "Chronic hypotension"}},
        ],
    )
    def test_the_words_say_so(self, more: dict[str, Any]) -> None:
        """In the problem or in its note."""
        (condition,) = recorded(**more).data.conditions
        assert Kind.LOW_PRESSURE_IS_USUAL in condition.kinds

    @pytest.mark.parametrize(
        "more",
        [
            {"code": coded("45007003", text="Low blood pressure")},
            {"code": {"text": "Hypotension after surgery"}},
            {"code": coded("45007003", text="Low BP"), "note": [{"text": "Not long-standing."}]},
            {"code": {"text": "Asthma"}, "note": [{"text": "Usual inhaler."}]},
        ],
    )
    def test_a_diagnosis_alone_does_not(self, more: dict[str, Any]) -> None:
        """New low pressure must not be explained away."""
        (condition,) = recorded(**{"code": {"text": "-"}, **more}).data.conditions
        assert Kind.LOW_PRESSURE_IS_USUAL not in condition.kinds


def status(code: str) -> dict[str, Any]:
    """A status as FHIR sends it."""
    return {"coding": [{"code": code}]}


class TestStatus:
    """Every clinical and verification status."""

    @pytest.mark.parametrize(
        ("clinical", "active"),
        [
            ("active", True),
            ("recurrence", True),
            ("relapse", True),
            ("inactive", False),
            ("remission", False),
            ("resolved", False),
        ],
    )
    def test_clinical_status(self, clinical: str, active: bool) -> None:
        """Inactive ones are kept as past."""
        taken = recorded(code={"text": "Heart failure"}, clinicalStatus=status(clinical))
        (condition,) = taken.data.conditions
        assert condition.active is active
        assert taken.issues == []

    def test_an_abatement_ends_it(self) -> None:
        """Even when the status was forgotten."""
        (condition,) = recorded(code={"text": "Sepsis"}, abatementDateTime="2026-01-01").data.conditions
        assert not condition.active

    @pytest.mark.parametrize(
        ("verification", "confirmed"),
        [("confirmed", True), ("unconfirmed", False), ("provisional", False), ("differential", False)],
    )
    def test_verification_status(self, verification: str, confirmed: bool) -> None:
        """Unconfirmed ones are kept as such."""
        taken = recorded(code={"text": "Sepsis"}, verificationStatus=status(verification))
        (condition,) = taken.data.conditions
        assert condition.confirmed is confirmed

    @pytest.mark.parametrize("verification", ["refuted", "entered-in-error"])
    def test_refuted_and_wrong_ones_are_left_out(self, verification: str) -> None:
        """With an information that names the place."""
        taken = recorded(code={"text": "Sepsis"}, verificationStatus=status(verification))
        assert taken.data.conditions == []
        (issue,) = taken.issues
        assert (issue.key, issue.severity) == (IssueKey.NOT_FINAL, Severity.INFORMATION)
        assert issue.path == "Bundle.entry[0].resource.verificationStatus"

    def test_an_unknown_verification_is_a_reservation(self) -> None:
        """Kept unconfirmed, with a warning."""
        taken = recorded(code={"text": "Sepsis"}, verificationStatus=status("perhaps"))
        assert [c.confirmed for c in taken.data.conditions] == [False]
        assert taken.keys == [IssueKey.VALUE_UNKNOWN]

    def test_a_condition_that_names_nothing_is_said(self) -> None:
        """No code, no text."""
        taken = recorded()
        assert taken.data.conditions == []
        assert taken.keys == [IssueKey.MISSING_ELEMENT]

    def test_a_condition_of_nobody_is_said(self) -> None:
        """Nothing is guessed about whose it is."""
        taken = recorded(code={"text": "Sepsis"}, subject=None)
        assert taken.keys == [IssueKey.NO_PATIENT]

    def test_onset_and_origin(self) -> None:
        """When it began, where it came from, whose it is."""
        taken = recorded(
            code={"text": "Heart failure"}, onsetDateTime="2026-01-05", recordedDate="2026-02-01"
        )
        (condition,) = taken.data.conditions
        assert condition.began is not None
        assert condition.began.date().isoformat() == "2026-01-05"
        assert condition.origin == "Condition/0"
        assert taken.data.key == PATIENT


@pytest.mark.parametrize(
    ("onset", "began", "began_by"),
    [
        ("2021-06", None, "2021-06-30T23:59:59+00:00"),
        ("2024-02", None, "2024-02-29T23:59:59+00:00"),
        ("2021-12", None, "2021-12-31T23:59:59+00:00"),
        ("2021", None, "2021-12-31T23:59:59+00:00"),
        ("9999", None, None),
        ("9999-12", None, None),
        ("2021-06-03", "2021-06-03T00:00:00+00:00", None),
    ],
)
def test_month_or_year_of_onset(onset: str, began: str | None, began_by: str | None) -> None:
    """A month or a year is no time, and still says by when a problem had begun."""
    resource = {"code": {"text": "Stroke"}, "onsetDateTime": onset}
    (found,) = take(read_condition, r4.Condition, resource).data.conditions
    assert (found.began and found.began.isoformat()) == began
    assert (found.began_by and found.began_by.isoformat()) == began_by


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("ICD-10,J44,asthma,,", "J44 stands twice"),
        ("ICD-10,Q89,no-such-kind,,", "no-such-kind"),
        ("ICD-9,Q89,asthma,,", "ICD-9"),
    ],
)
def test_a_mistyped_row_is_refused(
    row: str, why: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A code of two meanings would have one of them by the order of the rows alone."""
    table = (Path(data_files.__file__).parent / "problem-codes.csv").read_text("utf-8")
    (tmp_path / "problem-codes.csv").write_text(f"{table}{row}\n", "utf-8")
    monkeypatch.setattr(data_files, "_text_of", lambda name: (tmp_path / name).read_text("utf-8"))
    with pytest.raises(data_files.TableError, match=why):
        problems.read_table()


@pytest.mark.parametrize(
    ("words", "kinds"),
    [
        ("Advance decision to refuse dialysis", set()),
        ("Refused dialysis", set()),
        ("Declined chemotherapy", set()),
        ("Haemodialysis; refuses blood", {Kind.DIALYSIS}),
        ("Refuses food; heart failure", {Kind.HEART_FAILURE}),
    ],
)
def test_what_is_refused_is_not_what_the_patient_has(words: str, kinds: set[Kind]) -> None:
    """Ours: "Dialysis needed now? Advance decision to refuse dialysis" was said of a potassium of 6.7."""
    assert kinds_in_words(words).kinds == kinds
