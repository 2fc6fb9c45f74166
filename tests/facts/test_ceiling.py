"""What is said of resuscitation status and treatment ceilings: who, when, how old, and conflicts.

No publication fixes any of this; all of it is ours: a decision older than six months, or from
before this admission, wants to be confirmed, and a missing one is unknown.
"""

from typing import Any

import pytest

from tests.charts import ago, bedside, chart, order
from tests.records import answer_of, earlier, full_set, patient
from weatherglass.facts.ceiling import (
    DECEASED,
    NOT_RECORDED,
    decisions_in_short,
    has_ceiling,
    is_end_of_life,
    recorded_limits,
)
from weatherglass.model.findings import ScoreFinding, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.care import Directive, DirectiveKind, Resuscitation, Stay
from weatherglass.model.record.medicines import MedicineOrder, Route
from weatherglass.model.sources import Origin

K, NOT_FOR, FOR = DirectiveKind, Resuscitation.NOT_FOR, Resuscitation.FOR


def _said(hours: float | None, kind: DirectiveKind = K.RESUSCITATION, **rest: Any) -> Directive:
    return Directive(
        origin=Origin(f"Observation/{kind.name}-{hours}"),
        kind=kind,
        at=ago(hours) if hours is not None else None,
        **rest,
    )


def _limits(*directives: Directive, admitted: float | None = None) -> tuple[str, ...]:
    stays = (Stay(origin=Origin("Encounter/1"), starts=ago(admitted)),) if admitted is not None else ()
    return recorded_limits(bedside(chart(directives=directives, stays=stays)))


def test_a_ceiling_in_the_words_of_the_team() -> None:
    """With when it was recorded and by whom."""
    ceiling = _said(30, K.CEILING, text="Ward-level care, no intensive care.", recorded_by="Consultant")
    assert _limits(ceiling) == (
        "Recorded treatment ceiling: Ward-level care, no intensive care (02:00 on 11 March, by Consultant).",
    )


def _driver(name: str, kind: str, text: str = "10 mg over 24 hours", **rest: Any) -> MedicineOrder:
    return order(name, kind, dose_text=text, route=Route.SUBCUTANEOUS, **rest)


@pytest.mark.parametrize(
    ("opioid", "sedative", "asked"),
    [
        pytest.param(
            _driver("Morphine", "opioid"), _driver("Midazolam", "benzodiazepine"), True, id="driver"
        ),
        pytest.param(
            _driver("Morphine", "opioid"),
            _driver("Midazolam", "benzodiazepine", "2.5 mg when needed", as_needed=True),
            False,
            id="one-when-needed",
        ),
        pytest.param(order("Morphine", "opioid"), order("Diazepam", "benzodiazepine"), False, id="by-mouth"),
    ],
)
def test_a_syringe_driver_asks_what_nobody_wrote_down(
    opioid: MedicineOrder, sedative: MedicineOrder, asked: bool
) -> None:
    """Common practice, no source; it is asked beside the call and takes nothing from it."""
    said = recorded_limits(bedside(chart(orders=(opioid, sedative))))
    asks = "Morphine and Midazolam in a syringe driver: ask the team at once whether care in the last days"
    assert said == ((f"{NOT_RECORDED} {asks} is meant.",) if asked else ())
    with_plan = chart(orders=(opioid, sedative), directives=(_said(30, resuscitation=FOR),))
    assert not any("syringe driver" in one for one in recorded_limits(bedside(with_plan)))


def test_nobody_asks_it_of_who_has_died() -> None:
    """Said first, and then nothing is asked of the chart."""
    orders = (_driver("Morphine", "opioid"), _driver("Midazolam", "benzodiazepine"))
    running = chart(orders=orders)
    died = replace(running, subject=replace(running.subject, deceased=True))
    assert recorded_limits(bedside(died)) == (DECEASED,)


def test_a_doubt_about_the_entry_is_no_decision() -> None:
    """What is not recorded is still said to be so."""
    mixed = replace(chart(), subject=replace(chart().subject, doubtful=True))
    said = recorded_limits(bedside(mixed))
    assert said[0].startswith("Two patients may be mixed here")
    assert said[1:] == (NOT_RECORDED,)


def test_resuscitation_is_no_decision_about_anything_else() -> None:
    """That is said where it is refused, and only there."""
    (refused,) = _limits(_said(30, resuscitation=NOT_FOR))
    assert refused.startswith("Recorded: not for attempted resuscitation (02:00 on 11 March).")
    assert refused.endswith("This is not a decision about any other treatment.")
    (wanted,) = _limits(_said(30, resuscitation=FOR))
    assert wanted == "Recorded: for attempted resuscitation (02:00 on 11 March)."


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        pytest.param(183 * 24, False, id="183-days"),
        pytest.param(183 * 24 + 1, True, id="older"),
        pytest.param(None, False, id="no-date"),
    ],
)
def test_how_old(hours: float | None, said: bool) -> None:
    """More than 183 days: confirm; without a date its age is not known, and that is said."""
    (told,) = _limits(_said(hours, resuscitation=NOT_FOR))
    assert ("more than 6 months old, confirm" in told) == said
    assert ("date not recorded" in told) == (hours is None)


@pytest.mark.parametrize(
    ("hours", "said"),
    [
        pytest.param(72, False, id="a-day-before-admission"),
        pytest.param(73, True, id="earlier"),
        pytest.param(10, False, id="of-this-admission"),
        pytest.param(None, False, id="no-date"),
    ],
)
def test_from_before_this_admission(hours: float | None, said: bool) -> None:
    """More than a day before the admission of 48 hours ago."""
    (told,) = _limits(_said(hours, resuscitation=NOT_FOR), admitted=48)
    assert ("from before this admission, confirm" in told) == said


def test_two_that_disagree_are_both_shown() -> None:
    """Nobody chooses between them but the team."""
    (told,) = _limits(_said(90, resuscitation=NOT_FOR), _said(20, resuscitation=FOR))
    assert told.startswith("Conflicting resuscitation records, ask the team: for attempted resuscitation (")
    assert "not for attempted resuscitation (" in told


def test_a_record_without_an_answer_decides_nothing() -> None:
    """Neither alone nor beside one that has an answer."""
    assert _limits(_said(10)) == ()
    (told,) = _limits(_said(10), _said(20, resuscitation=NOT_FOR))
    assert "Conflicting" not in told


@pytest.mark.parametrize(
    ("directives", "limited", "dying"),
    [
        pytest.param((), False, False, id="nothing"),
        pytest.param((_said(5, resuscitation=FOR),), False, False, id="for-resuscitation"),
        pytest.param((_said(5, resuscitation=NOT_FOR),), False, False, id="not-for-resuscitation"),
        pytest.param(
            (_said(5, resuscitation=FOR), _said(9, resuscitation=NOT_FOR)), False, False, id="conflict"
        ),
        pytest.param((_said(5, K.CEILING, text="Ward-level care"),), True, False, id="ceiling"),
        pytest.param((_said(5, K.END_OF_LIFE),), True, True, id="end-of-life"),
        pytest.param((_said(5, K.FULL_TREATMENT),), False, False, id="full-treatment"),
    ],
)
def test_what_limits(directives: tuple[Directive, ...], limited: bool, dying: bool) -> None:
    """A decision about resuscitation limits no treatment; a ceiling and end-of-life care do."""
    at_bedside = bedside(chart(directives=directives))
    assert (has_ceiling(at_bedside), is_end_of_life(at_bedside)) == (limited, dying)


@pytest.mark.parametrize(
    ("directives", "said"),
    [
        pytest.param((), ("resuscitation not recorded, ask the team",), id="nothing"),
        pytest.param((_said(5),), ("resuscitation not recorded, ask the team",), id="no-answer"),
        pytest.param((_said(5, resuscitation=FOR),), ("for resuscitation",), id="for"),
        pytest.param((_said(5, resuscitation=NOT_FOR),), ("DNACPR: NOT for resuscitation",), id="not-for"),
        pytest.param(
            (_said(5, resuscitation=FOR), _said(9, resuscitation=NOT_FOR)),
            ("DNACPR: records conflict, ask the team",),
            id="conflict",
        ),
        pytest.param(
            (_said(5, resuscitation=NOT_FOR), _said(5, K.CEILING, text="Ward"), _said(5, K.END_OF_LIFE)),
            ("DNACPR: NOT for resuscitation", "Ward", "end-of-life care"),
            id="all",
        ),
        pytest.param(
            (_said(5, K.FULL_TREATMENT),), ("resuscitation not recorded, ask the team",), id="full-treatment"
        ),
        pytest.param(
            (_said(5, K.FULL_TREATMENT), _said(9, K.CEILING, text="Ward")),
            ("resuscitation not recorded, ask the team", "limits: records conflict, ask the team", "Ward"),
            id="full-treatment-after-a-limit",
        ),
        pytest.param(
            (_said(5, K.END_OF_LIFE, text="Last days"), _said(9, resuscitation=FOR)),
            ("for resuscitation", "limits: records conflict, ask the team", "Last days"),
            id="last-days-and-resuscitation",
        ),
    ],
)
def test_in_few_words(directives: tuple[Directive, ...], said: tuple[str, ...]) -> None:
    """What stands beside a name: that nothing is recorded about resuscitation is said too."""
    found = decisions_in_short(bedside(chart(directives=directives)))
    assert tuple(one.words for one in found) == said


def test_recorded_as_having_died() -> None:
    """Said before anything else, and nobody is called; the findings stay, since the entry may be wrong."""
    died = patient(deceasedDateTime=earlier("1 h"))
    (one,) = answer_of(died, *full_set(respiration_rate="26 /min")).reviews
    assert one.ceiling[0].startswith("Recorded as having died")
    assert one.headline.startswith("Recorded as having died")
    assert one.escalation is None
    assert any(isinstance(f, ScoreFinding) and f.lowest >= 3 for f in one.findings)
    assert all(f.urgency is Urgency.ROUTINE for f in one.findings)
    (alive,) = answer_of(patient(deceasedBoolean=False), *full_set()).reviews
    assert alive.ceiling == ()


def test_one_entry_that_is_a_ceiling_and_the_plan_for_the_last_days_is_said_once() -> None:
    """Ours: "Last days of life: comfort care only" limits treatment and names the care, in one sentence."""
    both = [
        Directive(origin=Origin("Flag/1"), kind=kind, at=ago(20), text="Last days of life: comfort care only")
        for kind in (K.CEILING, K.END_OF_LIFE)
    ]
    said = _limits(*both)
    assert len(said) == 1
    assert said[0].startswith("Recorded end-of-life care: Last days of life: comfort care only (")
    short = [one.words for one in decisions_in_short(bedside(chart(directives=both)))]
    assert short.count("Last days of life: comfort care only") == 1


def test_a_wish_is_not_told_as_a_ceiling() -> None:
    """Ours: nobody of the team has set it; the call reckons with it all the same."""
    (wish,) = _limits(_said(2, K.CEILING, text="Does not want intensive care"))
    assert wish.startswith("Recorded wish: Does not want intensive care")
    (ceiling,) = _limits(_said(2, K.CEILING, text="Not for intensive care"))
    assert ceiling.startswith("Recorded treatment ceiling: Not for")
