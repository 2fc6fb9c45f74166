"""What a checkpoint inhibitor inflames, asked for months after its last dose, at both ends of each sign.

Expected: ASCO 2021 (Schneider, J Clin Oncol 39:4073), from memory; secondary: held from grade 2, which is an
ALT above three times the upper limit or four stools a day more, for the heart at any grade. Couey 2019
(J Immunother Cancer 7:165), abstract: new harm a median of 6 months after the last dose, range 3 to 28. From
which signs, how soon and for how long it is asked is our choice.
"""

from typing import Any

import pytest

from tests.charts import NOW, administered, condition, crises_asked, findings, order, rounds
from tests.records import has_problem
from weatherglass.assessments.emergencies.crises import asked_once
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import OrderStatus
from weatherglass.model.record.problems import ConditionKind as C
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
SPO2, FLOW, RATE, PULSE = Signal.SPO2, Signal.OXYGEN_FLOW, Signal.RESPIRATION_RATE, Signal.PULSE
ALT, AST, BILI, TROP, CK = Signal.ALT, Signal.AST, Signal.BILIRUBIN, Signal.TROPONIN, Signal.CREATINE_KINASE
NIVOLUMAB = order("Nivolumab", "checkpoint-inhibitor", starts=500)
STEROID = order("Prednisolone 60 mg", "glucocorticoid", starts=30)
LOOSE = condition(C.DIARRHOEA, text="Diarrhoea", began=30)
YEAR = 365 * 24


def _asked(
    signs: dict[Signal, Any], *problems: Any, orders: Any = (NIVOLUMAB,), **rest: Any
) -> list[Finding]:
    asked = crises_asked(signs, *problems, orders=orders, **rest)
    return [one for key, one in asked.items() if key.startswith("checkpoint-")]


@pytest.mark.parametrize(
    ("signs", "problems", "expected"),
    [
        pytest.param({SPO2: 93, FLOW: 1}, (), ("lung", U), id="93-on-oxygen"),
        pytest.param({SPO2: 94, FLOW: 1}, (), None, id="94-on-oxygen"),
        pytest.param({SPO2: 93, RATE: 20}, (), None, id="93-alone"),
        pytest.param({SPO2: 93, RATE: 21}, (), ("lung", U), id="93-breathing-21"),
        pytest.param(
            {SPO2: 93, RATE: 21}, (condition(C.INFECTION, began=9),), ("lung-explained", P), id="infected"
        ),
        pytest.param({}, (condition(C.PNEUMONITIS, began=9),), ("lung-written", P), id="named"),
        pytest.param(
            {RATE: 21}, (condition(C.PNEUMONITIS, began=9),), ("lung-named", U), id="named-breathing-21"
        ),
        pytest.param({}, (condition(C.PNEUMONITIS, began=29 * 24),), None, id="named-long-ago"),
        pytest.param({}, (LOOSE,), ("gut", P), id="diarrhoea"),
        pytest.param({PULSE: 101}, (LOOSE,), ("gut-ill", U), id="diarrhoea-pulse-101"),
        pytest.param({PULSE: 100}, (LOOSE,), ("gut", P), id="diarrhoea-pulse-100"),
        pytest.param({}, (condition(C.DIARRHOEA, began=15 * 24),), None, id="diarrhoea-long-ago"),
        pytest.param({}, (condition(C.COLITIS, began=9),), ("gut", P), id="colitis"),
        pytest.param({}, (condition(C.BLOODY_DIARRHOEA, began=9),), ("gut-bleeding", U), id="bloody"),
        pytest.param({ALT: 119}, (), None, id="alt-119"),
        pytest.param({ALT: 120}, (), ("liver", P), id="alt-120"),
        pytest.param({AST: 120}, (), ("liver", P), id="ast-120"),
        pytest.param({ALT: 200, BILI: 41}, (), ("liver", P), id="alt-200-bilirubin-41"),
        pytest.param({ALT: 200, BILI: 42}, (), ("liver-failing", U), id="alt-200-bilirubin-42"),
        pytest.param({BILI: 90}, (), None, id="jaundice-alone"),
        pytest.param({TROP: 49}, (), None, id="troponin-49"),
        pytest.param({TROP: 50}, (), ("heart-by-troponin", U), id="troponin-50"),
        pytest.param({TROP: 50, PULSE: 50}, (), ("heart", E), id="troponin-and-slow"),
        pytest.param({TROP: 50}, (condition(C.ACUTE_CORONARY_SYNDROME, began=9),), None, id="an-infarction"),
        pytest.param({}, (condition(C.MYOCARDITIS, began=9),), ("heart-named", U), id="myocarditis"),
        pytest.param({CK: 999}, (), None, id="ck-999"),
        pytest.param({CK: 1000}, (), ("muscles", P), id="ck-1000"),
        pytest.param({}, (condition(C.TIRING_MUSCLES, began=9),), ("muscles-and-heart", U), id="ptosis"),
        pytest.param({}, (condition(C.MYASTHENIA, began=YEAR),), None, id="myasthenia-of-long"),
        pytest.param({Signal.SODIUM: 129}, (), None, id="sodium-alone"),
        pytest.param(
            {Signal.SODIUM: 129, Signal.GLUCOSE: "3.9"}, (), ("adrenals", U), id="sodium-and-glucose"
        ),
        pytest.param({Signal.SODIUM: 130, Signal.GLUCOSE: "3.9"}, (), None, id="sodium-130"),
        pytest.param(
            {Signal.KETONES: "3.0", Signal.GLUCOSE: 20}, (), ("diabetes", U), id="ketones-and-glucose"
        ),
        pytest.param({Signal.KETONES: "2.9", Signal.GLUCOSE: 20}, (), None, id="ketones-2.9"),
        pytest.param({}, (), None, id="well"),
    ],
)
def test_what_is_asked_and_how_soon(
    signs: dict[Signal, Any], problems: tuple[Any, ...], expected: tuple[str, Urgency] | None
) -> None:
    """Each organ at the number that asks for it and just below; one organ asks once."""
    found = [(one.key.removeprefix("checkpoint-"), one.urgency) for one in _asked(signs, *problems)]
    assert found == ([expected] if expected else [])


def _given(hours: float) -> dict[str, Any]:
    return {"administrations": (administered("Nivolumab", hours, "checkpoint-inhibitor"),)}


def _ordered(**rest: Any) -> dict[str, Any]:
    return {"orders": (order("Nivolumab", "checkpoint-inhibitor", **rest),)}


@pytest.mark.parametrize(
    ("rest", "is_asked"),
    [
        pytest.param({}, False, id="never-given"),
        pytest.param(_given(YEAR), True, id="a-year-ago"),
        pytest.param(_given(YEAR + 1), False, id="longer-ago"),
        pytest.param(
            _ordered(starts=9999, ends=YEAR, status=OrderStatus.STOPPED), True, id="ended-a-year-ago"
        ),
        pytest.param(_ordered(starts=YEAR, status=OrderStatus.STOPPED), True, id="over-without-an-end"),
        pytest.param(_ordered(starts=YEAR + 1, status=OrderStatus.STOPPED), False, id="over-for-longer"),
        pytest.param(_ordered(starts=900, status=OrderStatus.ON_HOLD), True, id="on-hold"),
        pytest.param({"orders": (order("Cisplatin", "cancer-medicine"),)}, False, id="other-cancer-medicine"),
    ],
)
def test_how_long_it_acts(rest: dict[str, Any], is_asked: bool) -> None:
    """On the chart, or given or ended within a year."""
    assert bool(_asked({ALT: 200}, **{"orders": (), **rest})) is is_asked


@pytest.mark.parametrize(("before", "days", "is_asked"), [(91, 8, False), (90, 8, True), (91, 7, True)])
def test_enzymes_that_are_as_high_as_usual(before: int, days: int, is_asked: bool) -> None:
    """Ours: 70 % of those of now, 8 days ago or more, as in cancer of the liver."""
    record = rounds((1, {}), numbers={ALT: [(days * 24, before), (2, 130)]}, orders=(NIVOLUMAB,))
    assert ("checkpoint-liver" in findings(record, Kind.METABOLIC)) is is_asked


def test_an_altered_mind() -> None:
    """Prompt behind the confusion itself; an infection on record is treated first."""
    mind = {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
    ill = condition(C.INFECTION, began=9)
    found = [
        findings(rounds((1, mind), orders=(NIVOLUMAB,), conditions=each), Kind.METABOLIC)
        for each in ((), (ill,))
    ]
    assert found[0]["checkpoint-brain"].urgency is P
    assert "checkpoint-brain" not in found[1]


def test_oxygen_at_home_is_no_sign() -> None:
    told = condition(C.HOME_OXYGEN, text="Home oxygen")
    assert not _asked({SPO2: 91, FLOW: 2}, told)
    assert _asked({SPO2: 91, FLOW: 2, RATE: 21}, told)


def test_a_problem_names_it() -> None:
    """It stands often nowhere but in the problem list."""
    told = condition(C.CANCER, C.CHECKPOINT_INHIBITION, text="Melanoma on pembrolizumab", began=9 * YEAR)
    (found,) = _asked({ALT: 200}, told, orders=())
    assert found.sentence.startswith("Hepatitis by a checkpoint inhibitor? Melanoma on pembrolizumab with ")


@pytest.mark.parametrize(("year", "is_asked"), [(-2, False), (-1, True)])
def test_what_ended_years_ago_by_its_words(year: int, is_asked: bool) -> None:
    """Ours: a year before the last is longer ago than it acts."""
    words = f"Melanoma 2015, pembrolizumab completed {NOW.year + year}"
    told = condition(C.CANCER, C.CHECKPOINT_INHIBITION, text=words, began=9 * YEAR)
    assert bool(_asked({ALT: 200}, told, orders=())) is is_asked


@pytest.mark.parametrize("problems", [(LOOSE,), (condition(C.PNEUMONITIS, began=9),)])
def test_a_steroid_answers_what_shows_no_sign(problems: tuple[Any, ...]) -> None:
    """Treated and well: nobody is called; with a sign somebody is, and told what was given."""
    assert not _asked({}, *problems, orders=(NIVOLUMAB, STEROID))
    dose = administered("Prednisolone", 5, "glucocorticoid")
    (found,) = _asked({PULSE: 110, RATE: 24}, *problems, orders=(NIVOLUMAB, STEROID), administrations=(dose,))
    assert found.urgency is U
    assert "Prednisolone given" in found.sentence


def test_myocarditis_that_is_treated_asks_by_its_troponin_alone() -> None:
    """A steroid on the chart and a name on record: whether troponin falls or rises is told elsewhere."""
    told = condition(C.MYOCARDITIS, began=70)
    assert not _asked({TROP: 240}, told, orders=(NIVOLUMAB, STEROID))
    assert [one.key for one in _asked({TROP: 240}, told)] == ["checkpoint-heart-named"]


def test_weak_muscles_and_heart_are_one_emergency() -> None:
    """Troponin and creatine kinase beside ptosis: the one question holds the other."""
    weak = condition(C.TIRING_MUSCLES, text="Ptosis", began=9)
    (found,) = asked_once(_asked({TROP: 50, CK: 1000}, weak))
    assert (found.key, found.urgency) == ("checkpoint-muscles-and-heart", E)


@pytest.mark.parametrize(
    ("words", "kind", "means"),
    [
        ("Metastatic melanoma on pembrolizumab", C.CHECKPOINT_INHIBITION, True),
        ("Immune-related colitis", C.COLITIS, True),
        ("Ulcerative colitis", C.COLITIS, False),
        ("NSCLC, immunotherapy finished in May", C.CHECKPOINT_INHIBITION, True),
        ("Venom immunotherapy", C.CHECKPOINT_INHIBITION, False),
        ("Not suitable for immunotherapy", C.CHECKPOINT_INHIBITION, False),
        ("Immunotherapy declined", C.CHECKPOINT_INHIBITION, False),
        ("Chemotherapy refused by patient", C.CHEMOTHERAPY, False),
        ("Dialysis (declined)", C.DIALYSIS, False),
        ("Heart failure, function has declined in a year", C.HEART_FAILURE, True),
        ("Aspiration pneumonitis", C.PNEUMONITIS, False),
        ("Loose stool", C.DIARRHOEA, False),
        ("Loose stools", C.DIARRHOEA, True),
    ],
)
def test_words(words: str, kind: C, means: bool) -> None:
    """How records write it; a single loose stool is no diarrhoea."""
    assert has_problem(words, kind) is means
