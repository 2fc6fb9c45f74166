"""Scores with open parts: CURB-65, overt DIC, 4Ts and 4AT, each at both ends of every band.

CURB-65: Lim, Thorax 2003;58:377. Overt DIC: ISTH, Thromb Haemost 2001;86:1327. 4Ts: Lo, J Thromb Haemost
2006;4:759. All three were read in restatements. 4AT: its authors' guide. What each asks for is ours.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading, reason, rounds, scores
from weatherglass.facts.blood.coagulation import overt_dic
from weatherglass.facts.blood.heparin_fall import four_ts, platelet_fall
from weatherglass.facts.results.curb_65 import curb_65
from weatherglass.facts.results.open_points import OpenTotal, Points
from weatherglass.model.findings import ScoreFinding, Urgency
from weatherglass.model.record.medicines import OrderStatus
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

PNEUMONIA = condition(ConditionKind.INFECTION, ConditionKind.PNEUMONIA, began=6, text="Pneumonia")
CELLULITIS = condition(ConditionKind.INFECTION, began=6, text="Cellulitis")
SEPSIS = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, began=6, text="Sepsis")
PLT, INR, FIB = Signal.PLATELETS, Signal.INR, Signal.FIBRINOGEN
PT, DIMER = Signal.PROTHROMBIN_TIME, Signal.D_DIMER
YOUNG, OLD = date(1980, 1, 1), date(1950, 1, 1)


def _part(found: OpenTotal, name: str) -> Points:
    return next(one for one in found.parts if one.part == name)


def _range(one: Points) -> tuple[int, int]:
    return one.lowest, one.highest


def _one(record: Record, key: str) -> ScoreFinding:
    (found,) = scores(record, key)
    return found


class TestCurb65:
    """Asked only beside pneumonia."""

    @pytest.mark.parametrize(
        ("signal", "part", "bands"),
        [
            (Signal.UREA, "urea", "7:0 7.1:1"),
            (Signal.RESPIRATION_RATE, "respiration", "29:0 30:1"),
        ],
    )
    def test_both_ends(self, signal: Signal, part: str, bands: str) -> None:
        for value, _, points in (band.partition(":") for band in bands.split()):
            found = curb_65(bedside(chart({signal: [(1, value)]})))
            assert _range(_part(found, part)) == (int(points), int(points)), value

    @pytest.mark.parametrize(
        ("systolic", "diastolic", "points"),
        [
            *(("90", "61", (0, 0)), ("89", "61", (1, 1)), ("90", "60", (1, 1))),
            *(("90", "", (0, 1)), ("89", "", (1, 1)), ("", "60", (1, 1)), ("", "61", (0, 1))),
        ],
    )
    def test_either_pressure_is_enough(self, systolic: str, diastolic: str, points: tuple[int, int]) -> None:
        numbers = {Signal.SYSTOLIC_PRESSURE: systolic, Signal.DIASTOLIC_PRESSURE: diastolic}
        record = chart({signal: [(1, value)] for signal, value in numbers.items() if value})
        assert _range(_part(curb_65(bedside(record)), "pressure")) == points

    @pytest.mark.parametrize(("years", "points"), [(64, 0), (65, 1)])
    def test_age(self, years: int, points: int) -> None:
        record = chart(born=date(2026 - years, 1, 1))
        assert _range(_part(curb_65(bedside(record)), "age")) == (points, points)

    def test_an_unknown_age_is_open(self) -> None:
        assert _range(_part(curb_65(bedside(chart(born=None))), "age")) == (0, 1)

    @pytest.mark.parametrize(
        ("answer", "points"),
        [(Consciousness.ALERT, 0), (Consciousness.NEW_CONFUSION, 1), (Consciousness.VOICE, 1)],
    )
    def test_confusion(self, answer: Consciousness, points: int) -> None:
        record = rounds((1, {CodedSignal.CONSCIOUSNESS: answer}))
        assert _range(_part(curb_65(bedside(record)), "confusion")) == (points, points)

    def test_an_answer_is_said_in_words(self) -> None:
        """It was "voice (1)"."""
        record = rounds((1, {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}), conditions=(PNEUMONIA,))
        assert "responds to voice (1)" in _one(record, "curb-65").sentence

    def test_a_band_is_said_only_where_both_ends_agree(self) -> None:
        whole = {Signal.DIASTOLIC_PRESSURE: [(1, 55)], Signal.UREA: [(1, "9")]}
        record = rounds((1, {}), numbers=whole, conditions=(PNEUMONIA,), born=OLD)
        found = _one(record, "curb-65")
        assert found.sentence.startswith("CURB-65 3, severe: ")
        assert (found.urgency, found.since) == (Urgency.PROMPT, ago(1))
        half = rounds(
            (1, {}), numbers={Signal.DIASTOLIC_PRESSURE: [(1, 55)]}, conditions=(PNEUMONIA,), born=OLD
        )
        found = _one(half, "curb-65")
        assert found.sentence.startswith("CURB-65 2 to 3: ")
        assert "not recorded: urea." in found.sentence
        assert (found.urgency, found.total, found.tier) == (Urgency.ROUTINE, None, "")

    def test_old_results_are_not_of_now(self) -> None:
        record = chart({Signal.UREA: [(25, "9")]}, conditions=(PNEUMONIA,))
        assert _range(_part(curb_65(bedside(record)), "urea")) == (0, 1)

    def test_asked_by_the_reason_of_a_stay_and_of_an_order(self) -> None:
        kinds = frozenset({ConditionKind.INFECTION, ConditionKind.PNEUMONIA})
        came = reason(*kinds, text="?Pneumonia", hours=5, inpatient=True)
        assert scores(rounds((1, {}), reasons=(came,)), "curb-65")
        drug = order("Doxycycline", "antibacterial", indication=kinds)
        assert scores(rounds((1, {}), orders=(drug,)), "curb-65")

    @pytest.mark.parametrize("conditions", [(), (CELLULITIS,)])
    def test_not_asked_elsewhere(self, conditions: Any) -> None:
        assert not scores(rounds((1, {}), conditions=conditions), "curb-65")

    def test_not_of_children_nor_in_pregnancy(self) -> None:
        assert not scores(rounds((1, {}), conditions=(PNEUMONIA,), born=date(2016, 1, 1)), "curb-65")
        pregnant = condition(ConditionKind.PREGNANCY, began=500)
        assert not scores(rounds((1, {}), conditions=(PNEUMONIA, pregnant), born=YOUNG), "curb-65")


class TestOvertDic:
    """Asked only beside platelets that became low, or low fibrinogen, with a disorder."""

    @pytest.mark.parametrize(
        ("signal", "part", "bands"),
        [(PLT, "platelets", "100:0 99:1 50:1 49:2"), (FIB, "fibrinogen", "1:0 0.9:1")],
    )
    def test_both_ends(self, signal: Signal, part: str, bands: str) -> None:
        for value, _, points in (band.partition(":") for band in bands.split()):
            found = overt_dic(bedside(chart({signal: [(1, value)]})))
            assert _range(_part(found, part)) == (int(points), int(points)), value

    @pytest.mark.parametrize(("seconds", "points"), [("15.9", 0), ("16", 1), ("19", 1), ("19.1", 2)])
    def test_prothrombin_time_against_the_laboratorys_own_limit(self, seconds: str, points: int) -> None:
        """13 s is the limit: 3 s longer is 1 point, more than 6 s 2."""
        record = chart({PT: [reading(PT, 1, seconds, reference=("10", "13"))]})
        assert _range(_part(overt_dic(bedside(record)), "prothrombin-time")) == (points, points)

    @pytest.mark.parametrize(("inr", "points"), [("1.2", (0, 0)), ("1.3", (0, 2)), ("3", (0, 2))])
    def test_an_inr_closes_the_part_only_where_it_is_short(self, inr: str, points: tuple[int, int]) -> None:
        """Ours: the score counts seconds."""
        assert _range(_part(overt_dic(bedside(chart({INR: [(1, inr)]}))), "prothrombin-time")) == points

    @pytest.mark.parametrize(("value", "points"), [("0.5", (0, 0)), ("0.51", (2, 3))])
    def test_a_raised_marker_is_moderate_or_strong(self, value: str, points: tuple[int, int]) -> None:
        record = chart({DIMER: [reading(DIMER, 1, value, reference=("0", "0.5"))]})
        assert _range(_part(overt_dic(bedside(record)), "fibrin-marker")) == points

    def test_a_marker_without_a_range_is_open(self) -> None:
        assert _range(_part(overt_dic(bedside(chart({DIMER: [(1, "4")]}))), "fibrin-marker")) == (0, 3)

    def test_overt(self) -> None:
        numbers = {
            PLT: [(30, 180), (1, 40)],
            FIB: [(1, "0.8")],
            DIMER: [reading(DIMER, 1, "9", reference=("0", "1"))],
        }
        found = _one(chart(numbers, conditions=(SEPSIS,)), "isth-dic")
        assert found.sentence.startswith("ISTH score of overt DIC 5 to 8, overt DIC, with infection: ")
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(1))

    def test_open_asks_for_nobody_and_names_what_is_missing(self) -> None:
        found = _one(chart({PLT: [(30, 180), (1, 40)]}, conditions=(SEPSIS,)), "isth-dic")
        assert found.urgency is Urgency.ROUTINE
        assert [gap.key for gap in found.missing] == ["fibrin-marker", "prothrombin-time", "fibrinogen"]
        assert found.sentence.endswith("overt DIC is not excluded.")

    @pytest.mark.parametrize(
        ("platelets", "conditions"),
        [
            ([(1, 100)], (SEPSIS,)),
            ([(1, 60)], ()),
            ([(24 * 60, 75), (1, 60)], (SEPSIS,)),  # As low in the year before.
        ],
    )
    def test_not_asked(self, platelets: Any, conditions: Any) -> None:
        assert not scores(chart({PLT: platelets}, conditions=conditions), "isth-dic")

    def test_asked_where_they_were_higher_before(self) -> None:
        assert scores(chart({PLT: [(24 * 60, 79), (1, 60)]}, conditions=(SEPSIS,)), "isth-dic")


def _on_heparin(*platelets: tuple[float, float], starts: float = 7 * 24, **rest: Any) -> Record:
    drug = order("Enoxaparin", "heparin", "low-molecular-weight-heparin", starts=starts)
    orders = (drug, *rest.pop("orders", ()))
    return chart({PLT: [(hours, str(value)) for hours, value in platelets]}, orders=orders, **rest)


def _four(record: Record) -> OpenTotal | None:
    one = bedside(record)
    fall = platelet_fall(one)
    return four_ts(one, fall) if fall is not None else None


class TestFourTs:
    """Asked only of a fall that began under heparin and is still there."""

    @pytest.mark.parametrize(
        ("highest", "newest", "points"),
        [(200, 140, 1), (200, 100, 1), (200, 99, 2), (60, 20, 2), (60, 19, 1), (60, 10, 1), (60, 9, 0)],
    )
    def test_the_fall(self, highest: int, newest: int, points: int) -> None:
        found = _four(_on_heparin((170, highest), (1, newest)))
        assert found is not None
        assert _range(_part(found, "fall")) == (points, points)

    def test_less_than_30_percent_is_no_fall(self) -> None:
        assert _four(_on_heparin((170, 200), (1, 141))) is None

    @pytest.mark.parametrize(
        ("before", "onset", "points"),
        [
            (3.5, 3.9, (0, 0)),
            (4.0, 4.5, (1, 1)),
            (5.0, 6.0, (2, 2)),
            (9.0, 10.9, (2, 2)),
            (11.0, 12.0, (1, 1)),
            (2.0, 6.0, (0, 2)),  # Nobody counted between.
            (0.5, 0.9, (0, 2)),  # An earlier exposure may not be on record.
        ],
    )
    def test_the_day_lies_between_two_counts(
        self, before: float, onset: float, points: tuple[int, int]
    ) -> None:
        starts = 20 * 24
        record = _on_heparin((starts - before * 24, 200), (starts - onset * 24, 90), (1, 90), starts=starts)
        found = _four(record)
        assert found is not None
        assert _range(_part(found, "timing")) == points

    def test_a_fall_within_a_day_after_an_earlier_exposure(self) -> None:
        earlier = order("Heparin", "heparin", status=OrderStatus.STOPPED, starts=20 * 24, ends=10 * 24)
        found = _four(_on_heparin((45, 200), (30, 90), starts=48, orders=(earlier,)))
        assert found is not None
        assert _range(_part(found, "timing")) == (2, 2)

    def test_a_thrombosis_since_then_and_another_cause(self) -> None:
        clot = condition(ConditionKind.VENOUS_THROMBOEMBOLISM, began=2, text="Pulmonary embolism")
        found = _four(_on_heparin((170, 200), (1, 90), conditions=(clot, SEPSIS)))
        assert found is not None
        assert _range(_part(found, "thrombosis")) == (2, 2)
        assert _range(_part(found, "other-cause")) == (0, 1)

    def test_one_before_heparin_is_why_it_was_given(self) -> None:
        clot = condition(ConditionKind.VENOUS_THROMBOEMBOLISM, began=8 * 24, text="Pulmonary embolism")
        found = _four(_on_heparin((170, 200), (1, 90), conditions=(clot,)))
        assert found is not None
        assert _range(_part(found, "thrombosis")) == (0, 2)

    def test_four_points_are_not_low_whatever_is_open(self) -> None:
        found = _one(_on_heparin((48, 310), (24, 120), (1, 110)), "four-ts")
        assert found.sentence.startswith("4Ts 4 to 8, on Enoxaparin: platelets 310 to 110 (2) ")
        assert (
            "not recorded: whether there is a thrombosis and whether there is another cause;"
            in found.sentence
        )
        assert (found.urgency, found.since) == (Urgency.URGENT, ago(24))
        assert [gap.key for gap in found.missing] == ["thrombosis", "other-cause"]

    def test_three_points_ask_to_complete_it(self) -> None:
        found = _one(_on_heparin((48, 200), (24, 120), (1, 110)), "four-ts")
        assert found.urgency is Urgency.PROMPT
        assert found.sentence.endswith("; to be completed.")

    def test_an_early_fall_after_an_operation_asks_for_nobody(self) -> None:
        found = _one(_on_heparin((60, 300), (36, 190), (1, 190), starts=84), "four-ts")
        assert found.urgency is Urgency.ROUTINE

    @pytest.mark.parametrize(
        ("orders", "last", "timing"),
        [
            pytest.param([("a", 190)], 27, 2, id="stopped, and nobody recorded when"),
            pytest.param([], 27, 2, id="no order at all"),
            pytest.param([("a", 190), ("b", 40), ("c", 16)], 16, 2, id="written anew every day"),
        ],
    )
    def test_what_was_given_counts(self, orders: list[tuple[str, float]], last: float, timing: int) -> None:
        """Enoxaparin of which no order in force tells: the day is that of its first dose."""
        written = [
            order(name, "heparin", status=OrderStatus.STOPPED, starts=None, written=ago(at))
            for name, at in orders
        ]
        doses = [administered("Enoxaparin", at, "heparin") for at in range(int(last), 190, 24)]
        counts = {PLT: [(190, "250"), (30, "245"), (1, "90")]}
        found = _four(chart(counts, orders=tuple(written), administrations=tuple(reversed(doses))))
        assert found is not None
        assert next(one.lowest for one in found.parts if one.part == "timing") == timing

    @pytest.mark.parametrize(("days", "is_asked"), [(29, True), (31, False)])
    def test_a_dose_counts_for_30_days(self, days: int, is_asked: bool) -> None:
        dose = administered("Heparin", days * 24, "heparin")
        found = _four(chart({PLT: [(190, "250"), (1, "90")]}, administrations=(dose,)))
        assert (found is not None) is is_asked

    def test_a_draft_is_no_heparin_that_was_given(self) -> None:
        draft = order("Heparin", "heparin", status=OrderStatus.DRAFT, starts=200)
        assert _four(chart({PLT: [(190, "250"), (1, "90")]}, orders=(draft,))) is None

    @pytest.mark.parametrize(
        "record",
        [
            chart({PLT: [(170, "300"), (1, "90")]}),  # No heparin.
            _on_heparin((200, 300), (190, 90), (1, 90)),  # Fallen before it.
            _on_heparin((170, 300), (24, 90), (1, 240)),  # Back again.
        ],
    )
    def test_not_asked(self, record: Record) -> None:
        assert not scores(record, "four-ts")


class TestFourAt:
    """The recorded total."""

    @pytest.mark.parametrize(
        ("total", "says", "urgency"),
        [
            ("0", "unlikely", Urgency.ROUTINE),
            ("1", "possible cognitive impairment", Urgency.ROUTINE),
            ("3", "possible cognitive impairment", Urgency.ROUTINE),
            ("4", "possible delirium", Urgency.PROMPT),
            ("12", "possible delirium", Urgency.PROMPT),
        ],
    )
    def test_bands(self, total: str, says: str, urgency: Urgency) -> None:
        found = _one(chart({Signal.REPORTED_4AT: [(1, total)]}), "four-at")
        assert says in found.sentence
        assert found.urgency is urgency

    def test_a_repeat_does_not_begin_it_again(self) -> None:
        assert _one(chart({Signal.REPORTED_4AT: [(20, "6"), (1, "7")]}), "four-at").since == ago(20)

    @pytest.mark.parametrize("values", [[(25, "6")], [(1, "13")], [(1, "4.5")]])
    def test_not_said_of_an_old_or_impossible_one(self, values: Any) -> None:
        assert not scores(chart({Signal.REPORTED_4AT: values}), "four-at")


class TestRanges:
    """A result without its range is judged by the last range of its own method: ours."""

    @pytest.mark.parametrize(
        ("newer", "method", "points"),
        [("17", "m", (1, 1)), ("22", "m", (2, 2)), ("22", "other", (1, 1))],
    )
    def test_prothrombin_time(self, newer: str, method: str, points: tuple[int, int]) -> None:
        """ISTH: 3 seconds longer 1, 6 seconds or more 2, above the laboratory's 13 s."""
        times = [reading(PT, 9, "16", reference=("10", "13")), reading(PT, 1, newer, method=method)]
        found = overt_dic(bedside(chart({PT: times})))
        assert _range(_part(found, "prothrombin-time")) == points
