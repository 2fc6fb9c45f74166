"""Crises that a medicine makes likely, by their signs, at both ends of each.

Serotonin toxicity (Hunter 2003): as restated; neuroleptic malignant syndrome: from memory; from when each is
asked for is our choice where the publication gives none.
"""

from datetime import date

import pytest

from tests.assessments.crisis_records import CALM, CK, CONFUSED, HR, KEYS, VOICE, E, P, T, U, crises, ill
from tests.charts import administered, condition, order, rounds, was_done
from tests.medicines import wards
from tests.records import full_set, observation, quantity
from weatherglass.model.findings import Finding, Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import CodedSignal, Consciousness, Signal


@pytest.mark.parametrize(
    ("mind", "pulse", "is_asked"), [(CONFUSED, "101", True), (CONFUSED, "100", False), (CALM, "140", False)]
)
def test_alcohol_withdrawal(mind: Consciousness, pulse: str, is_asked: bool) -> None:
    drinks = condition(ConditionKind.ALCOHOL_DEPENDENCE, text="Alcohol dependence")
    found = crises(ill(mind, "37.4", pulse, conditions=(drinks,))).get("alcohol-withdrawal")
    assert (found.urgency if found is not None else None) is (U if is_asked else None)


class TestAfterThrombolysis:
    """A worse examination during or after thrombolysis: stop it, emergency CT (AHA 2013, table 12)."""

    @pytest.mark.parametrize(
        ("given", "before", "now", "is_asked"),
        [
            (3, CALM, VOICE, True),
            (23, CALM, CONFUSED, True),
            (25, CALM, VOICE, False),
            (3, VOICE, VOICE, False),  # As before the dose.
            (3, CALM, CALM, False),
        ],
    )
    def test_a_mind_that_altered_after_it(
        self, given: float, before: Consciousness, now: Consciousness, is_asked: bool
    ) -> None:
        dose = administered("Alteplase", given, "thrombolytic", ingredients=("alteplase",))
        seen = [(given + 1, {CodedSignal.CONSCIOUSNESS: before}), (1, {CodedSignal.CONSCIOUSNESS: now})]
        found = crises(rounds(*seen, administrations=(dose,)))
        assert set(found) == ({"bleeding-after-thrombolysis"} if is_asked else set())

    @pytest.mark.parametrize(
        ("hours", "before", "is_asked"), [(23, CALM, True), (25, CALM, False), (3, VOICE, False)]
    )
    def test_written_down_as_a_procedure(
        self, hours: float, before: Consciousness, *, is_asked: bool
    ) -> None:
        done = was_done(ProcedureKind.THROMBOLYSIS, hours=hours, text="Intravenous thrombolysis")
        seen = [(hours + 1, {CodedSignal.CONSCIOUSNESS: before}), (1, {CodedSignal.CONSCIOUSNESS: VOICE})]
        found = crises(rounds(*seen, procedures=(done,)))
        assert set(found) == ({"bleeding-after-thrombolysis"} if is_asked else set())


BAD, RARE = ("Linezolid 600 mg", "Sertraline 50 mg"), ("Tramadol 50 mg", "Sertraline 50 mg")


OTHERS = "serotonin-toxicity-of-others"


NO_PAIR = ("Linezolid 600 mg", "Amlodipine 5 mg")


class TestByMedicines:
    """Through the real door: what is on the chart makes it likely."""

    @staticmethod
    def _ask(*lines: str, mind: str, temperature: str, pulse: str, ck: str = "100") -> dict[str, Finding]:
        orders = [{**wards.order(text), "id": f"o{at}"} for at, text in enumerate(lines)]
        signs = full_set(consciousness=mind, temperature=f"{temperature} Cel", pulse=f"{pulse} /min")
        kinase = observation("ck", "2157-6", valueQuantity=quantity(ck, "U/L"))
        answer = wards.reviewed(*signs, kinase, *orders)
        return {f.key: f for one in answer.reviews for f in one.findings if f.key in KEYS}

    @pytest.mark.parametrize(
        ("lines", "mind", "temperature", "pulse", "expected"),
        [
            (BAD, CONFUSED.value, "38.1", "80", {"serotonin-toxicity": U}),
            (BAD, CONFUSED.value, "37.0", "101", {"serotonin-toxicity": U}),
            (BAD, CONFUSED.value, "38.0", "100", {}),
            (BAD, CALM.value, "39.0", "130", {}),
            (NO_PAIR, CONFUSED.value, "39.0", "130", {}),
            (RARE, CONFUSED.value, "38.1", "101", {OTHERS: P}),
            (RARE, CONFUSED.value, "38.1", "100", {}),
            # Said once, at the pair that is worse.
            ((*BAD, "Tramadol 50 mg"), CONFUSED.value, "39.0", "130", {"serotonin-toxicity": U}),
        ],
    )  # fmt: skip
    def test_serotonin(
        self, lines: tuple[str, ...], mind: str, temperature: str, pulse: str, expected: dict[str, Urgency]
    ) -> None:
        found = self._ask(*lines, mind=mind, temperature=temperature, pulse=pulse)
        assert {key: one.urgency for key, one in found.items()} == expected

    @pytest.mark.parametrize(
        ("line", "temperature", "ck", "is_asked"),
        [
            ("Haloperidol 5 mg", "38.1", "1000", True),
            ("Haloperidol 5 mg", "38.0", "1000", False),
            ("Haloperidol 5 mg", "38.1", "999", False),
            ("Amlodipine 5 mg", "39.0", "9000", False),
        ],
    )
    def test_neuroleptic(self, line: str, temperature: str, ck: str, is_asked: bool) -> None:
        found = self._ask(line, mind="alert", temperature=temperature, pulse="80", ck=ck)
        assert set(found) == ({"neuroleptic-malignant"} if is_asked else set())


DIGOXIN = order("Digoxin 125 micrograms tablets", "digitalis-glycoside")


@pytest.mark.parametrize(
    ("pulse", "potassium", "level", "urgency"),
    [
        ("50", "5.5", "2.0", E),
        ("50", "5.5", None, U),
        ("51", "5.5", "2.0", U),
        ("50", "5.4", "2.0", U),
        ("51", "5.5", None, None),
        ("50", "5.4", "1.9", None),
    ],
)
def test_digoxin_poisoning(pulse: str, potassium: str, level: str | None, urgency: Urgency | None) -> None:
    """Our choice of signs: two of level, potassium and pulse."""
    numbers = {Signal.POTASSIUM: [(2, potassium)]} | ({Signal.DIGOXIN_LEVEL: [(2, level)]} if level else {})
    found = crises(rounds((1, {HR: pulse}), numbers=numbers, orders=(DIGOXIN,))).get("digoxin-poisoning")
    assert (found.urgency if found is not None else None) is urgency
    assert "digoxin-poisoning" not in crises(rounds((1, {HR: pulse}), numbers=numbers))


METFORMIN = order("Metformin 1 g tablets", "metformin")


@pytest.mark.parametrize(
    ("lactate", "ph", "creatinine", "is_asked"),
    [
        ("5.1", "7.19", "265", True),
        ("5.0", "7.19", "265", False),
        ("5.1", "7.20", "265", False),
        ("5.1", "7.19", "264", False),
    ],
)
def test_lactic_acidosis_of_metformin(lactate: str, ph: str, creatinine: str, is_asked: bool) -> None:
    """EXTRIP 2015: dialysis, earlier with failing kidneys; when it is asked for is ours."""
    numbers = {
        Signal.LACTATE: [(1, lactate)],
        Signal.PH_ARTERIAL: [(1, ph)],
        Signal.CREATININE: [(1, creatinine)],
    }
    asked = crises(rounds((1, {HR: "110"}), numbers=numbers, orders=(METFORMIN,)))
    assert ("metformin-acidosis" in asked) is is_asked
    assert "metformin-acidosis" not in crises(rounds((1, {HR: "110"}), numbers=numbers))


CLOZAPINE = order("Clozapine", "clozapine", "antipsychotic")


@pytest.mark.parametrize(
    ("pulse", "heat", "urgency"), [("101", "38.0", U), ("101", "37.9", P), ("100", "37.9", None)]
)
def test_a_gut_that_stops_on_clozapine(pulse: str, heat: str, urgency: Urgency | None) -> None:
    """MHRA October 2017, secondary: obstruction and ileus, some of them fatal; the limits are ours."""
    shown, stool = (1, {HR: pulse, T: heat}), condition(ConditionKind.CONSTIPATION, text="Constipation")
    found = crises(rounds(shown, conditions=(stool,), orders=(CLOZAPINE,))).get("clozapine-gut")
    assert (found.urgency if found else None) is urgency
    assert "clozapine-gut" not in crises(rounds(shown, orders=(CLOZAPINE,)))


@pytest.mark.parametrize(
    ("width", "mind", "urgency"), [("100", CALM, None), ("101", CALM, U), ("101", VOICE, E)]
)
def test_a_wide_qrs_after_a_tricyclic(width: str, mind: Consciousness, urgency: Urgency | None) -> None:
    """Boehnert and Lovejoy 1985, secondary: fits from 100 ms, arrhythmias from 160; how soon is ours."""
    taken = condition(ConditionKind.TRICYCLIC_POISONING, text="Amitriptyline overdose", began=3)
    numbers = {Signal.QRS_DURATION: [(1, width)]}
    shown = {CodedSignal.CONSCIOUSNESS: mind, HR: "90"}
    found = crises(rounds((1, shown), numbers=numbers, conditions=(taken,))).get("tricyclic-poisoning")
    assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(
    ("mind", "heat", "ck", "is_asked"),
    [
        (CONFUSED, "38.1", None, True),
        (CONFUSED, "38.0", "1000", True),
        (CALM, "38.1", "1000", True),
        (CALM, "38.1", "999", False),
        (CONFUSED, "38.0", "999", False),
    ],
)
def test_stiffness_with_fever(mind: Consciousness, heat: str, ck: str | None, is_asked: bool) -> None:
    """Consensus 2011, from memory; "look for stiffness" stood beside a stiffness that was written down."""
    stiff = condition(ConditionKind.STIFF_MUSCLES, text="Muscle rigidity", began=10)
    numbers = {CK: [(2, ck)]} if ck else {}
    found = crises(ill(mind, heat, numbers=numbers, conditions=(stiff,)))
    assert ("neuroleptic-malignant-with-stiffness" in found) is is_asked
    assert "neuroleptic-malignant" not in found


@pytest.mark.parametrize(
    ("heat", "mind", "urgency"),
    [("38.4", VOICE, None), ("38.5", VOICE, E), ("38.5", CALM, Urgency.PROMPT)],
)
@pytest.mark.parametrize("born", [date(1980, 1, 1), date(2019, 1, 1)])
def test_baclofen_that_ended(heat: str, mind: Consciousness, urgency: Urgency | None, born: date) -> None:
    """The label, from memory: high fever, altered mind, stiffness, muscle breakdown; numbers ours."""
    pump = condition(ConditionKind.BACLOFEN_PUMP, text="Intrathecal baclofen pump")
    found = crises(ill(mind, heat, conditions=(pump,), born=born)).get("baclofen-withdrawal")
    assert (found.urgency if found else None) is urgency


@pytest.mark.parametrize(
    ("days", "troponin", "crp", "pulse", "urgency"),
    [
        pytest.param(1.9, "50", "51", "120", None, id="too-early"),
        pytest.param(2, "50", "51", "120", U, id="three-signs"),
        pytest.param(56, "50", "51", "119", P, id="two-signs"),
        pytest.param(56, "49", "51", "119", None, id="one-sign"),
        pytest.param(57, "50", "51", "120", None, id="too-late"),
    ],
)
def test_a_heart_on_clozapine(
    days: float, troponin: str, crp: str, pulse: str, urgency: Urgency | None
) -> None:
    """Ronaldson 2011, from memory: the first weeks; which numbers together is ours."""
    record = rounds(
        (1, {HR: pulse}),
        numbers={Signal.TROPONIN: [(2, troponin)], Signal.CRP: [(2, crp)]},
        orders=(order("Clozapine", "clozapine", starts=24 * days),),
    )
    found = crises(record).get("clozapine-heart")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("mind", "temperature", "pulse", "urgency"),
    [
        (CONFUSED, "38.1", "101", E),
        (CALM, "38.1", "101", U),
        (CALM, "38.0", "101", None),
        (CALM, "38.1", "100", None),
    ],
)
def test_clonus_with_fever(
    mind: Consciousness, temperature: str, pulse: str, urgency: Urgency | None
) -> None:
    """Hunter 2003, secondary: clonus decides; whatever is on the chart is ours."""
    clonus = condition(ConditionKind.CLONUS, text="Clonus", began=3)
    found = crises(ill(mind, temperature, pulse, conditions=(clonus,))).get("serotonin-toxicity-with-clonus")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("heat", "medicines", "is_asked"),
    [
        ("37.9", ("calcineurin-inhibitor",), False),
        ("38.0", ("calcineurin-inhibitor",), True),
        ("38.0", ("biologic-immunosuppressant",), True),
        ("38.0", ("glucocorticoid",), False),
        ("38.0", ("calcineurin-inhibitor", "antibacterial"), False),
    ],
)
def test_a_fever_without_defences(heat: str, medicines: tuple[str, ...], is_asked: bool) -> None:
    """Ours: asked for from 38.0 where NEWS2 asks nothing yet, unless an antibacterial is on the chart."""
    orders = tuple(order(f"Medicine {each}", each) for each in medicines)
    found = crises(rounds((1, {Signal.TEMPERATURE: heat}), orders=orders))
    assert ("fever-without-defences" in found) is is_asked


@pytest.mark.parametrize(
    ("heat", "days", "kind", "urgency"),
    [
        ("37.9", 40, ProcedureKind.TRANSPLANT, None),
        ("38.0", 40, ProcedureKind.TRANSPLANT, U),
        ("38.0", 180, ProcedureKind.STEM_CELLS_GIVEN, U),
        ("38.0", 2, ProcedureKind.TRANSPLANT, None),
        ("38.0", 181, ProcedureKind.TRANSPLANT, None),
        ("38.0", 40, ProcedureKind.SURGERY, None),
    ],
)
def test_a_fever_in_the_first_half_year_of_a_graft(
    heat: str, days: int, kind: ProcedureKind, urgency: Urgency | None
) -> None:
    """Common practice: seen at once; the days and the limit are ours."""
    graft = was_done(kind, hours=24 * days, text="Kidney transplant")
    found = crises(rounds((1, {Signal.TEMPERATURE: heat}), procedures=(graft,))).get("fever-of-a-new-graft")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(("days", "is_asked"), [(180, True), (181, False), (None, True)])
def test_a_graft_on_the_problem_list(days: int | None, is_asked: bool) -> None:
    told = condition(ConditionKind.TRANSPLANT, text="Kidney transplant", began=24 * days if days else None)
    found = crises(rounds((1, {Signal.TEMPERATURE: "38.0"}), conditions=(told,)))
    assert ("fever-of-a-new-graft" in found) is is_asked
