"""qSOFA (Singer and colleagues, JAMA 2016;315:801) and SIRS (Bone and colleagues, Chest 1992;101:1644).

That a coma scale below 15 is altered mentation is from memory; that neither screen is
ranked without suspected infection is ours.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, chart, condition, order, points_of, scores
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.scores import qsofa_2016, score_choices
from weatherglass.model.findings import Kind, ScoreFinding, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

INFECTED = (condition(ConditionKind.INFECTION, began=10),)
RR, SBP, GCS = Signal.RESPIRATION_RATE, Signal.SYSTOLIC_PRESSURE, Signal.GCS_TOTAL
T, HR, WBC, CO2 = Signal.TEMPERATURE, Signal.PULSE, Signal.WHITE_CELLS, Signal.PCO2_ARTERIAL


def _record(numbers: dict[Signal, Any], *, alert: Consciousness | None = None, **rest: Any) -> Record:
    rest.setdefault("conditions", INFECTED)
    codes = {CodedSignal.CONSCIOUSNESS: [(1, alert)]} if alert is not None else {}
    return chart({s: v if isinstance(v, list) else [(1, v)] for s, v in numbers.items()}, codes=codes, **rest)


def _one(record: Record, key: str) -> ScoreFinding:
    return scores(record, key)[0]


class TestQuickSofa:
    @pytest.mark.parametrize(
        ("rr", "sbp", "gcs", "total", "urgency"),
        [
            (22, 101, 15, 1, Urgency.ROUTINE),
            (21, 100, 15, 1, Urgency.ROUTINE),
            (21, 101, 15, 0, Urgency.ROUTINE),
            (22, 100, 15, 2, Urgency.PROMPT),
            (22, 100, 14, 3, Urgency.PROMPT),
        ],
    )
    def test_limits(self, rr: int, sbp: int, gcs: int, total: int, urgency: Urgency) -> None:
        """RR 22 or more, systolic 100 or less, coma scale below 15; positive from 2."""
        score = _one(_record({RR: rr, SBP: sbp, GCS: gcs}), "qsofa")
        assert (score.total, score.urgency) == (total, urgency)
        assert score.is_secondary

    @pytest.mark.parametrize("answer", [a for a in Consciousness if a is not Consciousness.ALERT])
    def test_anything_but_alert_is_altered(self, answer: Consciousness) -> None:
        assert _one(_record({RR: 16, SBP: 120}, alert=answer), "qsofa").total == 1

    def test_a_full_coma_scale_does_not_clear_a_recorded_change(self) -> None:
        record = _record({RR: 16, SBP: 120, GCS: 15}, alert=Consciousness.NEW_CONFUSION)
        assert _one(record, "qsofa").total == 1

    def test_a_low_coma_scale_counts_beside_alert(self) -> None:
        record = _record({RR: 16, SBP: 120, GCS: 13}, alert=Consciousness.ALERT)
        assert points_of(_one(record, "qsofa"))["consciousness"] == 1

    @pytest.mark.parametrize("left_out", [RR, SBP, GCS])
    def test_each_missing_row_leaves_it_open(self, left_out: Signal) -> None:
        numbers = {RR: 16, SBP: 120, GCS: 15}
        del numbers[left_out]
        score = _one(_record(numbers), "qsofa")
        assert (score.total, score.lowest, score.highest) == (None, 0, 1)

    def test_without_suspected_infection_it_is_not_ranked(self) -> None:
        score = _one(_record({RR: 22, SBP: 100, GCS: 14}, conditions=()), "qsofa")
        assert (score.total, score.urgency) == (3, Urgency.ROUTINE)
        assert "says nothing about sepsis" in score.cautions[0]

    def test_an_antibacterial_suspects_infection(self) -> None:
        treated = order("Cefuroxime", MedicineClass.ANTIBACTERIAL.value)
        record = _record({RR: 22, SBP: 100, GCS: 14}, conditions=(), orders=(treated,))
        assert _one(record, "qsofa").urgency is Urgency.PROMPT

    def test_never_the_only_screen(self) -> None:
        """Surviving Sepsis Campaign 2021."""
        score = _one(_record({RR: 22, SBP: 100, GCS: 14}), "qsofa")
        assert any("only screen" in each for each in score.cautions)
        assert "ssc-2021" in [source.key for source in score.sources]


NORMAL: dict[Signal, Any] = {T: "37.0", HR: 80, RR: 16, WBC: "8.0"}


class TestSirs:
    @pytest.mark.parametrize(
        ("changed", "total"),
        [
            ({T: "38.0", HR: 91, RR: 20, WBC: "12.0"}, 1),
            ({T: "38.1", HR: 91}, 2),
            ({T: "35.9", WBC: "3.9"}, 2),
            ({T: "36.0", HR: 90, WBC: "4.0"}, 0),
            ({RR: 21, WBC: "12.1"}, 2),
        ],
    )
    def test_every_inequality_is_strict(self, changed: dict[Signal, Any], total: int) -> None:
        score = _one(_record({**NORMAL, **changed}), "sirs")
        assert (score.total, score.tier.startswith("met")) == (total, total >= 2)
        assert score.urgency is Urgency.ROUTINE, "unspecific criteria never raise the urgency"

    @pytest.mark.parametrize(
        ("rr", "carbon_dioxide", "total", "highest"),
        [
            pytest.param(21, "4.0", 1, 1, id="both-count-once"),
            pytest.param(16, "4.29", 1, 1, id="4.29-kPa"),
            pytest.param(16, "4.3", 0, 0, id="4.3-kPa-does-not-count"),
            pytest.param(None, "4.0", 1, 1, id="carbon-dioxide-alone"),
            pytest.param(None, "5.0", None, 1, id="a-normal-gas-does-not-clear-the-breathing"),
        ],
    )
    def test_breathing_or_carbon_dioxide(
        self, rr: int | None, carbon_dioxide: str, total: int | None, highest: int
    ) -> None:
        numbers = {**NORMAL, CO2: carbon_dioxide}
        del numbers[RR]
        if rr is not None:
            numbers[RR] = rr
        score = _one(_record(numbers), "sirs")
        assert (score.total, score.highest) == (total, highest)

    @pytest.mark.parametrize("left_out", [T, HR, RR, WBC])
    def test_each_missing_row_leaves_it_open(self, left_out: Signal) -> None:
        numbers = {signal: value for signal, value in NORMAL.items() if signal is not left_out}
        score = _one(_record(numbers), "sirs")
        assert (score.total, score.lowest, score.highest) == (None, 0, 1)

    def test_white_cells_count_for_a_day(self) -> None:
        """Ours: a result is taken into a round for 24 hours."""
        vitals = {signal: value for signal, value in NORMAL.items() if signal is not WBC}
        recent = _record({**vitals, WBC: [(25, "13.0")]})
        old = _record({**vitals, WBC: [(25.1, "13.0")]})
        assert _one(recent, "sirs").total == 1
        assert _one(old, "sirs").total is None

    def test_a_result_after_the_round_belongs_to_it_until_the_next_one(self) -> None:
        vitals = {signal: value for signal, value in NORMAL.items() if signal is not WBC}
        assert _one(_record({**vitals, WBC: [(0.5, "13.0")]}), "sirs").total == 1


@pytest.mark.parametrize("key", ["qsofa", "sirs"])
def test_children_and_pregnancy_are_told_why_not(key: str) -> None:
    child = _record({RR: 30, HR: 140}, born=date(2020, 1, 1))
    pregnant = _record({RR: 30, HR: 140}, conditions=(condition(ConditionKind.PREGNANCY),))
    for record, word in ((child, "paediatric"), (pregnant, "maternity")):
        score = _one(record, key)
        assert score.kind is Kind.SCORE_NOT_APPLICABLE
        assert word in score.not_applicable


def test_a_child_gets_neither_as_a_screen_of_its_own() -> None:
    """Not applied beside the score that is for the child, at the time of the newest round."""
    record = chart({RR: [(5, 22), (1, 24)]}, born=date(2016, 1, 1), conditions=INFECTED)
    (found,) = (f for f in scores(record, "qsofa") if f.kind is Kind.SCORE_NOT_APPLICABLE)
    assert found.is_secondary
    assert found.at == ago(1)


def test_each_screen_names_its_own_caution() -> None:
    """SIRS reads results beside the round; qSOFA is never to be the only screen (secondary)."""
    record = _record({RR: 22, SBP: 100, GCS: 14, T: "38.5", HR: 95})
    assert qsofa_2016.NEVER_ALONE.source in _one(record, "qsofa").sources
    assert qsofa_2016.NEVER_ALONE.source not in _one(record, "sirs").sources
    assert score_choices.RESULTS_IN_A_ROUND.source in _one(record, "sirs").sources


def test_a_low_coma_scale_replaces_mentation_alone() -> None:
    """Breathing and pressure keep their own rows."""
    assert points_of(_one(_record({RR: 16, SBP: 120, GCS: 13}), "qsofa")) == {
        "respiration": 0,
        "systolic-pressure": 0,
        "consciousness": 1,
    }
