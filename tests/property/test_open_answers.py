"""More data never makes a closed answer open: every score with open parts, over invented records.

No published number is checked here. A record is drawn whole and cut down; what is closed in the cut one
stays closed in the whole one. A later value that says less than the one before it (a limit alone, a result
without its range) opens nothing either.
"""

import random
from collections.abc import Callable
from typing import Any

import pytest

from tests.charts import bedside, chart, condition, order, reading, rounds
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.blatchford import blatchford
from weatherglass.facts.blood.coagulation import overt_dic
from weatherglass.facts.blood.heparin_fall import four_ts, platelet_fall
from weatherglass.facts.results.curb_65 import curb_65
from weatherglass.facts.results.open_points import OpenTotal
from weatherglass.facts.results.organ_failure import organ_failure
from weatherglass.facts.results.phoenix import phoenix
from weatherglass.knowledge.scores.points.organ_failure import SOFA, SOFA_2
from weatherglass.model.record.medicines import OrderStatus
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import Signal
from weatherglass.model.subject import Sex

pytestmark = pytest.mark.property

S = Signal
_BLACK = condition(ConditionKind.MELAENA, ConditionKind.BLEEDING, began=5, text="Melaena")


def _stays_closed(before: OpenTotal, after: OpenTotal) -> None:
    assert [one.part for one in before.parts] == [one.part for one in after.parts]
    for one, other in zip(before.parts, after.parts, strict=True):
        if not one.is_open:
            assert not other.is_open, (one, other)


def _cut(chance: random.Random, whole: list[Any]) -> list[Any]:
    return [one for one in whole if chance.random() < 0.5]


@pytest.mark.parametrize("seed", range(120))
def test_bleeding_from_the_gut(seed: int) -> None:
    """Glasgow-Blatchford: urea, haemoglobin, diseases and fainting come one by one, in either sex or none."""
    chance = random.Random(seed)
    signs = rounds((1, {S.PULSE: chance.randint(60, 130), S.SYSTOLIC_PRESSURE: chance.randint(80, 130)}))
    results: list[Any] = [
        (S.UREA, [(2, str(chance.randint(30, 300) / 10))]),
        (S.HAEMOGLOBIN, [(2, chance.randint(60, 150))]),
    ]
    problems = [
        condition(ConditionKind.LIVER_DISEASE),
        condition(ConditionKind.HEART_FAILURE),
        condition(ConditionKind.FALL, text="Collapse"),
    ]
    sex = chance.choice(list(Sex))

    def told(some: list[Any], known: list[Any]) -> OpenTotal:
        record = chart(
            {**signs.numbers, **dict(some)},
            codes=dict(signs.codes),
            conditions=(_BLACK, *known),
            sex=sex,
        )
        found = blatchford(bedside(record))
        assert found is not None
        return found

    cut = told(_cut(chance, results), _cut(chance, problems))
    whole = told(results, problems)
    _stays_closed(cut, whole)
    assert whole.lowest >= cut.lowest
    unsure = {one.part for one in whole.unknown}
    assert unsure <= {"haemoglobin"} if sex not in (Sex.MALE, Sex.FEMALE) else not unsure


def _on_heparin(chance: random.Random) -> tuple[list[tuple[float, int]], float]:
    """Draw counts that fall under heparin: the highest first, no count above it after."""
    starts = chance.uniform(1, 14) * 24
    top = chance.randint(150, 400)
    low = chance.randint(5, int(top * 0.65))
    fell = chance.uniform(2, starts)
    counts = [(starts + 2, top), (fell, low), (1, low)]
    return counts, starts


def _four(counts: list[tuple[float, int]], **rest: Any) -> OpenTotal:
    record = chart({S.PLATELETS: [(hours, str(value)) for hours, value in sorted(counts)[::-1]]}, **rest)
    at_bedside = bedside(record)
    fall = platelet_fall(at_bedside)
    assert fall is not None
    return four_ts(at_bedside, fall)


@pytest.mark.parametrize("seed", range(150))
def test_heparin(seed: int) -> None:
    """4Ts: counts between, a thrombosis, another cause and earlier heparin come one by one."""
    chance = random.Random(seed)
    counts, starts = _on_heparin(chance)
    top, low = counts[0][1], counts[1][1]
    between = [
        (chance.uniform(counts[1][0], counts[0][0]), chance.randint(int(top * 0.71) + 1, top))
        for _ in range(3)
    ]
    later = [(chance.uniform(1, counts[1][0]), chance.randint(low, int(top * 0.69))) for _ in range(2)]
    problems = [
        condition(ConditionKind.VENOUS_THROMBOEMBOLISM, began=chance.uniform(1, 20 * 24), text="Embolism"),
        condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, began=6, text="Sepsis"),
        condition(ConditionKind.CANCER),
    ]
    drug = order("Enoxaparin", "heparin", starts=starts)
    earlier = [
        order("Dalteparin", "heparin", status=OrderStatus.STOPPED, starts=starts + 400, ends=starts + 200),
        order("Tinzaparin", "heparin", status=OrderStatus.STOPPED, starts=starts + 900, ends=starts + 600),
    ]
    cut = _four(
        [*counts, *_cut(chance, between), *_cut(chance, later)],
        orders=(drug, *_cut(chance, earlier)),
        conditions=tuple(_cut(chance, problems)),
    )
    whole = _four([*counts, *between, *later], orders=(drug, *earlier), conditions=tuple(problems))
    _stays_closed(cut, whole)


@pytest.mark.parametrize("seed", range(60))
def test_a_further_course_of_heparin_opens_no_day_that_was_sure(seed: int) -> None:
    """What began later, on the chart as well, takes back no fall that fits the first."""
    chance = random.Random(seed)
    counts, starts = _on_heparin(chance)
    drug = order("Enoxaparin", "heparin", starts=starts)
    flush = order("Heparin", "heparin", starts=chance.uniform(1, starts))
    ended = order(
        "Enoxaparin", "heparin", status=OrderStatus.STOPPED, starts=starts, ends=chance.uniform(0.5, starts)
    )
    for first in (drug, ended):
        _stays_closed(_four(counts, orders=(first,)), _four(counts, orders=(first, flush)))


def _organs(chance: random.Random) -> dict[Signal, Any]:
    return {
        S.PLATELETS: [(3, chance.randint(5, 300))],
        S.BILIRUBIN: [(3, chance.randint(4, 300))],
        S.MEAN_PRESSURE: [(3, chance.randint(40, 100))],
        S.GCS_TOTAL: [(3, chance.randint(3, 15))],
        S.CREATININE: [(3, chance.randint(50, 600))],
        S.UREA: [(3, chance.randint(2, 30))],
        S.RESPIRATION_RATE: [(3, chance.randint(10, 40))],
        S.SYSTOLIC_PRESSURE: [(3, chance.randint(70, 140))],
        S.DIASTOLIC_PRESSURE: [(3, chance.randint(40, 80))],
        S.LACTATE: [(3, str(chance.randint(5, 140) / 10))],
        S.FIBRINOGEN: [(3, str(chance.randint(3, 30) / 10))],
        S.D_DIMER: [reading(S.D_DIMER, 3, str(chance.randint(1, 90) / 10), reference=("0", "0.5"))],
        S.PROTHROMBIN_TIME: [reading(S.PROTHROMBIN_TIME, 3, chance.randint(10, 25), reference=("10", "13"))],
        S.PO2_ARTERIAL: [(3, str(chance.randint(60, 150) / 10))],
        S.FIO2: [(3, chance.randint(21, 90))],
    }


def _sofa(one: Bedside) -> OpenTotal:
    return organ_failure(one, SOFA)


def _sofa_2(one: Bedside) -> OpenTotal:
    return organ_failure(one, SOFA_2)


def _phoenix(one: Bedside) -> OpenTotal:
    return phoenix(one, 76)


SCORES = [curb_65, overt_dic, _phoenix, _sofa, _sofa_2]


@pytest.mark.parametrize("score", SCORES)
@pytest.mark.parametrize("seed", range(60))
def test_a_later_value_that_says_less_opens_nothing(seed: int, score: Callable[[Bedside], OpenTotal]) -> None:
    """A limit alone, or a result without the range that it is judged by."""
    chance = random.Random(seed)
    whole = _organs(chance)
    less = dict(whole)
    # A coma scale given as a limit is an answer of its own, and says that it may be lower.
    for signal in _cut(chance, [each for each in whole if each is not S.GCS_TOTAL]):
        first = chart({signal: whole[signal]}).series(signal).items[0]
        spread = (None, str(first.value + 1)) if chance.random() < 0.5 else (str(first.value - 1), None)
        vague = reading(signal, 1, first.value, spread=spread)
        bare = reading(signal, 1, first.value)
        is_ranged = signal in (S.D_DIMER, S.PROTHROMBIN_TIME)
        less[signal] = [first, bare if is_ranged else vague]
    _stays_closed(score(bedside(chart(whole))), score(bedside(chart(less))))


@pytest.mark.parametrize("score", SCORES)
@pytest.mark.parametrize("seed", range(60))
def test_the_order_of_signals_changes_nothing(seed: int, score: Callable[[Bedside], OpenTotal]) -> None:
    chance = random.Random(seed)
    whole = _organs(chance)
    turned: dict[Signal, Any] = dict(reversed(list(whole.items())))
    first: Record = chart(whole)
    assert score(bedside(first)) == score(bedside(chart(turned)))
