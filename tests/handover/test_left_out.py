"""What was sent and nobody looked at takes the place of reassurance.

That a value which nobody read is no reason for calm is common practice, no source; what blocks the one
sentence of reassurance, and for how long, is ours.
"""

from datetime import datetime
from typing import Any

import pytest

from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    full_set,
    measured,
    observation,
    ordered,
    patient,
    problem,
    quantity,
)
from weatherglass.batch.ward.ward_row import ward_row
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.writing.bundle import context_of
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.fhir.writing.observation import write_urgency
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.review import Review
from weatherglass.web.view import first_of

_LAB = [
    {
        "coding": [
            {"system": "http://terminology.hl7.org/CodeSystem/observation-category", "code": "laboratory"}
        ]
    }
]
_FLAGS = "http://terminology.hl7.org/CodeSystem/v3-ObservationInterpretation"
_QUIET = "Nothing urgent found"


def _sent(name: str, value: str, unit: str, *, code: str = "2276-4", at: str = AT, **rest: Any) -> Json:
    one = observation("x", code, at=at, category=_LAB, valueQuantity=quantity(value, unit), **rest)
    one["code"]["text"] = name
    return one


def _range(low: str, high: str, unit: str) -> list[Json]:
    return [{"low": quantity(low, unit), "high": quantity(high, unit)}]


def _flag(code: str) -> list[Json]:
    return [{"coding": [{"system": _FLAGS, "code": code}]}]


def _review(*resources: Json) -> Review:
    (one,) = answer_of(patient(), *full_set(), *resources).reviews
    return one


def test_a_well_patient_with_everything_read_is_reassured() -> None:
    one = _review(measured("k", "potassium", "4.2", "mmol/L"))
    assert one.headline == "NEWS2 0. Nothing urgent found."


class TestNotRead:
    def test_it_is_named_with_its_value(self) -> None:
        one = _review(_sent("Thyrotropin", "88", "mU/L"))
        assert _QUIET not in one.headline
        assert "Sent and not read: Thyrotropin 88 mU/L (10:00 on 1 March)" in one.headline
        assert one.standing == "routine"

    @pytest.mark.parametrize(
        ("name", "is_slow"),
        [
            ("Cholesterol in HDL", True),
            ("Triglyceride", True),
            ("Hemoglobin A1c/Hemoglobin.total in Blood", True),
            ("Albumin/Creatinine in Urine", True),
            ("Fall risk total", True),
            ("Cholinesterase", False),
            ("Thyrotropin", False),
        ],
    )
    def test_what_says_nothing_of_today_is_listed_and_in_no_head(self, name: str, is_slow: bool) -> None:
        """Ours: six lipids were all that a head named of an outpatient."""
        one = _review(_sent(name, "7.1", "mmol/L"))
        assert (name not in one.headline) is is_slow
        assert any(name in said for said in one.latest.not_read)
        assert any(name in said for said in one.handover.assessment)

    def test_a_day_later_it_is_no_longer_in_the_head(self) -> None:
        assert _QUIET in _review(_sent("Thyrotropin", "88", "mU/L", at=earlier("24.1 h"))).headline
        assert _QUIET not in _review(_sent("Thyrotropin", "88", "mU/L", at=earlier("23.9 h"))).headline

    def test_inside_its_own_range_its_sender_has_judged_it(self) -> None:
        inside = _sent("Thyrotropin", "2", "mU/L", referenceRange=_range("0.4", "4.5", "mU/L"))
        assert _QUIET in _review(inside).headline

    @pytest.mark.parametrize(
        "rest",
        [
            pytest.param({"referenceRange": _range("0.4", "4.5", "mU/L")}, id="outside its own range"),
            pytest.param({"interpretation": _flag("H")}, id="flagged as high"),
        ],
    )
    def test_outside_it_nobody_is_fully_assessed(self, rest: Json) -> None:
        one = _review(_sent("Thyrotropin", "88", "mU/L", **rest))
        assert one.standing == "not fully assessed"
        assert "Thyrotropin 88 mU/L" in one.headline

    @pytest.mark.parametrize("name", ["Serum potassium", "Lactate (blood)", "Respiratory rate"])
    def test_a_known_sign_in_an_unknown_code(self, name: str) -> None:
        one = _review(_sent(name, "7.4", "mmol/L", code="99999-0"))
        assert one.standing == "not fully assessed"
        assert name in one.headline

    def test_a_known_result_in_a_unit_that_is_not(self) -> None:
        one = _review(_sent("Potassium", "7.4", "furlong", code="2823-3"))
        assert one.standing == "not fully assessed"
        assert "Potassium 7.4" in one.headline

    def test_beside_a_call_it_stands_in_the_head_too(self) -> None:
        (one,) = answer_of(
            patient(), *full_set(respiration_rate="26 /min"), _sent("Serum potassium", "7.4", "mmol/L")
        ).reviews
        assert one.escalation is not None
        assert "Sent and not read: Serum potassium 7.4 mmol/L" in review_text(one, ()).replace("\n", " ")

    def test_more_than_fit_are_counted(self) -> None:
        many = [{**_sent(f"Test {n}", "5", "U/L", code="2276-4"), "id": f"x{n}"} for n in range(9)]
        assert "; and 3 more." in _review(*many).headline


class TestReadAndNotJudged:
    def test_it_is_named(self) -> None:
        """Creatine kinase is read and below its one limit no rule judges it."""
        one = _review(_sent("Creatine kinase", "4900", "U/L", code="2157-6"))
        assert _QUIET not in one.headline
        assert "judged by no rule here" in one.headline
        assert "4900" in one.headline

    @pytest.mark.parametrize(
        ("code", "value", "unit", "is_usual"),
        [
            ("14631-6", "20", "umol/L", True),
            ("14631-6", "21", "umol/L", False),
            ("1742-6", "40", "U/L", True),
            ("1742-6", "41", "U/L", False),
            ("2777-1", "0.8", "mmol/L", True),
            ("2777-1", "0.79", "mmol/L", False),
            ("2777-1", "1.5", "mmol/L", True),
            ("2777-1", "1.51", "mmol/L", False),
            ("2157-6", "200", "U/L", True),
            ("2157-6", "201", "U/L", False),
        ],
    )
    def test_what_is_usual_in_adults_needs_no_range_of_its_sender(
        self, code: str, value: str, unit: str, *, is_usual: bool
    ) -> None:
        """EJIFCC 2016;27:48-65, table 3, United Kingdom; bilirubin and transaminases from memory and ours."""
        one = _review(_sent("x", value, unit, code=code))
        assert (_QUIET in one.headline) is is_usual

    def test_a_childs_is_not_judged_by_it(self) -> None:
        (one,) = answer_of(patient("2020-01-01"), _sent("x", "1.2", "mmol/L", code="2777-1")).reviews
        assert _QUIET not in one.headline

    def test_its_own_range_comes_first(self) -> None:
        own = [{"low": quantity("1.3", "mmol/L"), "high": quantity("2.0", "mmol/L")}]
        one = _review(_sent("x", "1.2", "mmol/L", code="2777-1", referenceRange=own))
        assert _QUIET not in one.headline


def test_a_critical_flag_is_urgent_whatever_the_code() -> None:
    one = _review(_sent("Thyrotropin", "88", "mU/L", interpretation=_flag("HH")))
    assert one.standing == "urgent"
    assert "Thyrotropin 88 mU/L" in one.headline


class TestNoUsableTime:
    """Missing data is never normal: a value that may be of today takes the place of the calm."""

    @pytest.mark.parametrize(
        ("time", "said"),
        [
            ({"effectiveDateTime": None}, "no usable time"),
            ({"effectiveDateTime": "2026-03-01T09:00"}, "no usable time"),
            ({"effectiveDateTime": "2026-03"}, "March 2026"),
            ({"effectiveDateTime": "2026-02"}, "February 2026"),
            ({"effectiveDateTime": "2026"}, "2026"),
            ({"effectiveDateTime": "01/03/2026", "issued": AT}, "10:00 on 1 March"),
        ],
    )
    def test_it_is_named(self, time: Json, said: str) -> None:
        sent = {**measured("k", "potassium", "7.1", "mmol/L"), **time}
        one = _review({key: value for key, value in sent.items() if value is not None})
        assert one.headline == (
            "Not fully assessed: a sign or result was sent and could not be read. NEWS2 0. "
            f"Sent and not read: potassium 7.1 mmol/L ({said})."
        )

    @pytest.mark.parametrize("time", ["2026-01", "2025", "2026-04"])
    def test_what_is_of_no_day_near_is_not(self, time: str) -> None:
        sent = {**measured("k", "potassium", "7.1", "mmol/L"), "effectiveDateTime": time}
        assert _QUIET in _review(sent).headline

    def test_signs_that_were_sent_are_not_called_unrecorded(self) -> None:
        signs = [{**one, "effectiveDateTime": "2026-03-01T10:00:00"} for one in full_set(spo2="80 %")]
        (one,) = answer_of(patient(), *signs, measured("k", "potassium", "4.1", "mmol/L")).reviews
        assert one.headline.startswith("Not assessed: vital signs were sent, and none of them could be used.")
        assert "oxygen saturation 80 % (no usable time)" in one.headline


class TestNewProblems:
    """A problem of today that no rule judges is named before anybody reads that all is calm (our choice)."""

    def test_it_is_named_in_place_of_the_calm(self) -> None:
        one = _review(problem("Double vision", onsetDateTime="2026-03-01T09:00:00+04:00"))
        expected = "NEWS2 0. New on record: Double vision (09:00 on 1 March)."
        assert one.headline == expected

    @pytest.mark.parametrize(
        "dates",
        [
            {
                "recordedDate": "2026-03-01T09:00:00+04:00"
            },  # It may be old: no stay says since when it is known.
            {"onsetDateTime": "2026-02-28T09:59:00+04:00"},
            {"onsetDateTime": "2019-05-01"},
            {},
        ],
        ids=["written today", "more than a day ago", "years ago", "without a date"],
    )
    def test_what_may_be_old_is_not(self, dates: dict[str, str]) -> None:
        assert _review(problem("Double vision", **dates)).headline == f"NEWS2 0. {_QUIET}."

    @pytest.mark.parametrize(
        "words",
        [
            "Full-time employment (finding)",
            "Medication review due (situation)",
            "Stress (finding)",
            "Lives alone",
        ],
    )
    def test_a_circumstance_of_life_is_not(self, words: str) -> None:
        one = _review(problem(words, onsetDateTime="2026-03-01T09:00:00+04:00"))
        assert one.headline == f"NEWS2 0. {_QUIET}."

    @pytest.mark.parametrize(("words", "is_named"), [
        ("Chest pain excluded, no evidence of myocardial infarction", False),
        ("No evidence of bleeding", False), ("Double vision, migraine excluded", True),
    ])  # fmt: skip
    def test_what_is_not_there_is_not(self, words: str, *, is_named: bool) -> None:
        one = _review(problem(words, onsetDateTime="2026-03-01T09:00:00+04:00"))
        assert ("New on record" in one.headline) is is_named

    def test_a_routine_line_of_the_chart_does_not_hide_it(self) -> None:
        """Retention of an hour ago was "nothing urgent found", since oxybutynin was to be reviewed."""
        retention = problem("Urinary retention", onsetDateTime="2026-03-01T09:00:00+04:00")
        one = _review(retention, ordered("Oxybutynin", "G04BD04"))
        assert any(f.kind is Kind.MEDICINE and f.urgency is Urgency.ROUTINE for f in one.findings)
        assert "New on record: Urinary retention" in one.headline

    @pytest.mark.parametrize("words", ["Heart failure", "Type 2 respiratory failure"])
    def test_what_is_kept_in_mind_does_not_hide_it(self, words: str) -> None:
        """That a failing heart is in mind is no word about one that began an hour ago."""
        one = _review(problem(words, onsetDateTime="2026-03-01T09:00:00+04:00"))
        assert any(f.kind is Kind.CONTEXT for f in one.findings)
        assert f"New on record: {words}" in one.headline

    def test_what_a_finding_rests_on_is_not(self) -> None:
        one = _review(problem("Pneumonia", onsetDateTime="2026-03-01T09:00:00+04:00"))
        assert "New on record: Pneumonia" not in one.headline

    def test_what_was_an_emergency_some_hours_ago_is(self) -> None:
        """A name asks for 6 hours; that it asks for nobody any more makes nobody calm."""
        one = _review(problem("Myocardial infarction", onsetDateTime="2026-03-01T03:59:00+04:00"))
        assert one.headline == "NEWS2 0. New on record: Myocardial infarction (03:59 on 1 March)."

    def test_bleeding_that_has_stopped(self) -> None:
        """It is named in place of the calm, and asks for nobody."""
        results = [
            _result(at, "718-7", value, "g/L", at=earlier(at))
            for at, value in (("48 h", "92"), ("24 h", "90"), ("1 h", "91"))
        ]
        ulcer = problem("Bleeding gastric ulcer", onsetDateTime=earlier("50 h"))
        said = _review(*results, ulcer)
        assert said.urgency.word == "routine"
        assert "Quiet for now: bleeding on record: Bleeding gastric ulcer" in said.headline
        assert _QUIET not in said.headline

    @pytest.mark.parametrize(("inr", "urgency"), [("5.0", Urgency.ROUTINE), ("5.1", Urgency.URGENT)])
    def test_what_hardly_clots_has_not_stopped_for_good(self, inr: str, urgency: Urgency) -> None:
        """Ours: above an INR of 5, the limit that is telephoned, bleeding can begin again."""
        results = [
            _result(at, "718-7", value, "g/L", at=earlier(at))
            for at, value in (("48 h", "92"), ("24 h", "90"), ("1 h", "91"))
        ]
        ulcer = problem("Bleeding gastric ulcer", onsetDateTime=earlier("50 h"))
        said = _review(*results, _result("inr", "6301-6", inr, "{INR}", at=earlier("2 h")), ulcer)
        (bleeding,) = (one for one in said.findings if one.kind is Kind.POSSIBLE_BLEEDING)
        assert bleeding.urgency is urgency

    def test_beside_a_call_it_is_not_said(self) -> None:
        one = _review(
            problem("Double vision", id="d", onsetDateTime="2026-03-01T09:00:00+04:00"),
            problem("Aortic dissection", onsetDateTime="2026-03-01T09:00:00+04:00"),
        )
        assert one.escalation is not None
        assert "Double vision" not in one.headline


def _result(identity: str, code: str, value: str, unit: str, **rest: Any) -> Json:
    return observation(identity, code, valueQuantity=quantity(value, unit), **rest)


class TestAbnormalWithoutACall:
    """CTCAE 5.0 grades (from memory): clearly abnormal, short of the limits that are telephoned."""

    @pytest.mark.parametrize(
        ("code", "abnormal", "not_yet", "unit"),
        [
            ("718-7", "79", "80", "g/L"),
            ("777-3", "74", "75", "10*9/L"),
            ("6690-2", "1.9", "2", "10*9/L"),
            ("2951-2", "129", "130", "mmol/L"),
            ("29265-6", "2.91", "2.9", "mmol/L"),
            ("2601-3", "0.49", "0.5", "mmol/L"),
            ("6301-6", "2.6", "2.5", "{INR}"),
            ("1963-8", "18.9", "19", "mmol/L"),
            ("62238-1", "29", "30", "mL/min/{1.73_m2}"),
        ],
    )
    def test_it_stands_in_place_of_the_calm(self, code: str, abnormal: str, not_yet: str, unit: str) -> None:
        said = _review(_result("x", code, abnormal, unit))
        assert said.urgency.word == "routine"
        assert _QUIET not in said.headline
        assert "Abnormal, short of a limit that calls: " in said.headline
        assert _QUIET in _review(_result("x", code, not_yet, unit)).headline

    def test_what_is_usual_for_this_person_is_not(self) -> None:
        now = _result("now", "718-7", "78", "g/L")
        assert _QUIET in _review(now, _result("x", "718-7", "79", "g/L", at=earlier("8 d"))).headline
        assert _QUIET not in _review(now, _result("x", "718-7", "79", "g/L", at=earlier("6 d"))).headline

    def test_what_explains_it(self) -> None:
        rate = _result("x", "62238-1", "24", "mL/min/{1.73_m2}")
        assert _QUIET in _review(rate, problem("Chronic kidney disease stage 4")).headline

    def test_beside_a_call_it_is_not_said(self) -> None:
        said = _review(_result("x", "718-7", "78", "g/L"), measured("k", "potassium", "6.1", "mmol/L"))
        assert "Abnormal, short" not in review_text(said, ())


def test_the_handover_names_every_value_that_nobody_read() -> None:
    """A head names six, signs before results; the handover has room for all. Our choice."""
    named = ("Resp rate", "SpO2", "Systolic BP", "Heart rate", "Temperature", "ACVPU", "Lactate", "Potassium")
    sent = [
        {
            **observation(f"o{at}", f"x{at}", system="urn:x", valueQuantity=quantity("4", "x")),
            "code": {"text": name},
        }
        for at, name in enumerate(named)
    ]
    (review,) = answer_of(patient(), *sent).reviews
    (head,) = review.left_out
    assert "Systolic BP 4 x" in head
    assert "Potassium 4 x" not in head
    said = " ".join(review.handover.assessment)
    assert all(f"{name} 4 x" in said for name in named)
    assert "Observations: sent, and none could be read, so how the patient is now is not known." in said


def test_signs_without_a_time_come_before_results_without_one() -> None:
    """A head names six: a creatinine stood before the breathing and the pressure, which were only counted."""
    sent = [measured(name, name, "1", "x", effectiveDateTime=None) for name in ("creatinine", "potassium")]
    signs = ("respiration-rate", "spo2", "systolic-pressure", "pulse", "temperature")
    sent += [measured(name, name, "1", "x", effectiveDateTime=None) for name in signs]
    (review,) = answer_of(patient(), *sent, as_of=datetime.fromisoformat(AT)).reviews
    (head,) = review.left_out
    assert head.index("temperature") < head.index("creatinine")


def test_what_was_not_read_stands_beside_the_call_at_every_door() -> None:
    """The text and the page named it there, the list of the ward and the summary in FHIR did not."""
    note = {**observation("n", "x", system="urn:x", valueString="noisy breathing"), "code": {"text": "Note"}}
    (review,) = answer_of(patient(), measured("hr", "pulse", "150", "/min"), note).reviews
    _, summary = write_urgency(context_of(review, "", Terms()), review)
    (unread,) = review.unread
    assert "noisy breathing" in unread
    assert review.escalation is not None
    assert unread in " ".join(review_text(review, ()).split())
    assert unread in first_of(review).left_out
    assert unread in ward_row(review).left_out
    assert unread in [note["text"] for note in summary["note"]]


@pytest.mark.parametrize(
    ("words", "is_named"),
    [
        ("Septic arthritis of knee", True),
        ("Infected knee replacement", True),
        ("Acute cholangitis", True),
        ("Cellulitis of leg", False),
    ],
)
def test_a_grave_infection_at_a_low_score(words: str, is_named: bool) -> None:
    """Ours: "Nothing urgent found" stood over a septic joint of two hours ago with a NEWS2 of 0."""
    told = problem(words, onsetDateTime=earlier("2 h"))
    one = answer_of(patient(), *full_set(), told).reviews[0]
    assert (f"New on record: {words}" in one.headline) is is_named
    assert (_QUIET in one.headline) is not is_named


@pytest.mark.parametrize(("cells", "is_named"), [("30.0", False), ("30.1", True), ("180", True)])
def test_very_many_white_cells(cells: str, is_named: bool) -> None:
    """Ours: "Nothing urgent found" stood over white cells of 180."""
    counted = observation("w", "6690-2", at=earlier("1 h"), valueQuantity=quantity(cells, "10*9/L"))
    one = answer_of(patient(), *full_set(), counted).reviews[0]
    assert ("Abnormal, short of a limit that calls: white cells" in one.headline) is is_named
    assert (_QUIET in one.headline) is not is_named
