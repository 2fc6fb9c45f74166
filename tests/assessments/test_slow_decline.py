"""Several signs that decline together over days: sizes and number are our choice, chance by Mann-Kendall.

The C-reactive protein after an operation on the bowel: Yeung DE et al., Int J Colorectal Dis 2021,
cut-offs of days 3 to 7 (148, 123, 115, 105, 96 mg/L).
"""

from typing import Any

import pytest

from tests.charts import ago, chart, findings
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.sources import Origin

RR, HR, SBP, SPO2, TEMP = (
    Signal.RESPIRATION_RATE,
    Signal.PULSE,
    Signal.SYSTOLIC_PRESSURE,
    Signal.SPO2,
    Signal.TEMPERATURE,
)
HOURS = (48, 36, 24, 12, 1)
WORSE: dict[Signal, list[Any]] = {
    RR: [14, 15, 16, 17, 18],
    HR: [72, 78, 84, 90, 92],
    TEMP: ["36.6", "36.8", "37.0", "37.2", "37.4"],
    SBP: [134, 130, 126, 122, 114],
    SPO2: [99, 98, 97, 97, 96],
}


def _record(values: dict[Signal, list[Any]], hours: tuple[float, ...] = HOURS, **rest: Any) -> Record:
    steady: dict[Signal, list[Any]] = {
        RR: [16] * 5,
        HR: [76] * 5,
        TEMP: ["36.8"] * 5,
        SBP: [126] * 5,
        SPO2: [97] * 5,
    }
    numbers = {signal: list(zip(hours, each, strict=True)) for signal, each in {**steady, **values}.items()}
    return chart(numbers, **rest)


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.VITAL_SIGN_TREND).get("slow-decline")


@pytest.mark.parametrize("first", WORSE)
@pytest.mark.parametrize("second", WORSE)
def test_two_signs_tell_and_one_does_not(first: Signal, second: Signal) -> None:
    found = _found(_record({signal: WORSE[signal] for signal in (first, second)}))
    assert (found is not None) is (first is not second)
    if found is not None:
        assert found.urgency is Urgency.PROMPT
        assert found.sentence.startswith("Getting worse slowly over 47 hours: ")


@pytest.mark.parametrize(
    ("signal", "least", "less"),
    [
        (RR, [14, 15, 16, 17, 18], [14, 15, 16, 16, 17]),
        (HR, [72, 78, 84, 90, 92], [72, 78, 84, 90, 91]),
        (TEMP, ["36.6", "36.8", "37.0", "37.2", "37.4"], ["36.6", "36.8", "37.0", "37.2", "37.3"]),
        (SBP, [134, 130, 126, 122, 114], [134, 130, 126, 122, 115]),
        (SPO2, [99, 98, 97, 97, 96], [98, 98, 97, 97, 96]),
    ],
)
def test_each_has_a_size(signal: Signal, least: list[Any], less: list[Any]) -> None:
    beside = HR if signal is not HR else RR
    enough = _found(_record({beside: WORSE[beside], signal: least}))
    assert enough is not None
    assert _found(_record({beside: WORSE[beside], signal: less})) is None


def test_getting_better_is_no_decline() -> None:
    assert _found(_record({signal: values[::-1] for signal, values in WORSE.items()})) is None


def test_what_goes_up_and_down_is_no_decline() -> None:
    assert _found(_record({RR: [14, 18, 15, 17, 18], HR: [72, 92, 80, 74, 92]})) is None


def test_less_than_a_day_is_for_the_faster_trends() -> None:
    hours = (20, 15, 10, 5, 1)
    values = {RR: WORSE[RR], HR: WORSE[HR]}
    assert _found(_record(values, hours)) is None
    assert _found(_record(values, (25, 19, 13, 7, 1))) is not None


def test_it_counts_from_when_it_could_be_seen() -> None:
    """Four readings are the fewest that can be more than chance; a repeat moves nothing."""
    found = _found(_record({RR: [14, 17, 19, 20, 21], HR: [72, 82, 95, 100, 108]}))
    assert found is not None
    assert (found.since, found.asked_since) == (ago(12), None)


def test_beside_a_score_that_says_it_it_is_routine() -> None:
    worse = {RR: [14, 18, 21, 23, 25], HR: [72, 90, 100, 108, 115]}
    found = _found(_record(worse))
    assert found is not None
    assert found.urgency is Urgency.ROUTINE  # NEWS2 5.


def test_what_looks_usual_is_not_called_so() -> None:
    record = _record({RR: WORSE[RR], HR: WORSE[HR]})
    usual = findings(record, Kind.CONTEXT)["usual-values"]
    assert usual.sentence.startswith("Own readings over ")
    assert ", ill for part: " in usual.sentence


def _operated(days: int, *, text: str = "Anterior resection of rectum", **rest: Any) -> Procedure:
    return Procedure(
        origin=Origin("Procedure/p"),
        text=text,
        kinds=frozenset({ProcedureKind.BOWEL_SURGERY, ProcedureKind.SURGERY}),
        at=ago(24 * days),
        **rest,
    )


def _crp(values: list[tuple[float, str]], procedure: Procedure) -> Finding | None:
    return findings(chart({Signal.CRP: values}, procedures=(procedure,)), Kind.CRITICAL_RESULT).get(
        "crp-after-operation"
    )


@pytest.mark.parametrize(("day", "limit"), [(3, 148), (4, 123), (5, 115), (6, 105), (7, 96)])
def test_the_limit_of_each_day(day: int, limit: int) -> None:
    assert _crp([(0.5, str(limit))], _operated(day)) is None
    found = _crp([(0.5, str(limit + 1))], _operated(day))
    assert found is not None
    assert (found.urgency, found.since) == (Urgency.PROMPT, ago(0.5))
    assert f"on day {day} after anterior resection of rectum" in found.sentence


@pytest.mark.parametrize("day", [0, 1, 2, 8])
def test_other_days_have_no_limit(day: int) -> None:
    assert _crp([(0.5, "300")], _operated(day)) is None


def test_what_is_falling_asks_for_nobody() -> None:
    assert _crp([(24, "280"), (0.5, "200")], _operated(4)) is None
    assert _crp([(24, "200"), (0.5, "200")], _operated(4)) is not None


def test_what_is_only_asked_for_is_no_operation() -> None:
    assert _crp([(0.5, "300")], _operated(4, requested=True)) is None


def test_a_second_sample_above_its_limit_moves_no_deadline() -> None:
    """Ours: the question stands since the first sample that was too high for its day."""
    found = _crp([(24, "200"), (0.5, "210")], _operated(4))
    assert found is not None
    assert found.since == ago(24)
    after_a_good_one = _crp([(48, "300"), (24, "140"), (0.5, "210")], _operated(4))
    assert after_a_good_one is not None
    assert after_a_good_one.since == ago(0.5)
