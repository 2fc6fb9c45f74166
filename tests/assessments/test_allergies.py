"""Recorded allergies against the drug chart, through the real door.

Expected: which medicines share a class by NICE CG183, NHS Forth Valley (penicillins and
cephalosporins), Strom 2003 (sulfonamides) and section 4.3 of the labels, as each row of
`criteria.allergy_classes` says; the rest is common practice, no source. Urgencies are our choice.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.medicines.wards import injury, order, problem, result, reviewed
from tests.records import AT, Json, asked_for, earlier, given
from weatherglass.batch.ward.ward_row import chart_lines
from weatherglass.knowledge.medicines.allergy_classes import SEVERE_SOURCE
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.review import Review

U, P, R = Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


def allergy(text: str = "", *, reaction: str = "", severity: str = "", **rest: Any) -> Json:
    """Return an AllergyIntolerance in words."""
    found: Json = {
        "resourceType": "AllergyIntolerance",
        "id": f"allergy-{text[:20] or 'coded'}".replace(" ", "-").replace("/", "-"),
        "patient": {"reference": "Patient/p"},
        **({"code": {"text": text}} if text else {}),
        **rest,
    }
    if reaction or severity:
        happened: Json = {"manifestation": [{"text": reaction}]}
        found["reaction"] = [{**happened, **({"severity": severity} if severity else {})}]
    return found


def _review(*resources: Json) -> Review:
    (review,) = reviewed(*resources).reviews
    return review


def found_in(*resources: Json) -> list[MedicineFinding]:
    """Return what was found about allergies."""
    found = [f for f in _review(*resources).findings if f.kind is Kind.ALLERGY]
    return [f for f in found if isinstance(f, MedicineFinding)]


SAME = [
    ("Penicillin", "Co-amoxiclav 1.2 g IV"),
    ("penicillins", "Flucloxacillin 1 g"),
    ("PENICILLIN V", "Piperacillin with tazobactam 4.5 g"),
    ("Penicillin", "Tazocin 4.5 g"),
    ("Amoxicillin", "Pivmecillinam 400 mg"),
    ("Augmentin", "Temocillin 2 g"),
    ("Allergy to penicillin", "Benzylpenicillin 1.2 g"),
    ("beta-lactam antibiotics", "Meropenem 1 g"),
    ("Cefalexin", "Ceftriaxone 2 g"),
    ("NSAIDs", "Ibuprofen 400 mg tablets"),
    ("Aspirin", "Naproxen 500 mg"),
    ("Ibuprofen", "Aspirin 75 mg"),
    ("anti-inflammatories", "Diclofenac 1% gel"),
    ("Sulfonamides", "Co-trimoxazole 960 mg"),
    ("Septrin", "Sulfasalazine 500 mg"),
    ("Peanut", "Arachis oil enema 130 mL"),
    ("sulfa drugs", "Septrin 960 mg"),
    ("Erythromycin", "Clarithromycin 500 mg"),
    ("Ciprofloxacin", "Levofloxacin 500 mg"),
    ("gentamicin", "Tobramycin 80 mg"),
    ("Opiates", "Fentanyl 25 microgram/hour patch"),
    ("morphine", "Oxycodone 5 mg"),
    ("Ramipril", "Lisinopril 10 mg"),
    ("Heparin induced thrombocytopenia", "Enoxaparin 40 mg"),
    ("HIT", "Heparin flush"),
    ("metronidazole", "Metronidazole 400 mg"),
    ("Paracetamol", "Paracetamol 1 g"),
    ("Allergic to paracetamol", "Co-codamol with paracetamol 1 g"),
    ("Paracetamol", "Co-codamol 30/500"),
    ("paracetamol", "Zapain 30 mg/500 mg"),
    ("Doxycycline", "Lymecycline 408 mg"),
    ("lidocaine", "Bupivacaine 0.5%"),
    ("Zorptide", "Zorptide 5 mg tablets"),
]
ASK = [
    ("beta-lactam antibiotics", "Aztreonam 1 g"),
    ("Penicillin", "Ceftriaxone 2 g"),
    ("Penicillin", "Cefalexin 500 mg"),
    ("Penicillin", "Meropenem 1 g"),
    ("Cefuroxime", "Flucloxacillin 1 g"),
    ("NSAID", "Celecoxib 100 mg"),
    ("Clarithromycin", "Tacrolimus 1 mg capsules"),
    ("Ramipril", "Losartan 50 mg"),
    ("Codeine", "Fentanyl 50 microgram"),
    ("Vancomycin", "Teicoplanin 400 mg"),
    ("Phenytoin", "Carbamazepine 200 mg"),
    ("Simvastatin", "Atorvastatin 20 mg"),
    ("Iodine", "Iohexol 300"),
]
SILENT = [
    ("Penicillin", "Clarithromycin 500 mg"),
    ("Penicillin", "Doxycycline 100 mg"),
    ("Penicillamine", "Benzylpenicillin 1.2 g"),
    ("Sulfonamides", "Trimethoprim 200 mg"),
    ("Sulfonamides", "Furosemide 40 mg"),
    ("NSAIDs", "Paracetamol 1 g"),
    ("lidocaine", "Tetracaine 4% gel"),
    ("Heparin", "Fondaparinux 2.5 mg"),
    ("Egg", "Propofol 1% injection"),
    ("Grass pollen", "Prednisolone 5 mg"),
    ("Shellfish", "Iohexol 300"),
    ("No known drug allergies", "Amoxicillin 500 mg"),
    ("NKDA", "Amoxicillin 500 mg"),
    ("No known penicillin allergy", "Amoxicillin 500 mg"),
    ("Penicillin - de-labelled", "Amoxicillin 500 mg"),
    ("Sodium", "Sodium chloride 0.9%"),
]


class TestClasses:
    """Which medicine meets which recorded allergy."""

    @pytest.mark.parametrize(("recorded", "medicine"), SAME)
    def test_the_same_or_the_class(self, recorded: str, medicine: str) -> None:
        """It is said first, with a hold, whatever else is the matter."""
        (found,) = found_in(allergy(recorded, reaction="Rash"), order(medicine))
        assert found.sentence.startswith(f"Recorded allergy: {recorded} (Rash). ")
        assert found.urgency is (U if "thrombocytopenia" in recorded else P)
        assert found.action in ("hold", "review")
        assert medicine in found.sentence

    @pytest.mark.parametrize(("recorded", "medicine"), ASK)
    def test_a_possible_cross_reaction_is_a_question(self, recorded: str, medicine: str) -> None:
        """It asks, and holds nothing."""
        (found,) = found_in(allergy(recorded, reaction="Rash"), order(medicine))
        assert (found.urgency, found.action) == (P, "review")
        assert "Ask before" in found.sentence

    @pytest.mark.parametrize(
        ("reaction", "dose_at", "urgency", "asks"),
        [
            ("Rash", earlier("3 h"), R, "ask how it was borne"),
            ("Anaphylaxis", earlier("3 h"), P, "ask how it was borne"),
            ("Rash", None, P, "Ask before"),
        ],
    )
    def test_a_cross_reaction_of_what_was_given(
        self, reaction: str, dose_at: str | None, urgency: Urgency, asks: str
    ) -> None:
        """Ours: after a dose it is asked how it was borne, and routinely where the allergy was mild."""
        doses = [given("Ceftriaxone 2 g", dose_at)] if dose_at else []
        (found,) = found_in(allergy("Penicillin", reaction=reaction), order("Ceftriaxone 2 g"), *doses)
        assert found.urgency is urgency
        assert asks in found.sentence

    @pytest.mark.parametrize(("recorded", "medicine"), SILENT)
    def test_what_is_not_related(self, recorded: str, medicine: str) -> None:
        """Nothing is said of what shares no class, nor of a record that denies an allergy."""
        assert not found_in(allergy(recorded, reaction="Rash"), order(medicine))

    @pytest.mark.parametrize("code", ["764146007", "373270004", "91936005"])
    def test_a_class_by_its_code_alone(self, code: str) -> None:
        """A SNOMED CT code without words is enough."""
        coded = {"coding": [{"system": "http://snomed.info/sct", "code": code}]}
        (found,) = found_in(allergy(code=coded), order("Amoxicillin 500 mg"))
        assert "penicillin" in found.sentence

    def test_a_substance_by_its_code_alone(self) -> None:
        """The code of one medicine counts for its class: here morphine, and codeine on the chart."""
        coded = {"coding": [{"system": "http://snomed.info/sct", "code": "373529000"}]}
        assert found_in(allergy(code=coded), order("Codeine 30 mg"))

    @pytest.mark.parametrize(
        ("code", "medicine", "is_met"),
        [
            ("J01C", "Flucloxacillin 1 g", True),
            ("J01CA", "Flucloxacillin 1 g", True),
            ("J01", "Flucloxacillin 1 g", False),
            ("M01AE", "Naproxen 500 mg", True),
            ("J01EE", "Co-trimoxazole 960 mg", True),
            ("J01EA", "Sulfasalazine 500 mg", False),
            ("N02A", "Fentanyl 25 microgram/hour patch", True),
        ],
    )
    def test_a_group_by_its_atc_code_alone(self, code: str, medicine: str, is_met: bool) -> None:
        """A group wholly of a class is; a wider one, and trimethoprim among the sulfonamides, are not."""
        coded = {"coding": [{"system": "http://www.whocc.no/atc", "code": code}]}
        assert bool(found_in(allergy(code=coded), order(medicine))) is is_met

    def test_the_substance_of_the_reaction(self) -> None:
        """A record without a code may name the substance beside the reaction."""
        happened = [{"substance": {"text": "Amoxicillin"}, "manifestation": [{"text": "Rash"}]}]
        recorded = {**allergy(), "reaction": happened}
        (found,) = found_in(recorded, order("Ampicillin 500 mg"))
        assert "Amoxicillin (Rash)" in found.sentence


class TestHowBad:
    """Urgencies are our choice; what is severe is by NICE CG183."""

    @pytest.mark.parametrize(
        ("more", "urgency"),
        [
            ({"criticality": "high"}, U),
            ({"criticality": "low"}, P),
            ({"reaction": "Anaphylaxis"}, U),
            ({"reaction": "Angio-oedema of the face"}, U),
            ({"reaction": "Stevens-Johnson syndrome"}, U),
            ({"reaction": "DRESS"}, U),
            ({"reaction": "Rash", "severity": "severe"}, U),
            ({"reaction": "Rash", "severity": "moderate"}, P),
            ({"reaction": "Reaction to a dressing"}, P),
            ({}, P),
        ],
    )
    def test_urgency(self, more: dict[str, Any], urgency: Urgency) -> None:
        """Urgent when it was severe or is of high risk."""
        (found,) = found_in(allergy("Penicillin", **more), order("Amoxicillin 500 mg"))
        assert found.urgency is urgency

    @pytest.mark.parametrize(
        ("recorded", "reaction", "medicine"),
        [
            ("Codeine", "Nausea and vomiting", "Codeine 30 mg"),
            ("Morphine", "Itching", "Morphine 10 mg"),
            ("Ramipril", "Cough", "Lisinopril 10 mg"),
            ("Erythromycin", "Diarrhoea", "Clarithromycin 500 mg"),
            ("Vancomycin", "Flushing", "Vancomycin 1 g"),
            ("Vancomycin", "Flushing during infusion", "Vancomycin 1 g"),
            ("Vancomycin", "Red man syndrome with the rapid infusion", "Vancomycin 1 g"),
        ],
    )
    def test_a_side_effect_is_no_allergy(self, recorded: str, reaction: str, medicine: str) -> None:
        """It is noted, and nobody is asked to hold anything."""
        (found,) = found_in(allergy(recorded, reaction=reaction), order(medicine))
        assert (found.urgency, found.action) == (R, "monitor")
        assert "side effect" in found.sentence
        assert not found.cautions, "what happened is on record"

    def test_an_intolerance(self) -> None:
        """Recorded as an intolerance it is noted; after anaphylaxis it counts as an allergy."""
        noted = found_in(allergy("Codeine", type="intolerance"), order("Codeine 30 mg"))
        severe = found_in(
            allergy("Codeine", type="intolerance", reaction="Anaphylaxis"), order("Codeine 30 mg")
        )
        assert [f.urgency for f in (*noted, *severe)] == [R, U]
        assert "what happened is not recorded" in noted[0].sentence
        assert "no allergy" not in noted[0].sentence

    def test_a_cough_leaves_the_alternative_alone(self) -> None:
        """A receptor blocker is what is given instead."""
        assert not found_in(allergy("Ramipril", reaction="Cough"), order("Losartan 50 mg"))

    def test_after_anaphylaxis_some_relatives_are_avoided(self) -> None:
        """NHS Forth Valley: cefalexin not, ceftriaxone with caution."""
        recorded = allergy("Penicillin", reaction="Anaphylaxis")
        (shared,) = found_in(recorded, order("Cefalexin 500 mg"))
        (other,) = found_in(recorded, order("Ceftriaxone 2 g"))
        assert (shared.action, shared.urgency) == ("hold", U)
        assert (other.action, other.urgency) == ("review", P)

    def test_a_cephalosporin_says_which_side_chain_it_shares(self) -> None:
        """Chaudhry 2019, abstract: reactions follow the side chain; cefazolin has one of its own."""
        recorded = allergy("Amoxicillin", reaction="Rash")
        (shared,) = found_in(recorded, order("Cefalexin 500 mg"))
        (own,) = found_in(recorded, order("Cefazolin 1 g"))
        assert "the side chain of ampicillin or amoxicillin" in shared.sentence
        assert "its side chain is its own" in own.sentence

    @pytest.mark.parametrize("status", ["refuted", "entered-in-error"])
    def test_not_true(self, status: str) -> None:
        """A refuted or wrongly entered allergy is none."""
        said = {"coding": [{"code": status}]}
        assert not found_in(allergy("Penicillin", verificationStatus=said), order("Amoxicillin 500 mg"))

    def test_not_confirmed(self) -> None:
        """It counts, and says so."""
        said = {"coding": [{"code": "unconfirmed"}]}
        (found,) = found_in(allergy("Penicillin", verificationStatus=said), order("Amoxicillin 500 mg"))
        assert "not confirmed" in found.sentence


class TestStandings:
    """Every way in which a medicine stands to the patient."""

    RECORDED = allergy("Penicillin", reaction="Anaphylaxis", criticality="high")

    @pytest.mark.parametrize(
        ("status", "action", "words"),
        [
            ("active", "hold", "Consider holding the next dose of Amoxicillin 500 mg"),
            ("on-hold", "avoid", "Consider not restarting Amoxicillin 500 mg"),
            ("draft", "avoid", "Consider not starting Amoxicillin 500 mg (not signed yet)"),
        ],
    )
    def test_orders(self, status: str, action: str, words: str) -> None:
        """In use, on hold and drafted; each once, and nobody asks for a restart."""
        medicine = order("Amoxicillin 500 mg", status=status)
        review = _review(self.RECORDED, medicine)
        (found,) = [f for f in review.findings if f.kind is Kind.ALLERGY]
        assert isinstance(found, MedicineFinding)
        assert found.action == action
        assert words in found.sentence
        assert not [f for f in review.findings if f.kind is Kind.MEDICINE_RESTART]

    def test_a_stopped_order_is_silent(self) -> None:
        """Nobody has to be told of what was ended and not given."""
        assert not found_in(self.RECORDED, order("Amoxicillin 500 mg", status="stopped"))

    def test_never_stopped_without_a_replacement(self) -> None:
        """A transplant medicine is asked about and not held; an antiepileptic shows what omission brings."""
        (found,) = found_in(allergy("Tacrolimus", reaction="Rash"), order("Tacrolimus 1 mg"))
        assert (found.action, "not stopped without" in found.sentence) == ("review", True)
        (found,) = found_in(allergy("Phenytoin", reaction="Rash"), order("Phenytoin 300 mg"))
        assert found.action == "hold"
        assert "status epilepticus" in found.do_not_stop

    def test_contrast_that_is_asked_for(self) -> None:
        """An examination with contrast counts as a medicine."""
        asked = asked_for("CT abdomen with contrast", id="ct", authoredOn=AT)
        (found,) = found_in(allergy("Contrast media", reaction="Anaphylaxis"), asked, result("K", "4.0"))
        assert found.urgency is U
        assert "Ask the radiologist before CT abdomen with contrast" in found.sentence


class TestNothingIsPushed:
    """No sentence asks to give what the record forbids."""

    SEPTIC = (
        problem("Sepsis"),
        result("RR", "28"),
        result("SBP", "85"),
        result("HR", "125"),
        result("lactate", "4.5"),
    )

    @pytest.mark.parametrize("recorded", ["Penicillin", "Amoxicillin"])
    @pytest.mark.parametrize("status", ["active", "draft"])
    def test_no_first_dose_of_an_antibiotic(self, recorded: str, status: str) -> None:
        """Sepsis makes an antibacterial time-critical, and never this one."""
        recorded_as = allergy(recorded, reaction="Anaphylaxis", criticality="high")
        review = _review(*self.SEPTIC, recorded_as, order("Co-amoxiclav 1.2 g IV", status=status))
        said = " ".join(f.sentence for f in review.findings)
        assert "make sure" not in said
        assert "whether it was given" not in said
        assert "Consider continuing" not in said
        assert f"Recorded allergy: {recorded}" in said
        assert "An antibiotic is still needed without delay" in said

    def test_the_push_stays_without_an_allergy(self) -> None:
        """The rule itself has not gone."""
        review = _review(*self.SEPTIC, order("Co-amoxiclav 1.2 g IV"))
        assert any("Consider continuing Co-amoxiclav" in f.sentence for f in review.findings)

    def test_a_hold_for_another_reason_stays(self) -> None:
        """Two reasons not to give it are two sentences, the allergy first."""
        review = _review(*injury(2), allergy("NSAIDs", reaction="Anaphylaxis"), order("Ibuprofen 400 mg"))
        chart = [f for f in review.findings if isinstance(f, MedicineFinding)]
        assert [f.kind for f in chart] == [Kind.ALLERGY, Kind.MEDICINE]
        assert chart[1].action == "hold"


class TestHandover:
    """What the handover says of allergies."""

    def _said(self, *resources: Json) -> str:
        background = _review(result("K", "4.0"), *resources).handover.background
        return next(each for each in background if each.startswith("Allergies"))

    def test_with_reaction_and_severity(self) -> None:
        """Substance, what happened, how bad, and what is no allergy."""
        said = self._said(
            allergy("Penicillin", reaction="Anaphylaxis", severity="severe", criticality="high"),
            allergy("Codeine", reaction="Nausea", type="intolerance"),
        )
        assert "Penicillin (Anaphylaxis, severe reaction, high risk)" in said
        assert "Codeine (Nausea, intolerance)" in said

    def test_none(self) -> None:
        """Not recorded only where none was sent; a coded "no known allergy" is said as such."""
        none = {"coding": [{"system": "http://snomed.info/sct", "code": "716186003"}]}
        assert self._said() == "Allergies: not recorded."
        assert self._said(allergy(code=none)) == "Allergies: No known allergy."


class TestProblemList:
    """Some records keep allergies among the problems (common practice, no source)."""

    @pytest.mark.parametrize(
        ("text", "urgency"),
        [
            ("Penicillin allergy", P),
            ("Allergy to penicillin", P),
            ("Anaphylaxis due to amoxicillin", U),
            ("History of anaphylaxis to penicillin", U),
        ],
    )
    def test_counts(self, text: str, urgency: Urgency) -> None:
        """It is compared with the chart, and in the handover."""
        review = _review(problem(text), order("Amoxicillin 500 mg"))
        assert [f.urgency for f in review.findings if f.kind is Kind.ALLERGY] == [urgency]
        assert f"Allergies: {text}." in review.handover.background

    def test_it_is_said_once(self) -> None:
        """As an allergy, and not among what else is known; in the head without a second "allergy to"."""
        review = _review(problem("Penicillin allergy"), order("Amoxicillin 500 mg"))
        assert "Known: nothing else." in review.handover.background
        assert review.headline.startswith("Recorded allergy: Penicillin allergy, and Amoxicillin 500 mg on")

    @pytest.mark.parametrize("text", ["No known drug allergies", "NKDA", "No allergies"])
    def test_that_there_is_none_counts_too(self, text: str) -> None:
        review = _review(problem(text), order("Amoxicillin 500 mg"))
        assert f"Allergies: {text}." in review.handover.background

    @pytest.mark.parametrize(
        "text",
        [
            "No known penicillin allergy",
            "Family history of penicillin allergy",
            "Allergic rhinitis",
            "Penicillin allergy ruled out",
            "Pneumonia treated with penicillin",
        ],
    )
    def test_does_not(self, text: str) -> None:
        """What is denied, somebody else's, or no allergy to a medicine."""
        assert not found_in(problem(text), order("Amoxicillin 500 mg"))

    def test_heparin_induced_thrombocytopenia(self) -> None:
        """A diagnosis that forbids a class."""
        (found,) = found_in(problem("Heparin-induced thrombocytopenia"), order("Enoxaparin 40 mg"))
        assert found.urgency is U

    def test_the_two_meet_when_the_problem_is_written_down(self) -> None:
        """Not when the order began, days before anybody knew."""
        written = "2026-03-01T08:00:00+04:00"
        (found,) = found_in(
            problem("Heparin-induced thrombocytopenia", recordedDate=written), order("Enoxaparin 40 mg")
        )
        assert found.since == datetime.fromisoformat(written)


class TestOtherDoors:
    """A list of the ward and the cards say why."""

    def test_batch(self) -> None:
        """The line of the night's list names the allergy."""
        review = _review(allergy("Penicillin", reaction="Rash"), order("Amoxicillin 500 mg"))
        assert any("recorded allergy: Penicillin (Rash)" in line for line in chart_lines(review.findings))


@pytest.mark.parametrize(
    ("happened", "rests"),
    [({"reaction": "Anaphylaxis"}, True), ({"reaction": "Rash"}, False), ({"criticality": "high"}, False)],
    ids=["anaphylaxis", "rash", "risk-without-a-reaction"],
)
def test_the_words_of_a_severe_reaction_are_cited(happened: dict[str, Any], rests: bool) -> None:
    """NICE CG183 (in a copy): only where what happened makes it severe."""
    (found,) = found_in(allergy("Penicillin", **happened), order("Amoxicillin 500 mg"))
    assert (SEVERE_SOURCE in found.sources) is rests
