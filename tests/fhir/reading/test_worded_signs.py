"""Signs of danger that come in words, under no code that is read. The words are our choice.

A rash that does not blanch is a high-risk sign of NICE NG51 (2016) and of NG255 in pregnancy.
"""

import pytest

from tests.records import AT, Json, answer_of, earlier, full_set, observation, patient, problem, quantity
from weatherglass.fhir.reading.observations.worded.danger_words import (
    danger_in_a_remark,
    doubt_in_a_remark,
    may_be_danger,
)
from weatherglass.fhir.reading.observations.worded.worded_signs import skin_in_a_note, without_skin
from weatherglass.model.findings import Kind, ScoreFinding, Urgency
from weatherglass.model.signals import CodedSignal, Skin
from weatherglass.pipeline import Answer

CHILD = patient("2024-01-01")
FEVER = observation("t", "8310-5", at=AT, valueQuantity=quantity("39.4", "Cel"))


def _said(name: str, **value: object) -> Json:
    return {
        "resourceType": "Observation",
        "id": "said",
        "status": "final",
        "subject": {"reference": "Patient/p"},
        "code": {"text": name},
        "effectiveDateTime": AT,
        **value,
    }


def _review(*said: Json) -> Answer:
    return answer_of(CHILD, FEVER, *said)


@pytest.mark.parametrize(
    "said",
    [
        _said("Non-blanching rash", valueString="Present on legs, spreading"),
        _said("Non-blanching rash", valueBoolean=True),
        _said("Petechial rash", valueCodeableConcept={"text": "Yes"}),
        _said("Rash", valueString="Purpuric"),
        _said("Skin", valueString="Mottled and cool"),
    ],
)
def test_skin_that_calls_is_read_in_words(said: Json) -> None:
    (review,) = _review(said).reviews
    assert review.urgency >= Urgency.URGENT
    assert CodedSignal.SKIN.value.replace("-", " ") in review.headline


@pytest.mark.parametrize(
    ("said", "effort"),
    [
        (_said("Grunting", valueString="Present"), "severe"),
        (_said("Grunting", valueBoolean=True), "severe"),
        (_said("Respiratory effort", valueString="Grunting"), "severe"),
        (_said("Work of breathing", valueCodeableConcept={"text": "Moderately increased"}), "moderate"),
        (_said("Work of breathing", valueString="Normal"), "normal"),
        (_said("Grunting", valueString="Absent"), "not known"),
        (_said("Grunting", valueBoolean=False), "not known"),
        (_said("Respiratory effort", valueString="see notes"), "not known"),
    ],
)
def test_how_hard_a_child_breathes_is_read_by_its_name(said: Json, effort: str) -> None:
    """NICE NG51 (2016), under 12: grunting is high risk; it stands as severe effort of breathing (ours)."""
    (review,) = _review(said).reviews
    scores = (one for one in review.findings if isinstance(one, ScoreFinding) and one.key == "bedside-pews")
    parts = {part.key: part for score in scores for part in score.parts}
    read = parts.get("respiratory-effort")
    assert (read.short if read is not None and read.points is not None else "not known") == effort
    assert ("effort of breathing" in review.headline) is (effort == "severe")


@pytest.mark.parametrize(
    "said",
    [
        _said("Non-blanching rash", valueBoolean=False),
        _said("Non-blanching rash", valueString="No"),
        _said("Non-blanching rash", valueString="Not seen"),
        _said("Rash", valueString="None, no petechiae"),
        _said("Skin", valueString="Pink, warm, not mottled"),
        _said("Past history", valueString="Purpura as a baby"),
    ],
)
def test_what_is_denied_or_past_changes_nothing(said: Json) -> None:
    (without,), (review,) = _review().reviews, _review(said).reviews
    assert (review.urgency, review.headline) == (without.urgency, without.headline)


@pytest.mark.parametrize(
    "said",
    [
        _said("Apnoea", valueString="Yes, 20 seconds"),
        _said("Silent chest", valueString="Present"),
        _said("Deep tendon reflexes", valueString="Absent"),
        _said("Fetal movements", valueString="Reduced"),
        _said("Non-blanching rash", valueString="possible?"),
    ],
)
def test_other_danger_is_shown_as_not_read(said: Json) -> None:
    (review,) = _review(said).reviews
    assert f"{said['code']['text']} {said['valueString']}" in " ".join((review.headline, *review.left_out))


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Apnoea", "None"),
        ("Apnoea", "None seen"),
        ("Deep tendon reflexes", "Present"),
        ("Fetal movements", "Normal"),
        ("Smoking status", "Never"),
        ("Rash", "No rash"),
        ("Rash", ""),
    ],
)
def test_what_is_well_stays_quiet(name: str, shown: str) -> None:
    assert not may_be_danger(name, shown)


def _well(*said: Json) -> Answer:
    return answer_of(patient(), *full_set(), *said)


@pytest.mark.parametrize(
    "words",
    [
        "More drowsy than usual per carers",
        "Slept well. No pain, but looks grey and clammy",
        "Patient increasingly SOB",
        "Not himself today, not eating",
        "No concerns overnight. Now vomiting fresh blood",
        "Staff worried",
        "Reports new weakness of left arm since lunch",
        "Legs weaker, has not passed urine since yesterday",
        "Can only say two words, chest quieter",
        "Neck feels tight, drain empty, voice hoarse, noisy breathing when lying flat",
    ],
)
def test_a_worry_in_somebodys_words_is_no_calm(words: str) -> None:
    """What nurses worry about: Douw 2015, from memory; the words are our choice."""
    (one,) = _well(_said("Nursing comment", valueString=words)).reviews
    assert "Nothing urgent found" not in one.headline
    assert f"Nursing comment: {words}" in one.headline
    assert any(f"Nursing comment: {words}" in said for said in one.handover.spoken)


@pytest.mark.parametrize(
    "words",
    [
        "Slept well, no concerns. Not drowsy",
        "Denies chest pain, SOB or palpitations",
        "Vomiting settled, eating and drinking",
        "Call the doctor if drowsy or breathless",
        "Less confused than yesterday",
        "Sats probe on ear",
    ],
)
def test_a_remark_without_a_worry_stands_beside_the_calm(words: str) -> None:
    (one,) = _well(_said("Nursing comment", valueString=words)).reviews
    assert "Nothing urgent found" in one.headline
    assert not one.handover.spoken


def test_a_later_remark_takes_nothing_back_and_a_later_answer_does() -> None:
    worried = _said("Nursing comment", valueString="Looks grey and clammy", effectiveDateTime=earlier("1 h"))
    (one,) = _well(worried, _said("Nursing comment", valueString="Family updated")).reviews
    assert "Looks grey and clammy" in one.headline
    rash = _said("Rash", valueString="Present", effectiveDateTime=earlier("1 h"))
    (one,) = _well(rash, _said("Rash", valueString="None")).reviews
    assert "Nothing urgent found" in one.headline


def test_of_a_long_remark_the_worry_is_shown() -> None:
    words = f"{'Washed and turned, skin intact. ' * 12}Seems muddled and hard to rouse. Will watch."
    (one,) = _well(_said("Progress note", valueString=words)).reviews
    assert "Progress note: Seems muddled and hard to rouse" in one.headline


def test_a_note_beside_a_number_is_shown_where_it_names_danger() -> None:
    pulse = _said("Heart rate", valueQuantity=quantity("72", "/min"), note=[{"text": "Clammy, looks unwell"}])
    pulse["code"] = {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]}
    (one,) = _well(pulse).reviews
    assert "Note on pulse: Clammy, looks unwell" in one.headline
    pulse["note"] = [{"text": "drowsy earlier, now bright"}]
    (one,) = _well(pulse).reviews
    assert "Note on pulse: drowsy earlier, now bright" in one.headline
    pulse["note"] = [{"text": "Taken at the wrist"}]
    (one,) = _well(pulse).reviews
    assert "Nothing urgent found" in one.headline


def test_beside_a_call_the_words_are_told() -> None:
    """A fall on an anticoagulant and "more drowsy" in a comment: the caller says both."""
    said = _said("Nursing comment", valueString="More drowsy than usual")
    (one,) = _well(said, observation("k", "2823-3", valueQuantity=quantity("6.7", "mmol/L"))).reviews
    assert any("More drowsy than usual" in line for line in one.handover.spoken)
    assert any("More drowsy than usual" in line for line in one.left_out)


def test_of_the_dying_too_what_hurts_is_said() -> None:
    comfort = {**problem("Comfort care only"), "recordedDate": earlier("2 h")}
    said = _said("Nursing comment", valueString="Looks uncomfortable, family distressed")
    (one,) = _well(comfort, said).reviews
    assert one.closed
    assert "Looks uncomfortable, family distressed" in one.headline


def test_a_pressure_in_words_on_its_panel_is_named() -> None:
    """Common practice, no source: "92/50" is how it is written, and is no number here."""
    worded = observation("bp", "85354-9", at=AT, valueString="92/50")
    (review,) = _review(worded).reviews
    assert any("blood pressure 92/50" in each for each in review.left_out)
    (review,) = _review(observation("bp", "85354-9", at=AT)).reviews
    assert not any("blood pressure" in each for each in review.left_out)


_MOTHER = (
    patient("1996-01-01"),
    {**problem("Normal delivery"), "recordedDate": "2026-03-01T04:00:00Z"},
    observation("hr", "8867-4", at=AT, valueQuantity=quantity("118", "/min")),
    observation("bp", "8480-6", at=AT, valueQuantity=quantity("104", "mm[Hg]")),
)


def _loss(name: str, number: str, unit: str) -> Urgency:
    (review,) = answer_of(*_MOTHER, _said(name, valueQuantity=quantity(number, unit))).reviews
    return review.urgency


class TestBloodLoss:
    """After a birth 500 mL or more is a haemorrhage: RCOG Green-top Guideline 52. A gram is a millilitre.

    Recorded bleeding in a mother with a shock index of 1.0 is an emergency: our choice. Here 118 over 104.
    """

    @pytest.mark.parametrize(
        ("name", "number", "unit"),
        [
            ("Estimated blood loss", "1000", "mL"),
            ("Measured blood loss", "1.2", "L"),
            ("EBL", "1500", "ml"),
            ("Estimated blood loss", "500", "mL"),
            ("Measured blood loss", "1500", "g"),
        ],
    )
    def test_half_a_litre_or_more_is_bleeding(self, name: str, number: str, unit: str) -> None:
        assert _loss(name, number, unit) is Urgency.EMERGENCY

    @pytest.mark.parametrize(
        ("name", "number", "unit"),
        [
            ("Estimated blood loss", "499", "mL"),
            ("Estimated blood loss", "400", "mL"),
            ("Previous blood loss", "1500", "mL"),
            ("Allowable blood loss", "1500", "mL"),
            ("Fluid loss", "1500", "mL"),
        ],
    )
    def test_less_is_no_bleeding_and_is_shown(self, name: str, number: str, unit: str) -> None:
        assert _loss(name, number, unit) < Urgency.EMERGENCY

    def test_it_is_said_in_its_words(self) -> None:
        (review,) = answer_of(
            *_MOTHER, _said("Estimated blood loss", valueQuantity=quantity("1500", "mL"))
        ).reviews
        assert "blood loss 1500 mL" in review.headline
        assert "not read" not in review.headline


@pytest.mark.parametrize(
    ("name", "shown", "is_danger"),
    [
        ("Air entry", "Silent chest", True),
        ("Vomit", "Bilious, large", True),
        ("Vomit", "Non-bilious", False),
        ("Tone", "Floppy", True),
        ("Feeding", "Not feeding", True),
        ("Feeding", "Feeding well, no apnoea", False),
        ("Jitteriness", "Present", True),
        ("Jitteriness", "None", False),
        ("Speech", "Unable to speak", True),
        ("Air entry", "Good both sides", False),
        ("Chest film", "Right pneumothorax", True),
        ("Chest film", "No pneumothorax", False),
        ("Past medical history", "Pneumothorax 2010", False),
        ("Blood culture", "Gram negative rods", True),
        ("Blood culture", "No growth", False),
        ("Abdomen", "Rigid with guarding", True),
        ("Pupils", "Left 5 mm fixed", True),
        ("Pupils", "Equal and reactive", False),
        ("Denture", "Fixed", False),
        ("Telemetry", "Run of ventricular tachycardia, 12 beats", True),
        ("Abdominal film", "Free gas", True),
        ("Abdominal film", "No free gas", False),
        ("ECG report", "Peaked T waves and broad QRS", True),
        ("ECG report", "Sinus rhythm, no ST elevation or heart block", False),
    ],
)
def test_an_answer_may_say_it_whatever_was_asked(name: str, shown: str, *, is_danger: bool) -> None:
    assert may_be_danger(name, shown) is is_danger


class TestNotes:
    """What stands beside a value: ours."""

    @pytest.mark.parametrize(
        ("note", "skin"),
        [
            ("Mottled to knees, cap refill 5 s", Skin.MOTTLED),
            ("Non-blanching rash on legs", Skin.NON_BLANCHING_RASH),
            ("Looks well. Not mottled", None),
            ("?mottled", None),
            ("Mottled earlier, resolved", None),
            ("Peripheral cyanosis", None),
            ("Left foot mottled and cold", None),
            ("Mottled as usual, livedo", None),
        ],
    )
    def test_the_skin_is_read(self, note: str, skin: Skin | None) -> None:
        assert skin_in_a_note([note]) is skin

    def test_the_rest_is_kept(self) -> None:
        assert without_skin("Mottled to knees, cap refill 5 s") == "cap refill 5 s"

    @pytest.mark.parametrize(
        ("note", "shown"),
        [
            ("Drowsy, hard to rouse", "Drowsy, hard to rouse"),
            ("Patient fitting when taken", "Patient fitting when taken"),
            ("Sample 9 hours old on arrival, please repeat", "Sample 9 hours old on arrival, please repeat"),
            ("Chest tightness, clammy", "Chest tightness, clammy"),
            ("Chest pain 8/10", "Chest pain 8/10"),
            ("Chest pain free", ""),
            ("Chest pain 0/10", ""),
            ("Good trace", ""),
            ("Well-fitting mask", ""),
        ],
    )
    def test_danger_and_doubt(self, note: str, shown: str) -> None:
        assert (danger_in_a_remark(note) or doubt_in_a_remark(note)) == shown


@pytest.mark.parametrize(
    ("words", "is_asked"),
    [
        ("Pathological. Bradycardia 80 for 5 minutes", True),
        ("Fetal heart down to 70", True),
        ("Normal, baseline 140", False),
        ("No bradycardia", False),
        ("Decelerations for 90 s", False),
    ],
)
def test_a_slow_fetal_heart_in_words(words: str, is_asked: bool) -> None:
    """Below 100 as a number (NICE NG229, from memory); it was routine, and named under the results alone."""
    mother = (patient("1996-01-01", gender="female"), *full_set(), problem("Pregnancy, 39 weeks"))
    (one,) = answer_of(*mother, _said("CTG", valueString=words)).reviews
    found = [f for f in one.findings if f.key == "slow-fetal-heart"]
    assert bool(found) is is_asked


@pytest.mark.parametrize(
    ("told", "is_asked"), [("Twin pregnancy, 36 weeks", True), ("Pregnancy, 36 weeks", False)]
)
def test_a_later_twins_heart_hides_no_slow_one(told: str, is_asked: bool) -> None:
    """Whose the second number is nobody can tell; of a single baby the newest counts (ours)."""
    slow = observation("f", "55283-6", at=earlier("20 min"), valueQuantity=quantity("72", "/min"))
    quick = observation("g", "55283-6", at=earlier("10 min"), valueQuantity=quantity("148", "/min"))
    mother = (patient("1996-01-01", gender="female"), *full_set(), problem(told))
    (one,) = answer_of(*mother, slow, quick).reviews
    assert any(f.key == "slow-fetal-heart" for f in one.findings) is is_asked


@pytest.mark.parametrize(
    ("code", "words", "key"),
    [
        ("2823-3", "6.9 mmol/L", "potassium-high"),
        ("751-8", "< 0.1 10*9/L", "neutrophils-low"),
        ("32016-8", "HI", "glucose-high"),
        ("32016-8", "LO", "glucose-low"),
        ("2823-3", "6.9", ""),
        ("2823-3", "6.9 haemolysed", ""),
        ("2823-3", "4 to 6.9 mmol/L", ""),
        ("2823-3", "HI", ""),
    ],
)
def test_a_number_in_words(code: str, words: str, key: str) -> None:
    """With a unit that is known it counts as if it were sent as a quantity; else it is named as not read."""
    sent = observation("w", code, at=AT)
    sent["valueString"] = words
    (one,) = answer_of(patient("1960-01-01"), *full_set(), sent).reviews
    assert {f.key for f in one.findings if f.kind is Kind.CRITICAL_RESULT} == ({key} if key else set())
