"""Written doses at both ends of their limits, through the real door.

Expected: labels 4.2 (weekly methotrexate), MHRA Drug Safety Update December 2011 (citalopram and
escitalopram) and May 2014 (domperidone), PMC6671778 table 3 (apixaban); the rest is common practice, no
source. The limits of insulin, and from where paracetamol in a child is spoken of, are our choice.
"""

import pytest

from tests.medicines.wards import dosed, order, problem
from tests.medicines.written_doses import OLD, YOUNG, dose_said
from tests.records import Json, alertness, earlier, given, patient
from weatherglass.knowledge.medicines.limits.dose_limits import DOSE_LIMITS
from weatherglass.model.findings import Urgency

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


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
    finding = dose_said(dosed(text, amount, unit, often), who=who)
    assert (finding.urgency if finding is not None else None) is urgency
    if finding is not None:
        assert "written" in finding.sentence


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
    finding = dose_said({**order(text), "id": "o", "dosageInstruction": [{"text": dose}]})
    assert (finding.urgency if finding is not None else None) is urgency


def test_by_a_recorded_route_too() -> None:
    dosage = [{"route": {"coding": [{"code": "72607000", "display": "Intrathecal route"}]}}]
    finding = dose_said({**order("Vincristine"), "id": "o", "dosageInstruction": dosage})
    assert finding is not None
    assert "into the spinal canal written" in finding.sentence


@pytest.mark.parametrize(("days", "is_asked"), [("13 d", False), ("14 d", True)])
def test_linezolid_for_long(days: str, is_asked: bool) -> None:
    assert bool(dose_said({**order("Linezolid 600 mg", authoredOn=earlier(days)), "id": "o"})) is is_asked


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
    assert bool(dose_said(line)) is is_asked


def test_a_day_of_methotrexate_is_held_and_says_why() -> None:
    finding = dose_said(dosed("Methotrexate", "10", "mg"))
    assert finding is not None
    assert finding.action == "hold"
    assert "once a week" in finding.reasons[0].why


def test_treatment_of_a_cancer_has_other_doses() -> None:
    assert dose_said(problem("Acute lymphoblastic leukaemia"), dosed("Methotrexate", "10", "mg")) is None


@pytest.mark.parametrize(("amount", "is_said"), [("49", False), ("50", True), ("60", True)])
def test_insulin_far_above_its_other_order(amount: str, is_said: bool) -> None:
    """Five times the ten units of an order that has ended."""
    before = {**dosed("NovoRapid", "10", "U"), "id": "before", "status": "stopped"}
    assert bool(dose_said(before, dosed("NovoRapid", amount, "U"))) is is_said


def test_a_draft_is_asked_about_before_the_signature() -> None:
    finding = dose_said(dosed("Methotrexate", "10", "mg", status="draft"))
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
    finding = dose_said(in_words(text, words))
    assert (finding.urgency if finding is not None else None) is urgency


def test_another_unit_and_a_child_without_a_weight_are_not_judged() -> None:
    assert dose_said(dosed("Paracetamol", "9", "tablet", (4, 1, "d"))) is None
    assert dose_said(dosed("Paracetamol", "900", "mg"), who=patient("2018-01-01")) is None


@pytest.mark.parametrize("born", ["2018-01-01", "1980-01-01"])
def test_a_way_that_kills_does_so_at_every_age(born: str) -> None:
    """Vincristine, boxed warning of its label (secondary): a child with leukaemia is whom it has killed."""
    finding = dose_said(in_words("Vincristine", "1.5 mg intrathecal"), who=patient(born))
    assert finding is not None
    assert finding.urgency is Urgency.EMERGENCY


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
        finding = dose_said(in_words(text, words))
        assert (finding.action if finding is not None else None) == action
        if finding is not None:
            assert "mmol an hour written" in finding.sentence


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
        finding = dose_said({**chart, "dosageInstruction": [{**dosage, "text": words}]})
        assert (finding.urgency if finding is not None else None) is urgency
        if finding is not None:
            assert "in words and" in finding.sentence

    def test_a_taper_has_several_doses(self) -> None:
        chart = dosed("Prednisolone", "30", "mg")
        (dosage,) = chart["dosageInstruction"]
        steps = [{**dosage, "text": "20 mg daily", "sequence": 1}, {**dosage, "sequence": 2}]
        assert dose_said({**chart, "dosageInstruction": steps}) is None


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
    finding = dose_said({**order(text), "id": "o", "dosageInstruction": dosage})
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
    finding = dose_said(*before, patch)
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
    finding = dose_said({**ordered, "id": "o"})
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
    finding = dose_said({**order(text), "id": "o"})
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
        "relaxant-in-somebody-awake",
        "two-opioids-in-one-driver",
        "two-doses",
        "two-doses-of-what-kills",
    }
    tried |= {limit.key for limit in DOSE_LIMITS if limit.for_children}
    for text, amount, unit, often, who, urgency in LIMITS:
        finding = dose_said(dosed(text, amount, unit, often), who=who) if urgency is not None else None
        tried |= {r.rule.removeprefix("dose-") for r in finding.reasons} if finding is not None else set()
    assert tried >= {limit.key for limit in DOSE_LIMITS}


@pytest.mark.parametrize(
    ("mind", "when", "before", "is_asked"),
    [
        ("alert", "2 h", None, True),
        ("voice", "2 h", None, False),
        ("alert", "25 h", None, False),
        ("alert", "2 h", given("Rocuronium 50 mg", earlier("3 h")), False),
    ],
)
def test_a_muscle_relaxant_for_somebody_awake(
    mind: str, when: str, before: Json | None, is_asked: bool
) -> None:
    """Common practice, no source: only where the record says that nobody is ventilated, before a dose."""
    awake = alertness(mind, at=earlier(when))
    found = dose_said(
        order("Rocuronium 50 mg intravenous") | {"id": "o"}, awake, *([before] if before else [])
    )
    assert (found is not None) is is_asked
    if found is not None:
        assert (found.action, found.urgency) == ("hold", U)
