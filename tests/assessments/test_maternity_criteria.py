"""Maternal Early Warning Criteria: Mhyre and colleagues, Obstet Gynecol 2014;124:782-786.

The limits are read in a secondary copy of the table (the catalogue says so). What is
judged on oxygen, and for how long after a birth, is ours.
"""

from datetime import datetime, timedelta
from enum import Enum
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, points_of, reading, rounds, scores
from weatherglass.model.findings import Kind, MissingReason, ScoreFinding, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Origin

PREGNANT = condition(ConditionKind.PREGNANCY, began=24 * 200)
AIR, MASK = OxygenDelivery.AIR, OxygenDelivery.SIMPLE_MASK


def _woman(
    *,
    sbp: int | None = 120,
    dbp: int | None = 70,
    hr: int | None = 80,
    rr: int | None = 16,
    spo2: int | None = 98,
    oxygen: Enum | None = AIR,
    alertness: Enum | None = Consciousness.ALERT,
    urine: Any = (),
    **rest: Any,
) -> Record:
    """A set that meets no criterion, with what is changed or left out."""
    numbers = {
        Signal.SYSTOLIC_PRESSURE: sbp,
        Signal.DIASTOLIC_PRESSURE: dbp,
        Signal.PULSE: hr,
        Signal.RESPIRATION_RATE: rr,
        Signal.SPO2: spo2,
    }
    codes = {CodedSignal.OXYGEN_DELIVERY: oxygen, CodedSignal.CONSCIOUSNESS: alertness}
    rest.setdefault("conditions", (PREGNANT,))
    measured: dict[Signal, Any] = {s: [(1, v)] for s, v in numbers.items() if v is not None}
    if urine:
        measured[Signal.URINE_VOLUME] = urine
    return chart(measured, codes={s: [(1, v)] for s, v in codes.items() if v is not None}, **rest)


def _score(record: Record, **rest: Any) -> ScoreFinding:
    return scores(record, "maternal-criteria", **rest)[0]


def _met(record: Record) -> list[str]:
    return [key for key, points in points_of(_score(record)).items() if points]


@pytest.mark.parametrize(
    ("given", "met"),
    [
        pytest.param({"sbp": 90}, [], id="systolic-90"),
        pytest.param({"sbp": 89}, ["systolic-pressure"], id="systolic-89"),
        pytest.param({"sbp": 160}, [], id="systolic-160"),
        pytest.param({"sbp": 161}, ["systolic-pressure"], id="systolic-161"),
        pytest.param({"dbp": 100}, [], id="diastolic-100"),
        pytest.param({"dbp": 101}, ["diastolic-pressure"], id="diastolic-101"),
        pytest.param({"hr": 50}, [], id="pulse-50"),
        pytest.param({"hr": 49}, ["pulse"], id="pulse-49"),
        pytest.param({"hr": 120}, [], id="pulse-120"),
        pytest.param({"hr": 121}, ["pulse"], id="pulse-121"),
        pytest.param({"rr": 10}, [], id="breathing-10"),
        pytest.param({"rr": 9}, ["respiration"], id="breathing-9"),
        pytest.param({"rr": 30}, [], id="breathing-30"),
        pytest.param({"rr": 31}, ["respiration"], id="breathing-31"),
        pytest.param({"spo2": 95}, [], id="saturation-95"),
        pytest.param({"spo2": 94}, ["spo2"], id="saturation-94"),
        pytest.param({"alertness": Consciousness.NEW_CONFUSION}, ["consciousness"], id="confused"),
        pytest.param({"alertness": Consciousness.UNRESPONSIVE}, ["consciousness"], id="unresponsive"),
    ],
)
def test_both_sides_of_every_limit(given: dict[str, Any], met: list[str]) -> None:
    """Every inequality is strict as printed; any single one asks for somebody at the bedside."""
    record = _woman(**given)
    assert _met(record) == met
    assert _score(record).urgency is (Urgency.URGENT if met else Urgency.ROUTINE)


def test_two_criteria_are_counted_and_said_with_their_limits() -> None:
    score = _score(_woman(sbp=88, hr=124))
    assert (score.total, score.tier) == (2, "any criterion met")
    assert (
        "2 are met: systolic blood pressure 88 mmHg (below 90); pulse 124 /min (above 120)" in score.sentence
    )


@pytest.mark.parametrize(
    ("left_out", "key"),
    [
        ("sbp", "systolic-pressure"),
        ("dbp", "diastolic-pressure"),
        ("hr", "pulse"),
        ("rr", "respiration"),
        ("spo2", "spo2"),
        ("alertness", "consciousness"),
    ],
)
def test_each_missing_row_is_named(left_out: str, key: str) -> None:
    """What is not recorded is not a criterion that is not met."""
    gap: dict[str, Any] = {left_out: None}
    score = _score(_woman(**gap))
    assert (score.total, score.lowest, score.highest) == (None, 0, 1)
    assert key in [one.key for one in score.missing]
    assert score.sentence.startswith("Maternal Early Warning Criteria: none met by what is recorded.")


class TestSaturation:
    """Printed for room air; on oxygen a low value or a need of 40 % or more meets it (ours)."""

    def test_low_on_oxygen_is_met(self) -> None:
        assert _met(_woman(spo2=94, oxygen=MASK)) == ["spo2"]

    def test_known_on_oxygen_is_known(self) -> None:
        """It is said with its oxygen, and never called not known."""
        score = _score(_woman(spo2=97, oxygen=MASK))
        assert points_of(score)["spo2"] == 0
        assert "spo2" not in [one.key for one in score.missing]
        assert score.sentence.endswith(
            "Saturation 97 % is on oxygen (a simple mask); the criterion is for air."
        )

    def test_a_reservoir_mask_meets_it(self) -> None:
        score = _score(_woman(spo2=95, oxygen=OxygenDelivery.RESERVOIR_MASK))
        assert points_of(score)["spo2"] == 1
        assert "one is met: oxygen saturation 95 % by a reservoir mask." in score.sentence

    @pytest.mark.parametrize(
        ("oxygen", "earlier", "urgency"),
        [
            pytest.param(OxygenDelivery.RESERVOIR_MASK, None, Urgency.URGENT, id="much"),
            pytest.param(OxygenDelivery.NASAL_CANNULA, None, Urgency.PROMPT, id="little"),
            pytest.param(OxygenDelivery.NASAL_CANNULA, AIR, Urgency.PROMPT, id="after-air"),
            pytest.param(AIR, None, None, id="air"),
        ],
    )
    def test_a_new_need_of_oxygen_is_a_finding(
        self, oxygen: OxygenDelivery, earlier: Enum | None, urgency: Urgency | None
    ) -> None:
        """Also where nothing earlier is recorded to compare it with (ours)."""
        record = _woman(spo2=96, oxygen=oxygen)
        if earlier is not None:
            given = {CodedSignal.OXYGEN_DELIVERY: [(5, earlier), (1, oxygen)]}
            record = chart({Signal.SPO2: [(5, 97), (1, 96)]}, codes=given, conditions=(PREGNANT,))
        found = findings(record, Kind.OXYGEN_REQUIREMENT)
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])

    def test_normal_with_nothing_said_of_oxygen_is_open(self) -> None:
        score = _score(_woman(spo2=97, oxygen=None))
        reasons = {one.key: one.reason for one in score.missing}
        assert reasons["spo2"] is MissingReason.UNKNOWN_OXYGEN


class TestUrine:
    """Below 35 mL/h for at least two hours."""

    def _volume(self, hours_ago: float, volume: str, began: float) -> Any:
        return reading(Signal.URINE_VOLUME, hours_ago, volume, began=began)

    @pytest.mark.parametrize(
        ("volume", "met"), [pytest.param("69", True, id="34.5"), pytest.param("70", False, id="35")]
    )
    def test_two_hours(self, volume: str, met: bool) -> None:
        record = _woman(urine=[self._volume(1.5, volume, 3.5)])
        assert ("urine-output" in _met(record)) is met

    def test_the_rate_is_said_and_never_called_not_recorded(self) -> None:
        score = _score(_woman(urine=[self._volume(1.5, "69", 3.5)]))
        assert "urine output 34 mL/h (below 35)" in score.sentence
        assert "not recorded" not in score.sentence + score.brief

    def test_one_hour_is_not_enough(self) -> None:
        """It then is not judged, and does not hold the rest open."""
        score = _score(_woman(urine=[self._volume(1.5, "10", 2.5)]))
        assert (points_of(score)["urine-output"], score.total) == (None, 0)

    def test_hours_add_up_without_a_gap(self) -> None:
        joined = [self._volume(2.5, "30", 3.5), self._volume(1.5, "30", 2.5)]
        apart = [self._volume(3.0, "30", 4.0), self._volume(1.5, "30", 2.5)]
        assert "urine-output" in _met(_woman(urine=joined))
        assert "urine-output" not in _met(_woman(urine=apart))


def _birth(days: float, **rest: Any) -> Procedure:
    return Procedure(
        origin=Origin("Procedure/birth"),
        text="Birth",
        kinds=frozenset({ProcedureKind.BIRTH}),
        at=ago(24 * days),
        **rest,
    )


class TestWhoIsJudged:
    """In pregnancy and up to 42 days after it; not in anybody else."""

    @pytest.mark.parametrize(
        ("rest", "applies"),
        [
            pytest.param({"conditions": (PREGNANT,)}, True, id="pregnant"),
            pytest.param({"conditions": ()}, False, id="not-recorded"),
            pytest.param(
                {"conditions": (condition(ConditionKind.POSTPARTUM, began=24 * 42),)}, True, id="42-days"
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.POSTPARTUM, began=24 * 42.1),)}, False, id="over-42"
            ),
            pytest.param({"conditions": (), "procedures": (_birth(42),)}, True, id="birth-42-days"),
            pytest.param({"conditions": (), "procedures": (_birth(42.1),)}, False, id="birth-over-42"),
            pytest.param(
                {"conditions": (), "procedures": (_birth(5, requested=True),)}, False, id="asked-for"
            ),
            pytest.param({"procedures": (_birth(43),)}, False, id="entry-left-open-after-the-birth"),
            pytest.param(
                {"conditions": (condition(ConditionKind.PREGNANCY, began=24 * 400),)}, False, id="left-open"
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.PREGNANCY, active=False, ended=ago(24 * 42)),)},
                True,
                id="ended-42-days-ago",
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.PREGNANCY, active=False, ended=ago(24 * 43)),)},
                False,
                id="ended-43-days-ago",
            ),
            pytest.param(
                {"conditions": (condition(ConditionKind.PREGNANCY, active=False),)},
                False,
                id="ended-some-day",
            ),
        ],
    )
    def test_pregnancy_and_after(self, rest: dict[str, Any], applies: bool) -> None:
        record = _woman(**rest)
        assert bool(scores(record, "maternal-criteria")) is applies
        assert (scores(record, "news2")[0].kind is Kind.SCORE_NOT_APPLICABLE) is applies

    def test_who_is_not_says_why_where_a_site_asks(self) -> None:
        asked = LocalChoices(scores=("maternal-criteria",))
        refused = _score(_woman(conditions=()), choices=asked)
        assert refused.kind is Kind.SCORE_NOT_APPLICABLE
        assert "neither is recorded" in refused.not_applicable

    def test_pregnancy_that_ended_later_still_counts_then(self) -> None:
        """A review of an earlier moment sees the problem as it stood."""
        ended: datetime = ago(24 * 50)
        over = condition(ConditionKind.PREGNANCY, active=False, ended=ended, began=24 * 300)
        record = chart({Signal.PULSE: [(24 * 60, 130)]}, conditions=(over,))
        then = ended - timedelta(days=5)
        assert scores(record, "maternal-criteria", as_of=then)[0].lowest == 1


def test_symptoms_of_preeclampsia_are_named() -> None:
    """They are a criterion that the record does not hold."""
    ill = condition(ConditionKind.PREECLAMPSIA, ConditionKind.PREGNANCY)
    assert any("pre-eclampsia" in each for each in _score(_woman(conditions=(ill,))).cautions)


@pytest.mark.parametrize(
    ("total", "urgency"), [(1, Urgency.ROUTINE), (2, Urgency.PROMPT), (9, Urgency.PROMPT)]
)
def test_a_reported_total_asks_from_2(total: int, urgency: Urgency) -> None:
    """Gerry 2024, abstract: escalation from a total of 2; that it is prompt is our choice."""
    record = chart({Signal.REPORTED_MATERNITY_SCORE: [(1, total)]}, conditions=(PREGNANT,))
    assert findings(record, Kind.REPORTED_SCORE)["reported-maternity-score"].urgency is urgency


def test_a_saturation_on_oxygen_is_not_said_to_be_on_air() -> None:
    given = {
        Signal.SPO2: 93,
        CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA,
        Signal.OXYGEN_FLOW: 2,
    }
    found = scores(rounds((1, given), conditions=(PREGNANT,)), "maternal-criteria")[0]
    assert "oxygen saturation 93 % by a nasal cannula, 2 L/min (below 95)" in found.sentence


def test_a_reported_total_is_followed() -> None:
    """Gerry and colleagues, BMJ Med 2024;3:e000748: escalation starts at a total of 2."""
    record = chart({Signal.REPORTED_MATERNITY_SCORE: [(8, 2), (1, 6)]})
    found = findings(record, Kind.REPORTED_SCORE)["reported-maternity-score"]
    assert (found.urgency, found.sources[0].key) == (Urgency.PROMPT, "gerry-2024")
    assert "up 4" in found.sentence


class TestSinceWhichBirth:
    """Ours: 42 days after the last birth, and after nothing else that has ended."""

    @staticmethod
    def _birth(days: float) -> Procedure:
        return Procedure(
            origin=Origin(f"Procedure/birth-{days}"),
            text="Birth",
            kinds=frozenset({ProcedureKind.BIRTH}),
            at=ago(24 * days),
        )

    @pytest.mark.parametrize(
        ("births", "applies"),
        [
            pytest.param((600, 20), True, id="the-last-of-two"),
            pytest.param((600, 43), False, id="both-long-ago"),
            pytest.param((0,), True, id="this-moment"),
        ],
    )
    def test_the_last_birth_counts(self, births: tuple[float, ...], applies: bool) -> None:
        record = _woman(conditions=(), procedures=tuple(self._birth(days) for days in births))
        found = scores(record, "maternal-criteria")
        assert any(f.kind is Kind.SCORE for f in found) == applies

    def test_another_problem_that_has_ended_is_no_birth(self) -> None:
        """A pneumonia that ended last week has nothing to do with it."""
        over = condition(ConditionKind.INFECTION, began=400, active=False, ended=ago(100))
        assert not any(f.kind is Kind.SCORE for f in scores(_woman(conditions=(over,)), "maternal-criteria"))


@pytest.mark.parametrize("alertness", [Consciousness.ALERT, Consciousness.VOICE, None])
def test_the_row_of_consciousness_is_read_out_whole(alertness: Consciousness | None) -> None:
    """Its printed name is a list with a comma in it; the value stands behind the list, not within."""
    part = next(p for p in _score(_woman(alertness=alertness)).parts if p.key == "consciousness")
    assert part.said == f"agitation, confusion or unresponsiveness: {part.shown}"


def test_a_criterion_that_is_met_is_told_as_it_is_read_out() -> None:
    """The sentence and the handover name the row alike."""
    sentence = _score(_woman(alertness=Consciousness.VOICE)).sentence
    assert "agitation, confusion or unresponsiveness: responds to voice" in sentence
