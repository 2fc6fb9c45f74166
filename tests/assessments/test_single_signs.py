"""Signs that call by themselves.

MERIT (Cretikos and others, Resuscitation 2007;73:62-72: breathing above 36, pulse above 140, systolic
below 90), BMJ 1998 (PMC28582, table 5: breathing below 8, pulse below 40), PMC3109511 table 2
(saturation below 85% for 5 minutes), Implementation Science 2011;6:39 table 1 (below 90% on oxygen).
The numbers in use depart from these by our choice where the criteria say so.
"""

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.assessments.signs import (
    ADULT,
    ANSWER,
    CHILD,
    HR,
    MAP,
    OXYGEN,
    RR,
    SBP,
    SPO2,
    TEMP,
    E,
    R,
    U,
    directive,
    signs_in,
    urgency_of,
)
from tests.charts import ago, bedside, chart, condition, findings, measures_of, reading, rounds
from tests.records import answer_of, full_set, measured, observation, patient, quantity
from weatherglass.model.findings import Kind, State, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.care import DirectiveKind, Resuscitation
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, Signal
from weatherglass.model.sources import Mark
from weatherglass.policy import PolicyError, load_policy


class TestContradictions:
    """97 % and 79 % in one round: the worse counts until a third reading, and both are said."""

    @pytest.mark.parametrize("times", [(1.1, 1.0), (1.0, 1.1)])
    def test_in_either_order(self, times: tuple[float, float]) -> None:
        found = signs_in(chart({SPO2: [(times[0], 79), (times[1], 97)]}))["spo2"]
        assert found.urgency is E
        assert measures_of(found)["spo2"] == 79

    def test_both_are_said(self) -> None:
        found = signs_in(chart({SPO2: [(1.1, 79), (1.0, 97)]}))["spo2"]
        assert "97 % at 07:00 on 12 March in the same round contradicts it" in found.sentence

    def test_at_one_instant(self) -> None:
        """The reader hands over an interval."""
        both = reading(SPO2, 1, "88", spread=("79", "97"), remarks=(Remark.CONFLICT,))
        found = signs_in(chart({SPO2: (both,)}))["spo2"]
        assert (found.urgency, measures_of(found)["spo2"]) == (E, 79)
        assert found.sentence.startswith("Saturation 79 or 97 %")
        values = [measured(str(n), "spo2", value, "%") for n, value in enumerate(("97", "79"))]
        answer = answer_of(patient(), *values)
        assert answer.reviews[0].urgency is E

    @pytest.mark.parametrize(
        "series",
        [
            pytest.param([(1.1, 79), (1.05, 97), (1.0, 97)], id="a-third"),
            pytest.param([(2.0, 79), (1.0, 97)], id="another-round"),
        ],
    )
    def test_over(self, series: list[tuple[float, int]]) -> None:
        assert urgency_of(chart({SPO2: series}), "spo2") is R

    def test_oxygen_begun_between_them(self) -> None:
        """79 % on air, then 97 % on oxygen: treated, and told in the past."""
        record = chart(
            {SPO2: [(1.1, 79), (1.0, 97)]},
            codes={OXYGEN: [(1.1, OxygenDelivery.AIR), (1.05, OxygenDelivery.RESERVOIR_MASK)]},
        )
        assert urgency_of(record, "spo2") is R

    @pytest.mark.parametrize(
        ("low", "high", "urgency"), [(None, "85", E), (None, "90", U), (None, "91", None), ("97", None, None)]
    )
    def test_known_only_as_a_limit(self, low: str | None, high: str | None, urgency: Urgency | None) -> None:
        """'Below 85' is below 85; 'below 91' may be 90."""
        value = low or high or ""
        record = chart({SPO2: (reading(SPO2, 1, value, spread=(low, high)),)})
        assert urgency_of(record, "spo2") is urgency


class TestRuns:
    """Since when, asked since when, and what is past."""

    @pytest.mark.parametrize(
        ("series", "state", "since", "asked"),
        [
            pytest.param([(20, 16), (3, 8)], State.NEW, 3, None, id="new"),
            pytest.param([(20, 16), (14, 8), (3, 7)], State.CONTINUING, 14, None, id="a-repeat"),
            pytest.param([(20, 16), (14, 8), (10, 16), (3, 7)], State.NEW, 3, None, id="again"),
        ],
    )
    def test_since(
        self, series: list[tuple[float, int]], state: State, since: float, asked: float | None
    ) -> None:
        found = signs_in(chart({RR: series}))["respiration-rate"]
        assert (found.state, found.since, found.asked_since) == (state, ago(since), asked)

    def test_stepped_up(self) -> None:
        """88 % on air is urgent; 84 % is an emergency from its own first reading on."""
        found = signs_in(chart({SPO2: [(9, 97), (8, 88), (3, 84), (1, 83)]}))["spo2"]
        assert (found.urgency, found.since, found.asked_since) == (E, ago(8), ago(3))

    def test_half_way_back(self) -> None:
        found = signs_in(chart({SPO2: [(9, 97), (8, 84), (1, 88)]}))["spo2"]
        assert (found.urgency, found.since, found.asked_since) == (U, ago(8), None)

    def test_past(self) -> None:
        found = signs_in(chart({RR: [(5, 6), (1, 14)]}))["respiration-rate"]
        assert (found.urgency, found.state) == (R, State.SETTLING)
        assert found.sentence == "Breathing was 6 /min at 03:00 on 12 March; 14 /min at 07:00 on 12 March."
        assert not signs_in(chart({RR: [(24.2, 6), (1, 14)]}))

    @pytest.mark.parametrize(
        ("hours", "urgency", "said"),
        [
            (12, E, "Breathing 6 /min: 8 or less."),
            (12.5, E, "and not recorded since"),
            (24, E, "and not recorded since"),
            (24.5, R, "Breathing was 6 /min"),
            (48.5, None, ""),
        ],
    )
    def test_old(self, hours: float, urgency: Urgency | None, said: str) -> None:
        """An old value is not presented as now."""
        found = signs_in(chart({RR: [(hours, 6)]})).get("respiration-rate")
        assert (found.urgency if found else None) is urgency
        assert found is None or said in found.sentence


class TestMeanPressure:
    """Below 65 where no systolic is recorded (Surviving Sepsis Campaign); never used and not shown."""

    @pytest.mark.parametrize(("value", "urgency"), [(41, U), (64, U), (65, None)])
    def test_alone(self, value: int, urgency: Urgency | None) -> None:
        record = rounds((1, {SBP: None}), numbers={MAP: [(1, value)]})
        found = signs_in(record).get("mean-pressure")
        assert (found.urgency if found else None) is urgency
        told = found or findings(record, Kind.CONTEXT)["mean-pressure"]
        assert told.sentence == f"Mean pressure {value} mmHg at 07:00 on 12 March: systolic not recorded."

    def test_an_earlier_systolic_is_no_systolic_of_now(self) -> None:
        record = chart({SBP: [(4, 120)], MAP: [(1, 50)]})
        assert urgency_of(record, "mean-pressure") is U

    @pytest.mark.parametrize("hours", [1, 0.5])
    def test_with_or_before_a_systolic(self, hours: float) -> None:
        """A systolic with it, or after it, is the pressure that counts."""
        assert "mean-pressure" not in signs_in(chart({SBP: [(hours, 120)], MAP: [(1, 50)]}))

    def test_low_beside_a_systolic_that_is_not(self) -> None:
        """Shown, for information."""
        found = findings(chart({SBP: [(1, 104)], MAP: [(1, 58)]}), Kind.CONTEXT)["mean-pressure"]
        assert found.urgency is R
        assert "58 mmHg" in found.sentence

    def test_a_child(self) -> None:
        """A child's normal mean pressure is lower: shown, not judged."""
        record = chart({MAP: [(1, 50)]}, born=CHILD)
        assert "mean-pressure" not in signs_in(record)
        assert findings(record, Kind.CONTEXT)["mean-pressure"].urgency is R


class TestNoSignsOfLife:
    """No breathing, no pulse: check the patient now (our choice)."""

    CALL = "Check the patient now: cardiac arrest call if there are no signs of life"

    def _record(
        self,
        rr: int | None,
        hr: int | None,
        answer: Consciousness | None,
        *,
        pressure: int | None = None,
        **rest: Any,
    ) -> Record:
        numbers = {
            signal: [(1, value)]
            for signal, value in ((RR, rr), (HR, hr), (SBP, pressure))
            if value is not None
        }
        return chart(numbers, codes={ANSWER: [(1, answer)]} if answer is not None else {}, **rest)

    @pytest.mark.parametrize("born", [ADULT, CHILD, None])
    @pytest.mark.parametrize(
        ("rr", "hr", "answer"),
        [
            pytest.param(0, 0, None, id="both"),
            pytest.param(0, 0, Consciousness.UNRESPONSIVE, id="both-and-unresponsive"),
            pytest.param(0, 0, Consciousness.ALERT, id="both-although-alert"),
            pytest.param(0, 60, Consciousness.UNRESPONSIVE, id="no-breathing-unresponsive"),
            pytest.param(12, 0, Consciousness.UNRESPONSIVE, id="no-pulse-unresponsive"),
            pytest.param(0, None, None, id="no-breathing-and-nothing-else"),
            pytest.param(None, 0, None, id="no-pulse-and-nothing-else"),
        ],
    )
    def test_arrest(
        self, rr: int | None, hr: int | None, answer: Consciousness | None, born: date | None
    ) -> None:
        found = signs_in(self._record(rr, hr, answer, born=born))
        one = found["no-signs-of-life"]
        assert one.urgency is E
        assert one.sentence.startswith(self.CALL)
        assert one.within is not None
        assert not {"respiration-rate", "breathing-absent", "pulse-absent"} & set(found)

    @pytest.mark.parametrize(
        ("rr", "hr", "answer", "key"),
        [
            pytest.param(0, 60, None, "breathing-absent", id="with-a-pulse"),
            pytest.param(0, 60, Consciousness.PAIN, "breathing-absent", id="with-a-response"),
            pytest.param(16, 0, None, "pulse-absent", id="breathing"),
            pytest.param(None, 0, Consciousness.ALERT, "pulse-absent", id="alert"),
        ],
    )
    def test_one_of_them(
        self, rr: int | None, hr: int | None, answer: Consciousness | None, key: str
    ) -> None:
        """Check now too; nobody says arrest to somebody who answers."""
        found = signs_in(self._record(rr, hr, answer))
        assert found[key].urgency is E
        assert found[key].sentence.startswith("Check the patient now.")
        assert "no-signs-of-life" not in found

    @pytest.mark.parametrize(
        ("decided", "said"),
        [
            ((Resuscitation.FOR,), CALL),
            (
                (Resuscitation.NOT_FOR,),
                "Check the patient now: recorded as not for attempted resuscitation. Respiration rate",
            ),
            ((Resuscitation.FOR, Resuscitation.NOT_FOR), f"{CALL}; the records about resuscitation conflict"),
        ],
    )
    def test_what_is_decided_is_respected(self, decided: tuple[Resuscitation, ...], said: str) -> None:
        directives = tuple(directive(DirectiveKind.RESUSCITATION, resuscitation=one) for one in decided)
        record = self._record(0, 0, Consciousness.UNRESPONSIVE, directives=directives)
        one = signs_in(record)["no-signs-of-life"]
        assert one.sentence.startswith(said)
        assert ("arrest call" in one.sentence) is (Resuscitation.FOR in decided)

    def test_end_of_life(self) -> None:
        record = self._record(0, 0, None, directives=(directive(DirectiveKind.END_OF_LIFE),))
        one = signs_in(record)["no-signs-of-life"]
        assert one.sentence.startswith("Check the patient now: end-of-life care is recorded.")

    def test_past(self) -> None:
        """A later rate ends it."""
        assert not signs_in(chart({RR: [(5, 0), (1, 14)], HR: [(5, 0), (1, 80)]}))

    def test_said_once(self) -> None:
        """That nobody answers stands in the sentence, and is no second finding."""
        found = signs_in(self._record(0, 0, Consciousness.UNRESPONSIVE))
        assert list(found) == ["no-signs-of-life"]
        assert "; beside it unresponsive." in found["no-signs-of-life"].sentence

    def test_infection_is_not_asked_about(self) -> None:
        """The fact that other questions read."""
        assert bedside(self._record(0, 0, None)).is_peri_arrest
        assert not bedside(self._record(12, 60, None)).is_peri_arrest


class TestSingleThree:
    """RCP 2017, chart 4: hourly observations and a review; within the hour is our choice."""

    @pytest.mark.parametrize(
        "changed",
        [{RR: 25}, {RR: 8}, {SPO2: 91}, {SBP: 90}, {SBP: 220}, {HR: 131}, {HR: 40}, {TEMP: "35.0"}],
    )
    def test_never_four_hours(self, changed: dict[Signal, Any]) -> None:
        score = findings(rounds((1, changed)), Kind.SCORE)["news2"]
        assert score.urgency is U
        assert getattr(score, "monitoring", "") == "at least hourly"


class TestPaediatricScore:
    """Parshuram 2009: 8 or more; 12 or more is an emergency by our choice."""

    @pytest.mark.parametrize(
        ("changed", "total", "urgency"),
        [
            ({RR: 52, HR: 130, SBP: 119}, 6, R),
            ({RR: 52, HR: 152, SBP: 119}, 8, U),
            ({RR: 52, HR: 152, SPO2: 90}, 11, U),
            ({RR: 52, HR: 152, SPO2: 90, SBP: 140}, 12, E),
        ],
    )
    def test_tiers(self, changed: dict[Signal, Any], total: int, urgency: Urgency) -> None:
        """A child of 7; heart rate and breathing in their outer cells score 4 each."""
        score = findings(rounds((1, changed), born=date(2019, 1, 1)), Kind.SCORE)["bedside-pews"]
        assert (getattr(score, "lowest", None), score.urgency) == (total, urgency)


class TestPolicy:
    """A site's own limits, validated by name and direction."""

    @staticmethod
    def _choices(folder: Path, text: str) -> LocalChoices:
        path = folder / "policy.toml"
        path.write_text(text, "utf-8")
        return load_policy(str(path)).choices

    def test_limits_reach_the_review(self, tmp_path: Path) -> None:
        """They take the place of ours as a whole, and are reached at the number."""
        choices = self._choices(
            tmp_path,
            "[single_signs.respiration-low]\nemergency = 6\nurgent = 9\n"
            "[single_signs.pulse-high]\nurgent = 150\n"
            "[single_signs.systolic-low]\nemergency = 80\n[single_signs.coma-scale-fall]\nemergency = 4\n",
        )
        cases: list[tuple[Signal, str, int, Urgency | None]] = [
            (RR, "respiration-rate", 6, E),
            (RR, "respiration-rate", 8, U),
            (RR, "respiration-rate", 10, None),
            (HR, "pulse", 149, None),
            (HR, "pulse", 150, U),
            (SBP, "systolic-pressure", 80, E),
            (SBP, "systolic-pressure", 81, U),
        ]
        for signal, key, value, urgency in cases:
            assert urgency_of(chart({signal: [(1, value)]}), key, choices=choices) is urgency, (key, value)
        found = signs_in(chart({RR: [(1, 6)]}), choices=choices)["respiration-rate"]
        assert found.sources[0].mark is Mark.LOCAL_POLICY
        fallen = chart({Signal.GCS_TOTAL: [(5, 15), (1, 12)]})
        assert urgency_of(fallen, "consciousness", choices=choices) is U

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            pytest.param("[single_signs.breathing]\nemergency = 8\n", "breathing", id="unknown-sign"),
            pytest.param("[single_signs.pulse-low]\nprompt = 50\n", "prompt", id="unknown-urgency"),
            pytest.param("[single_signs.pulse-low]\n", "at least one limit", id="empty"),
            pytest.param(
                "[single_signs.respiration-low]\nemergency = 9\nurgent = 8\n", "further out", id="wrong-way"
            ),
            pytest.param(
                "[single_signs.coma-scale-fall]\nemergency = 2\nurgent = 3\n",
                "further out",
                id="wrong-way-fall",
            ),
            pytest.param("[single_signs.pulse-low]\nemergency = 0\n", "above 0", id="zero"),
        ],
    )
    def test_slips_are_named(self, tmp_path: Path, text: str, says: str) -> None:
        with pytest.raises(PolicyError, match=says):
            self._choices(tmp_path, text)


def test_air_and_a_fraction_contradict() -> None:
    """Air and an inspired fraction of 0.35 in one round: oxygen counts, and both are said."""
    fraction = observation("f", "3150-0", valueQuantity=quantity("35", "%"))
    answer = answer_of(patient(), *full_set(), fraction)
    score = next(f for f in answer.reviews[0].findings if f.kind is Kind.SCORE and f.key == "news2")
    assert "air is recorded too; oxygen counts" in score.sentence


def test_it_is_its_own_resource() -> None:
    """Written as FHIR under its kind and key."""
    answer = answer_of(patient("2020-01-01"), *full_set(consciousness="unresponsive"))
    found = [(f.kind.value, f.key) for f in answer.reviews[0].findings if f.urgency is E]
    assert ("single-sign", "consciousness") in found


class TestAPressureThatIsNotExact:
    """Two values for one time, or a bound alone: the worse counts, as of every other sign (our choice)."""

    @pytest.mark.parametrize(
        ("spread", "urgency", "said"),
        [
            ((None, "80"), E, "Systolic pressure below 84 mmHg"),
            (("84", "126"), E, "Systolic pressure 84 or 126 mmHg"),
            (("89", "126"), E, "Systolic pressure 89 or 126 mmHg"),
            (("90", "126"), None, ""),
            (("84", None), E, "Systolic pressure above 84 mmHg"),
            (("110", "126"), None, ""),
        ],
    )
    def test_the_worse_counts(
        self, spread: tuple[str | None, str | None], urgency: Urgency | None, said: str
    ) -> None:
        found = signs_in(chart({SBP: (reading(SBP, 1, "84", spread=spread),)}, born=ADULT)).get(
            "systolic-pressure"
        )
        assert (found.urgency if found is not None else None) is urgency
        assert found is None or found.brief == said

    def test_that_nobody_knows_which_is_said(self) -> None:
        """As two records of one minute come."""
        signs = full_set(systolic_pressure=None)
        both = [observation(f"s{n}", "8480-6", valueQuantity=quantity(n, "mm[Hg]")) for n in ("84", "126")]
        (review,) = answer_of(patient(), *signs, *both).reviews
        found = next(one for one in review.findings if one.key == "systolic-pressure")
        assert found.urgency is E
        assert "act on the worse one and measure again" in found.sentence

    def test_it_goes_on_from_the_exact_one_before(self) -> None:
        values = (reading(SBP, 4, "85"), reading(SBP, 1, "84", spread=("84", "126")))
        found = signs_in(chart({SBP: values}, born=ADULT))["systolic-pressure"]
        assert found.since == ago(4)

    def test_one_that_may_be_usual_is_told_by_the_last_exact_one(self) -> None:
        usual = [reading(SBP, hours, "86") for hours in (90, 75, 60, 50, 40, 30, 20)]
        for low, urgency in (("84", U), ("70", E)):
            values = (*usual, reading(SBP, 1, low, spread=(low, "126")))
            assert urgency_of(chart({SBP: values}, born=ADULT), "systolic-pressure") is urgency

    def test_an_exact_one_after_it_decides(self) -> None:
        values = (reading(SBP, 2, "84", spread=("84", "126")), reading(SBP, 1, "124"))
        assert urgency_of(chart({SBP: values}, born=ADULT), "systolic-pressure") is None


@pytest.mark.parametrize(("heat", "cools"), [("40.9", False), ("41.0", True)])
def test_great_heat_is_brought_down_before_anybody_comes(heat: str, cools: bool) -> None:
    """Common practice, no source; 41 is our choice."""
    found = findings(rounds((1, {TEMP: heat})), Kind.SINGLE_SIGN)[TEMP.value]
    assert found.at_once == ("Cool now, by water and air" if cools else "")


@pytest.mark.parametrize(
    ("since", "is_settling"),
    [
        (((2, "14"), (1, "9")), False),
        (((2, "14"), (1, "12")), True),
        (((1, "9"),), True),
    ],
)
def test_what_is_worse_again_does_not_settle(since: Any, is_settling: bool) -> None:
    """Ours: slow breathing after naloxone, 7, then 14, then 9, was told as settling."""
    shown = [
        (3, {Signal.RESPIRATION_RATE: "7"}),
        *((at, {Signal.RESPIRATION_RATE: rate}) for at, rate in since),
    ]
    found = findings(rounds(*shown), Kind.SINGLE_SIGN)["respiration-rate"]
    assert (found.state is State.SETTLING) is is_settling
    assert ("worse again: 9 /min" in found.sentence) is not is_settling


@pytest.mark.parametrize(
    ("known", "is_worse"),
    [((condition(ConditionKind.HYPERCAPNIA),), False), ((), True)],
    ids=["88-92", "94-98"],
)
def test_a_saturation_in_its_range_is_not_worse_again(known: Any, is_worse: bool) -> None:
    """Ranges of BTS 2017: 93 % after 87 and 97 was "worse again" beside "oxygen down to 88-92 %"."""
    given = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    shown = ((3, "86"), (2, "97"), (1, "91"))
    record = rounds(*((at, {Signal.SPO2: each, **given}) for at, each in shown), conditions=known)
    assert ("worse again" in findings(record, Kind.SINGLE_SIGN)["spo2"].sentence) is is_worse


@pytest.mark.parametrize(
    ("kind", "value", "expected"),
    [
        (ConditionKind.HYPERCAPNIA, "88", None),
        (ConditionKind.HYPERCAPNIA, "87", Urgency.EMERGENCY),
        (ConditionKind.COPD, "89", Urgency.EMERGENCY),
    ],
)
def test_inside_the_range_of_who_is_known_to_keep_carbon_dioxide(
    kind: ConditionKind, value: str, expected: Urgency | None
) -> None:
    """BTS 2017: 88-92 % in known hypercapnic failure; 89 % was an emergency beside that very sentence."""
    on_oxygen = {Signal.SPO2: value, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    record = rounds((1, on_oxygen), conditions=(condition(kind),))
    found = findings(record, Kind.SINGLE_SIGN).get("spo2")
    is_emergency = found is not None and found.urgency is Urgency.EMERGENCY
    assert is_emergency is (expected is Urgency.EMERGENCY)


@pytest.mark.parametrize(
    ("value", "kinds", "is_emergency"),
    [
        ("88", (ConditionKind.COPD, ConditionKind.HOME_OXYGEN), False),
        ("87", (ConditionKind.COPD, ConditionKind.HOME_OXYGEN), True),
        ("88", (ConditionKind.HOME_OXYGEN,), True),
    ],
)
def test_inside_the_range_of_who_lives_on_oxygen(
    value: str, kinds: tuple[ConditionKind, ...], *, is_emergency: bool
) -> None:
    """BTS 2017: oxygen at home for obstructive disease: 88-92 %, as where carbon dioxide is kept."""
    on_oxygen = {Signal.SPO2: value, CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    record = rounds((1, on_oxygen), conditions=tuple(map(condition, kinds)))
    found = findings(record, Kind.SINGLE_SIGN).get("spo2")
    assert (found is not None and found.urgency is Urgency.EMERGENCY) is is_emergency


@pytest.mark.parametrize(
    ("value", "pco2", "lactate", "is_emergency"),
    [
        pytest.param("88", "7.2", None, False, id="lowest-of-the-range"),
        pytest.param("87", "7.2", None, True, id="below-it"),
        pytest.param("88", "5.9", None, True, id="carbon-dioxide-is-not-kept"),
        pytest.param("88", "7.2", "4.5", True, id="in-shock-oxygen-comes-first"),
    ],
)
def test_inside_the_range_that_a_gas_speaks_for(
    value: str, pco2: str, lactate: str | None, is_emergency: bool
) -> None:
    """BTS 2017: 88-92 % where carbon dioxide is kept; 89 % was an emergency beside that very sentence."""
    gas = {Signal.PH_ARTERIAL: "7.38", Signal.PCO2_ARTERIAL: pco2, Signal.BICARBONATE: "31"}
    numbers = {signal: [(2, each)] for signal, each in gas.items()}
    if lactate is not None:
        numbers[Signal.LACTATE] = [(1, lactate)]
    low = {Signal.SYSTOLIC_PRESSURE: 84} if lactate is not None else {}
    given: dict[Any, Any] = {
        Signal.SPO2: value,
        CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA,
        **low,
    }
    found = findings(rounds((1, given), numbers=numbers), Kind.SINGLE_SIGN).get("spo2")
    assert (found is not None and found.urgency is Urgency.EMERGENCY) is is_emergency


@pytest.mark.parametrize(
    ("text", "systolic", "expected"),
    [
        ("Preterm birth, 29 weeks", "34", None),
        ("Preterm birth, 29 weeks", "33", Urgency.URGENT),
        ("Preterm birth, 29 weeks", "29", Urgency.URGENT),
        ("Preterm birth, 29 weeks", "28", Urgency.EMERGENCY),
        ("Transient tachypnoea", "44", Urgency.EMERGENCY),  # 45 or less at term.
    ],
)
def test_the_pressure_of_a_baby_born_early(text: str, systolic: str, expected: Urgency | None) -> None:
    """Common practice: a mean of at least the weeks of gestation is aimed at; what calls is ours."""
    early = condition(ConditionKind.CIRCUMSTANCE_OF_LIFE, text=text, began=30)
    record = chart({Signal.SYSTOLIC_PRESSURE: [(1, systolic)]}, born=date(2026, 3, 10), conditions=(early,))
    found = findings(record, Kind.SINGLE_SIGN).get("systolic-pressure")
    assert (found.urgency if found is not None else None) is expected
