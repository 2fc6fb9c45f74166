"""No medicine is ever both pushed and forbidden: by an allergy, a problem, a pair, a limit or a ceiling.

Ours: the fifth law over drawn charts. Pushed is what is urged to go on, to be given, or to come back;
forbidden is what is to be held, not started or not given together with what is taken.
"""

from random import Random

import pytest

from tests.medicines.wards import order, problem, result
from tests.property.drawn_charts import ALLERGIES, allergy, chart, person
from tests.records import Json, answer_of, earlier, full_set
from weatherglass.model.findings import Finding, Kind
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review


def forbidden(review: Review) -> dict[str, str]:
    """Return the orders that something speaks against, each with what it is."""
    found: dict[str, str] = {}
    for one in review.findings:
        if isinstance(one, InteractionFinding):
            found |= {str(each): one.key for each in one.against}
        elif isinstance(one, MedicineFinding):
            refuses = one.action in ("hold", "avoid") or (one.kind is Kind.ALLERGY and one.action == "review")
            if refuses or one.hold_stands:
                found[str(one.order)] = one.key
    return found


def pushed(review: Review) -> dict[str, str]:
    """Return the orders that something urges, each with what it is."""
    return {order: one.key for one in review.findings for order in _orders_pushed(one)}


def _orders_pushed(finding: Finding) -> list[str]:
    if isinstance(finding, MedicineFinding):
        urges = finding.action == "continue" or "continue" in finding.also
        urges = urges or finding.sentence.startswith("Consider restarting")
        urges = urges or "make sure that it has been given" in finding.sentence
        return [str(finding.order)] if urges else []
    return [str(each) for each in finding.evidence] if finding.key == "doses-not-given" else []


#: Antibacterials, and what speaks for and against each of them; nothing published is checked.
_ANTIBACTERIALS = (
    "Co-amoxiclav 625 mg", "Meropenem 1 g", "Clarithromycin 500 mg", "Erythromycin 500 mg",
    "Linezolid 600 mg", "Co-trimoxazole 960 mg", "Trimethoprim 200 mg", "Gentamicin 240 mg intravenous",
    "Ciprofloxacin 500 mg", "Nitrofurantoin 100 mg", "Vancomycin 1 g intravenous", "Doxycycline 100 mg",
    "Ceftriaxone 2 g",
)  # fmt: skip
_BESIDE = (
    "Methotrexate 10 mg", "Sertraline 50 mg", "Epilim 500 mg", "Simvastatin 40 mg", "Ticagrelor 90 mg",
    "Ramipril 5 mg", "Spironolactone 25 mg", "Warfarin 3 mg", "Theophylline 200 mg",
)  # fmt: skip


def _septic(seed: int) -> list[Json]:
    """Return somebody with pneumonia and NEWS2 8 to whom no antibacterial was given, the rest drawn."""
    draw = Random(seed)
    signs = {
        "respiration_rate": "26 /min",
        "pulse": "118 /min",
        "temperature": "38.6 Cel",
        "systolic_pressure": "98 mm[Hg]",
    }
    found = [person(draw), *full_set(**signs), {**problem("Pneumonia", since=earlier("2 d")), "id": "c"}]
    drawn = draw.sample(_ANTIBACTERIALS, draw.choice((1, 2, 4))) + draw.sample(
        _BESIDE, draw.choice((0, 1, 3))
    )
    for number, text in enumerate(drawn):
        found.append({**order(text, authoredOn=earlier("3 h")), "id": f"m{number}"})
    for number, text in enumerate(draw.sample(_SPEAKING, draw.choice((0, 1, 2)))):
        found.append({**problem(text), "id": f"c{number}"})
    for number, text in enumerate(draw.sample(ALLERGIES, draw.choice((0, 0, 1)))):
        found.append(allergy(number, text, draw))
    for name, values in _LEVELS.items():
        if draw.random() < 0.4:
            found.append(result(name, draw.choice(values), earlier("1 h")))
    return found


_SPEAKING = ("Myasthenia gravis", "Pregnancy, 24 weeks", "Epilepsy", "Haemodialysis", "Atrial fibrillation")
_LEVELS = {"K": ("2.3", "4.2", "6.4"), "Mg": ("0.38", "0.9"), "eGFR": ("12", "24", "80"),
           "creatinine": ("80", "320")}  # fmt: skip


def _asked_for_in_sepsis(review: Review) -> set[str]:
    """Return the medicines of which the sentence about sepsis asks whether they were given."""
    told = [one.sentence for one in review.findings if one.kind is Kind.SEPSIS_RISK]
    asked = [one for each in told for one in each.split("; ") if "ask whether it was given" in one]
    return {name for one in asked for name in one.partition(" on the chart")[0].rsplit(" ", 1)[0].split(", ")}


@pytest.mark.parametrize("part", range(4))
def test_no_antibacterial_is_asked_for_that_the_chart_forbids(part: int) -> None:
    asked_at_all = 0
    for seed in range(part * 60, part * 60 + 60):
        chart_of = _septic(seed)
        (review,) = answer_of(*chart_of).reviews
        names = {f"MedicationRequest/{one['id']}": _text(one) for one in chart_of if "intent" in one}
        asked = _asked_for_in_sepsis(review)
        asked_at_all += len(asked)
        both = asked & {names[each] for each in forbidden(review) if each in names}
        assert not both, (seed, both, [f.sentence for f in review.findings if f.kind is Kind.SEPSIS_RISK])
    assert asked_at_all > 40


def _text(one: Json) -> str:
    return str(one["medicationCodeableConcept"]["text"])


@pytest.mark.parametrize("part", range(8))
def test_nothing_is_both(part: int) -> None:
    for seed in range(part * 75, part * 75 + 75):
        (review,) = answer_of(*chart(seed)).reviews
        both = forbidden(review).keys() & pushed(review).keys()
        assert not both, (seed, {each: (forbidden(review)[each], pushed(review)[each]) for each in both})


def test_the_charts_hold_both_kinds() -> None:
    """The law is not kept by silence: of 200 charts many urge and many forbid."""
    reviews = [answer_of(*chart(seed)).reviews[0] for seed in range(200)]
    assert sum(bool(pushed(each)) for each in reviews) > 25
    assert sum(bool(forbidden(each)) for each in reviews) > 80
