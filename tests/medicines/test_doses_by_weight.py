"""The most of a dose by weight, of children and of adults (publications beside each)."""

import pytest

from tests.medicines.wards import dosed, order, problem, result
from tests.medicines.written_doses import dose_said, weight
from tests.records import patient
from weatherglass.knowledge.medicines.limits.dose_limits import SILENT_SOURCE
from weatherglass.model.findings import Urgency

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


@pytest.mark.parametrize(("kilograms", "amount", "is_said"), [
    ("50", "1000", False), ("49", "1000", True), ("40", "600", False), ("40", "650", True),
])  # fmt: skip
def test_paracetamol_by_weight(kilograms: str, amount: str, is_said: bool) -> None:
    """Four doses a day: 60 mg/kg is 2400 mg at 40 kg; no limit by weight from 50 kg on."""
    assert bool(dose_said(weight(kilograms), dosed("Paracetamol", amount, "mg", (4, 1, "d")))) is is_said


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
        finding = dose_said(*beside, dosed("Enoxaparin injection", amount, "mg", often))
        assert (finding.urgency if finding is not None else None) is urgency

    def test_a_low_or_unknown_function_or_no_clot_leaves_a_low_dose(self) -> None:
        low = dosed("Enoxaparin injection", "80", "mg")
        assert dose_said(self._CLOT, weight("80"), result("creatinine", "320"), low) is None
        assert dose_said(self._CLOT, weight("80"), low) is None
        assert dose_said(weight("80"), result("creatinine", "70"), low) is None


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
    finding = dose_said(weight("14.4"), dosed(medicine, amount, "mg", (4, 1, "d")), who=patient("2022-03-01"))
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
    finding = dose_said(weight("14.4"), chart, who=patient("2022-03-01"))
    assert (finding.urgency if finding is not None else None) is urgency


def test_a_heavy_child_has_the_limit_of_an_adult() -> None:
    finding = dose_said(weight("70"), dosed("Paracetamol", "1", "g", (5, 1, "d")), who=patient("2010-01-01"))
    assert finding is not None


_AF = problem("Atrial fibrillation")


@pytest.mark.parametrize(("kilograms", "amount", "is_said"), [
    ("60", "60", True), ("60.1", "60", False), ("55", "30", False), ("55", "60", True),
])  # fmt: skip
def test_edoxaban_by_weight(kilograms: str, amount: str, is_said: bool) -> None:
    """PMC6012907 table 1: 30 mg once a day at 60 kg or less."""
    assert bool(dose_said(weight(kilograms), dosed("Edoxaban", amount, "mg"))) is is_said


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
        assert bool(dose_said(_AF, before, now, weight(kilograms), chart, who=patient(born))) is is_said

    def test_only_in_atrial_fibrillation_and_above_the_dose(self) -> None:
        who = patient("1940-06-01")
        clot = problem("Pulmonary embolism")
        assert dose_said(clot, weight("50"), dosed("Apixaban", "5", "mg", (2, 1, "d")), who=who) is None
        assert dose_said(_AF, weight("50"), dosed("Apixaban", "2.5", "mg", (2, 1, "d")), who=who) is None

    def test_an_unwritten_dose_is_asked_about_at_the_round(self) -> None:
        who = patient("1940-06-01")
        finding = dose_said(_AF, weight("50"), {**order("Apixaban 5 mg tablets"), "id": "o"}, who=who)
        assert finding is not None
        assert finding.urgency is R
        assert "not written as a number" in finding.sentence
        assert SILENT_SOURCE in finding.sources
        assert dose_said(_AF, weight("50"), {**order("Apixaban 2.5 mg tablets"), "id": "o"}, who=who) is None

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
        finding = dose_said(weight("50"), {**order(text), "id": "o"})
        assert (finding is not None) is is_asked


@pytest.mark.parametrize(("amount", "urgency"), [("460", None), ("480", P)])
def test_gentamicin_by_weight(amount: str, urgency: Urgency | None) -> None:
    """Common practice, no source: at most 7 mg/kg a day; a tenth above is let be (ours). 62 kg are 477 mg."""
    finding = dose_said(weight("62"), dosed("Gentamicin", amount, "mg"))
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
    finding = dose_said(weight("20"), dosed(text, amount, "mg", (1, 4, "h")), who=child)
    assert ((finding.action, finding.urgency) if finding is not None else None) == (
        ("hold", U) if is_said else None
    )
    assert dose_said(problem("Neuroblastoma", status="active"), dosed(text, "1", "mg"), who=child) is None


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
    finding = dose_said(
        dosed("Enoxaparin 40 mg injection", amount, "mg", often), result("creatinine", "80"), *known
    )
    assert (finding is not None) is is_asked
    assert finding is None or finding.urgency is Urgency.ROUTINE
