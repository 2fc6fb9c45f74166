"""Combinations on the chart: of triggers, of medicines, and of both."""

import pytest

from tests.medicines.wards import injury, interactions, order, problem, result, reviewed
from tests.records import Json, earlier, given
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.model.findings import State, Urgency

IBUPROFEN = order("Ibuprofen 400 mg", "M01AE01")
RAMIPRIL = order("Ramipril 5 mg", "C09AA05")
FUROSEMIDE = order("Furosemide 40 mg", "C03CA01")
MORPHINE = order("Morphine 10 mg", "N02AA01")
DIAZEPAM = order("Diazepam 5 mg", "N05BA01")
_MELAENA = problem("Melaena", since="2026-02-28")
_VOMITING = problem("Vomiting", since="2026-02-28")
_STENT = problem("Coronary stent")


@pytest.mark.parametrize(
    ("key", "resources", "orders"),
    [
        ("aki-nsaid-raas-diuretic", [*injury(1), IBUPROFEN, RAMIPRIL, FUROSEMIDE], 3),
        ("nsaid-raas-diuretic", [IBUPROFEN, RAMIPRIL, FUROSEMIDE], 3),
        ("aki-hyperkalaemia-raas", [*injury(1), result("K", "5.6"), RAMIPRIL], 1),
        ("opioid-sedative-drowsy", [result("RR", "8"), MORPHINE, order("Zopiclone 7.5 mg", "N05CF01")], 2),
        ("opioid-sedative-drowsiness", [result("GCS", "13"), MORPHINE, DIAZEPAM], 2),
        ("opioid-benzodiazepine", [MORPHINE, DIAZEPAM], 2),
        (
            "metformin-sglt2-one-product",
            [*injury(1), order("Metformin 1 g / empagliflozin 5 mg", "A10BD20")],
            1,
        ),
        (
            "steroid-adrenal-risk",
            [result("SBP", "88"), order("Prednisolone 5 mg", "H02AB06", authoredOn="2025-06-01")],
            1,
        ),
        (
            "adrenal-potassium",
            [result("K", "5.9"), problem("Addison's disease"), order("Hydrocortisone 10 mg", "H02AB09")],
            1,
        ),
        (
            "steroid-vomiting",
            [_VOMITING, order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")],
            1,
        ),
        ("antiplatelet-stent-bleeding", [_MELAENA, _STENT, order("Clopidogrel 75 mg", "B01AC04")], 1),
        (
            "transplant-acute-illness",
            [*injury(1), problem("Kidney transplant"), order("Tacrolimus 1 mg", "L04AD02")],
            1,
        ),
        ("levodopa-timing", [result("SBP", "92"), order("Co-beneldopa 25/100", "N04BA02")], 1),
        (
            "nitrate-pde5",
            [order("Isosorbide mononitrate 20 mg", "C01DA14"), order("Sildenafil 50 mg", "G04BE03")],
            2,
        ),
        (
            "beta-blocker-rate-limiting",
            [result("HR", "38"), order("Bisoprolol 5 mg", "C07AB07"), order("Verapamil 80 mg", "C08DA01")],
            2,
        ),
    ],
)
def test_combination(key: str, resources: list[Json], orders: int) -> None:
    """Each combination is named with the orders that meet in it, its urgency and its source."""
    rule = next(each for each in COMBINATIONS if each.key == key)
    found = interactions(reviewed(result("creatinine", "80", earlier("60 d")), *resources))[key]
    assert len(found.orders) == len(found.medicines) == orders
    assert found.sentence.endswith(rule.sentence)
    assert all(name in found.sentence for name in found.medicines)
    assert found.sources[0] == rule.sources[0]
    assert (found.urgency is Urgency.URGENT) == rule.urgent
    assert set(found.orders) <= set(found.evidence)


def test_every_combination_is_tried() -> None:
    """The list above is the whole table."""
    (mark,) = test_combination.pytestmark  # type: ignore[attr-defined]
    assert [row[0] for row in mark.args[1]] == [each.key for each in COMBINATIONS]


@pytest.mark.parametrize(
    ("resources", "absent"),
    [
        ([IBUPROFEN, RAMIPRIL], "nsaid-raas-diuretic"),
        ([*injury(1), IBUPROFEN, FUROSEMIDE], "aki-nsaid-raas-diuretic"),
        (
            [IBUPROFEN, RAMIPRIL, order("Furosemide 40 mg", "C03CA01", status="on-hold")],
            "nsaid-raas-diuretic",
        ),
        (
            [IBUPROFEN, RAMIPRIL, order("Furosemide 40 mg", "C03CA01", status="stopped")],
            "nsaid-raas-diuretic",
        ),
        (
            [order("Ibuprofen 5 % gel", "M02AA13"), RAMIPRIL, FUROSEMIDE],
            "nsaid-raas-diuretic",
        ),
        # One product for both, and not one of each.
        (
            [*injury(1), order("Metformin 1 g", "A10BA02"), order("Empagliflozin 10 mg", "A10BK03")],
            "metformin-sglt2-one-product",
        ),
        ([_MELAENA, order("Clopidogrel 75 mg", "B01AC04")], "antiplatelet-stent-bleeding"),
        ([MORPHINE], "opioid-benzodiazepine"),
        # A short course, as against sickness itself or for shock, is no long-term use.
        ([result("SBP", "88"), order("Hydrocortisone 100 mg", "H02AB09")], "steroid-adrenal-risk"),
        ([_VOMITING, order("Dexamethasone 8 mg", "H02AB02")], "steroid-vomiting"),
    ],
)
def test_one_part_is_missing(resources: list[Json], absent: str) -> None:
    """Without one of its groups, its trigger or its circumstance a combination is silent."""
    assert absent not in interactions(reviewed(result("Na", "140"), *resources))


def test_the_one_with_a_trigger_speaks() -> None:
    """The plain combination is left out where the same orders meet with a trigger."""
    found = interactions(reviewed(*injury(1), IBUPROFEN, RAMIPRIL, FUROSEMIDE))
    assert "nsaid-raas-diuretic" not in found
    drowsy = interactions(reviewed(result("RR", "8"), MORPHINE, DIAZEPAM))
    assert set(drowsy) == {"opioid-sedative-drowsy"}


@pytest.mark.parametrize(
    ("given", "by_vein", "urgency"),
    [
        ("9 h", True, Urgency.URGENT),
        ("8 h", True, None),
        ("8 h", False, Urgency.PROMPT),
        (None, True, Urgency.URGENT),
    ],
)
def test_steroid_by_injection_answers_vomiting(
    given: str | None, by_vein: bool, urgency: Urgency | None
) -> None:
    """Our choice: what is asked, whether the next doses are due by injection, is done."""
    vein = [{"route": {"text": "intravenous"}}]
    resources = [order("Prednisolone 10 mg", "H02AB06", authoredOn="2025-06-01")]
    if by_vein:
        resources.append(order("Hydrocortisone 50 mg", "H02AB09", dosageInstruction=vein))
    if given is not None:
        resources.append(
            {
                "resourceType": "MedicationAdministration",
                "id": "dose",
                "status": "completed",
                "subject": {"reference": "Patient/p"},
                "medicationCodeableConcept": {"text": "Hydrocortisone 100 mg"},
                "effectiveDateTime": earlier(given),
                "dosage": {"route": {"text": "intravenous"}},
            }
        )
    found = interactions(reviewed(result("Na", "140"), _VOMITING, *resources)).get("steroid-vomiting")
    assert (found.urgency if found is not None else None) is urgency


def test_draft_makes_a_combination() -> None:
    """An order not signed yet is counted as if it were: that is when it can still be changed."""
    draft = order("Ibuprofen 400 mg", "M01AE01", status="draft")
    found = interactions(reviewed(result("Na", "140"), draft, RAMIPRIL, FUROSEMIDE))
    assert "not signed yet" in found["nsaid-raas-diuretic"].sentence


def test_since_the_last_order() -> None:
    """A combination began with the last order that made it."""
    late = {**IBUPROFEN, "authoredOn": earlier("2 h")}
    early = interactions(reviewed(result("Na", "140"), IBUPROFEN, RAMIPRIL, FUROSEMIDE))
    found = interactions(reviewed(result("Na", "140"), late, RAMIPRIL, FUROSEMIDE))
    assert early["nsaid-raas-diuretic"].state is State.CONTINUING
    assert found["nsaid-raas-diuretic"].state is State.NEW


@pytest.mark.parametrize(
    ("resources", "said"),
    [
        (
            [*injury(1), IBUPROFEN, RAMIPRIL, FUROSEMIDE],
            "Furosemide + ibuprofen + ramipril, with acute kidney injury: filtration is lost",
        ),
        (
            [IBUPROFEN, RAMIPRIL, FUROSEMIDE],
            "Furosemide + ibuprofen + ramipril together: kidney injury with any fluid loss",
        ),
        (
            [_MELAENA, _STENT, order("Clopidogrel 75 mg", "B01AC04")],
            "Clopidogrel, with suspected bleeding: cardiology decides today",
        ),
    ],
)
def test_in_a_few_words(resources: list[Json], said: str) -> None:
    """Common practice, no source: a headline is never cut in the middle of what it says."""
    assert said in {one.brief for one in interactions(reviewed(*resources)).values()}


@pytest.mark.parametrize(
    ("name", "value", "urgency"),
    [("SBP", "88", Urgency.URGENT), ("Na", "124", Urgency.PROMPT)],
)
def test_a_steroid_with_sodium_alone_is_prompt(name: str, value: str, urgency: Urgency) -> None:
    """Signs of adrenal crisis: from memory; that only pressure, sepsis and glucose press: our choice."""
    ill = (result(name, value), problem("Addison's disease"), order("Hydrocortisone 10 mg", "H02AB09"))
    assert interactions(reviewed(*ill))["steroid-adrenal-risk"].urgency is urgency


@pytest.mark.parametrize(("now", "urgency"), [("3.3", Urgency.URGENT), ("7.4", Urgency.PROMPT)])
def test_a_glucose_that_has_recovered_presses_no_more(now: str, urgency: Urgency) -> None:
    """Our choice: after hydrocortisone the low glucose of hours ago went on calling."""
    low, newer = result("glucose", "3.4", at=earlier("5 h")), {**result("glucose", now), "id": "newer"}
    ill = (low, newer, problem("Addison's disease"), order("Hydrocortisone 10 mg", "H02AB09"))
    assert interactions(reviewed(*ill))["steroid-adrenal-risk"].urgency is urgency


@pytest.mark.parametrize(
    ("vein", "dose", "is_asked"),
    [
        pytest.param("intravenous", "2 h", False, id="given-and-ordered"),
        pytest.param("intravenous", "9 h", True, id="long-ago"),
        pytest.param("oral", "2 h", True, id="by-mouth"),
    ],
)
def test_a_crisis_that_is_treated_is_not_asked_about(vein: str, dose: str, is_asked: bool) -> None:
    """Our choice: a dose without its route went as its line says; the low glucose was asked about."""
    line = order("Hydrocortisone 50 mg", "H02AB09", dosageInstruction=[{"route": {"text": vein}}])
    went = given("Hydrocortisone 50 mg", earlier(dose))
    found = interactions(reviewed(result("glucose", "3.2"), problem("Addison's disease"), line, went))
    assert ("steroid-adrenal-risk" in found) is is_asked


def test_potassium_asks_about_a_crisis_only_where_the_adrenal_has_failed() -> None:
    """Common practice, no source: a steroid that silences the adrenal leaves aldosterone alone."""
    silenced = order("Prednisolone 5 mg", "H02AB06", authoredOn="2025-06-01")
    assert interactions(reviewed(result("K", "5.9"), silenced)) == {}


def test_one_harm_of_the_same_orders_is_told_once() -> None:
    """The crisis that a low pressure asks about is not asked about again for the potassium."""
    chart = (problem("Addison's disease"), order("Hydrocortisone 10 mg tablets"))
    both = reviewed(result("K", "5.7"), result("SBP", "84"), *chart)
    assert interactions(both) == {}
    assert "adrenal-crisis" in {one.key for one in both.reviews[0].findings}
    loses = interactions(reviewed(problem("Vomiting"), result("SBP", "95"), *chart))
    assert set(loses) == {"steroid-adrenal-risk"}
    assert "adrenal-potassium" in interactions(reviewed(result("K", "5.7"), *chart))
