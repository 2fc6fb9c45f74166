"""What is one decision is told once; each medicine keeps its own finding. Common practice, no source."""

import json
from collections import Counter

import pytest

from tests.medicines.wards import injury, order, problem, result, reviewed, suggestions
from tests.records import bundle, patient
from tests.records import text as body
from weatherglass.cli.printing.text import review_text
from weatherglass.facts.medicines.drug_chart import DrugChart
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.medicines.telling.one_decision import decision_sentence, decisions
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.pipeline import Answer
from weatherglass.stamp import stamp
from weatherglass.web.medicine_view import medicine_views

_REVIEWED = ("Ramipril 5 mg capsules", "Furosemide 40 mg tablets", "Atenolol 25 mg tablets")
_CHART = (*map(order, (*_REVIEWED, "Metformin 500 mg tablets", "Paracetamol 1 g tablets")),)


def _findings(answer: Answer) -> list[MedicineFinding]:
    return [f for f in answer.reviews[0].findings if isinstance(f, MedicineFinding)]


def _shared(answer: Answer) -> list[tuple[MedicineFinding, ...]]:
    return [group for group in decisions(_findings(answer)) if len(group) > 1]


def test_the_same_look_for_the_same_reason_is_one_decision() -> None:
    """Three reviews by kidney injury stage 1 are told in one sentence; a hold stands alone."""
    groups = decisions(_findings(reviewed(*injury(1), *_CHART)))
    assert sorted(len(group) for group in groups) == [1, 3]
    (together,) = (group for group in groups if len(group) == 3)
    said = decision_sentence(together)
    assert said.startswith("Consider reviewing the need for and dose of ")
    assert all(said.count(name) == 1 for name in _REVIEWED)
    assert said.count("acute kidney injury stage 1") == 1


def test_holds_for_one_reason_are_one_decision_too() -> None:
    """On dialysis three medicines that are not given there are held in one sentence."""
    chart = map(order, ("Nitrofurantoin 100 mg", "Naproxen 250 mg tablets", "Metformin 500 mg tablets"))
    (together,) = _shared(reviewed(result("K", "4.5"), problem("Haemodialysis"), *chart))
    assert len(together) == 3
    assert decision_sentence(together).count("Consider holding the next dose of") == 1


def test_what_goes_on_for_one_reason_is_one_decision_too() -> None:
    """Three medicines of Parkinson's disease beside a low pressure were three paragraphs alike."""
    low = result("SBP", "98"), problem("Parkinson's disease")
    answer = reviewed(*low, order("Madopar 125 mg"), order("Opicapone 50 mg"))
    (together,) = _shared(answer)
    assert [one.medicine for one in together] == ["Madopar 125 mg", "Opicapone 50 mg"]
    assert decision_sentence(together).startswith("Consider continuing Madopar 125 mg and Opicapone 50 mg;")
    said = review_text(answer.reviews[0], answer.issues)
    assert " ".join(said.split()).count("each dose is given within 30 minutes of its time") == 1


def test_no_medicine_is_lost_by_it() -> None:
    """Every finding is in one group, once, and none is changed."""
    found = _findings(reviewed(*injury(1), *_CHART))
    assert sorted(id(one) for group in decisions(found) for one in group) == sorted(map(id, found))


def test_what_is_asked_otherwise_or_has_another_reason_stands_alone() -> None:
    """With potassium 6.2 ramipril is held, and its reasons are not those of the others."""
    groups = decisions(_findings(reviewed(*injury(1), result("K", "6.2"), *_CHART)))
    assert any("Ramipril" in one.medicine for group in groups for one in group)
    for group in groups:
        assert len({(one.action, one.urgency) for one in group}) == 1
        assert not any("Ramipril" in one.medicine for one in group) or len(group) == 1


def test_a_value_in_doubt_is_no_shared_decision() -> None:
    found = _findings(reviewed(result("K", "6.8", note=[{"text": "Haemolysed"}]), *_CHART))
    assert [one.decision for one in found if one.doubt] == [None]


def test_every_door_says_it_once() -> None:
    """Text, page, card and Task: the same sentence, and each medicine below it."""
    answer = reviewed(*injury(1), *_CHART)
    review = answer.reviews[0]
    (together,) = _shared(answer)
    said = decision_sentence(together)
    text = " ".join(review_text(review, answer.issues).partition("Drug chart:")[2].split())
    assert text.count(said) == 1
    assert all(f"- {name}:" in text for name in _REVIEWED)
    ((_, record),) = read_bytes(body(bundle(patient(), *injury(1), *_CHART))).records
    views = medicine_views(review.findings, record, {}, review.clock, DrugChart((), ()))
    assert [view.decision for view in views if view.decision] == [said]
    assert {view.medicine for view in views if view.is_one_of_several} == set(_REVIEWED)
    entries = [entry["resource"] for entry in json.loads(answer.collection(stamp()))["entry"]]
    tasks = [one for one in entries if one["resourceType"] == "Task"]
    shared = Counter(task["groupIdentifier"]["value"] for task in tasks if "groupIdentifier" in task)
    assert sorted(shared.values()) == [1, 3]


def test_what_holds_for_all_is_said_once() -> None:
    """Pregnancy is said at the head of the chart and beside none of its lines."""
    chart = map(order, ("Ramipril 5 mg", "Ibuprofen 400 mg", "Doxycycline 100 mg"))
    answer = reviewed(result("K", "4.5"), problem("Pregnancy, 22 weeks"), *chart)
    text = review_text(answer.reviews[0], answer.issues).partition("Drug chart:")[2]
    assert text.partition("Handover")[0].count("decide with obstetrics") == 1


def test_the_most_urgent_is_told_first() -> None:
    """A pair that can wait does not stand before a hold that cannot."""
    chart = map(order, ("Potassium chloride 40 mmol", "Gabapentin 300 mg", "Morphine 10 mg tablets"))
    answer = reviewed(result("K", "6.8"), *chart)
    text = review_text(answer.reviews[0], answer.issues).partition("Drug chart:")[2].partition("The call")[0]
    marks = [line.split()[0] for line in text.splitlines() if line.strip().startswith(("!", ". "))]
    assert marks == sorted(marks, key=["!!!", "!!", "!", "."].index)


@pytest.mark.parametrize(
    ("name", "stages"),
    [
        # Ours: with a good pressure these are no question in stage 1; the liver clears carvedilol.
        ("Amlodipine 5 mg tablets", {2, 3}),
        ("Tamsulosin 400 microgram capsules", {2, 3}),
        ("Omeprazole 20 mg capsules", {2, 3}),
        ("Zopiclone 3.75 mg tablets", {2, 3}),
        ("Carvedilol 6.25 mg tablets", set()),
        ("Bisoprolol 2.5 mg tablets", {2, 3}),
        ("Atenolol 25 mg tablets", {1, 2, 3}),
        ("Naproxen 250 mg tablets", {1, 2, 3}),
    ],
)
def test_stage_1_asks_about_what_the_kidney_or_the_injury_makes_dangerous(
    name: str, stages: set[int]
) -> None:
    """A chart of ordinary medicines in stage 1 had a line for nearly each of them."""
    asked = {stage for stage in (1, 2, 3) if suggestions(reviewed(*injury(stage), order(name)))}
    assert asked == stages


def test_a_low_pressure_asks_about_amlodipine_in_stage_1_too() -> None:
    """100 mmHg or less (ours) is the other reason, and then it is held."""
    (found,) = suggestions(
        reviewed(*injury(1), result("SBP", "95"), order("Amlodipine 5 mg tablets"))
    ).values()
    assert found.action == "hold"


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (
            ("Xyzomab", "Qwertex"),
            "Qwertex and Xyzomab were not recognised, so they were not reviewed: find out",
        ),
        (("Xyzomab",), "Xyzomab was not recognised, so it was not reviewed: find out what it is."),
    ],
)
def test_medicines_that_nobody_recognised_are_one_line(names: tuple[str, ...], said: str) -> None:
    """Twelve lines of one sentence stood below a chart in a script that is not read."""
    answer = reviewed(result("K", "4.5"), *map(order, names))
    text = " ".join(review_text(answer.reviews[0], ()).split())
    assert said in text
    assert text.count("recognised, so") == 1
