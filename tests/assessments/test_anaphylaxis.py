"""Anaphylaxis on record, and what was begun or given shortly before it.

Airway, breathing or circulation fail rapidly and it may cause death: Clin Med 2022;22:332, abstract.
Adrenaline again after 5 minutes: Resuscitation 2021;163:86, abstract. Blunted by a beta-blocker: common
practice, no source. Hours are our choice.
"""

from datetime import date, datetime, timedelta

import pytest

from tests.charts import ago, condition, findings, rounds
from tests.medicines.wards import order, problem, result, reviewed, suggestions
from tests.records import Json, allergy, earlier, full_set
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.review import Review
from weatherglass.model.signals import Signal

CO_AMOXICLAV = "Co-amoxiclav 1.2 g injection"


def _reaction(hours: float, named: str = "Anaphylaxis") -> Json:
    return problem(named, since=earlier(f"{hours} h"))


def _review(*resources: Json) -> Review:
    (review,) = reviewed(*full_set(), result("K", "4.2"), *resources).reviews
    return review


def _found(*resources: Json) -> Finding | None:
    return next((f for f in _review(*resources).findings if f.key == "anaphylaxis"), None)


@pytest.mark.parametrize(
    ("hours", "urgency"),
    [
        (0.2, Urgency.EMERGENCY),
        (1, Urgency.EMERGENCY),
        (1.1, Urgency.PROMPT),
        (24, Urgency.PROMPT),
        (24.1, None),
    ],
)
def test_an_hour_then_a_day(hours: float, urgency: Urgency | None) -> None:
    found = _found(_reaction(hours))
    assert (found.urgency if found is not None else None) == urgency


@pytest.mark.parametrize("named", ["Anaphylactic shock", "Anaphylactic reaction to peanut", "anaphylaxis"])
def test_in_words(named: str) -> None:
    assert _found(_reaction(0.2, named)) is not None


@pytest.mark.parametrize("named", ["History of anaphylaxis", "No anaphylaxis", "Angioedema"])
def test_what_is_none_now(named: str) -> None:
    assert _found(_reaction(0.2, named)) is None


def test_without_a_date_it_is_no_emergency() -> None:
    assert _found(problem("Anaphylaxis")) is None


def test_it_leads_the_call_and_names_what_was_given_before() -> None:
    """A round that is normal does not calm it."""
    review = _review(_reaction(0.2), order(CO_AMOXICLAV, "J01CR02", authoredOn=earlier("0.5 h")))
    assert review.escalation is not None
    assert review.as_of is not None
    assert review.escalation.because.key == "anaphylaxis"
    assert review.escalation.began == review.as_of - timedelta(hours=0.2)
    assert f"after {CO_AMOXICLAV}" in review.headline


@pytest.mark.parametrize(("before", "is_suspected"), [(0.3, True), (2.2, True), (2.3, False), (0.1, False)])
def test_what_was_begun_in_the_two_hours_before(before: float, is_suspected: bool) -> None:
    """The reaction began 0.2 h ago: orders from then back to 2.2 h ago count, later ones do not."""
    answer = reviewed(
        *full_set(), _reaction(0.2), order(CO_AMOXICLAV, "J01CR02", authoredOn=earlier(f"{before} h"))
    )
    found = [
        f
        for f in answer.reviews[0].findings
        if isinstance(f, MedicineFinding) and f.key.startswith("allergy")
    ]
    assert bool(found) is is_suspected
    if is_suspected:
        assert (found[0].action, found[0].urgency) == ("hold", Urgency.URGENT)
        assert found[0].sentence.startswith("Recorded reaction:")


def test_nobody_is_asked_to_make_sure_that_it_was_given() -> None:
    """Nothing is pushed that the record forbids."""
    answer = reviewed(
        *full_set(systolic_pressure="86 mm[Hg]", pulse="132 /min", respiration_rate="28 /min"),
        _reaction(0.2),
        order(CO_AMOXICLAV, "J01CR02", authoredOn=earlier("0.5 h")),
    )
    said = " ".join(f.sentence for f in answer.reviews[0].findings)
    assert "make sure" not in said
    assert "ask whether it was given" not in said
    assert all(f.action != "continue" for f in suggestions(answer).values())


@pytest.mark.parametrize(
    "treatment", ["Adrenaline 500 microgram injection", "Hydrocortisone 200 mg injection"]
)
def test_what_treats_it_did_not_cause_it(treatment: str) -> None:
    found = _found(_reaction(0.2), order(treatment, authoredOn=earlier("0.3 h")))
    assert found is not None
    assert "after" not in found.brief


def test_a_beta_blocker_is_named() -> None:
    found = _found(_reaction(0.2), order("Bisoprolol 5 mg tablets", "C07AB07", authoredOn=earlier("3 d")))
    assert found is not None
    assert any("beta-blocker" in caution for caution in found.cautions)


@pytest.mark.parametrize(
    ("allergic", "says"),
    [(False, "may have caused the anaphylaxis"), (True, "meets a recorded allergy")],
)
def test_the_sepsis_line_calls_no_suspect_an_allergy(allergic: bool, says: str) -> None:
    """What came before a reaction is no recorded allergy until somebody records one."""
    known = allergy("Penicillin", clinicalStatus={"coding": [{"code": "active"}]})
    answer = reviewed(
        *full_set(systolic_pressure="86 mm[Hg]", pulse="132 /min", respiration_rate="28 /min"),
        problem("Pneumonia", since=earlier("4 h")),
        _reaction(0.2) if not allergic else known,
        order(CO_AMOXICLAV, "J01CR02", authoredOn=earlier("0.5 h")),
    )
    sepsis = " ".join(f.sentence for f in answer.reviews[0].findings if f.kind is Kind.SEPSIS_RISK)
    assert says in sepsis
    assert ("recorded allergy" in sepsis) is allergic


def _rounds(*breathing: str) -> list[Json]:
    """Return rounds an hour apart, the newest now, that differ in breathing and a low pressure beside it."""
    found: list[Json] = []
    for back, rate in enumerate(reversed(breathing)):
        low = {"systolic_pressure": "95 mm[Hg]"} if rate != "16" else {}
        for one in full_set(respiration_rate=f"{rate} /min", **low):
            at = {"effectiveDateTime": earlier(f"{back} h")}
            found.append({**one, **at, "id": f"{one['id']}-{back}"})
    return found


@pytest.mark.parametrize(
    ("breathing", "urgency", "since"),
    [
        (("26", "16", "26"), Urgency.EMERGENCY, 0),
        (("26", "16", "26", "26"), Urgency.EMERGENCY, 1),  # A repeat moves nothing.
        (("26", "16", "16"), Urgency.PROMPT, 7),
        (("26", "26", "26"), Urgency.PROMPT, 7),  # The first one, which its score calls for.
    ],
)
def test_a_second_reaction(breathing: tuple[str, ...], urgency: Urgency, since: float) -> None:
    """NEWS2 of 5 or more after a calm round: our choice of signs."""
    (one,) = reviewed(*_rounds(*breathing), _reaction(7)).reviews
    found = next(f for f in one.findings if f.key == "anaphylaxis")
    assert found.urgency is urgency
    assert found.since == datetime.fromisoformat(earlier(f"{since} h"))
    assert ("A second reaction?" in found.brief) is (urgency is Urgency.EMERGENCY)


@pytest.mark.parametrize(
    ("born", "systolic", "began", "expected"),
    [
        pytest.param(date(1980, 1, 1), 89, 3, Urgency.EMERGENCY, id="low"),
        pytest.param(date(1980, 1, 1), 91, 3, Urgency.PROMPT, id="not-low"),
        pytest.param(date(2021, 1, 1), 79, 3, Urgency.EMERGENCY, id="low-at-five"),
        pytest.param(date(2021, 1, 1), 92, 3, Urgency.PROMPT, id="not-low-at-five"),
        pytest.param(date(1980, 1, 1), 89, 8, Urgency.EMERGENCY, id="two-hours-before"),
        pytest.param(date(1980, 1, 1), 89, 8.1, Urgency.PROMPT, id="longer-before"),
    ],
)
def test_a_low_pressure_after_the_first_hour(
    born: date, systolic: int, began: float, expected: Urgency
) -> None:
    """Our choice: it goes on or comes back until shown otherwise, and adrenaline is asked for."""
    low = {Signal.SYSTOLIC_PRESSURE: systolic}
    reaction = condition(ConditionKind.ANAPHYLAXIS, text="Anaphylaxis", began=6)
    found = findings(rounds((began, low), (1, low), born=born, conditions=(reaction,)), Kind.SINGLE_SIGN)
    one = found["anaphylaxis"]
    assert one.urgency is expected
    assert ("adrenaline by the local protocol" in one.sentence) is (expected is Urgency.EMERGENCY)
    if expected is Urgency.EMERGENCY:
        assert one.asked_since == ago(min(began, 6))
        assert f"systolic pressure {systolic} mmHg now" in one.sentence
