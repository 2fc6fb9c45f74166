"""Written doses at both ends of their limits, through the real door.

Expected: labels 4.2 (weekly methotrexate), MHRA Drug Safety Update December 2011 (citalopram and
escitalopram) and May 2014 (domperidone), PMC6671778 table 3 (apixaban); the rest is common practice, no
source. The limits of insulin, and from where paracetamol in a child is spoken of, are our choice.
"""

from datetime import datetime

import pytest

from tests.medicines.wards import dosed, interactions, order, problem, result, suggestions
from tests.records import Json, answer_of, earlier, given, observation, patient, quantity
from weatherglass.knowledge.medicines.dose_limits import DOSE_LIMITS, SILENT_SOURCE
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT
YOUNG, OLD = patient("1980-06-01"), patient("1950-06-01")


def said(*resources: Json, who: Json = YOUNG) -> MedicineFinding | None:
    """Return what is said of the order's dose, None where nothing is."""
    finding = suggestions(answer_of(who, result("Na", "140"), *resources)).get("o")
    is_dose = finding is not None and any(r.rule.startswith("dose-") for r in finding.reasons)
    return finding if is_dose else None


def weight(kilograms: str) -> Json:
    return observation("w", "29463-7", valueQuantity=quantity(kilograms, "kg"))


LIMITS = [
    ("Methotrexate", "10", "mg", (1, 7, "d"), YOUNG, None),
    ("Methotrexate", "10", "mg", (1, 1, "wk"), YOUNG, None),
    ("Methotrexate", "10", "mg", (2, 1, "wk"), YOUNG, U),
    ("Methotrexate", "10", "mg", (1, 1, "d"), YOUNG, U),
    ("Alendronic acid", "70", "mg", (1, 1, "wk"), YOUNG, None),
    ("Alendronic acid", "10", "mg", (1, 1, "d"), YOUNG, None),
    ("Alendronic acid", "70", "mg", (1, 1, "d"), YOUNG, P),
    ("Risedronate", "35", "mg", (1, 1, "wk"), YOUNG, None),
    ("Risedronate", "30", "mg", (1, 1, "d"), YOUNG, None),
    ("Risedronate", "35", "mg", (1, 1, "d"), YOUNG, P),
    ("Digoxin", "250", "ug", (1, 1, "d"), YOUNG, None),
    ("Digoxin", "125", "mg", (1, 1, "d"), YOUNG, U),
    ("Levothyroxine", "200", "ug", (1, 1, "d"), YOUNG, None),
    ("Levothyroxine", "50", "mg", (1, 1, "d"), YOUNG, U),
    ("Levothyroxine", "500", "ug", (1, 1, "d"), YOUNG, None),
    ("Levothyroxine", "1", "mg", (1, 1, "d"), YOUNG, P),
    ("Levothyroxine", "1", "mg", (1, 1, "wk"), YOUNG, None),
    ("Digoxin", "250", "ug", (2, 1, "d"), YOUNG, None),
    ("Digoxin", "500", "ug", (2, 1, "d"), YOUNG, P),
    ("NovoRapid", "100", "unit", (1, 1, "d"), YOUNG, None),
    ("NovoRapid", "101", "U", (1, 1, "d"), YOUNG, U),
    ("Paracetamol", "1", "g", (4, 1, "d"), YOUNG, None),
    ("Paracetamol", "1", "g", (6, 1, "d"), YOUNG, P),
    ("Paracetamol", "1000", "mg", (1, 4, "h"), YOUNG, P),
    ("Citalopram", "40", "mg", (1, 1, "d"), YOUNG, None),
    ("Citalopram", "41", "mg", (1, 1, "d"), YOUNG, P),
    ("Citalopram", "20", "mg", (1, 1, "d"), OLD, None),
    ("Citalopram", "30", "mg", (1, 1, "d"), OLD, R),
    ("Escitalopram", "20", "mg", (1, 1, "d"), YOUNG, None),
    ("Escitalopram", "25", "mg", (1, 1, "d"), YOUNG, P),
    ("Escitalopram", "15", "mg", (1, 1, "d"), OLD, R),
    ("Domperidone", "10", "mg", (3, 1, "d"), YOUNG, None),
    ("Domperidone", "20", "mg", (3, 1, "d"), YOUNG, P),
    ("Metoclopramide", "10", "mg", (3, 1, "d"), YOUNG, None),
    ("Metoclopramide", "10", "mg", (4, 1, "d"), YOUNG, P),
    ("Gentamicin", "1000", "mg", (1, 1, "d"), YOUNG, None),
    ("Gentamicin", "5", "g", (1, 1, "d"), YOUNG, U),
    ("Paracetamol", "1875", "mg", (4, 1, "d"), YOUNG, P),
    ("Paracetamol", "2", "g", (4, 1, "d"), YOUNG, U),
    ("Heparin", "20000", "unit", (1, 1, "d"), YOUNG, None),
    ("Heparin", "20001", "unit", (1, 1, "d"), YOUNG, U),
    ("Methotrexate", "30", "mg", (1, 1, "wk"), YOUNG, None),
    ("Methotrexate", "31", "mg", (1, 1, "wk"), YOUNG, U),
    ("Methotrexate", "6", "tablet", (1, 1, "wk"), YOUNG, P),
    ("Methotrexate 2.5 mg tablets", "6", "tablet", (1, 1, "wk"), YOUNG, None),
    ("Methotrexate 10 mg tablets", "6", "tablet", (1, 1, "wk"), YOUNG, U),
    ("NovoRapid", "1", "mL", (1, 1, "d"), YOUNG, U),
    ("NovoRapid 100 units/mL", "1", "mL", (1, 1, "d"), YOUNG, None),
    ("NovoRapid 100 units/mL", "1.1", "mL", (1, 1, "d"), YOUNG, U),
    ("Citalopram 20 mg tablets", "3", "tablet", (1, 1, "d"), YOUNG, P),
    ("Domperidone 5 mg/5 mL suspension", "10", "mL", (3, 1, "d"), YOUNG, None),
    ("Domperidone 5 mg/5 mL suspension", "20", "mL", (3, 1, "d"), YOUNG, P),
]  # fmt: skip


@pytest.mark.parametrize(("text", "amount", "unit", "often", "who", "urgency"), LIMITS)
def test_both_ends(
    text: str, amount: str, unit: str, often: tuple[int, int, str], who: Json, urgency: Urgency | None
) -> None:
    finding = said(dosed(text, amount, unit, often), who=who)
    assert (finding.urgency if finding is not None else None) is urgency
    if finding is not None:
        assert "written" in finding.sentence


@pytest.mark.parametrize(("kilograms", "amount", "is_said"), [
    ("50", "1000", False), ("49", "1000", True), ("40", "600", False), ("40", "650", True),
])  # fmt: skip
def test_paracetamol_by_weight(kilograms: str, amount: str, is_said: bool) -> None:
    """Four doses a day: 60 mg/kg is 2400 mg at 40 kg; no limit by weight from 50 kg on."""
    assert bool(said(weight(kilograms), dosed("Paracetamol", amount, "mg", (4, 1, "d")))) is is_said


@pytest.mark.parametrize(
    ("text", "dose", "urgency"),
    [
        ("Vincristine", "2 mg intrathecal", Urgency.EMERGENCY),
        ("Vincristine", "2 mg intravenous", None),
        ("Methotrexate", "12 mg intrathecal", None),
        ("Potassium chloride", "20 mmol IV bolus", U),
        ("Potassium chloride", "20 mmol IV over 2 hours", None),
        ("Heparin", "50,000 units subcutaneous twice daily", U),
        ("Heparin 25,000 units in 50 mL", "25,000 units intravenous infusion by APTT", None),
        ("Insulin aspart", "10 mL with meals", U),
        ("Insulin soluble human", "50 mL intravenous infusion 2 mL/h", None),
    ],
)
def test_a_way_that_kills(text: str, dose: str, urgency: Urgency | None) -> None:
    """Labels (vincristine); a bolus of potassium and insulin in millilitres are common practice."""
    finding = said({**order(text), "id": "o", "dosageInstruction": [{"text": dose}]})
    assert (finding.urgency if finding is not None else None) is urgency


def test_by_a_recorded_route_too() -> None:
    dosage = [{"route": {"coding": [{"code": "72607000", "display": "Intrathecal route"}]}}]
    finding = said({**order("Vincristine"), "id": "o", "dosageInstruction": dosage})
    assert finding is not None
    assert "into the spinal canal written" in finding.sentence


@pytest.mark.parametrize(("days", "is_asked"), [("13 d", False), ("14 d", True)])
def test_linezolid_for_long(days: str, is_asked: bool) -> None:
    assert bool(said({**order("Linezolid 600 mg", authoredOn=earlier(days)), "id": "o"})) is is_asked


@pytest.mark.parametrize(
    ("text", "amount", "days", "is_asked"),
    [
        ("Apixaban", "10", 8, True),
        ("Apixaban", "10", 7, False),
        ("Apixaban", "5", 30, False),
        ("Rivaroxaban", "15", 22, True),
        ("Rivaroxaban", "15", 21, False),
    ],
)
def test_the_dose_of_the_first_days_goes_on(text: str, amount: str, days: int, is_asked: bool) -> None:
    """Seven days of apixaban and 21 of rivaroxaban are common practice; a day more is let be."""
    line = dosed(text, amount, "mg", (2, 1, "d"), authoredOn=earlier(f"{days} d"))
    assert bool(said(line)) is is_asked


def test_a_day_of_methotrexate_is_held_and_says_why() -> None:
    finding = said(dosed("Methotrexate", "10", "mg"))
    assert finding is not None
    assert finding.action == "hold"
    assert "once a week" in finding.reasons[0].why


def test_treatment_of_a_cancer_has_other_doses() -> None:
    assert said(problem("Acute lymphoblastic leukaemia"), dosed("Methotrexate", "10", "mg")) is None


@pytest.mark.parametrize(("amount", "is_said"), [("49", False), ("50", True), ("60", True)])
def test_insulin_far_above_its_other_order(amount: str, is_said: bool) -> None:
    """Five times the ten units of an order that has ended."""
    before = {**dosed("NovoRapid", "10", "U"), "id": "before", "status": "stopped"}
    assert bool(said(before, dosed("NovoRapid", amount, "U"))) is is_said


def test_a_draft_is_asked_about_before_the_signature() -> None:
    finding = said(dosed("Methotrexate", "10", "mg", status="draft"))
    assert finding is not None
    assert finding.action == "avoid"


def in_words(text: str, words: str) -> Json:
    return {**order(text), "id": "o", "dosageInstruction": [{"text": words}]}


@pytest.mark.parametrize(("text", "words", "urgency"), [
    ("Paracetamol 1 g", "2 g four times a day", U),
    ("Paracetamol 1 g", "1 g four times a day", None),
    ("Methotrexate 2.5 mg tablets", "10 mg once daily", U),
    ("Methotrexate 2.5 mg tablets", "10 mg at night", U),
    ("Methotrexate 2.5 mg tablets", "10 mg once a week on Mondays", None),
    ("Methotrexate 2.5 mg tablets", "10 mg every Monday", None),
    ("Methotrexate 2.5 mg tablets", "as directed", None),
    ("Alendronic acid 70 mg tablets", "70 mg daily", P),
    ("Alendronic acid 70 mg tablets", "70 mg once weekly", None),
])  # fmt: skip
def test_a_dose_in_plain_words_is_judged_as_numbers_are(
    text: str, words: str, urgency: Urgency | None
) -> None:
    """The limits are those of the numbers; which words are plain is our choice."""
    finding = said(in_words(text, words))
    assert (finding.urgency if finding is not None else None) is urgency


def test_another_unit_and_a_child_without_a_weight_are_not_judged() -> None:
    assert said(dosed("Paracetamol", "9", "tablet", (4, 1, "d"))) is None
    assert said(dosed("Paracetamol", "900", "mg"), who=patient("2018-01-01")) is None


@pytest.mark.parametrize("born", ["2018-01-01", "1980-01-01"])
def test_a_way_that_kills_does_so_at_every_age(born: str) -> None:
    """Vincristine, boxed warning of its label (secondary): a child with leukaemia is whom it has killed."""
    finding = said(in_words("Vincristine", "1.5 mg intrathecal"), who=patient(born))
    assert finding is not None
    assert finding.urgency is Urgency.EMERGENCY


def _other(
    text: str, amount: str, unit: str, often: tuple[int, int, str] = (4, 1, "d"), **rest: object
) -> Json:
    return {**dosed(text, amount, unit, often), "id": "other", **rest}


def _when_needed(made: Json) -> Json:
    (dosage,) = made["dosageInstruction"]
    return {**made, "dosageInstruction": [{**dosage, "asNeededBoolean": True}]}


class TestParacetamolAddedUp:
    """Paracetamol for infusion, label 4.2: 4 g a day, 60 mg/kg up to 50 kg, other products counted."""

    _DAY = dosed("Paracetamol 1 g IV infusion", "1", "g", (3, 1, "d"))

    @pytest.mark.parametrize(
        ("other", "words"),
        [
            (_other("Paracetamol 500 mg tablets", "1000", "mg", (1, 1, "d")), None),
            (
                _other("Paracetamol 500 mg tablets", "1000", "mg", (2, 1, "d")),
                "up to 5000 mg of paracetamol a day in 2 lines",
            ),
            (
                _other("Co-codamol 30/500 tablets", "2", "tablet"),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
            (
                _other("Co-codamol 30 mg/500 mg tablets", "2", "tablet"),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
            (
                _when_needed(_other("Paracetamol 500 mg tablets", "2", "tablet")),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
        ],
    )
    def test_every_line_counts(self, other: Json, words: str | None) -> None:
        finding = said(self._DAY, other)
        assert (finding is not None) is (words is not None)
        if finding is not None:
            assert words is not None
            assert words in finding.sentence
            assert finding.urgency is P

    @pytest.mark.parametrize("is_regular", [True, False])
    def test_what_is_only_given_when_needed_is_no_overdose_yet(self, is_regular: bool) -> None:
        """Ours: 8 g a day written is urgent, but for what may be needed, until it was given."""
        other = _other("Paracetamol 500 mg tablets", "2", "tablet", (4, 1, "d"))
        day = dosed("Paracetamol 1 g IV infusion", "1", "g", (4, 1, "d"))
        finding = said(day, other if is_regular else _when_needed(other))
        assert finding is not None
        assert "up to 8000 mg of paracetamol a day in 2 lines" in finding.sentence
        assert (finding.action, finding.urgency) == (("hold", U) if is_regular else ("reduce", P))

    def test_the_last_order_made_the_sum(self) -> None:
        """A deadline is counted from when its reason began: with the later of two orders."""
        later = {**_other("Paracetamol 500 mg tablets", "1000", "mg"), "authoredOn": earlier("1 h")}
        finding = said(self._DAY, later)
        assert finding is not None
        assert finding.since == datetime.fromisoformat(earlier("1 h"))

    def test_one_line_when_needed_is_silent(self) -> None:
        """What may be needed is not taken: only beside another line is it added."""
        assert said(_when_needed(dosed("Paracetamol", "1", "g", (1, 4, "h")))) is None

    def test_the_pair_is_silent_where_the_sum_is_known(self) -> None:
        answer = answer_of(YOUNG, self._DAY, _other("Paracetamol 500 mg tablets", "500", "mg", (2, 1, "d")))
        assert not interactions(answer)

    def test_what_cannot_be_added_leaves_the_pair_and_is_said_as_the_least(self) -> None:
        unknown = {**order("Co-codamol 8/500 tablets"), "id": "unknown"}
        many = dosed("Paracetamol 1 g", "1", "g", (5, 1, "d"))
        finding = said(many, unknown)
        assert finding is not None
        assert "at least 5000 mg of paracetamol a day in 2 lines" in finding.sentence
        assert not interactions(answer_of(YOUNG, many, unknown))  # One fact, told once.
        assert list(interactions(answer_of(YOUNG, self._DAY, unknown))) == ["paracetamol-twice"]

    @pytest.mark.parametrize(("kilograms", "is_said"), [("49", True), ("50", False)])
    def test_by_weight(self, kilograms: str, is_said: bool) -> None:
        other = _other("Paracetamol 500 mg tablets", "500", "mg", (1, 1, "d"))
        finding = said(weight(kilograms), self._DAY, other)
        assert (finding is not None) is is_said
        if finding is not None:
            assert "3500 mg of paracetamol a day in 2 lines at 49 kg" in finding.sentence

    @pytest.mark.parametrize(
        ("recorded", "is_said"), [("Liver cirrhosis", True), ("Alcohol dependence", True), ("Asthma", False)]
    )
    def test_at_most_3_g_with_a_weak_liver(self, recorded: str, is_said: bool) -> None:
        finding = said(problem(recorded), dosed("Paracetamol", "1", "g", (4, 1, "d")))
        assert (finding is not None) is is_said
        assert said(problem(recorded), dosed("Paracetamol", "1", "g", (3, 1, "d"))) is None


class TestPotassiumByVein:
    """Common practice, no source: 10 mmol an hour on a ward, at most 20 with an ECG that runs."""

    @pytest.mark.parametrize(
        ("text", "words", "action"),
        [
            ("Potassium chloride 40 mmol in 1 L", "over 4 hours", None),
            ("Potassium chloride 40 mmol in 500 mL over 3 hours", "", "review"),
            ("Potassium chloride 40 mmol in 500 mL", "over 2 hours", "review"),
            ("Potassium chloride 40 mmol in 500 mL over 1 hour", "", "hold"),
            ("Potassium chloride 20 mmol in 100 mL over 30 minutes", "", "hold"),
            ("Potassium chloride", "10 mmol/hour", None),
            ("Potassium chloride", "11 mmol/hour", "review"),
            ("Potassium chloride 40 mmol/L", "125 mL/hour", None),
            ("Glucose 5% with potassium chloride 20 mmol 1 L", "100 mL/hour", None),
            ("Sando-K", "two tablets twice daily", None),
        ],
    )
    def test_both_ends(self, text: str, words: str, action: str | None) -> None:
        finding = said(in_words(text, words))
        assert (finding.action if finding is not None else None) == action
        if finding is not None:
            assert "mmol an hour written" in finding.sentence


class TestEnoxaparinByWeight:
    """Label 4.2: 1 mg/kg twice or 1.5 mg/kg once a day; a tenth above or below is let be by our choice."""

    _CLOT = problem("Pulmonary embolism", since="2026-02-27T09:00:00+04:00")

    @pytest.mark.parametrize(
        ("kilograms", "amount", "often", "urgency"),
        [
            ("80", "80", (2, 1, "d"), None),
            ("80", "88", (2, 1, "d"), None),
            ("80", "89", (2, 1, "d"), U),
            ("80", "120", (1, 1, "d"), None),
            ("80", "108", (1, 1, "d"), None),
            ("80", "107", (1, 1, "d"), P),
            ("80", "60", (1, 1, "d"), None),
            ("80", "40", (1, 1, "d"), None),
        ],
    )
    def test_both_ends(
        self, kilograms: str, amount: str, often: tuple[int, int, str], urgency: Urgency | None
    ) -> None:
        beside = (self._CLOT, weight(kilograms), result("creatinine", "70"))
        finding = said(*beside, dosed("Enoxaparin injection", amount, "mg", often))
        assert (finding.urgency if finding is not None else None) is urgency

    def test_a_low_or_unknown_function_or_no_clot_leaves_a_low_dose(self) -> None:
        low = dosed("Enoxaparin injection", "80", "mg")
        assert said(self._CLOT, weight("80"), result("creatinine", "320"), low) is None
        assert said(self._CLOT, weight("80"), low) is None
        assert said(weight("80"), result("creatinine", "70"), low) is None


@pytest.mark.parametrize(("medicine", "amount", "urgency"), [
    ("Paracetamol suspension", "270", None),
    ("Paracetamol suspension", "300", P),
    ("Paracetamol suspension", "360", P),
    ("Paracetamol suspension", "361", U),
    ("Ibuprofen suspension", "140", None),
    ("Ibuprofen suspension", "145", P),
])  # fmt: skip
def test_a_child_by_weight(medicine: str, amount: str, urgency: Urgency | None) -> None:
    """Four doses a day at 14.4 kg: 75 mg/kg are 1080 mg, 100 are 1440, 40 are 576."""
    finding = said(weight("14.4"), dosed(medicine, amount, "mg", (4, 1, "d")), who=patient("2022-03-01"))
    assert (finding.urgency if finding is not None else None) is urgency
    if finding is not None:
        assert "14.4 kg" in finding.sentence


@pytest.mark.parametrize(("text", "route", "amount", "often", "urgency"), [
    ("Morphine", "intravenous", "2.8", (4, 1, "d"), None),
    ("Morphine", "intravenous", "2.9", (4, 1, "d"), U),
    ("Morphine", "oral", "5", (4, 1, "d"), None),
    ("Morphine", "oral", "6", (4, 1, "d"), U),
    ("Gentamicin", "intravenous", "110", (1, 1, "d"), None),
    ("Gentamicin", "intravenous", "111", (1, 1, "d"), P),
    ("Metoclopramide", "intravenous", "2.6", (3, 1, "d"), None),
    ("Metoclopramide", "intravenous", "2.7", (3, 1, "d"), P),
])  # fmt: skip
def test_a_child_by_weight_and_route(
    text: str, route: str, amount: str, often: tuple[int, int, str], urgency: Urgency | None
) -> None:
    """At 14.4 kg. MHRA August 2013: metoclopramide 0.5 mg/kg a day; the others common practice, no source."""
    chart = dosed(text, amount, "mg", often)
    (dosage,) = chart["dosageInstruction"]
    chart = {**chart, "dosageInstruction": [{**dosage, "route": {"text": route}}]}
    finding = said(weight("14.4"), chart, who=patient("2022-03-01"))
    assert (finding.urgency if finding is not None else None) is urgency


class TestTwoDosesInOneOrder:
    """Common practice, no source: it is asked which was meant; for which medicines urgently is our choice."""

    @pytest.mark.parametrize(
        ("text", "words", "amount", "unit", "urgency"),
        [
            ("Insulin glargine", "10 units at night", "100", "[IU]", U),
            ("Oxycodone", "5 mg when needed", "50", "mg", U),
            ("Ramipril", "2.5 mg daily", "25", "mg", P),
            ("Ramipril", "2.5 mg daily", "0.0025", "g", None),
            ("Digoxin", "250 micrograms daily", "0.25", "mg", None),
            ("Ramipril", "2 x 2.5 mg daily", "5", "mg", None),
            ("Ramipril", "one 2.5 mg tablet twice", "5", "mg", None),
            ("Ramipril", "2.5 to 5 mg daily", "5", "mg", None),
            ("Ramipril", "daily", "5", "mg", None),
            ("Ramipril", "5 mg daily", "2", "tablet", None),
        ],
    )
    def test_words_and_number(
        self, text: str, words: str, amount: str, unit: str, urgency: Urgency | None
    ) -> None:
        chart = dosed(text, amount, unit)
        (dosage,) = chart["dosageInstruction"]
        finding = said({**chart, "dosageInstruction": [{**dosage, "text": words}]})
        assert (finding.urgency if finding is not None else None) is urgency
        if finding is not None:
            assert "in words and" in finding.sentence

    def test_a_taper_has_several_doses(self) -> None:
        chart = dosed("Prednisolone", "30", "mg")
        (dosage,) = chart["dosageInstruction"]
        steps = [{**dosage, "text": "20 mg daily", "sequence": 1}, {**dosage, "sequence": 2}]
        assert said({**chart, "dosageInstruction": steps}) is None


def test_a_heavy_child_has_the_limit_of_an_adult() -> None:
    finding = said(weight("70"), dosed("Paracetamol", "1", "g", (5, 1, "d")), who=patient("2010-01-01"))
    assert finding is not None


_AF = problem("Atrial fibrillation")


@pytest.mark.parametrize(("kilograms", "amount", "is_said"), [
    ("60", "60", True), ("60.1", "60", False), ("55", "30", False), ("55", "60", True),
])  # fmt: skip
def test_edoxaban_by_weight(kilograms: str, amount: str, is_said: bool) -> None:
    """PMC6012907 table 1: 30 mg once a day at 60 kg or less."""
    assert bool(said(weight(kilograms), dosed("Edoxaban", amount, "mg"))) is is_said


class TestApixaban:
    """Two of: 80 years, 60 kg or less, creatinine 133 or more (PMC6671778 table 3)."""

    @pytest.mark.parametrize(("born", "kilograms", "creatinine", "is_said"), [
        ("1946-02-01", "60", "100", True),
        ("1947-06-01", "60", "100", False),
        ("1946-02-01", "60.1", "100", False),
        ("1946-02-01", "80", "133", True),
        ("1946-02-01", "80", "132", False),
        ("1960-06-01", "58", "133", True),
        ("1960-06-01", "80", "150", False),
    ])  # fmt: skip
    def test_both_ends(self, born: str, kilograms: str, creatinine: str, is_said: bool) -> None:
        before = result("creatinine", creatinine, "2026-01-05T09:00:00+04:00")
        now = result("creatinine", creatinine)
        chart = dosed("Apixaban 5 mg", "5", "mg", (2, 1, "d"))
        assert bool(said(_AF, before, now, weight(kilograms), chart, who=patient(born))) is is_said

    def test_only_in_atrial_fibrillation_and_above_the_dose(self) -> None:
        who = patient("1940-06-01")
        clot = problem("Pulmonary embolism")
        assert said(clot, weight("50"), dosed("Apixaban", "5", "mg", (2, 1, "d")), who=who) is None
        assert said(_AF, weight("50"), dosed("Apixaban", "2.5", "mg", (2, 1, "d")), who=who) is None

    def test_an_unwritten_dose_is_asked_about_at_the_round(self) -> None:
        who = patient("1940-06-01")
        finding = said(_AF, weight("50"), {**order("Apixaban 5 mg tablets"), "id": "o"}, who=who)
        assert finding is not None
        assert finding.urgency is R
        assert "not written as a number" in finding.sentence
        assert SILENT_SOURCE in finding.sources
        assert said(_AF, weight("50"), {**order("Apixaban 2.5 mg tablets"), "id": "o"}, who=who) is None

    @pytest.mark.parametrize(
        ("text", "is_asked"),
        [
            ("Edoxaban 30 mg tablets", False),
            ("Edoxaban 30MG tablets", False),
            ("Edoxaban 30mg tablets", False),
            ("Edoxaban 60 mg tablets", True),
            ("Edoxaban 60 mg tablets for 30 days", True),
            ("Edoxaban 60 mg tablets x 130", True),
        ],
    )
    def test_words_in_order_are_whole_words(self, text: str, is_asked: bool) -> None:
        """The dose itself: doac-doses, table 1; which words say it is our choice."""
        finding = said(weight("50"), {**order(text), "id": "o"})
        assert (finding is not None) is is_asked


@pytest.mark.parametrize(("amount", "urgency"), [("460", None), ("480", P)])
def test_gentamicin_by_weight(amount: str, urgency: Urgency | None) -> None:
    """Common practice, no source: at most 7 mg/kg a day; a tenth above is let be (ours). 62 kg are 477 mg."""
    finding = said(weight("62"), dosed("Gentamicin", amount, "mg"))
    assert (finding.urgency if finding is not None else None) is urgency


@pytest.mark.parametrize(
    ("text", "amount", "is_said"),
    [
        ("Oramorph 10 mg/5 mL", "8", False),
        ("Oramorph 10 mg/5 mL", "8.1", True),
        ("Oxycodone 5 mg/5 mL", "6", False),
        ("Oxycodone 5 mg/5 mL", "6.1", True),
    ],
)
def test_an_opioid_of_a_child_by_weight(text: str, amount: str, is_said: bool) -> None:
    """Common practice, no source: 0.2 to 0.3 mg/kg of morphine; from where it is spoken of: ours. 20 kg."""
    child = patient("2020-02-01")
    finding = said(weight("20"), dosed(text, amount, "mg", (1, 4, "h")), who=child)
    assert ((finding.action, finding.urgency) if finding is not None else None) == (
        ("hold", U) if is_said else None
    )
    assert said(problem("Neuroblastoma", status="active"), dosed(text, "1", "mg"), who=child) is None


@pytest.mark.parametrize(
    ("text", "route", "is_said"),
    [
        ("Bupivacaine 0.5%", "intravenous", True),
        ("Bupivacaine 0.5%", "epidural", False),
        ("Levobupivacaine 0.125% infusion", "", False),
        ("Penicillin G benzathine 1.2 MU", "intravenous", True),
        ("Penicillin G benzathine 1.2 MU", "intramuscular", False),
    ],
)
def test_what_kills_in_a_vein(text: str, route: str, is_said: bool) -> None:
    """Common practice, no source, and a boxed warning, from memory; a nerve block has no route here."""
    dosage = [{"route": {"text": route}}] if route else []
    finding = said({**order(text), "id": "o", "dosageInstruction": dosage})
    assert ((finding.action, finding.urgency) if finding is not None else None) == (
        ("hold", U) if is_said else None
    )


@pytest.mark.parametrize(
    ("before", "status", "is_asked"),
    [((), "draft", True), ((), "active", False), ((order("Morphine 10 mg"),), "draft", False)],
)
def test_a_first_fentanyl_patch(before: tuple[Json, ...], status: str, is_asked: bool) -> None:
    """MHRA September 2020, secondary: not for opioid-naive patients; asked at the signature only."""
    patch = {**order("Fentanyl 25 micrograms/hour patch", status=status), "id": "o"}
    finding = said(*before, patch)
    assert (finding.urgency if finding is not None else None) is (P if is_asked else None)


@pytest.mark.parametrize(
    ("hours", "route", "ends", "is_asked"),
    [
        (71, "intravenous", None, False),
        (72, "intravenous", None, True),
        (200, "oral", None, False),
        (200, "intravenous", "2026-03-04T09:00:00+04:00", False),
    ],
)
def test_an_antibacterial_by_vein_is_asked_about_after_72_hours(
    hours: int, route: str, ends: str | None, is_asked: bool
) -> None:
    """Start smart then focus 2015, from memory: a documented decision at 48 to 72 hours."""
    bounds = {"timing": {"repeat": {"boundsPeriod": {"end": ends}}}} if ends else {}
    dosage = [{"route": {"text": route}, **bounds}]
    ordered = order("Meropenem 1 g", authoredOn=earlier(f"{hours} h"), dosageInstruction=dosage)
    finding = said({**ordered, "id": "o"})
    assert ((finding.action, finding.urgency) if finding is not None else None) == (
        ("review", R) if is_asked else None
    )


@pytest.mark.parametrize(
    ("text", "is_said"),
    [
        ("Morphine 30 mg, oxycodone 20 mg and midazolam 10 mg over 24 hours CSCI", True),
        ("Morphine 30 mg and midazolam 10 mg over 24 hours CSCI", False),
    ],
)
def test_two_strong_opioids_in_one_driver(text: str, is_said: bool) -> None:
    """Common practice, no source: one strong opioid in a driver, unless its team says otherwise."""
    finding = said({**order(text), "id": "o"})
    assert ((finding.action, finding.urgency) if finding is not None else None) == (
        ("review", P) if is_said else None
    )


def test_every_limit_is_tried() -> None:
    tried = {
        "apixaban-begins-too-long",
        "rivaroxaban-begins-too-long",
        "heparin-ten-fold",
        "insulin-in-millilitres",
        "linezolid-for-two-weeks",
        "methotrexate-in-tablets",
        "methotrexate-of-a-week",
        "paracetamol-overdose",
        "potassium-as-a-bolus",
        "vinca-into-the-spine",
        "aminoglycoside-for-5-days",
        "antibacterial-by-vein-for-72-hours",
        "apixaban-too-little",
        "apixaban-two-of-three",
        "benzathine-into-a-vein",
        "digoxin-loading-goes-on",
        "fentanyl-patch-after-a-weak-opioid",
        "heparin-an-hour",
        "insulin-an-hour",
        "insulin-into-a-vein-at-once",
        "opioid-an-hour",
        "edoxaban-by-weight",
        "enoxaparin-for-weight",
        "enoxaparin-too-little-for-weight",
        "enoxaparin-too-little-above-120-kg",
        "fentanyl-patch-first",
        "gentamicin-for-weight",
        "given-too-often",
        "insulin-above-last",
        "local-anaesthetic-into-a-vein",
        "paracetamol-by-weight",
        "paracetamol-with-a-weak-liver",
        "potassium-faster-than-10",
        "potassium-faster-than-20",
        "two-opioids-in-one-driver",
        "two-doses",
        "two-doses-of-what-kills",
    }
    tried |= {limit.key for limit in DOSE_LIMITS if limit.for_children}
    for text, amount, unit, often, who, urgency in LIMITS:
        finding = said(dosed(text, amount, unit, often), who=who) if urgency is not None else None
        tried |= {r.rule.removeprefix("dose-") for r in finding.reasons} if finding is not None else set()
    assert tried >= {limit.key for limit in DOSE_LIMITS}


@pytest.mark.parametrize(
    ("kilograms", "amount", "often", "is_asked"),
    [
        ("120", "40", (1, 1, "d"), False),
        ("121", "40", (1, 1, "d"), True),
        ("121", "40", (2, 1, "d"), False),
        (None, "40", (1, 1, "d"), False),
    ],
)
def test_enoxaparin_above_120_kg(
    kilograms: str | None, amount: str, often: tuple[int, int, str], is_asked: bool
) -> None:
    """Common practice, no source: 40 mg twice a day; nobody is asked without a weight."""
    known = [weight(kilograms)] if kilograms is not None else []
    finding = said(
        dosed("Enoxaparin 40 mg injection", amount, "mg", often), result("creatinine", "80"), *known
    )
    assert (finding is not None) is is_asked
    assert finding is None or finding.urgency is Urgency.ROUTINE


def test_tablets_of_a_compound_count_as_given() -> None:
    """7 g in a day was told as 4 g: the tablets of co-dydramol were left out."""
    lines = [
        {**dosed("Paracetamol 10 mg/mL infusion", "1000", "mg", (4, 1, "d")), "id": "o"},
        {**dosed("Co-dydramol 10 mg/500 mg tablets", "2", "tablet", (4, 1, "d")), "id": "b"},
    ]
    doses = [
        {**given(line["medicationCodeableConcept"]["text"], earlier(f"{hours} h")), "id": f"g{place}{hours}"}
        for place, line in enumerate(lines)
        for hours in (4, 10, 16)
    ]
    finding = said(*lines, *doses)
    assert finding is not None
    assert "6000 mg of paracetamol given in 24 hours" in finding.sentence
