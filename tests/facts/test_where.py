"""Where the patient lies, and whether a tube and what sedates for it explain a low coma scale.

Who is called there, and that totals made for wards call nobody in intensive care, is our choice; NICE CG50
says of itself that it does not cover patients in critical care areas.
"""

from typing import Any, ClassVar

import pytest

from tests.charts import ago
from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    given,
    observation,
    ordered,
    patient,
    problem,
    procedure,
    quantity,
)
from weatherglass.facts.whereabouts import Whereabouts, whereabouts
from weatherglass.fhir.reading.people.care_places import kind_in_words
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import CarePlace, Stay
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.sources import Origin
from weatherglass.model.subject import Subject
from weatherglass.model.words.call_words import call_line
from weatherglass.terminology.procedures import kinds_in_words

_ACT = "http://terminology.hl7.org/CodeSystem/v3-ActCode"
ICU, WARD, THEATRE, ED = "Intensive Care Unit", "Ward 7", "Operating theatre 2", "Emergency Department"


def _stay(place: str, since: str = "48 h", cls: str = "IMP") -> Json:
    return {
        "resourceType": "Encounter",
        "id": f"e-{place}",
        "status": "in-progress",
        "class": {"system": _ACT, "code": cls},
        "subject": {"reference": "Patient/p"},
        "period": {"start": earlier(since)},
        "location": [{"location": {"display": place}}],
    }


def _coma(eye: str, verbal: str, motor: str, before: str = "") -> list[Json]:
    at = earlier(before) if before else AT
    parts = (("9267-6", eye), ("9270-0", verbal), ("9268-4", motor))
    return [
        observation(f"{n}{before}", n, effectiveDateTime=at, valueQuantity=quantity(v, "{score}"))
        for n, v in parts
    ]


def _tube(words: str = "Endotracheal intubation", before: str = "24 h", **rest: Any) -> Json:
    return procedure(words, id=f"tube-{before}-{len(words)}", performedDateTime=earlier(before), **rest)


def _machine(before: str = "") -> Json:
    at = earlier(before) if before else AT
    return observation(
        f"m{before}",
        "oxygen-delivery",
        system="urn:weatherglass:codes:observation",
        valueString="ventilator",
        effectiveDateTime=at,
    )


def _infusion(name: str, status: str = "active", route: str = "intravenous") -> Json:
    return ordered(
        name,
        id=f"m-{name}",
        status=status,
        authoredOn=earlier("24 h"),
        dosageInstruction=[{"route": {"text": route}}],
    )


def _review(*resources: Json) -> Review:
    (one,) = answer_of(patient(), *resources).reviews
    return one


def _of(one: Review, kind: Kind) -> list[Finding]:
    return [found for found in one.findings if found.kind is kind]


def _coma_call(one: Review) -> Urgency | None:
    found = [f for f in _of(one, Kind.SINGLE_SIGN) if f.key == "consciousness"]
    return found[0].urgency if found else None


class TestWhere:
    """Common practice, no source: the place moved to last; what is not named is a ward."""

    @pytest.mark.parametrize(
        ("words", "kind"),
        [
            ("Intensive Care Unit bed 4", CarePlace.INTENSIVE_CARE),
            ("ITU", CarePlace.INTENSIVE_CARE),
            ("Critical care", CarePlace.INTENSIVE_CARE),
            ("PICU", CarePlace.INTENSIVE_CARE),
            ("High dependency unit", CarePlace.WARD),
            ("Coronary care unit", CarePlace.WARD),
            ("Post intensive care step-down", CarePlace.WARD),
            ("Critical care outreach", CarePlace.WARD),
            ("Theatre recovery", CarePlace.THEATRE),
            ("Theatre admissions lounge", CarePlace.WARD),
            ("Emergency Department majors", CarePlace.EMERGENCY_DEPARTMENT),
            ("Surgical emergency unit", CarePlace.WARD),
            ("Ward 7", CarePlace.WARD),
            ("", CarePlace.WARD),
        ],
    )
    def test_by_its_name(self, words: str, kind: CarePlace) -> None:
        assert kind_in_words(words) is kind

    @pytest.mark.parametrize(
        ("words", "ward", "bed"),
        [
            ("Ward 7, bed 12", "Ward 7", "bed 12"),
            ("AMU Bed C3", "AMU", "Bed C3"),
            ("Ward 7", "Ward 7", ""),
            ("Ward 7 bed bay", "Ward 7 bed bay", ""),
            ("Bed 4", "Bed 4", ""),
        ],
    )
    def test_a_bed_in_the_name_of_the_ward(self, words: str, ward: str, bed: str) -> None:
        """Ours: each bed was a ward of its own, with a sheet of the ward list to itself."""
        (one,) = answer_of(patient(), _stay(words), *full_set()).reviews
        assert (one.ward, one.bed) == (ward, bed)

    @pytest.mark.parametrize(
        ("stays", "where"),
        [
            ((), Whereabouts.UNKNOWN),
            (((CarePlace.WARD, 40.0),), Whereabouts.WARD),
            (((CarePlace.WARD, 40.0), (CarePlace.INTENSIVE_CARE, 9.0)), Whereabouts.INTENSIVE_CARE),
            (((CarePlace.INTENSIVE_CARE, 40.0), (CarePlace.WARD, 9.0)), Whereabouts.WARD),
            (((CarePlace.INTENSIVE_CARE, 9.0), (CarePlace.WARD, 9.0)), Whereabouts.WARD),
        ],
    )
    def test_the_place_moved_to_last(
        self, stays: tuple[tuple[CarePlace, float], ...], where: Whereabouts
    ) -> None:
        """Two that begin at once are a ward: nobody is taken to be watched who may not be."""
        made = tuple(
            Stay(origin=Origin(f"Encounter/{n}"), starts=ago(hours), kind=kind)
            for n, (kind, hours) in enumerate(stays)
        )
        assert whereabouts(Record(subject=Subject(origin=Origin("Patient/p")), stays=made), ago(0)) is where

    @pytest.mark.parametrize(
        ("words", "kinds"),
        [
            ("Endotracheal intubation", {"VENTILATION"}),
            ("Invasive mechanical ventilation", {"VENTILATION"}),
            ("Non-invasive ventilation", {"MASK_VENTILATION"}),
            ("Non-invasive mechanical ventilation", {"MASK_VENTILATION"}),
            ("Not for intubation", set()),
            ("Extubation", {"EXTUBATION"}),
        ],
    )
    def test_a_tube_in_words(self, words: str, kinds: set[str]) -> None:
        assert {kind.name for kind in kinds_in_words(words)} == kinds


class TestWhoIsCalled:
    """Ours: whoever is at the bedside already."""

    @pytest.mark.parametrize(
        ("place", "cls", "says", "never"),
        [
            (ICU, "IMP", "intensive care doctor", "outreach"),
            (THEATRE, "IMP", "anaesthetist", "outreach"),
            (ED, "EMER", "emergency department senior doctor", "medical registrar"),
            (WARD, "IMP", "critical care outreach team", "intensive care doctor"),
        ],
    )
    def test_an_emergency(self, place: str, cls: str, says: str, never: str) -> None:
        one = _review(_stay(place, cls=cls), *full_set(systolic_pressure="82 mm[Hg]"))
        assert one.escalation is not None
        assert one.urgency is Urgency.EMERGENCY
        line = call_line(one.escalation, one.clock)
        assert says in line
        assert never not in line

    def test_a_total_calls_nobody_in_intensive_care(self) -> None:
        """NEWS2 of 5 without a single 3: urgent on a ward, prompt for the own doctor there."""
        ill = full_set(respiration_rate="22 /min", spo2="93 %", pulse="112 /min")
        there, here = _review(_stay(ICU), *ill), _review(_stay(WARD), *ill)
        assert here.urgency is Urgency.URGENT
        assert there.urgency is Urgency.PROMPT
        (score,) = [f for f in _of(there, Kind.SCORE) if f.key == "news2"]
        assert "in intensive care the total calls nobody" in " ".join(score.cautions)
        assert "outreach" not in there.headline

    def test_a_catastrophic_sign_outranks_the_place(self) -> None:
        one = _review(
            _stay(ICU),
            _machine(),
            _infusion("Propofol"),
            *full_set(spo2="79 %", systolic_pressure="70 mm[Hg]"),
        )
        assert one.urgency is Urgency.EMERGENCY


class TestTheTube:
    """Ours: sedation on purpose explains a low coma scale; on a ward nothing does."""

    def test_sedated_it_is_told_and_calls_nobody(self) -> None:
        one = _review(_stay(ICU), _machine(), _infusion("Propofol"), *_coma("1", "1", "4"))
        assert _coma_call(one) is None
        told = [f for f in one.findings if f.key == "coma-scale-under-sedation"]
        assert "Coma scale 6 (E1 V1 M4) on a ventilator, sedated with propofol" in told[0].sentence

    def test_nobody_is_told_to_hold_what_sedates(self) -> None:
        charted = (_infusion("Propofol"), _infusion("Remifentanil"))
        there = _review(_stay(ICU), _machine(), *charted, *_coma("1", "1", "4"))
        assert not _of(there, Kind.MEDICINE)
        here = _review(_stay(WARD), _machine(), *charted, *_coma("1", "1", "4"))
        assert any("emifentanil" in f.sentence for f in _of(here, Kind.MEDICINE))

    @pytest.mark.parametrize("place", [WARD, "High dependency unit"])
    def test_on_a_ward_a_machine_explains_nothing(self, place: str) -> None:
        """A mask machine is sent with the same words."""
        one = _review(_stay(place), _machine(), _tube(), _infusion("Propofol"), *_coma("1", "1", "4"))
        assert _coma_call(one) is Urgency.EMERGENCY
        assert "the airway is at risk" in one.headline

    def test_without_sedation_on_record_it_calls_within_the_hour(self) -> None:
        one = _review(_stay(ICU), _machine(), *_coma("1", "1", "4"))
        assert _coma_call(one) is Urgency.URGENT
        assert "no sedation recorded" in one.headline
        assert "airway is at risk" not in one.headline

    def test_a_fall_without_sedation_still_calls_at_once(self) -> None:
        before = [_machine("4 h"), *_coma("4", "1", "6", "4 h")]
        one = _review(_stay(ICU), *before, _machine(), *_coma("2", "1", "4"))
        assert _coma_call(one) is Urgency.EMERGENCY

    def test_the_tube_itself_is_no_fall(self) -> None:
        """Speech is lost to it: 15 before, 11 with it."""
        one = _review(_stay(ICU), *_coma("4", "5", "6", "9 h"), _tube(before="8 h"), *_coma("4", "1", "6"))
        assert _coma_call(one) is None

    @pytest.mark.parametrize(
        "against",
        [
            [_tube("Extubation", "3 h")],
            _coma("3", "3", "5", "3 h"),
        ],
    )
    def test_once_it_is_out_the_scale_speaks_again(self, against: list[Json]) -> None:
        one = _review(_stay(ICU), _tube(), *against, _infusion("Propofol"), *_coma("1", "1", "4"))
        assert _coma_call(one) is Urgency.EMERGENCY

    def test_a_tube_of_long_ago_elsewhere_counts_no_more(self) -> None:
        """Put in for an operation, three days before the patient came to the emergency department."""
        one = _review(
            _stay(ED, "3 h", "EMER"),
            _tube(before="72 h"),
            _infusion("Propofol"),
            *_coma("1", "1", "4"),
        )
        assert _coma_call(one) is Urgency.EMERGENCY

    def test_what_is_swallowed_sedates_nobody_on_purpose(self) -> None:
        one = _review(
            _stay(ICU), _machine(), _infusion("Morphine sulfate", route="oral"), *_coma("1", "1", "4")
        )
        assert _coma_call(one) is Urgency.URGENT


def _condition(words: str) -> Json:
    return problem(words)


class TestWhatElseChanges:
    """Ours."""

    @pytest.mark.parametrize(("place", "urgency"), [(WARD, Urgency.EMERGENCY), (ICU, Urgency.URGENT)])
    def test_the_stratum_of_a_ward_total(self, place: str, urgency: Urgency) -> None:
        """NEWS2 8 with pneumonia, no single sign of its own."""
        ill = full_set(respiration_rate="24 /min", spo2="92 %", pulse="118 /min", temperature="38.6 Cel")
        one = _review(_stay(place), _condition("Pneumonia"), *ill)
        (found,) = [f for f in _of(one, Kind.SEPSIS_RISK) if f.key == "sepsis-risk"]
        assert found.urgency is urgency

    @pytest.mark.parametrize(("pulse", "kinds"), [("88 /min", 0), ("132 /min", 1)])
    def test_sleep_on_purpose_raises_no_stratum(self, pulse: str, kinds: int) -> None:
        """A treated pneumonia was "high risk, raised by unresponsive"; another single 3 still raises it."""
        ill = full_set(consciousness="unresponsive", spo2="94 %", pulse=pulse)
        treated = (_condition("Pneumonia"), ordered("Meropenem", authoredOn=earlier("8 h")))
        one = _review(_stay(ICU), _machine(), _infusion("Propofol"), *treated, *ill)
        found = [f for f in _of(one, Kind.SEPSIS_RISK) if f.key == "sepsis-risk"]
        assert len(found) == kinds
        assert "unresponsive" not in " ".join(f.sentence for f in found)

    def test_organs_that_are_held_up_for_days_call_nobody(self) -> None:
        """Treated for days on noradrenaline and propofol it was "due 5 days 19 h ago"."""
        ill = full_set(consciousness="unresponsive")
        pressor = ordered(
            "Noradrenaline",
            id="m-pressor",
            authoredOn=earlier("140 h"),
            dosageInstruction=[{"text": "intravenous infusion 0.08 micrograms/kg/min"}],
        )
        since = {"onsetDateTime": earlier("150 h"), "recordedDate": earlier("150 h")}
        known = (problem("Pneumonia", **since), pressor, given("Meropenem", earlier("3 h"), atc="J01DH02"))
        one = _review(_stay(ICU, "150 h"), _machine(), _infusion("Propofol"), *known, *ill)
        (sofa,) = [f for f in _of(one, Kind.SCORE) if f.key == "sofa"]
        assert "circulation 3" in sofa.sentence
        assert sofa.urgency is Urgency.ROUTINE

    def test_asleep_on_purpose_the_brain_scores_nothing(self) -> None:
        ill = full_set(consciousness="unresponsive")
        one = _review(_stay(ICU), _machine(), _infusion("Propofol"), _condition("Pneumonia"), *ill)
        assert "brain 1" not in " ".join(f.sentence for f in one.findings)

    def test_an_anaesthetic_is_no_total_of_a_ward(self) -> None:
        asleep = full_set(temperature="35.4 Cel", respiration_rate="10 /min")
        one = _review(_stay(THEATRE), _machine(), _infusion("Propofol"), *asleep, *_coma("1", "1", "1"))
        assert one.escalation is None
        assert not [f for f in one.findings if f.key == "screen-for-infection"]


class TestWhoOperates:
    """Ours: a surgical stay calls the surgical registrar, in an emergency with the medical one."""

    SICK: ClassVar = {"respiration_rate": "22 /min", "systolic_pressure": "98 mm[Hg]", "pulse": "112 /min"}
    AT_ONCE: ClassVar = {**SICK, "systolic_pressure": "86 mm[Hg]"}

    @staticmethod
    def _called(shown: dict[str, str], *resources: Json) -> tuple[str, ...]:
        call = _review(*full_set(**shown), *resources).escalation
        assert call is not None
        return call.roles

    @pytest.mark.parametrize(
        ("service", "operated", "who"),
        [
            ("General Surgery", None, "surgical"),
            ("Trauma and orthopaedics", None, "surgical"),
            ("Urology", None, "surgical"),
            ("外科", None, "surgical"),
            ("General medicine", "20 h", "medical"),
            ("Vascular medicine", None, "medical"),
            ("Orthogeriatrics", None, "medical"),
            ("Patient transport", None, "medical"),
            ("", None, "medical"),
            ("", "20 h", "surgical"),
            ("", "50 h", "medical"),
        ],
    )
    def test_a_stay_is_surgical_by_its_service_or_an_operation_in_it(
        self, service: str, operated: str | None, who: str
    ) -> None:
        """An operation of before this stay makes none; a service that is said decides."""
        said = {"serviceType": {"text": service}} if service else {}
        done = (procedure("Laparotomy", performedDateTime=earlier(operated)),) if operated else ()
        roles = self._called(self.SICK, {**_stay(WARD), **said}, *done)
        assert roles == ("ward doctor", f"{who} registrar")

    def test_in_an_emergency_a_physician_comes_too(self) -> None:
        done = procedure("Laparotomy", performedDateTime=earlier("20 h"))
        outreach = "critical care outreach team"
        assert self._called(self.AT_ONCE, _stay(WARD), done) == (
            "surgical registrar",
            "medical registrar",
            outreach,
        )
        assert self._called(self.AT_ONCE, _stay(WARD)) == ("medical registrar", outreach)

    def test_an_emergency_department_has_its_own(self) -> None:
        said = {"serviceType": {"text": "General Surgery"}}
        roles = self._called(self.SICK, {**_stay(ED, cls="EMER"), **said})
        assert roles == ("emergency department senior doctor",)
