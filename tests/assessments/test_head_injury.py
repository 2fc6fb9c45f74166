"""Head injury: NICE NG232 as restated (secondary); a falling coma scale on an anticoagulant is our choice."""

from typing import Any

import pytest

from tests.charts import administered, ago, chart, condition, findings, order
from tests.records import answer_of, earlier, full_set, ordered, patient, problem
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Stay
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
GCS, INR = Signal.GCS_TOTAL, Signal.INR
INJURY = condition(ConditionKind.HEAD_INJURY, text="Head injury", began=6)
FALL = condition(ConditionKind.FALL, text="Fall on the ward", began=6)
WARFARIN = order("Warfarin", "vitamin-k-antagonist")


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.HEAD_INJURY).get("head-injury")


@pytest.mark.parametrize(
    ("injury", "coma", "orders", "urgency"),
    [
        pytest.param(INJURY, [(1, 15)], (), None, id="awake"),
        pytest.param(INJURY, [(5, 14)], (), None, id="14-at-1-hour"),
        pytest.param(INJURY, [(4, 14)], (), U, id="14-at-2-hours"),
        pytest.param(INJURY, [(5, 13)], (), None, id="13-at-1-hour"),
        pytest.param(INJURY, [(5, 12)], (), E, id="12"),
        pytest.param(INJURY, [(1, 15)], (WARFARIN,), P, id="awake-on-warfarin"),
        pytest.param(INJURY, [(5, 14)], (WARFARIN,), E, id="14-on-warfarin"),
        pytest.param(INJURY, [], (WARFARIN,), P, id="no-coma-scale"),
        pytest.param(INJURY, [], (order("Clopidogrel", "p2y12-inhibitor"),), P, id="clopidogrel"),
        pytest.param(INJURY, [], (order("Aspirin", "aspirin", "antiplatelet"),), None, id="aspirin-alone"),
        pytest.param(FALL, [(1, 15)], (WARFARIN,), P, id="fall-on-warfarin"),
        pytest.param(FALL, [(1, 14)], (), None, id="fall-alone"),
        pytest.param(FALL, [(1, 14)], (WARFARIN,), U, id="fall-and-14-on-warfarin"),
        pytest.param(FALL, [(1, 12)], (WARFARIN,), U, id="fall-and-12-on-warfarin"),
        pytest.param(None, [(5, 15), (1, 14)], (WARFARIN,), None, id="fall-of-1"),
        pytest.param(None, [(5, 15), (1, 13)], (WARFARIN,), E, id="fall-of-2-on-warfarin"),
        pytest.param(None, [(5, 15), (1, 13)], (), None, id="fall-of-2-alone-is-said-elsewhere"),
    ],
)
def test_how_soon(injury: Any, coma: list[Any], orders: tuple[Any, ...], urgency: Urgency | None) -> None:
    """Both ends of each limit, with and without what thins the blood."""
    conditions = (injury,) if injury is not None else ()
    found = _found(chart({GCS: coma} if coma else {}, conditions=conditions, orders=orders))
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("injury", "said", "orders", "urgency"),
    [
        (INJURY, Consciousness.ALERT, (WARFARIN,), P),
        (INJURY, Consciousness.NEW_CONFUSION, (WARFARIN,), E),
        (INJURY, Consciousness.VOICE, (), U),
        (INJURY, Consciousness.PAIN, (), E),
        (FALL, Consciousness.ALERT, (WARFARIN,), P),
        (FALL, Consciousness.NEW_CONFUSION, (WARFARIN,), U),
        (FALL, Consciousness.PAIN, (WARFARIN,), U),
        (FALL, Consciousness.VOICE, (), None),
    ],
)
def test_less_than_alert_without_a_coma_scale(
    injury: Any, said: Consciousness, orders: tuple[Any, ...], urgency: Urgency | None
) -> None:
    """NICE NG232: whoever is not fully conscious is imaged within 1 hour; 8 hours are for the others."""
    found = _found(
        chart({}, codes={CodedSignal.CONSCIOUSNESS: [(2, said)]}, conditions=(injury,), orders=orders)
    )
    assert (found.urgency if found is not None else None) is urgency
    if found is not None and said is not Consciousness.ALERT:
        assert "CT of the head within 1 hour" in found.sentence
        assert found.since == ago(2)


def test_a_fall_and_response_to_voice_on_an_anticoagulant() -> None:
    found = _found(
        chart(
            {},
            codes={CodedSignal.CONSCIOUSNESS: [(8, Consciousness.VOICE), (2, Consciousness.VOICE)]},
            conditions=(FALL,),
            orders=(WARFARIN,),
        )
    )
    assert found is not None
    assert found.sentence == (
        "Fall on the ward, response to voice only, on Warfarin: unless the head was surely not hit, CT of "
        "the head within 1 hour and before the next dose, reversal to be discussed; glucose and pupils now."
    )
    assert found.since == ago(6)  # Both reasons have been there since the fall.


@pytest.mark.parametrize(("hours", "when"), [(8, "within 8 hours of it"), (8.1, "now")])
def test_when_eight_hours_have_passed(hours: float, when: str) -> None:
    fall = condition(ConditionKind.FALL, text="Fall", began=hours)
    found = _found(chart(conditions=(fall,), orders=(WARFARIN,)))
    assert found is not None
    assert (
        f"If so, CT {'is to be considered now' if when == 'now' else f'{when} is to be considered'}."
        in found.sentence
    )


@pytest.mark.parametrize(
    ("told", "dose", "begun", "is_asked"),
    [
        ("Fall", "40 mg once daily", "5 h", False),
        ("Fall", "40 mg once daily", "7 h", True),
        ("Fall", "90 mg twice daily", "5 h", True),
        ("Head injury", "40 mg once daily", "5 h", True),
    ],
)
def test_what_prevents_clots_since_a_fall(told: str, dose: str, begun: str, is_asked: bool) -> None:
    """Ours: it was not there when the head may have been hit; a known blow to the head asks all the same."""
    fall = problem(told, onsetDateTime=earlier("6 h"), recordedDate=earlier("6 h"))
    taken = ordered("Enoxaparin", dosageInstruction=[{"text": dose}], authoredOn=earlier(begun))
    answer = answer_of(patient(), *full_set(), fall, taken)
    assert (Kind.HEAD_INJURY in {one.kind for one in answer.reviews[0].findings}) is is_asked


def test_one_line() -> None:
    """Injury, coma scale, anticoagulant and INR stand together."""
    record = chart(
        {GCS: [(5, 15), (3, 12), (1, 12)], INR: [(4, "3.4")]}, conditions=(INJURY,), orders=(WARFARIN,)
    )
    found = _found(record)
    assert found is not None
    assert found.sentence == (
        "Head injury, coma scale 12, down 3 from 15, on Warfarin (INR 3.4): CT of the head within 1 hour, "
        "reversal to be discussed; glucose and pupils now."
    )
    assert found.since == ago(3)


@pytest.mark.parametrize(("hours", "told"), [(72, True), (72.1, False), (None, True)])
def test_how_long(hours: float | None, told: bool) -> None:
    """A head injury without a date counts; a fall needs one."""
    injury = condition(ConditionKind.HEAD_INJURY, began=hours)
    assert (_found(chart(conditions=(injury,), orders=(WARFARIN,))) is not None) == told
    fall = condition(ConditionKind.FALL, began=hours)
    expected = told and hours is not None
    assert (_found(chart(conditions=(fall,), orders=(WARFARIN,))) is not None) == expected


def test_reason_of_the_stay() -> None:
    stay = Stay(origin=Origin("Encounter/e"), starts=ago(8), reason="Fall with head injury")
    assert _found(chart(stays=(stay,), orders=(WARFARIN,))) is not None


@pytest.mark.parametrize(
    ("text", "urgency"),
    [
        ("Head injury, vomited twice", U),
        ("Head injury with repeated vomiting", U),
        ("Head injury, vomited 3 times", U),
        ("Head injury, vomited once", None),
        ("Head injury, no vomiting", None),
        ("Head injury", None),
        ("Fall, vomited twice", None),
    ],
)
def test_more_than_one_vomit(text: str, urgency: Urgency | None) -> None:
    """NICE NG232, as restated: more than one vomit asks for CT within 1 hour."""
    stay = Stay(origin=Origin("Encounter/e"), starts=ago(1), reason=text)
    found = _found(chart(stays=(stay,)))
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("hours", "coma", "told"),
    [
        pytest.param(6, [(5, 15), (1, 13)], True, id="fall-of-2"),
        pytest.param(6, [(5, 15), (1, 14)], False, id="fall-of-1"),
        pytest.param(24, [(5, 15), (1, 13)], True, id="24-hours"),
        pytest.param(24.1, [(5, 15), (1, 13)], False, id="longer-ago"),
    ],
)
def test_a_falling_coma_scale_after_thrombolysis(hours: float, coma: list[Any], told: bool) -> None:
    """Ours: thrombolysis of the last 24 hours counts as an anticoagulant does."""
    dose = administered("Alteplase", hours, "thrombolytic")
    found = _found(chart({GCS: coma}, administrations=(dose,)))
    assert (found is not None) == told
    if found is not None:
        assert found.urgency is E
        assert found.sentence == (
            "Coma scale 13, down 2 from 15, after Alteplase: bleeding inside the skull has to be excluded: "
            "CT of the head and glucose now, reversal to be discussed; stop the thrombolysis if "
            "it still runs."
        )


@pytest.mark.parametrize(
    ("coma", "known", "urgency"),
    [
        pytest.param([(4, 14), (1, 14)], True, P, id="as-usual"),
        pytest.param([(4, 14), (1, 14)], False, E, id="of-nobody-known-to-be-confused"),
        pytest.param([(4, 15), (1, 14)], True, E, id="was-better"),
        pytest.param([(4, 13), (1, 13)], True, E, id="lower-than-confusion-makes-it"),
    ],
)
def test_long_standing_confusion_is_no_low_coma_scale(coma: list[Any], known: bool, urgency: Urgency) -> None:
    """Ours: 14 for 38 hours in dementia, on apixaban, was an emergency "1 day 13 h ago"."""
    dementia = (condition(ConditionKind.CHRONIC_CONFUSION, text="Dementia", began=9000),) if known else ()
    found = _found(chart({GCS: coma}, conditions=(INJURY, *dementia), orders=(WARFARIN,)))
    assert found is not None
    assert found.urgency is urgency
