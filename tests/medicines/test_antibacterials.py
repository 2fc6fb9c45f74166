"""An antibacterial that the drug chart holds is not asked for: the sentence about sepsis says choose another.

What the chart holds has its publication beside each rule (MHRA December 2020 on macrolides, September 2014 on
nitrofurantoin); that it is then not asked for is our choice, as for what meets an allergy.
"""

import html
from datetime import datetime, timedelta

import pytest

from tests.medicines.wards import injury, order, problem, result, suggestions, unconfirmed
from tests.records import AT, Json, answer_of, full_set, given, observation, patient, quantity, text
from weatherglass.cli.printing.text import review_text
from weatherglass.model.findings import Finding, Kind
from weatherglass.pipeline import DEFAULT_CHOICES, Answer, review
from weatherglass.review.selection import Selection
from weatherglass.stamp import stamp
from weatherglass.web.page import stand_alone_page

_ASKS = "ask whether it was given and is right"
_NOW = datetime.fromisoformat(AT) + timedelta(minutes=20)
_LATE = _NOW + timedelta(hours=3)


def _ill(*rest: Json, born: str = "1950-06-01") -> list[Json]:
    """Return somebody with pneumonia and NEWS2 8, an hour to the first antimicrobial."""
    signs = full_set(
        respiration_rate="26 /min", pulse="118 /min", temperature="38.6 Cel", systolic_pressure="98 mm[Hg]"
    )
    return [patient(born), *signs, problem("Pneumonia", since="2026-02-28T09:00:00+04:00"), *rest]


def _answer(*rest: Json, as_of: datetime = _NOW) -> Answer:
    return answer_of(*_ill(*rest), as_of=as_of)


def _sepsis(answer: Answer) -> Finding:
    keys = ("sepsis-risk", "sepsis-signs", "neutropenic-sepsis")
    return next(one for one in answer.reviews[0].findings if one.kind is Kind.SEPSIS_RISK and one.key in keys)


def _level(name: str, code: str, value: str) -> Json:
    return observation(name, code, valueQuantity=quantity(value, "mg/L"))


def _allergy(words: str) -> Json:
    return {
        "resourceType": "AllergyIntolerance",
        "id": "a",
        "patient": {"reference": "Patient/p"},
        "criticality": "high",
        "code": {"text": words},
    }


_ERYTHROMYCIN = order("Erythromycin 500 mg")
_CEFTRIAXONE = order("Ceftriaxone 2 g")
_NITROFURANTOIN = order("Nitrofurantoin 100 mg")
_CIPROFLOXACIN = order("Ciprofloxacin 500 mg")
_TRIMETHOPRIM = order("Trimethoprim 200 mg")
_HELD = {
    "potassium": (
        (_ERYTHROMYCIN, result("K", "2.3")),
        "Erythromycin 500 mg on the chart is not for now with potassium 2.3 mmol/L",
    ),
    "magnesium": (
        (_ERYTHROMYCIN, result("Mg", "0.38")),
        "Erythromycin 500 mg on the chart is not for now with magnesium 0.38 mmol/L",
    ),
    "both": (
        (_ERYTHROMYCIN, result("K", "2.3"), result("Mg", "0.38")),
        "Erythromycin 500 mg on the chart is not for now with potassium 2.3 mmol/L and magnesium 0.38 mmol/L",
    ),
    "eGFR": (
        (_NITROFURANTOIN, result("eGFR", "24")),
        "Nitrofurantoin 100 mg on the chart is not for now with reported eGFR 24 mL/min",
    ),
    "kidney injury": (
        (_NITROFURANTOIN, *injury(3)),
        "Nitrofurantoin 100 mg on the chart is not for now with acute kidney injury stage 3",
    ),
    "high potassium": (
        (_TRIMETHOPRIM, result("K", "6.2")),
        "Trimethoprim 200 mg on the chart is not for now with potassium 6.2 mmol/L",
    ),
    "level": (
        (order("Vancomycin 1 g intravenous"), _level("vancomycin", "4092-3", "31")),
        "Vancomycin 1 g intravenous on the chart is not for now with vancomycin level 31 mg/L",
    ),
    "problem": (
        (_CIPROFLOXACIN, problem("Myasthenia gravis")),
        "Ciprofloxacin 500 mg on the chart is better avoided with myasthenia gravis on record",
    ),
    "allergy": (
        (order("Clarithromycin 500 mg"), _allergy("Macrolides")),
        "Clarithromycin 500 mg on the chart meets a recorded allergy",
    ),
    "pair": (
        (_TRIMETHOPRIM, order("Methotrexate 15 mg")),
        "Trimethoprim 200 mg is dangerous with another medicine on the chart",
    ),
}
_KINDS = pytest.mark.parametrize(("rest", "said"), _HELD.values(), ids=_HELD)


@_KINDS
@pytest.mark.parametrize("as_of", [_NOW, _LATE], ids=["due", "overdue"])
def test_what_is_held_is_not_asked_for(rest: tuple[Json, ...], said: str, as_of: datetime) -> None:
    found = _sepsis(_answer(*rest, as_of=as_of))
    assert said in found.sentence
    assert ": choose another" in found.sentence
    assert said.partition(" with ")[0] in found.brief
    assert _ASKS not in found.sentence
    assert "no dose is recorded" in found.sentence
    assert "was due" in found.sentence if as_of is _LATE else "within 1 hour" in found.sentence


_CEFOTAXIME = order("Cefotaxime 2 g")


@pytest.mark.parametrize(
    ("allergy", "charted", "said"),
    [
        ("Co-amoxiclav", _CEFOTAXIME, "Cefotaxime 2 g on the chart may cross-react with a recorded allergy"),
        ("Cefotaxime", _CEFOTAXIME, "Cefotaxime 2 g on the chart meets a recorded allergy"),
        ("Cephalosporins", _CEFOTAXIME, "Cefotaxime 2 g on the chart meets a recorded allergy"),
        ("Amoxicillin", order("Cefalexin 1 g"), "Cefalexin 1 g on the chart meets a recorded allergy"),
        ("Vancomycin", order("Teicoplanin 400 mg"), "Teicoplanin 400 mg on the chart may cross-react"),
    ],
)
def test_sepsis_and_chart_grade_an_allergy_alike(allergy: str, charted: Json, said: str) -> None:
    """The same medicine, its class or a shared side chain is avoided; a remote cross-reaction is decided.

    Chaudhry 2019 for the side chain, NHS Forth Valley for cephalosporins that are asked about; words ours.
    """
    answer = _answer(charted, _allergy(allergy))
    sepsis = _sepsis(answer)
    (line,) = (one for one in answer.reviews[0].findings if one.kind is Kind.ALLERGY)
    is_decided = "may cross-react" in said
    assert said in sepsis.sentence
    assert said in sepsis.brief
    assert _ASKS not in sepsis.sentence
    for found in (sepsis.sentence, line.sentence):
        assert ("decide now" in found) is is_decided
        assert ("choose another" in found) is not is_decided


@pytest.mark.parametrize(("potassium", "is_asked_for"), [("4.6", True), ("6.2", False)])
def test_a_pair_that_is_urgent_today_is_not_asked_for(potassium: str, is_asked_for: bool) -> None:
    """A macrolide beside tacrolimus (label, 4.5): with a high potassium "give it" was pushed too."""
    chart = order("Adoport 2 mg"), order("Erythromycin 500 mg")
    answer = _answer(*chart, result("K", potassium))
    found = _sepsis(answer)
    assert (_ASKS in found.sentence) is is_asked_for
    avoided = (
        "Erythromycin 500 mg on the chart is better avoided with Adoport 2 mg on the chart: choose another"
    )
    assert (avoided in found.sentence) is not is_asked_for
    pushes = [
        one for one in suggestions(answer).values() if one.action == "continue" and "Ery" in one.medicine
    ]
    assert not pushes


@pytest.mark.parametrize(
    ("at", "level", "is_treated"),
    [
        ("2026-02-26T10:20:00+04:00", "31", True),
        ("2026-02-26T10:19:00+04:00", "31", False),
        ("2026-02-27T10:00:00+04:00", "18", False),
    ],
)
def test_a_level_too_high_says_that_it_is_treated(at: str, level: str, is_treated: bool) -> None:
    """Ours: a dose of three days whose level is too high acts on; it was "no dose, choose another"."""
    chart = order("Vancomycin 1 g intravenous", authoredOn="2026-02-26T08:00:00+04:00")
    found = _sepsis(_answer(chart, given("Vancomycin 1 g", at), _level("vancomycin", "4092-3", level)))
    assert ("already treated (Vancomycin 1 g" in found.sentence) is is_treated
    assert ("no dose is recorded" in found.sentence) is not is_treated
    assert ("choose another" in found.sentence) is (not is_treated and level == "31")


def test_a_hold_of_the_chart_outweighs_a_cross_reaction() -> None:
    """What is held for a result is not "to be decided" beside it."""
    level = _level("vancomycin", "4092-3", "31")
    found = _sepsis(_answer(order("Vancomycin 1 g intravenous"), level, _allergy("Teicoplanin")))
    assert "is not for now with vancomycin level 31 mg/L" in found.sentence
    assert "decide now" not in found.sentence


@_KINDS
def test_one_of_two_that_nothing_speaks_against_is_asked_for(rest: tuple[Json, ...], said: str) -> None:
    found = _sepsis(_answer(*rest, order("Meropenem 1 g")))
    assert "Meropenem 1 g is on the chart, no dose is recorded: ask whether it was given" in found.sentence
    assert said in found.sentence


@_KINDS
def test_what_was_given_is_said_to_be_given(rest: tuple[Json, ...], said: str) -> None:
    """A dose that is recorded is no question any more: the chart says what it has to say of the next."""
    found = _sepsis(_answer(*rest, given("Meropenem 1 g", "2026-03-01T10:10:00+04:00")))
    assert "Meropenem 1 g given at 10:10" in found.sentence
    assert said not in found.sentence


@pytest.mark.parametrize(
    "rest",
    [
        pytest.param((_ERYTHROMYCIN, result("K", "3.6")), id="potassium-in-range"),
        pytest.param((_NITROFURANTOIN, result("eGFR", "31")), id="above-the-limit"),
        pytest.param((order("Gentamicin 400 mg intravenous"), *injury(1)), id="a-level-first"),
        pytest.param((_TRIMETHOPRIM, *injury(2)), id="a-lower-dose"),
        pytest.param((_CIPROFLOXACIN, result("eGFR", "24")), id="a-lower-dose-by-eGFR"),
        pytest.param((_CIPROFLOXACIN, result("K", "2.3")), id="a-review"),
        pytest.param((_CEFTRIAXONE, result("K", "2.3")), id="another-medicine"),
        pytest.param((_CIPROFLOXACIN, unconfirmed("Myasthenia gravis")), id="nobody-has-confirmed-it"),
    ],
)
def test_what_is_not_held_is_asked_for(rest: tuple[Json, ...]) -> None:
    """A level before the next dose, a lower dose or a review leaves the first dose to be asked for."""
    found = _sepsis(_answer(*rest))
    assert "is on the chart, no dose is recorded: ask whether it was given and is right" in found.sentence
    assert "choose another" not in found.sentence


def test_several_for_one_reason_are_named_together() -> None:
    found = _sepsis(_answer(_ERYTHROMYCIN, order("Clarithromycin 500 mg"), result("K", "2.3")))
    names = "Clarithromycin 500 mg, Erythromycin 500 mg on the chart are not for now"
    assert f"{names} with potassium 2.3 mmol/L: choose another" in found.sentence


@pytest.mark.parametrize(
    ("rest", "name"),
    [
        pytest.param((_CIPROFLOXACIN, problem("Myasthenia gravis")), "ciprofloxacin", id="problem"),
        pytest.param(
            (order("Doxycycline 100 mg"), problem("Pregnancy, 24 weeks")), "doxycycline", id="pregnancy"
        ),
        pytest.param((_NITROFURANTOIN, problem("Pyelonephritis")), "nitrofurantoin", id="kidney"),
    ],
)
def test_the_chart_does_not_push_what_it_would_avoid(rest: tuple[Json, ...], name: str) -> None:
    """The first dose is not urged where the same line asks for another antibacterial."""
    answer = answer_of(*_ill(*rest, born="1996-06-01"), as_of=_NOW)
    line = suggestions(answer)[name]
    assert "sepsis-antibacterial" not in {one.rule for one in line.reasons}
    assert "better avoided" in _sepsis(answer).sentence


@_KINDS
def test_every_door_says_the_same(rest: tuple[Json, ...], said: str) -> None:
    """Text, page, FHIR and a review of this question alone: none asks to give what another holds."""
    answer = _answer(*rest)
    told = review_text(answer.reviews[0], answer.issues)
    body = text({"resourceType": "Bundle", "type": "collection", "entry": _entries(*rest)})
    page = stand_alone_page(body, DEFAULT_CHOICES, lines=False, as_of=_NOW, only=None)
    assert page is not None
    flat = " ".join(told.split())
    assert said in flat
    for door in (flat, page.decode()):
        assert _ASKS not in door
        assert "make sure that it has been given" not in door
    assert said in html.unescape(page.decode())
    alone = review(body, as_of=_NOW, only=Selection(frozenset({Kind.SEPSIS_RISK.value})))
    assert said in _sepsis(alone).sentence
    assert said.encode() in answer.collection(stamp())


def _entries(*rest: Json) -> list[Json]:
    return [{"resource": one} for one in _ill(*rest)]
