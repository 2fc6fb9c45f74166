"""What sedates, from drowsy to unrousable, and in recorded last days of life.

Drowsiness before slow breathing: nursing guideline on opioid-induced sedation, 2011, read in
excerpts. Limits of breathing: RCP NEWS2 2017. Respiratory acidosis: BTS/ICS 2016. The grading is
our choice.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import administered, ago, bedside, chart, condition, order, reading
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.record.medicines import MedicineOrder, OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import BaselineConfusion, CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Origin

S, C = Signal, MedicineClass
GCS, RR, PH, PCO2 = S.GCS_TOTAL, S.RESPIRATION_RATE, S.PH_ARTERIAL, S.PCO2_ARTERIAL
ANSWER = CodedSignal.CONSCIOUSNESS
_LAST_DAYS = Directive(origin=Origin("Flag/eol"), kind=DirectiveKind.END_OF_LIFE, text="last days of life")


def _opioid() -> MedicineOrder:
    return order("Morphine", C.OPIOID.value, route=Route.SUBCUTANEOUS)


def _about(record: Record) -> list[Finding]:
    return list(assess_medicines(bedside(record)))


def _first(numbers: dict[Signal, Any], answer: Consciousness | None = None, **rest: Any) -> Any:
    codes = {ANSWER: [(1, answer)]} if answer is not None else {}
    found = _about(chart(numbers, codes={**codes, **rest.pop("codes", {})}, orders=(_opioid(),), **rest))
    return next((f for f in found if isinstance(f, MedicineFinding)), None)


@pytest.mark.parametrize(
    ("numbers", "answer", "action", "urgency"),
    [
        ({RR: [(1, 14)]}, Consciousness.ALERT, None, None),
        ({RR: [(1, 14)]}, Consciousness.VOICE, "review", Urgency.PROMPT),
        ({RR: [(1, 14)]}, Consciousness.NEW_CONFUSION, "review", Urgency.PROMPT),
        ({GCS: [(1, 14)]}, None, "review", Urgency.PROMPT),
        ({GCS: [(1, 15)]}, None, None, None),
        ({GCS: [(1, 12)]}, None, "hold", Urgency.URGENT),
        # With slow breathing: 11 or less.
        ({RR: [(1, 12)]}, Consciousness.VOICE, "review", Urgency.PROMPT),
        ({RR: [(1, 11)]}, Consciousness.VOICE, "hold", Urgency.URGENT),
        ({RR: [(1, 9)]}, Consciousness.VOICE, "hold", Urgency.URGENT),
        ({RR: [(1, 9)]}, Consciousness.ALERT, None, None),
        ({RR: [(1, 10)], GCS: [(1, 13)]}, None, "hold", Urgency.URGENT),
        ({RR: [(1, 10)], GCS: [(1, 14)]}, None, "review", Urgency.PROMPT),
        # Respiratory acidosis at whatever rate: pH below 7.35 with PaCO2 above 6.0 kPa.
        ({RR: [(1, 20)], PH: [(2, "7.34")], PCO2: [(2, "6.1")]}, Consciousness.ALERT, "hold", Urgency.URGENT),
        ({RR: [(1, 20)], PH: [(2, "7.35")], PCO2: [(2, "6.1")]}, Consciousness.ALERT, None, None),
        ({RR: [(1, 20)], PH: [(2, "7.34")], PCO2: [(2, "6.0")]}, Consciousness.ALERT, None, None),
        ({RR: [(1, 14)], PH: [(1, "7.20")], PCO2: [(1, "9.8")]}, Consciousness.VOICE, "hold", Urgency.URGENT),
        # A pH without its own carbon dioxide tells no respiratory acidosis; an old gas neither.
        ({RR: [(1, 20)], PH: [(2, "7.20")], PCO2: [(5, "9.8")]}, Consciousness.ALERT, None, None),
        ({RR: [(1, 20)], PH: [(25, "7.20")], PCO2: [(25, "9.8")]}, Consciousness.ALERT, None, None),
        # As before.
        ({RR: [(1, 8)]}, Consciousness.ALERT, "hold", Urgency.EMERGENCY),
        ({RR: [(1, 16)]}, Consciousness.PAIN, "hold", Urgency.EMERGENCY),
        ({RR: [(1, 16)]}, Consciousness.UNRESPONSIVE, "hold", Urgency.EMERGENCY),
        ({GCS: [(1, 8)]}, None, "hold", Urgency.EMERGENCY),
    ],
)
def test_opioid(
    numbers: dict[Signal, Any], answer: Consciousness | None, action: str | None, urgency: Urgency | None
) -> None:
    """Review while the patient can be woken, hold before breathing fails."""
    found = _first(numbers, answer)
    assert (found.action if found else None) == action
    assert (found.urgency if found else None) == urgency


def test_usual_confusion_is_not_new() -> None:
    """Ours: what is recorded as usual sets nothing off, by answer or by coma scale; what is lower does.

    Confusion that is recorded as new is taken at its word, here as where it calls by itself
    (Clin Med 2019;19:190: new-onset or worsening confusion should prompt concern).
    """
    usual = {CodedSignal.BASELINE_CONFUSION: [(50, BaselineConfusion.LONG_STANDING)]}
    assert _first({RR: [(1, 16)]}, Consciousness.CONFUSION, codes=usual) is None
    assert _first({RR: [(1, 16)]}, Consciousness.NEW_CONFUSION, codes=usual).action == "review"
    assert _first({GCS: [(1, 14)]}, codes=usual) is None
    assert _first({GCS: [(1, 13)]}, codes=usual).action == "review"
    assert _first({RR: [(1, 16)]}, Consciousness.VOICE, codes=usual).action == "review"


def test_confusion_in_plain_words_is_new_until_it_is_known_to_be_usual() -> None:
    """As NEWS2 takes it (2017, consciousness): the drug chart reads the same answer as the score."""
    found = _first({RR: [(1, 16)]}, Consciousness.CONFUSION)
    assert (found.action, found.urgency) == ("review", Urgency.PROMPT)
    assert "new confusion" in found.sentence


def test_a_later_answer_replaces() -> None:
    """Drowsy this morning and alert now asks for nothing; a day-old answer neither."""
    codes = {ANSWER: [(5, Consciousness.VOICE), (1, Consciousness.ALERT)]}
    assert _first({}, codes=codes) is None
    assert _first({}, codes={ANSWER: [(25, Consciousness.VOICE)]}) is None
    assert _first({GCS: [(1, 15)]}, codes={ANSWER: [(5, Consciousness.VOICE)]}) is None


def test_since_when() -> None:
    """A repeat moves nothing; the step to slow breathing begins its own time."""
    codes = {ANSWER: [(9, Consciousness.VOICE), (5, Consciousness.VOICE), (1, Consciousness.VOICE)]}
    assert _first({RR: [(9, 14), (5, 14), (1, 14)]}, codes=codes).since == ago(9)
    stepped = _first({RR: [(9, 14), (5, 11), (1, 10)]}, codes=codes)
    assert (stepped.action, stepped.since) == ("hold", ago(5))


@pytest.mark.parametrize(
    "key",
    [
        C.BENZODIAZEPINE,
        C.Z_DRUG,
        C.GABAPENTINOID,
        C.BARBITURATE,
        C.BACLOFEN,
        C.ANTIPSYCHOTIC,
        C.SEDATING_ANTIHISTAMINE,
        C.OTHER_SEDATIVE,
        C.TRICYCLIC,
    ],
)
def test_every_sedative_is_looked_at(key: MedicineClass) -> None:
    """Whatever sedates is reviewed in somebody who answers to voice."""
    record = chart(
        {RR: [(1, 16)]}, codes={ANSWER: [(1, Consciousness.VOICE)]}, orders=(order("it", key.value),)
    )
    (found,) = (f for f in _about(record) if isinstance(f, MedicineFinding))
    assert (found.action, found.urgency) == ("review", Urgency.PROMPT)


_DRIVER = (
    order("Morphine 20 mg/24 h CSCI", C.OPIOID.value, route=Route.SUBCUTANEOUS),
    order("Midazolam 10 mg/24 h CSCI", C.BENZODIAZEPINE.value, route=Route.SUBCUTANEOUS),
    order("Levomepromazine 12.5 mg/24 h CSCI", C.ANTIPSYCHOTIC.value, route=Route.SUBCUTANEOUS),
    order("Hyoscine hydrobromide 1.2 mg/24 h CSCI", C.OTHER_SEDATIVE.value, route=Route.SUBCUTANEOUS),
)
_DYING: dict[str, Any] = {
    "numbers": {RR: [(1, 7)]},
    "codes": {ANSWER: [(1, Consciousness.UNRESPONSIVE)]},
    "orders": _DRIVER,
}


class TestLastDays:
    """In recorded last days of life nothing is above prompt and comfort medicines are not held."""

    def test_a_syringe_driver(self) -> None:
        """Breathing 7 and no answer: the palliative team looks at the symptoms, without hurry."""
        found = _about(chart(**_DYING, directives=(_LAST_DAYS,)))
        assert found
        for one in found:
            assert isinstance(one, MedicineFinding)
            assert (one.action, one.urgency) == ("review", Urgency.ROUTINE)
            assert one.sentence.startswith("Consider a symptom review by the palliative team before ")
            assert one.restart is None
            assert one.would_change == ()
            assert any("Care at the end of life is recorded" in caution for caution in one.cautions)

    def test_palliative_care_alone(self) -> None:
        """A palliative diagnosis is no record of last days: reviewed, and the combination prompt."""
        found = _about(chart(**_DYING, conditions=(condition(ConditionKind.PALLIATIVE),)))
        assert {f.action for f in found if isinstance(f, MedicineFinding)} == {"review"}
        assert {f.urgency for f in found} == {Urgency.PROMPT}
        assert any(isinstance(f, InteractionFinding) for f in found)

    def test_neither(self) -> None:
        """Without either record they are held at once."""
        found = _about(chart(**_DYING))
        assert max(f.urgency for f in found) is Urgency.EMERGENCY

    @pytest.mark.parametrize(
        ("numbers", "key"),
        [
            ({S.POTASSIUM: [(1, "6.8")]}, C.POTASSIUM_SUPPLEMENT),
            ({S.CREATININE: [(96, 80), (1, 250)]}, C.NSAID),
            ({S.SYSTOLIC_PRESSURE: [(1, 70)]}, C.ACE_INHIBITOR),
            ({S.GLUCOSE: [(1, "2.1")]}, C.SULFONYLUREA),
            ({S.INR: [(1, "9")]}, C.VITAMIN_K_ANTAGONIST),
        ],
    )
    def test_no_hold_of_anything(self, numbers: dict[Signal, Any], key: MedicineClass) -> None:
        """What would be held is reviewed, and never above prompt."""
        orders = (order("it", key.value),)
        (held,) = (f for f in _about(chart(numbers, orders=orders)) if isinstance(f, MedicineFinding))
        assert held.action == "hold"
        found = _about(chart(numbers, orders=orders, directives=(_LAST_DAYS,)))
        assert all(f.urgency <= Urgency.PROMPT for f in found)
        (one,) = (f for f in found if isinstance(f, MedicineFinding))
        assert one.action == "review"

    @pytest.mark.parametrize("key", [C.ACE_INHIBITOR, C.GLUCOCORTICOID])
    def test_what_is_on_hold(self, key: MedicineClass) -> None:
        """Nobody is hurried to bring a medicine back."""
        held = order("it", key.value, status=OrderStatus.ON_HOLD)
        (found,) = _about(chart({RR: [(1, 16)]}, orders=(held,), directives=(_LAST_DAYS,)))
        assert found.urgency is Urgency.ROUTINE


class TestInsulinInfusion:
    """Common practice, no source: paused, treated, measured again, restarted; basal insulin goes on."""

    @staticmethod
    def _found(glucose: Any, *, route: Route, name: str = "Insulin 50 units in 50 mL") -> MedicineFinding:
        record = chart({S.GLUCOSE: glucose}, orders=(order(name, C.INSULIN.value, route=route),))
        return next(f for f in _about(record) if isinstance(f, MedicineFinding))

    @pytest.mark.parametrize(
        ("glucose", "action", "urgency"),
        [
            ([(1, "3.9")], "hold", Urgency.URGENT),
            ([(1, "3.0")], "hold", Urgency.URGENT),
            ([(1, "2.9")], "hold", Urgency.EMERGENCY),
            # Recovered since: a look at the rate, no pause.
            ([(2, "2.1"), (1, "4.0")], "review", Urgency.ROUTINE),
        ],
    )
    def test_by_vein(self, glucose: Any, action: str, urgency: Urgency) -> None:
        """By the route, and where none is recorded by the words of the line."""
        for route, name in (
            (Route.INTRAVENOUS, "Insulin soluble"),
            (Route.UNKNOWN, "Insulin soluble human 50 units in 50 mL infusion VRIII"),
        ):
            found = self._found(glucose, route=route, name=name)
            assert (found.action, found.urgency) == (action, urgency)
            assert "not left out" not in found.do_not_stop

    def test_words(self) -> None:
        """Pausing, treating, measuring and restarting in one sentence; the way back is now."""
        found = self._found([(1, "2.1")], route=Route.INTRAVENOUS)
        assert found.sentence.startswith("Consider pausing Insulin 50 units in 50 mL, treating the glucose")
        assert "10 to 15 minutes" in found.sentence
        assert found.restart is not None
        assert "restart at once" in found.restart.condition
        assert any("Basal insulin goes on" in caution for caution in found.cautions)

    @pytest.mark.parametrize(
        ("value", "urgency"), [("3.9", Urgency.PROMPT), ("3.0", Urgency.PROMPT), ("2.9", Urgency.URGENT)]
    )
    def test_by_injection(self, value: str, urgency: Urgency) -> None:
        """Joint British Diabetes Societies: the next dose is not left out, its size is reviewed."""
        found = self._found([(1, value)], route=Route.SUBCUTANEOUS)
        assert (found.action, found.urgency) == ("review", urgency)
        assert "not left out" in found.do_not_stop

    @pytest.mark.parametrize("route", [Route.SUBCUTANEOUS, Route.INTRAVENOUS])
    @pytest.mark.parametrize("value", ["3.5", "2.1"])
    def test_never_behind_a_sulfonylurea(self, route: Route, value: str) -> None:
        """Insulin is read first."""
        orders = (
            order("Gliclazide", C.SULFONYLUREA.value),
            order("Insulin", C.INSULIN.value, route=route),
        )
        found = [
            f
            for f in _about(chart({S.GLUCOSE: [(1, value)]}, orders=orders))
            if isinstance(f, MedicineFinding)
        ]
        gliclazide, insulin = sorted(found, key=lambda f: f.medicine)
        assert (-insulin.urgency, insulin.rank) < (-gliclazide.urgency, gliclazide.rank)

    def test_type_1_on_an_infusion(self) -> None:
        """The pause is suggested in type 1 diabetes too, with what it must not become."""
        record = chart(
            {S.GLUCOSE: [(1, "2.1")]},
            orders=(order("Insulin", C.INSULIN.value, route=Route.INTRAVENOUS),),
            conditions=(condition(ConditionKind.DIABETES_TYPE_1),),
        )
        found = next(f for f in _about(record) if isinstance(f, MedicineFinding))
        assert (found.action, found.urgency) == ("hold", Urgency.EMERGENCY)
        assert "ketones" in found.do_not_stop


class TestEarlyAntibiotic:
    """Crass, Clin Infect Dis 2019: no reduction in the first 48 hours; the stage is our choice."""

    @staticmethod
    def _rules(creatinine: int, *, starts: float, ingredient: str = "meropenem") -> set[str]:
        made = order("it", C.ANTIBACTERIAL.value, C.BETA_LACTAM.value, starts=starts)
        medicine = made.medicine
        with_name = type(medicine)(
            text=ingredient,
            ingredients=(ingredient,),
            classes=medicine.classes,
            method=medicine.method,
        )
        line = MedicineOrder(
            origin=made.origin, medicine=with_name, status=made.status, route=made.route, starts=made.starts
        )
        found = _about(chart({S.CREATININE: [(96, 80), (1, creatinine)]}, orders=(line,)))
        return {r.rule for f in found if isinstance(f, MedicineFinding) for r in f.reasons}

    def test_age_of_the_order(self) -> None:
        """48 hours from the order, whatever the score; stage 2 and not stage 1."""
        assert self._rules(170, starts=48) == {"aki-beta-lactam-early"}
        assert self._rules(170, starts=48.1) == {"aki-beta-lactam"}
        assert self._rules(130, starts=100) == set()

    @pytest.mark.parametrize(
        "name", ["ceftriaxone", "phenoxymethylpenicillin", "flucloxacillin", "cloxacillin"]
    )
    def test_some_need_no_change(self, name: str) -> None:
        """From memory: these are not reduced for the kidneys' sake."""
        assert self._rules(170, starts=100, ingredient=name) == set()


def test_doubt_is_unchanged() -> None:
    """Two rates of breathing at one time ask for a repeat and hold nothing."""
    found = _first({RR: (reading(RR, 1, 9, spread=("8", "10")),)}, Consciousness.ALERT)
    assert found.doubt
    assert found.action == "review"


@pytest.mark.parametrize("born", [2023, 2014, 2011, 2010])
@pytest.mark.parametrize(
    ("numbers", "answer", "action"),
    [
        ({RR: [(1, 24)]}, Consciousness.VOICE, "review"),
        ({RR: [(1, 24)]}, Consciousness.ALERT, None),
        ({RR: [(1, 24)]}, Consciousness.PAIN, "hold"),
        ({RR: [(1, 24)], PH: [(2, "7.34")], PCO2: [(2, "6.1")]}, Consciousness.ALERT, "hold"),
        ({RR: [(1, 24)], PH: [(2, "7.35")], PCO2: [(2, "6.1")]}, Consciousness.ALERT, None),
    ],
)
def test_opioid_in_a_child(
    born: int, numbers: dict[Signal, Any], answer: Consciousness, action: str | None
) -> None:
    """How awake somebody is and a respiratory acidosis hold at every age; pulse and pressure are adults'."""
    found = _first(numbers, answer, born=date(born, 1, 5))
    assert (found.action if found is not None else None) == action


@pytest.mark.parametrize(
    ("born", "rate", "answer", "action", "urgency"),
    [
        (date(2023, 1, 5), 12, Consciousness.ALERT, "hold", Urgency.EMERGENCY),
        (date(2023, 1, 5), 13, Consciousness.ALERT, None, None),
        (date(2023, 1, 5), 13, Consciousness.VOICE, "hold", Urgency.URGENT),
        (date(2023, 1, 5), 15, Consciousness.VOICE, "hold", Urgency.URGENT),
        (date(2023, 1, 5), 16, Consciousness.VOICE, "review", Urgency.PROMPT),
        (date(2016, 1, 5), 10, Consciousness.ALERT, "hold", Urgency.EMERGENCY),
        (date(2016, 1, 5), 11, Consciousness.ALERT, None, None),
        (date(2011, 1, 5), 9, Consciousness.ALERT, "hold", Urgency.EMERGENCY),
        (date(2011, 1, 5), 10, Consciousness.VOICE, "hold", Urgency.URGENT),
        (date(2011, 1, 5), 11, Consciousness.VOICE, "review", Urgency.PROMPT),
    ],
)
def test_an_opioid_and_breathing_that_is_slow_at_this_age(
    born: date, rate: int, answer: Consciousness, action: str | None, urgency: Urgency | None
) -> None:
    """Bedside PEWS 2009, table 1: the lowest cell of breathing holds, the next one in a drowsy child."""
    found = _first({RR: [(1, rate)]}, answer, born=born)
    assert (found.action if found is not None else None) == action
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("words", "given", "is_spoken_of"),
    [
        ("Midazolam buccal 5 mg as needed", None, False),
        ("Diazepam rectal tubes 10 mg", None, False),
        ("Midazolam buccal 5 mg as needed", 13, False),
        ("Midazolam buccal 5 mg as needed", 2, True),
        ("Lorazepam 1 mg tablets", None, True),
    ],
)
@pytest.mark.parametrize("answer", [Consciousness.PAIN, Consciousness.VOICE])
def test_what_lies_ready_for_a_fit_is_not_held(
    words: str, given: float | None, answer: Consciousness, *, is_spoken_of: bool
) -> None:
    """Our choice: it was not given, so it made nobody drowsy, and a fit may be why."""
    line = order(words, "benzodiazepine", starts=300)
    doses = (administered(words, given, "benzodiazepine", order=line.origin),) if given is not None else ()
    record = chart({RR: [(1, 24)]}, codes={ANSWER: [(1, answer)]}, orders=(line,), administrations=doses)
    found = [one for one in _about(record) if isinstance(one, MedicineFinding)]
    assert any(one.urgency > Urgency.ROUTINE for one in found) is is_spoken_of


@pytest.mark.parametrize(
    ("answer", "action", "urgency"),
    [
        (Consciousness.ALERT, None, None),
        (Consciousness.VOICE, "review", Urgency.URGENT),
        (Consciousness.NEW_CONFUSION, "review", Urgency.URGENT),
        (Consciousness.PAIN, "hold", Urgency.EMERGENCY),
    ],
)
def test_lithium_in_somebody_drowsy(
    answer: Consciousness, action: str | None, urgency: Urgency | None
) -> None:
    """NHS Greater Glasgow and Clyde 2023, secondary: drowsiness and confusion are signs of poisoning.

    A long-term user is poisoned at an ordinary level too: common practice, no source.
    """
    lithium = order("Lithium", C.LITHIUM.value, route=Route.ORAL)
    found = _about(chart({RR: [(1, 14)]}, codes={ANSWER: [(1, answer)]}, orders=(lithium,)))
    asked = next((f for f in found if isinstance(f, MedicineFinding)), None)
    assert ((asked.action, asked.urgency) if asked is not None else (None, None)) == (action, urgency)


@pytest.mark.parametrize(("hours", "action"), [(3, "review"), (23, "review"), (30, "hold")])
def test_what_stops_fits_is_reviewed_after_one(hours: float, action: str) -> None:
    """Our choice, as in epilepsy: whoever is not awake after a fit may need the next dose."""
    fit = condition(ConditionKind.SEIZURE, text="Seizure", began=hours)
    line = order("Phenobarbital", C.BARBITURATE.value, route=Route.INTRAVENOUS)
    found = _about(
        chart({RR: [(1, 14)]}, codes={ANSWER: [(1, Consciousness.PAIN)]}, orders=(line,), conditions=(fit,))
    )
    (asked,) = (f for f in found if isinstance(f, MedicineFinding) and f.urgency > Urgency.ROUTINE)
    assert asked.action == action
