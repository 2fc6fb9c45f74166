"""What is expected, treated or has stopped asks nobody; it asks again as soon as it turns.

Times and shares are our choice, but for the pressure after an ischaemic stroke (American Heart
Association 2019, from memory).
"""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any, ClassVar

import pytest

from tests.charts import administered, ago, bedside, chart, condition, findings, order, rounds, scores
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.care import Procedure, ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
HB, T = Signal.HAEMOGLOBIN, Signal.TEMPERATURE
Results = Sequence[tuple[float, Any]]


def _done(kind: ProcedureKind, hours: float) -> Procedure:
    return Procedure(
        origin=Origin(f"Procedure/{kind.value}-{hours}"),
        text=kind.value,
        kinds=frozenset({kind}),
        at=ago(hours),
    )


class TestTroponin:
    """A fall after what explains it, and what the heart shows in the days after it was operated on."""

    INFARCTION = condition(ConditionKind.ACUTE_CORONARY_SYNDROME, text="NSTEMI", began=50)
    STENT = _done(ProcedureKind.CORONARY_STENT, 30)
    SURGERY = _done(ProcedureKind.CARDIAC_SURGERY, 50)

    @pytest.mark.parametrize(
        ("results", "rest", "urgency"),
        [
            ([(28, 2400), (2, 1900)], {"conditions": (INFARCTION,)}, R),
            ([(28, 2400), (2, 1921)], {"conditions": (INFARCTION,)}, U),  # 20 %: may be the plateau
            ([(28, 2400), (12, 1300), (2, 1560)], {"conditions": (INFARCTION,)}, R),
            ([(28, 2400), (12, 1300), (2, 1561)], {"conditions": (INFARCTION,)}, U),
            ([(28, 2400), (12, 700), (2, 1300), (1.8, 1300)], {"conditions": (INFARCTION,)}, U),
            ([(28, 2400), (2, 1300)], {}, U),
            ([(28, 900), (2, 2400)], {"conditions": (INFARCTION,)}, U),
            ([(28, 900), (7, 2400)], {"procedures": (STENT,)}, R),  # 23 hours after it
            ([(28, 900), (5, 2400)], {"procedures": (STENT,)}, U),  # 25 hours
            ([(2, 300)], {"procedures": (SURGERY,)}, R),
            ([(40, 900), (2, 1080)], {"procedures": (SURGERY,)}, R),
            ([(40, 900), (2, 1081)], {"procedures": (SURGERY,)}, U),
            ([(2, 300)], {"procedures": (_done(ProcedureKind.CARDIAC_SURGERY, 24 * 7 + 3),)}, U),
            ([(2, 300)], {"procedures": (_done(ProcedureKind.SURGERY, 50),)}, U),
        ],
    )
    def test_when_it_asks(self, results: Results, rest: Any, urgency: Urgency) -> None:
        found = findings(chart({Signal.TROPONIN: results}, **rest), Kind.CARDIAC)["troponin"]
        assert found.urgency is urgency
        assert ("as expected after" in found.sentence) is (urgency is R)


class TestPressureAfterAStroke:
    """Below 220/120 it is left in the first days, and the first one belongs to the stroke team."""

    @pytest.mark.parametrize(
        ("words", "hours", "pressure", "urgency"),
        [
            ("Ischaemic stroke", 25, (219, 119), R),
            ("Cerebral infarction", 72, (190, 90), R),
            ("Ischaemic stroke", 25, (220, 90), P),
            ("Ischaemic stroke", 25, (190, 120), P),
            ("Ischaemic stroke", 72.1, (190, 90), P),
            ("Ischaemic stroke", 24, (190, 90), U),
            ("Stroke", 25, (190, 90), P),
            ("Transient ischaemic attack", 25, (190, 90), P),
            ("Haemorrhagic transformation of cerebral infarction", 25, (190, 90), P),
        ],
    )
    def test_when_it_asks(
        self, words: str, hours: float, pressure: tuple[int, int], urgency: Urgency
    ) -> None:
        signs = {Signal.SYSTOLIC_PRESSURE: pressure[0], Signal.DIASTOLIC_PRESSURE: pressure[1]}
        stroke = condition(ConditionKind.STROKE, text=words, began=hours)
        found = findings(rounds((1, signs), conditions=(stroke,)), Kind.HIGH_PRESSURE)["high-pressure"]
        assert found.urgency is urgency


def _bleeding(record: Record) -> dict[str, Urgency]:
    return {key: one.urgency for key, one in findings(record, Kind.POSSIBLE_BLEEDING).items()}


class TestHaemoglobin:
    """What an operation took, and bleeding that has stopped."""

    HIP = _done(ProcedureKind.SURGERY, 50)
    ULCER = condition(ConditionKind.BLEEDING, text="Bleeding ulcer", began=50)
    LOST: ClassVar = {"blood-lost-at-operation": R}
    ASKED: ClassVar = {"possible-bleeding": P}

    @pytest.mark.parametrize(
        ("results", "rest", "expected"),
        [
            ([(60, 124), (40, 102), (28, 100)], {}, LOST),
            ([(60, 124), (40, 102), (28.1, 100)], {}, ASKED),  # not 12 hours
            ([(60, 124), (40, 102), (20, 94)], {}, LOST),  # 7.8 %
            ([(60, 124), (40, 104), (20, 95)], {}, ASKED),  # 8.7 %, more than chance
            ([(60, 124), (40, 102)], {}, LOST),  # the first one, down by less than 30
            ([(60, 132), (40, 102)], {}, {"possible-bleeding": U}),
            ([(60, 124), (40, 102)], {"blood": 45}, ASKED),
            ([(60, 101), (40, 79)], {}, ASKED),  # below 80
            ([(60, 124), (40, 110), (26, 90), (2, 90)], {}, LOST),
            ([(60, 124), (40, 110), (25.9, 90), (2, 90)], {}, {"possible-bleeding": U}),  # a day later
            ([(60, 152), (40, 102), (20, 100)], {}, LOST),  # by its size an emergency
            ([(60, 124), (51, 102), (20, 100)], {}, ASKED),  # before it, not across it
            ([(60, 124), (40, 102), (20, 100)], {"pulse": 130}, {"possible-bleeding": E}),
            ([(60, 124), (40, 102), (20, 100)], {"lactate": "2.1"}, {"possible-bleeding": U}),
            ([(60, 124), (40, 102), (20, 100)], {"blood": 30}, ASKED),
        ],
    )
    def test_across_an_operation(self, results: Results, rest: Any, expected: dict[str, Urgency]) -> None:
        lactate = {Signal.LACTATE: [(2, rest["lactate"])]} if "lactate" in rest else {}
        blood = (_done(ProcedureKind.TRANSFUSION, rest["blood"]),) if "blood" in rest else ()
        record = rounds(
            (1, {Signal.PULSE: rest.get("pulse", 80)}),
            numbers={HB: results, **lactate},
            procedures=(self.HIP, *blood),
        )
        assert _bleeding(record) == expected

    @pytest.mark.parametrize(
        ("results", "rest", "urgency"),
        [
            ([(49, 90), (30, 88), (2, 87)], {}, R),
            ([(26, 88), (2, 87)], {}, R),
            ([(25.9, 88), (2, 87)], {}, P),
            ([(60, 88), (55, 88)], {}, P),  # all before it was written down
            ([(49, 88), (25, 87)], {}, P),  # none of the last day
            ([(49, 90), (30, 88), (2, 87)], {"pulse": 110}, U),
        ],
    )
    def test_recorded(self, results: Results, rest: Any, urgency: Urgency) -> None:
        record = rounds(
            (1, {Signal.PULSE: rest.get("pulse", 75)}), numbers={HB: results}, conditions=(self.ULCER,)
        )
        assert _bleeding(record) == {"possible-bleeding": urgency}

    def test_into_a_closed_place_it_goes_on_asking(self) -> None:
        """A haemoglobin shows nothing of it; into the skull the mind does (its own test elsewhere)."""
        bleed = condition(ConditionKind.CRITICAL_SITE_BLEEDING, text="Spinal haematoma", began=50)
        assert (
            _bleeding(rounds((1, {}), numbers={HB: [(49, 90), (2, 90)]}, conditions=(bleed,))) == self.ASKED
        )


@pytest.mark.parametrize(
    ("results", "is_asked"),
    [
        ([(40, "600"), (20, "300"), (3, "190")], False),  # two thirds off its peak
        ([(40, "600"), (3, "560")], True),
        ([(3, "600")], True),
        ([(3, "190")], True),
    ],
)
def test_obstructed_kidneys_that_recover(results: Results, is_asked: bool) -> None:
    """NICE NG148, from memory: it is drained; a creatinine on its way back says that somebody did."""
    full = condition(ConditionKind.URINARY_OBSTRUCTION, text="Retention of urine", began=40)
    for usual in ([(3000, "98")], []):  # Without it the fall alone shows the injury.
        record = rounds((1, {}), numbers={Signal.CREATININE: [*usual, *results]}, conditions=(full,))
        assert ("obstructed-kidneys" in findings(record, Kind.METABOLIC)) is is_asked


@pytest.mark.parametrize(
    ("begun", "white", "rest", "urgency"),
    [
        (48, "24", {}, P),
        (47, "24", {}, None),
        (24 * 56 + 1, "24", {}, None),
        (48, "15.0", {}, None),
        (48, "24", {T: "38.2", Signal.PULSE: 104}, U),
        (48, "24", {T: "38.2"}, P),
    ],
)
def test_diarrhoea_after_an_antibacterial(
    begun: float, white: str, rest: Any, urgency: Urgency | None
) -> None:
    """White cells above 15 from memory; the other signs, their number and the times are ours."""
    loose = condition(ConditionKind.DIARRHOEA, text="Diarrhoea", began=16)
    named = condition(ConditionKind.C_DIFFICILE, ConditionKind.INFECTION, text="CDI", began=5)
    drug = order("Amoxicillin", "antibacterial", starts=begun)
    numbers = {Signal.WHITE_CELLS: [(3, white)]}

    def asked(*known: Any) -> Urgency | None:
        record = rounds((1, rest), numbers=numbers, conditions=(loose, *known), orders=(drug,))
        found = findings(record, Kind.METABOLIC).get("c-difficile")
        return found.urgency if found is not None else None

    assert asked() is urgency
    assert asked(named) is None


class TestOrganFailure:
    """The own baseline of a liver that has long been ill, an order alone, and sepsis that is known."""

    INFECTION = condition(ConditionKind.INFECTION, began=30)

    @staticmethod
    def _sofa(**rest: Any) -> Urgency:
        (found,) = scores(rounds((1, {}), **rest), "sofa")
        return found.urgency

    @pytest.mark.parametrize(
        ("text", "began", "urgency"),
        [
            ("Cirrhosis of liver", None, R),
            ("Liver failure", 24 * 9, R),
            ("Liver failure", None, U),
            ("Liver failure", 24 * 7, U),
        ],
    )
    def test_the_liver(self, text: str, began: float | None, urgency: Urgency) -> None:
        liver = condition(ConditionKind.LIVER_DISEASE, text=text, began=began)
        low, fell = ({Signal.PLATELETS: [(30, first), (3, 66)]} for first in (70, 160))
        assert self._sofa(numbers=low, conditions=(self.INFECTION, liver)) is urgency
        assert self._sofa(numbers=fell, conditions=(self.INFECTION, liver)) is U

    def test_an_order_alone(self) -> None:
        """An antibacterial may be for prevention: it asks by a low score, and no sooner."""
        antibacterial = order("Ceftriaxone", "antibacterial", route=Route.INTRAVENOUS, starts=20)
        fresh = {Signal.PLATELETS: [(3, 66)]}
        assert self._sofa(numbers=fresh, orders=(antibacterial,)) is P
        assert self._sofa(numbers=fresh, orders=(antibacterial,), conditions=(self.INFECTION,)) is U

    @pytest.mark.parametrize(("first", "dose", "urgency"), [(25, 3, R), (23, 3, U), (25, 25, U)])
    def test_known_and_treated(self, first: float, dose: float, urgency: Urgency) -> None:
        given = administered("Meropenem", dose, "antibacterial", route=Route.INTRAVENOUS)
        numbers = {Signal.PLATELETS: [(first, 70), (3, 66)]}
        assert self._sofa(numbers=numbers, conditions=(self.INFECTION,), administrations=(given,)) is urgency


class TestNeutropenia:
    """Neutropenic sepsis, treated for more than a day."""

    @pytest.mark.parametrize(
        ("began", "heat", "dose", "urgency"),
        [
            (25, [(30, "39.0"), (1, "37.0")], 3, R),
            (24, [(30, "39.0"), (1, "37.0")], 3, E),
            (25, [(20, "38.1"), (1, "37.0")], 3, U),
            (25, [(30, "39.0"), (1, "37.0")], 25, U),
        ],
    )
    def test_when_it_asks(self, began: float, heat: Results, dose: float, urgency: Urgency) -> None:
        named = condition(
            ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, ConditionKind.INFECTION, began=began
        )
        doses = tuple(
            administered("Meropenem", hours, "antibacterial", route=Route.INTRAVENOUS)
            for hours in (began - 0.5, dose)
        )
        numbers = {Signal.NEUTROPHILS: [(20, "0.2"), (3, "0.4")], T: heat}
        record = rounds((1, {T: None}), numbers=numbers, conditions=(named,), administrations=doses)
        assert findings(record, Kind.SEPSIS_RISK)["neutropenic-sepsis"].urgency is urgency
        assert findings(record, Kind.CRITICAL_RESULT)["neutrophils-low"].urgency is min(urgency, U)


@pytest.mark.parametrize(
    ("potassium", "is_on_dialysis", "urgency"),
    [("5.9", True, R), ("6.0", True, U), ("5.9", False, P)],
)
def test_a_potassium_before_a_session(potassium: str, is_on_dialysis: bool, urgency: Urgency) -> None:
    known = (condition(ConditionKind.DIALYSIS, text="Haemodialysis"),) if is_on_dialysis else ()
    record = chart({Signal.POTASSIUM: [(3, potassium)]}, conditions=known)
    assert findings(record, Kind.CRITICAL_RESULT)["potassium-high"].urgency is urgency


@pytest.mark.parametrize(
    ("potassium", "glucose", "name", "has_diabetes"),
    [
        ("6.0", "11.0", "Actrapid", False),
        ("5.9", "11.0", "Actrapid", True),
        ("6.0", "11.1", "Actrapid", True),
        ("6.0", "11.0", "Lantus glargine", True),
    ],
)
def test_insulin_for_a_potassium_is_no_diabetes(
    potassium: str, glucose: str, name: str, has_diabetes: bool
) -> None:
    numbers = {Signal.POTASSIUM: [(10, potassium)], Signal.GLUCOSE: [(9.5, glucose)]}
    insulin = order(name, "insulin", route=Route.INTRAVENOUS, starts=9)
    assert bedside(chart(numbers, orders=(insulin,))).has_diabetes is has_diabetes


class TestSeizure:
    """One of known epilepsy, treated, and awake for four hours."""

    EPILEPSY = condition(ConditionKind.EPILEPSY, text="Epilepsy")

    def _seizure(self, hours: float, mind: Results, *known: Any, treated: bool = True) -> Finding:
        fit = condition(ConditionKind.SEIZURE, text="Seizure", began=hours)
        doses = (administered("Lorazepam", hours, "benzodiazepine", ingredients=("lorazepam",)),)
        record = chart(
            codes={CodedSignal.CONSCIOUSNESS: mind},
            conditions=(fit, *known),
            administrations=doses if treated else (),
        )
        return findings(record, Kind.SINGLE_SIGN)["seizure"]

    def test_when_it_asks(self) -> None:
        awake = [(3, Consciousness.ALERT), (1, Consciousness.ALERT)]
        assert self._seizure(4, awake, self.EPILEPSY).urgency is R
        assert self._seizure(3.9, awake, self.EPILEPSY).urgency is U
        assert self._seizure(5, [(3, Consciousness.VOICE), awake[1]], self.EPILEPSY).urgency is U
        assert self._seizure(5, [], self.EPILEPSY).urgency is U
        assert self._seizure(5, awake, self.EPILEPSY, treated=False).urgency is P

    def test_a_first_one_is_seen_within_its_day(self) -> None:
        """Ours: awake for four hours it was urgent and eight hours late."""
        awake = [(3, Consciousness.ALERT), (1, Consciousness.ALERT)]
        found = self._seizure(5, awake)
        assert (found.urgency, found.waits) == (P, timedelta(hours=24))
        drinker = condition(ConditionKind.ALCOHOL_DEPENDENCE, text="Alcohol dependence")
        assert self._seizure(5, awake, drinker).urgency is U


@pytest.mark.parametrize(
    ("pressure", "route", "words", "is_asked"),
    [
        (89, Route.INTRAVENOUS, "", True),
        (89, Route.UNKNOWN, "intravenous infusion 50 micrograms/min", True),
        (89, Route.UNKNOWN, "60 mg once daily", False),
        (89, Route.ORAL, "", False),
        (92, Route.INTRAVENOUS, "", False),
    ],
)
def test_a_vasodilator_that_runs(pressure: int, route: Route, words: str, is_asked: bool) -> None:
    """Common practice, no source: it is stopped before anybody comes."""
    nitrate = order("Glyceryl trinitrate", "nitrate", route=route, dose_text=words)
    record = rounds((5, {}), (1, {Signal.SYSTOLIC_PRESSURE: pressure}), orders=(nitrate,))
    found = findings(record, Kind.SINGLE_SIGN).get("systolic-pressure")
    assert ("vasodilator" in (found.at_once if found is not None else "")) is is_asked


class TestItTurns:
    """What had come to rest asks from when it began again, not from the first time."""

    def test_troponin(self) -> None:
        infarction = condition(ConditionKind.ACUTE_CORONARY_SYNDROME, text="NSTEMI", began=78)
        results = {Signal.TROPONIN: [(70, 2800), (46, 1400), (22, 700), (2, 1300)]}
        found = findings(chart(results, conditions=(infarction,)), Kind.CARDIAC)["troponin"]
        assert (found.urgency, found.since) == (U, ago(2))

    @pytest.mark.parametrize(
        ("results", "pulse", "since"),
        [
            ([(49, 90), (25, 88), (2, 79)], 75, 2),
            ([(49, 90), (26, 88), (2, 79)], 75, 50),  # it had not been steady for a day
            ([(49, 90), (25, 88), (2, 87)], 115, 1),  # pulse and pressure alone
        ],
    )
    def test_recorded_bleeding(self, results: Results, pulse: int, since: float) -> None:
        ulcer = condition(ConditionKind.BLEEDING, text="Bleeding ulcer", began=50)
        record = rounds((8, {}), (1, {Signal.PULSE: pulse}), numbers={HB: results}, conditions=(ulcer,))
        found = findings(record, Kind.POSSIBLE_BLEEDING)["possible-bleeding"]
        assert found.urgency > R
        assert (found.asked_since or found.since) == ago(since)

    @pytest.mark.parametrize(
        ("first", "born", "urgency"),
        [(14, 27, R), (13.9, 27, P), (14, 60, P), (26, 60, R)],
    )
    def test_bleeding_around_a_birth(self, first: float, born: float, urgency: Urgency) -> None:
        """Ours: as after an operation, 12 hours of a steady haemoglobin; else 24."""
        bled = condition(ConditionKind.BLEEDING, text="Postpartum haemorrhage", began=26.5)
        results = {HB: [(first, 90), (2, 88)]}
        birth = (_done(ProcedureKind.BIRTH, born),)
        record = rounds((1, {}), numbers=results, conditions=(bled,), procedures=birth)
        assert findings(record, Kind.POSSIBLE_BLEEDING)["possible-bleeding"].urgency is urgency

    def test_after_an_operation(self) -> None:
        hip = _done(ProcedureKind.SURGERY, 76)
        results = {HB: [(98, 128), (70, 106), (46, 104), (3, 84)]}
        found = findings(rounds((1, {}), numbers=results, procedures=(hip,)), Kind.POSSIBLE_BLEEDING)
        assert found["possible-bleeding"].asked_since == ago(3)

    @pytest.mark.parametrize(
        ("first", "dose", "is_known", "since"),
        [(6, 5, True, 2), (5.9, 5, True, 5.9), (6, 1, True, 6), (6, 5, False, 6)],
    )
    def test_a_second_seizure(self, first: float, dose: float, is_known: bool, since: float) -> None:
        fits = tuple(
            condition(ConditionKind.SEIZURE, text=f"Seizure {hours}", began=hours) for hours in (first, 2)
        )
        epilepsy = (condition(ConditionKind.EPILEPSY, text="Epilepsy"),) if is_known else ()
        given = administered("Lorazepam", dose, "benzodiazepine", ingredients=("lorazepam",))
        record = chart(conditions=(*fits, *epilepsy), administrations=(given,))
        found = findings(record, Kind.SINGLE_SIGN)["seizure"]
        assert (found.urgency, found.since) == (U, ago(since))

    def test_a_fever_again_in_neutropenia(self) -> None:
        kinds = (ConditionKind.NEUTROPENIA, ConditionKind.SEPSIS, ConditionKind.INFECTION)
        doses = tuple(
            administered("Meropenem", hours, "antibacterial", route=Route.INTRAVENOUS) for hours in (70, 3)
        )
        heat = [(70, "39.0"), (40, "37.2"), (20, "37.0"), (4, "38.4"), (1, "38.6")]
        record = rounds(
            (1, {T: None}),
            numbers={Signal.NEUTROPHILS: [(60, "0.1"), (3, "0.1")], T: heat},
            conditions=(condition(*kinds, began=71),),
            administrations=doses,
        )
        found = findings(record, Kind.SEPSIS_RISK)["neutropenic-sepsis"]
        assert (found.urgency, found.asked_since) == (U, ago(4))
        assert findings(record, Kind.CRITICAL_RESULT)["neutrophils-low"].asked_since == ago(4)

    def test_obstruction(self) -> None:
        full = condition(ConditionKind.URINARY_OBSTRUCTION, text="Retention of urine", began=40)
        creatinine = [(3000, "98"), (38, "540"), (24, "300"), (10, "260"), (2, "390")]
        record = rounds((1, {}), numbers={Signal.CREATININE: creatinine}, conditions=(full,))
        found = findings(record, Kind.METABOLIC)["obstructed-kidneys"]
        assert (found.asked_since or found.since) == ago(2)
