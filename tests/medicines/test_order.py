"""Of suggestions equally urgent the medicine comes first that the danger names first; ours.

The same order in the text, on the page, in FHIR and on the cards.
"""

import json
import re
from itertools import permutations

import pytest

from tests.medicines.read_aloud import demo, in_text, on_the_page
from tests.medicines.wards import injury, order, problem, result, reviewed
from tests.records import Json, alertness
from weatherglass.cds_hooks.cards import Frame
from weatherglass.cds_hooks.deterioration import deterioration_cards
from weatherglass.fhir.writing.bundle import context_of
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.knowledge.medicines.rules.rule import RANK_SOURCE
from weatherglass.knowledge.medicines.rules.rules import RULES
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.pipeline import Answer
from weatherglass.stamp import stamp

OPIOID = order("Morphine 10 mg tablets", "N02AA01")
SEDATIVE = order("Diazepam 5 mg tablets", "N05BA01")
PREGABALIN = order("Pregabalin 150 mg capsules", "N02BF02")
NSAID = order("Ibuprofen 400 mg tablets", "M01AE01")
METFORMIN = order("Metformin 500 mg tablets", "A10BA02")
RAMIPRIL = order("Ramipril 5 mg capsules", "C09AA05")


def _read(answer: Answer) -> list[str]:
    """Return the first word of each medicine in the order in which it is read."""
    found = [f for f in answer.reviews[0].findings if isinstance(f, MedicineFinding)]
    return [f.medicine.split()[0] for f in found]


@pytest.mark.parametrize(
    ("resources", "chart", "expected"),
    [
        pytest.param(
            [result("RR", "8"), alertness("voice")],
            [SEDATIVE, PREGABALIN, OPIOID],
            ["Morphine", "Diazepam", "Pregabalin"],
            id="opioid-before-sedatives",
        ),
        pytest.param(
            [*injury(2)],
            [METFORMIN, RAMIPRIL, NSAID],
            ["Ibuprofen", "Ramipril", "Metformin"],
            id="nsaid-first-in-kidney-injury",
        ),
        pytest.param(
            [result("K", "6.2")],
            [
                RAMIPRIL,
                order("Spironolactone 25 mg tablets", "C03DA01"),
                order("Potassium chloride 600 mg tablets", "A12BA01"),
            ],
            ["Potassium", "Spironolactone", "Ramipril"],
            id="what-adds-potassium-first",
        ),
        pytest.param(
            [problem("Melaena", since="2026-02-28")],
            [
                order("Clopidogrel 75 mg tablets", "B01AC04"),
                order("Naproxen 500 mg tablets", "M01AE02"),
                order("Warfarin 3 mg tablets", "B01AA03"),
            ],
            ["Warfarin", "Naproxen", "Clopidogrel"],
            id="anticoagulant-before-antiplatelet",
        ),
    ],
)
def test_order(resources: list[Json], chart: list[Json], expected: list[str]) -> None:
    """However the chart is sent."""
    for each in permutations(chart):
        assert _read(reviewed(*resources, *each)) == expected


def test_urgency_comes_before_rank() -> None:
    """An urgent potassium comes before a prompt diuretic."""
    assert "of suggestions equally urgent" in RANK_SOURCE.locator
    answer = reviewed(*injury(2), result("K", "6.2"), order("Gliclazide 80 mg"), RAMIPRIL)
    assert _read(answer) == ["Ramipril", "Gliclazide"]


@pytest.mark.parametrize("name", ["04-aki-nephrotoxics", "07-drowsy-opioids", "05-bleeding-anticoagulant"])
def test_same_order_at_every_door(name: str) -> None:
    """The text, the page and the FHIR answer name the medicines in one order."""
    answer = demo(name)
    chart = [f for f in answer.reviews[0].findings if isinstance(f, MedicineFinding)]
    entries = [entry["resource"] for entry in json.loads(answer.collection(stamp()))["entry"]]
    written = [e["implicated"][0]["reference"] for e in entries if len(e.get("implicated", ())) == 1]
    assert written == [f.order for f in chart]
    held = [f.medicine for f in chart if f.action == "hold"]
    text = in_text(answer).partition("Drug chart: suggestions")[2]
    # Several that are one decision stand below it.
    assert _places(text, [f"- {one}" if f"- {one}" in text else f"next dose of {one} until" for one in held])
    # A name may also stand among what a suggestion rests on: each line is found by its head.
    heads = re.findall(
        "|".join(f"({re.escape(one)}).{{0,90}}?Consider holding" for one in held), on_the_page(name)
    )
    assert ["".join(each) for each in heads] == held
    assert _places(_cards(answer), [f"Ask for a review of {one}" for one in held])


def _places(said: str, names: list[str]) -> bool:
    """Tell whether all names are there, in their order."""
    places = [said.find(name) for name in names]
    return -1 not in places and places == sorted(places)


def _cards(answer: Answer) -> str:
    context = context_of(answer.reviews[0], "urn:uuid:x", Terms())
    frame = Frame(context=context, instance="i", base_url="https://w.example", remarks=())
    return json.dumps(deterioration_cards(frame, answer.reviews[0], {}), default=str)


def test_every_rank_has_its_reason() -> None:
    """A rank is data with a reason that a pharmacist can read."""
    ranked = [rule for rule in RULES if rule.rank is not None]
    assert {rule.key for rule in ranked} >= {"aki-nsaid", "sedation-opioid", "bleeding-doac"}
    assert all(rule.rank.why for rule in ranked if rule.rank is not None)
