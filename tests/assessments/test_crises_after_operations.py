"""Crises after an operation or a needle by their signs, at both ends of each.

From when each is asked for, and how soon, is our choice where the publication beside it gives none.
"""

from typing import Any

import pytest

from tests.assessments.crisis_records import CALM, CONFUSED, HR, RR, SBP, SPO2, E, T, U, crises, operation
from tests.charts import ago, condition, order, rounds, was_done
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin


@pytest.mark.parametrize(
    ("shown", "hours", "urgency"),
    [
        ({SPO2: "91", RR: "25"}, 48, U),
        ({SPO2: "91", RR: "24"}, 2, None),
        ({SPO2: "92", RR: "25"}, 2, None),
        ({SPO2: "91", RR: "25", HR: "111"}, 2, E),
        ({SPO2: "91", RR: "25", SBP: "100"}, 2, E),
        ({SPO2: "91", RR: "25", SBP: "100"}, 48.1, None),
    ],
)
def test_pneumothorax_after_a_needle(shown: dict[Any, str], hours: float, urgency: Urgency | None) -> None:
    """Common practice; the signs and the two days are our choice."""
    line = was_done(ProcedureKind.CHEST_PUNCTURE, hours=hours, text="Insertion of central venous catheter")
    found = crises(rounds((1, shown), procedures=(line,))).get("pneumothorax-after-a-needle")
    assert (found.urgency if found is not None else None) is urgency


WEAK = ConditionKind.WEAK_LEGS


KNOWN_CANCER = condition(ConditionKind.CANCER, text="Carcinoma of prostate", began=900)


def test_weak_legs_with_an_epidural_are_another_question() -> None:
    weak = condition(WEAK, text="Weakness of both legs", began=2)
    block = order("Bupivacaine 0.1% epidural infusion", route=Route.EPIDURAL)
    assert crises(rounds((1, {HR: "80"}), conditions=(weak, KNOWN_CANCER), orders=(block,))) == {}


@pytest.mark.parametrize(
    ("swollen", "breathing", "days", "found"),
    [
        (True, "16", 2, {"haematoma-of-the-neck": E}),
        (True, "16", 2.1, {}),
        (False, "21", 2, {"haematoma-of-the-neck-by-signs": U}),
        (False, "20", 1, {}),
    ],
)
def test_haematoma_of_the_neck(swollen: bool, breathing: str, days: float, found: dict[str, Urgency]) -> None:
    """Iliff 2022, from memory: swelling and fast breathing are among its signs; the numbers are ours."""
    neck = condition(ConditionKind.SWOLLEN_NECK, text="Swelling of neck", began=1)
    done = operation(ProcedureKind.NECK_SURGERY, days)
    asked = crises(rounds((0.5, {RR: breathing}), conditions=(neck,) if swollen else (), procedures=(done,)))
    assert {key: one.urgency for key, one in asked.items()} == found


@pytest.mark.parametrize(
    ("heat", "pulse", "breathing", "crp", "days", "is_asked"),
    [
        ("38.0", "101", "21", "60", 5, True),
        ("37.0", "101", "21", "151", 5, True),
        ("37.9", "101", "21", "150", 5, False),
        ("38.0", "101", "21", "160", 1.9, False),
        ("38.0", "101", "21", "160", 14.1, False),
    ],
)
@pytest.mark.parametrize("kind", [ProcedureKind.BOWEL_SURGERY, ProcedureKind.UPPER_GUT_SURGERY])
def test_leak_of_an_anastomosis(
    heat: str, pulse: str, breathing: str, crp: str, days: float, is_asked: bool, kind: ProcedureKind
) -> None:
    """The Dutch leakage score of 2009, from memory: fever, pulse, breathing, CRP; the limits are ours."""
    shown = {T: heat, HR: pulse, RR: breathing}
    asked = crises(rounds((1, shown), numbers={Signal.CRP: [(2, crp)]}, procedures=(operation(kind, days),)))
    assert ("leak-of-an-anastomosis" in asked) is is_asked
    assert not is_asked or asked["leak-of-an-anastomosis"].urgency is U


@pytest.mark.parametrize(("began", "is_asked"), [(160, True), (97, True), (95, False), (10, False)])
def test_a_perforation_that_was_operated_on_answers_no_leak(began: float, is_asked: bool) -> None:
    """Ours: a burst diverticulum of before, or found in theatre and written down in the day after."""
    burst = condition(ConditionKind.GUT_CATASTROPHE, text="Perforated diverticulitis", began=began)
    done = (operation(ProcedureKind.BOWEL_SURGERY, 5),)
    asked = crises(rounds((1, {T: "38.0", HR: "101", RR: "21"}), conditions=(burst,), procedures=done))
    assert ("leak-of-an-anastomosis" in asked) is is_asked


@pytest.mark.parametrize(
    ("heat", "pulse", "bilirubin", "crp", "pain", "days", "is_asked"),
    [
        pytest.param("38.0", "90", None, None, 20, 4, True, id="pain-and-fever"),
        pytest.param("37.9", "90", "34.2", None, 20, 4, True, id="pain-and-bilirubin"),
        pytest.param("37.9", "90", "34.1", "151", 20, 4, True, id="pain-and-crp"),
        pytest.param("37.9", "130", "34.1", "150", 20, 4, False, id="pain-alone"),
        pytest.param("38.0", "90", None, "151", 110, 4, False, id="pain-of-before"),
        pytest.param("38.0", "101", None, "151", None, 4, True, id="three-signs"),
        pytest.param("38.0", "100", None, "151", None, 4, False, id="two-signs"),
        pytest.param("38.0", "101", "34.2", "151", 10, 0.9, False, id="the-same-day"),
        pytest.param("38.0", "101", "34.2", "151", 20, 1, True, id="a-day"),
        pytest.param("38.0", "101", "34.2", "151", 20, 14, True, id="two-weeks"),
        pytest.param("38.0", "101", "34.2", "151", 20, 14.1, False, id="later"),
    ],
)
def test_bile_after_a_cholecystectomy(
    heat: str,
    pulse: str,
    bilirubin: str | None,
    crp: str | None,
    pain: float | None,
    days: float,
    is_asked: bool,
) -> None:
    """WSES 2020 and TG18 (jaundice from 2 mg/dL), from memory; how many of which signs is ours."""
    sent = {Signal.BILIRUBIN: bilirubin, Signal.CRP: crp}
    numbers = {signal: [(2, value)] for signal, value in sent.items() if value is not None}
    told = (condition(ConditionKind.ABDOMINAL_PAIN, text="Pain", began=pain),) if pain is not None else ()
    done = operation(ProcedureKind.GALLBLADDER_SURGERY, days, "Laparoscopic cholecystectomy")
    record = rounds((1, {T: heat, HR: pulse}), numbers=numbers, conditions=told, procedures=(done,))
    asked = [one for key, one in crises(record).items() if key.startswith("bile-after")]
    assert [one.urgency for one in asked] == [U] * is_asked


@pytest.mark.parametrize(
    ("systolic", "lactate", "days", "is_asked"),
    [("100", "2.1", 7, True), ("101", "2.1", 1, False), ("100", "2.0", 1, False), ("88", "5", 7.1, False)],
)
def test_bleeding_or_tamponade_after_heart_surgery(
    systolic: str, lactate: str, days: float, is_asked: bool
) -> None:
    """Common practice, no source; the limits are our choice."""
    done = operation(ProcedureKind.CARDIAC_SURGERY, days)
    shown = {SBP: systolic, HR: "101"}
    asked = crises(rounds((1, shown), numbers={Signal.LACTATE: [(1, lactate)]}, procedures=(done,)))
    assert ("chest-reopened" in asked) is is_asked


@pytest.mark.parametrize(
    ("alt", "inr", "lactate", "urgency"),
    [("500", "1.5", "2.1", E), ("500", "1.5", "2.0", U), ("499", "1.5", "2.0", None)],
)
def test_the_artery_of_a_liver_graft(alt: str, inr: str, lactate: str, urgency: Urgency | None) -> None:
    """Common practice, no source; the numbers are our choice."""
    graft = was_done(ProcedureKind.TRANSPLANT, hours=24 * 6, text="Liver transplantation")
    numbers = {Signal.ALT: [(2, alt)], Signal.INR: [(2, inr)], Signal.LACTATE: [(2, lactate)]}
    found = crises(rounds((1, {}), numbers=numbers, procedures=(graft,))).get("liver-graft")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("platelets", "hours", "is_asked"), [("74", 71, True), ("75", 71, False), ("74", 73, False)]
)
def test_few_platelets_and_a_catheter_beside_the_cord(platelets: str, hours: float, is_asked: bool) -> None:
    """AAGBI 2013, from memory: below 75; 3 days are ours."""
    needle = was_done(ProcedureKind.NEURAXIAL, hours=hours, text="Epidural catheter insertion")
    record = rounds((1, {}), numbers={Signal.PLATELETS: [(2, platelets)]}, procedures=(needle,))
    assert ("catheter-beside-the-cord" in crises(record)) is is_asked


def _resected(hours: float) -> Procedure:
    kinds = frozenset({ProcedureKind.IRRIGATED_SURGERY, ProcedureKind.SURGERY})
    return Procedure(
        origin=Origin("Procedure/p"), text="Transurethral resection of prostate", kinds=kinds, at=ago(hours)
    )


@pytest.mark.parametrize(
    ("hours", "sodium", "mind", "urgency"),
    [(23, "124", CALM, U), (23, "124", CONFUSED, E), (23, "125", CONFUSED, None), (25, "119", CALM, None)],
)
def test_irrigation_fluid(hours: float, sodium: str, mind: Consciousness, urgency: Urgency | None) -> None:
    """Hahn 2006, from memory; 125 mmol/L within a day is ours."""
    shown = {CodedSignal.CONSCIOUSNESS: mind}
    record = rounds((1, shown), numbers={Signal.SODIUM: [(2, sodium)]}, procedures=(_resected(hours),))
    found = crises(record).get("irrigation-fluid")
    assert (found.urgency if found is not None else None) is urgency
