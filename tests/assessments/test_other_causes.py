"""Infections that antibacterials do not treat: what is asked, by when, and what counts as their treatment.

That bronchiolitis asks for no antibiotic: NICE NG9. Severe malaria: table 1 of Clinical Medicine (RCP) and of
Malaria Journal 2020 after the World Health Organization. The wording, and what counts as one, are ours.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import (
    administered,
    ago,
    bedside,
    chart,
    condition,
    findings,
    order,
    readings,
    reason,
    rounds,
)
from weatherglass.knowledge.sepsis.other_causes import CAUSES
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, OxygenDelivery, RespiratoryEffort, Signal
from weatherglass.terminology.kind_tables import kinds_named
from weatherglass.terminology.problems import ICD_10, WORDS, kinds_of_icd_10

E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE
K = ConditionKind
ILL = {Signal.RESPIRATION_RATE: 25, Signal.SPO2: 91, Signal.PULSE: 112, Signal.TEMPERATURE: "38.8"}
FLU = condition(K.INFECTION, K.VIRAL_INFECTION, text="Influenza A", began=30)
MALARIA = condition(K.INFECTION, K.MALARIA, text="Falciparum malaria", began=30)
BRAIN = condition(
    K.INFECTION, K.VIRAL_INFECTION, K.ENCEPHALITIS, text="Herpes simplex encephalitis", began=30
)
FUNGUS = condition(K.INFECTION, K.FUNGAL_INFECTION, text="Candidaemia", began=30)
TB = condition(K.INFECTION, K.TUBERCULOSIS, text="Pulmonary tuberculosis", began=30)
CHEST = condition(K.INFECTION, K.PNEUMONIA, text="Pneumonia", began=30)
SEPSIS = condition(K.INFECTION, K.SEPSIS, text="Sepsis", began=30)
BOTH = condition(K.INFECTION, K.VIRAL_INFECTION, K.BACTERIAL_INFECTION, text="Influenza, superinfected")
MENINGES = condition(K.INFECTION, K.ENCEPHALITIS, K.BACTERIAL_MENINGITIS, text="Meningoencephalitis")
NAMED_SEPSIS = condition(K.INFECTION, K.SEPSIS, K.VIRAL_INFECTION, text="Sepsis from influenza")
CANDIDAL_SEPSIS = condition(K.INFECTION, K.SEPSIS, K.FUNGAL_INFECTION, text="Candidal sepsis", began=30)


def _adult(*conditions: Condition, hours: float = 0.5, ill: Any = None, **rest: Any) -> Finding:
    record = rounds((hours, ILL if ill is None else ill), conditions=conditions, **rest)
    return findings(record, Kind.SEPSIS_RISK)["sepsis-risk"]


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        pytest.param((FLU,), "virus", id="virus"),
        pytest.param((MALARIA,), "malaria", id="malaria"),
        pytest.param((BRAIN,), "encephalitis", id="encephalitis-before-virus"),
        pytest.param((FLU, MALARIA), "malaria", id="the-most-pressing"),
        pytest.param((CANDIDAL_SEPSIS,), "fungus", id="sepsis-of-a-fungus"),
        pytest.param((FLU, CHEST), None, id="another-beside-it"),
        pytest.param((FLU, SEPSIS), None, id="sepsis-beside-it"),
        pytest.param((NAMED_SEPSIS,), None, id="sepsis-of-a-virus"),
        pytest.param((BOTH,), None, id="bacteria-by-name"),
        pytest.param((CHEST,), None, id="cause-not-known"),
        pytest.param((MENINGES,), None, id="meningitis-beside-it"),
    ],
)
def test_of_which_cause(told: tuple[Condition, ...], expected: str | None) -> None:
    infection = bedside(chart(conditions=told)).infection
    assert infection is not None
    assert (infection.cause.key if infection.cause else None) == expected


def _cause(*told: Condition, **rest: Any) -> str | None:
    infection = bedside(chart(conditions=told, **rest)).infection
    assert infection is not None
    return infection.cause.key if infection.cause is not None else None


@pytest.mark.parametrize(
    ("kind", "days", "expected"),
    [
        (K.VIRAL_INFECTION, 14, "virus"),
        (K.VIRAL_INFECTION, 14.1, None),
        (K.MALARIA, 28, "malaria"),
        (K.MALARIA, 28.1, None),
        (K.TUBERCULOSIS, 300, "tuberculosis"),
    ],
)
def test_an_old_record_says_nothing_of_now(kind: ConditionKind, days: float, expected: str | None) -> None:
    """A virus of 14 days and malaria of 28 are over then; tuberculosis lasts until it is taken off."""
    told = condition(K.INFECTION, kind, began=24 * days)
    infection = bedside(chart(conditions=(told,))).infection
    assert (infection is not None) is (expected is not None)
    assert expected is None or _cause(told) == expected


def test_a_record_without_a_date_speaks_where_its_treatment_does() -> None:
    undated = condition(K.INFECTION, K.MALARIA)
    assert _cause(undated) is None
    assert _cause(undated, orders=(order("Artesunate", "antimalarial"),)) == "malaria"
    assert _cause(undated, administrations=(administered("Artesunate", 24, "antimalarial"),)) == "malaria"
    assert _cause(undated, administrations=(administered("Artesunate", 25, "antimalarial"),)) is None


@pytest.mark.parametrize(
    ("kind", "expected"), [(K.VIRAL_INFECTION, None), (K.TUBERCULOSIS, None), (K.MALARIA, "malaria")]
)
def test_one_that_is_only_suspected(kind: ConditionKind, expected: str | None) -> None:
    """A suspected virus must not stand in the way of an antibacterial."""
    assert _cause(condition(K.INFECTION, kind, began=5, confirmed=False)) == expected
    asked = reason(K.INFECTION, kind, hours=5, inpatient=True, confirmed=False)
    assert _cause(reasons=(asked,)) == expected


def test_by_the_reason_of_a_stay_too() -> None:
    came = reason(K.INFECTION, K.VIRAL_INFECTION, hours=5, inpatient=True)
    infection = bedside(chart(reasons=(came,))).infection
    assert infection is not None
    assert infection.cause is not None


def test_a_chart_alone_says_no_cause() -> None:
    """Aciclovir or fluconazole by itself is prevention more often than treatment."""
    lines = (order("Aciclovir 400 mg", "aciclovir-like", "antiviral"), order("Fluconazole", "antifungal"))
    assert bedside(chart(orders=lines)).infection is None


@pytest.mark.parametrize("cause", CAUSES, ids=lambda one: one.key)
def test_a_row_says_what_is_asked(cause: Any) -> None:
    assert cause.due is not bool(cause.alone)


class TestAVirus:
    """Whether bacteria are there too is decided within the time of the stratum."""

    def test_a_decision_and_no_dose_is_asked(self) -> None:
        found = _adult(FLU)
        assert (
            "a senior decides within 1 hour, by 08:30 on 12 March, whether bacteria are there too"
            in found.sentence
        )
        assert "influenza A alone asks for no antibiotic" in found.sentence
        assert "no dose is recorded" not in found.sentence
        assert found.brief.endswith("decide by 08:30 whether bacteria are there too")
        assert found.urgency is E

    def test_it_is_late(self) -> None:
        found = _adult(FLU, hours=3)
        assert found.sentence.startswith("Whether bacteria are there too was to be decided at 06:00")
        assert "2 hours ago" in found.sentence

    @pytest.mark.parametrize(("hours", "has_clock"), [(23.9, True), (24.1, False)])
    def test_after_a_day_it_is_asked_without_a_clock(self, hours: float, has_clock: bool) -> None:
        record = rounds((hours, ILL), (12, ILL), (1, ILL), conditions=(FLU,))
        found = findings(record, Kind.SEPSIS_RISK)["sepsis-risk"]
        assert ("was to be decided" in found.sentence) is has_clock
        assert ("ask again whether bacteria" in found.sentence) is not has_clock

    def test_its_own_medicine_decides_nothing(self) -> None:
        dose = administered("Oseltamivir", 5, "antiviral")
        assert "whether bacteria are there too" in _adult(FLU, administrations=(dose,)).sentence

    @pytest.mark.parametrize("is_given", [True, False])
    def test_who_is_treated_for_bacteria_is_asked_as_everybody(self, is_given: bool) -> None:
        line = order("Co-amoxiclav", "antibacterial", route=Route.INTRAVENOUS, starts=2)
        doses = (administered("Co-amoxiclav", 0.2, "antibacterial"),) if is_given else ()
        found = _adult(FLU, orders=(line,), administrations=doses)
        assert "bacteria are there" not in found.sentence
        assert "Co-amoxiclav" in found.sentence

    @pytest.mark.parametrize(("temperature", "expected"), [("38.0", R), ("37.0", R)])
    def test_at_low_risk_nothing_is_asked(self, temperature: str, expected: Urgency) -> None:
        found = _adult(FLU, ill={Signal.PULSE: 95, Signal.TEMPERATURE: temperature})
        assert (found.urgency, "bacteria" in found.sentence) == (expected, False)
        assert "antimicrobial" not in found.sentence

    def test_others_are_asked_as_before(self) -> None:
        for one in (CHEST, NAMED_SEPSIS, BOTH):
            assert "antimicrobial within 1 hour" in _adult(one).sentence


@pytest.mark.parametrize(
    ("told", "medicine", "classes"),
    [
        (MALARIA, "antimalarial", ("antimalarial", "artemisinin")),
        (BRAIN, "aciclovir", ("aciclovir-like", "antiviral")),
        (FUNGUS, "antifungal", ("antifungal",)),
    ],
    ids=("malaria", "encephalitis", "fungus"),
)
class TestWhatHasAMedicineOfItsOwn:
    """Its own medicine is what is due, and what counts as given."""

    def test_none_is_given(self, told: Condition, medicine: str, classes: tuple[str, ...]) -> None:
        found = _adult(told)
        assert (
            f"{medicine} at once, by 08:30 on 12 March at the latest: no dose is recorded" in found.sentence
        )
        assert "ask whether bacteria are there too" in found.sentence
        assert found.brief.endswith(f"{medicine} due 08:30, none recorded")

    def test_none_is_given_in_time(self, told: Condition, medicine: str, classes: tuple[str, ...]) -> None:
        sentence = _adult(told, hours=3).sentence
        assert sentence.startswith(
            f"{medicine[0].upper()}{medicine[1:]} was due at 06:00 on 12 March, 2 hours ago"
        )

    def test_it_is_on_the_chart(self, told: Condition, medicine: str, classes: tuple[str, ...]) -> None:
        line = order("Own medicine", *classes, route=Route.INTRAVENOUS)
        assert "Own medicine on the chart, no dose is recorded" in _adult(told, orders=(line,)).sentence

    def test_it_is_given(self, told: Condition, medicine: str, classes: tuple[str, ...]) -> None:
        dose = administered("Own medicine", 5, *classes, route=Route.INTRAVENOUS)
        found = _adult(told, administrations=(dose,))
        assert "already treated (Own medicine" in found.sentence
        assert "whether bacteria are there too" in found.sentence
        assert "none recorded" not in found.brief

    def test_that_of_another_does_not_count(
        self, told: Condition, medicine: str, classes: tuple[str, ...]
    ) -> None:
        dose = administered("Rifampicin", 5, "antituberculosis", route=Route.ORAL)
        assert "no dose is recorded" in _adult(told, administrations=(dose,)).sentence

    def test_at_low_risk_it_is_due_all_the_same(
        self, told: Condition, medicine: str, classes: tuple[str, ...]
    ) -> None:
        found = _adult(told, ill={Signal.PULSE: 95})
        assert (found.urgency, f"{medicine} at once" in found.sentence) == (P, True)


def test_tuberculosis() -> None:
    found = _adult(TB)
    assert "pulmonary tuberculosis alone is treated by medicines of its own" in found.sentence


def test_neutropenic_sepsis_asks_for_an_antibiotic_whatever_is_recorded() -> None:
    """NICE CG151: an antibiotic immediately, at neutrophils of 0.5 or less with more than 38 °C."""
    record = rounds(
        (1, {Signal.TEMPERATURE: "38.6"}), numbers={Signal.NEUTROPHILS: [(3, "0.2")]}, conditions=(FLU,)
    )
    found = findings(record, Kind.SEPSIS_RISK)["neutropenic-sepsis"]
    assert "antibiotic immediately" in found.sentence
    assert "bacteria are there too" not in found.sentence


WHEEZY = condition(K.INFECTION, K.VIRAL_INFECTION, text="Bronchiolitis", began=9)
FIVE_MONTHS = date(2025, 10, 1)


def _baby(*, born: date = FIVE_MONTHS, told: Condition = WHEEZY, codes: Any = None, **shown: Any) -> Finding:
    signs = {Signal.RESPIRATION_RATE: 64, Signal.SPO2: 95, Signal.PULSE: 140, Signal.SYSTOLIC_PRESSURE: None}
    signs |= {Signal[name]: value for name, value in shown.items()}
    record = rounds((0.5, {**signs, **(codes or {})}), born=born, conditions=(told,))
    return findings(record, Kind.SEPSIS_RISK)["sepsis-signs"]


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        pytest.param({}, U, id="breathing-alone"),
        pytest.param({"RESPIRATION_RATE": 70}, U, id="breathing-70"),
        pytest.param({"RESPIRATION_RATE": 71}, E, id="breathing-71"),
        pytest.param({"SPO2": 89}, E, id="saturation"),
        pytest.param({"PULSE": 160}, E, id="pulse"),
        pytest.param({"codes": {CodedSignal.CONSCIOUSNESS: Consciousness.VOICE}}, E, id="mind"),
        pytest.param({"codes": {CodedSignal.RESPIRATORY_EFFORT: RespiratoryEffort.SEVERE}}, E, id="effort"),
        pytest.param({"born": date(2024, 3, 13)}, U, id="not-two-yet"),
        pytest.param({"born": date(2024, 3, 12)}, E, id="two"),
        pytest.param({"born": date(2026, 1, 1), "TEMPERATURE": "38.0"}, E, id="feverish-infant"),
        pytest.param({"told": CHEST}, E, id="pneumonia"),
    ],
)
def test_bronchiolitis(changed: dict[str, Any], expected: Urgency) -> None:
    """High risk by breathing that its own virus explains is urgent; severe distress from 71, from memory."""
    found = _baby(**changed)
    assert found.urgency is expected
    assert ("a senior decides within 1 hour" in found.sentence) is (changed.get("told") is not CHEST)


@pytest.mark.parametrize(
    ("hours", "rates", "expected"),
    [
        ((3.9, 1), (64, 64), U),
        ((4, 1), (64, 64), P),
        ((4, 1), (64, 65), U),
        ((24, 1), (64, 65), U),
        ((24.1, 12, 1), (64, 64, 65), P),
    ],
)
def test_bronchiolitis_that_is_watched(
    hours: tuple[float, ...], rates: tuple[int, ...], expected: Urgency
) -> None:
    """Four hours of it without a change for the worse, or a day, are prompt: ours."""
    told = condition(K.INFECTION, K.VIRAL_INFECTION, text="Bronchiolitis", began=40)
    fast = (
        {Signal.RESPIRATION_RATE: one, Signal.PULSE: 140, Signal.SYSTOLIC_PRESSURE: None} for one in rates
    )
    record = rounds(*zip(hours, fast, strict=True), born=FIVE_MONTHS, conditions=(told,))
    found = findings(record, Kind.SEPSIS_RISK)["sepsis-signs"]
    assert found.urgency is expected
    if expected is P and len(hours) == 2:
        assert (found.since, found.asked_since) == (ago(4), ago(0))


RATE, OXYGEN = Signal.RESPIRATION_RATE, CodedSignal.OXYGEN_DELIVERY
NASAL = OxygenDelivery.NASAL_CANNULA
WHEEZE = condition(K.INFECTION, K.VIRAL_INFECTION, K.VIRAL_WHEEZE, text="Viral wheeze", began=9)


def _wheezing(pulse: int, rate: int, *dosed: float, born: date = date(2023, 1, 1)) -> Urgency:
    ill = {Signal.RESPIRATION_RATE: rate, Signal.PULSE: pulse, Signal.SYSTOLIC_PRESSURE: 100}
    codes = {CodedSignal.OXYGEN_DELIVERY: OxygenDelivery.NASAL_CANNULA}
    doses = tuple(administered("Salbutamol", one, "systemic-beta-agonist") for one in dosed)
    record = rounds((1, {**ill, **codes}), born=born, conditions=(WHEEZE,), administrations=doses)
    return findings(record, Kind.SEPSIS_RISK)["sepsis-signs"].urgency


@pytest.mark.parametrize(
    ("pulse", "rate", "dosed", "expected"),
    [
        (140, 40, (), U),
        (141, 40, (), E),
        (140, 41, (), E),
        (160, 40, (5,), U),
        (161, 40, (5,), E),
        (160, 40, (5.1,), E),
    ],
)
def test_a_wheeze_of_a_virus(pulse: int, rate: int, dosed: tuple[float, ...], expected: Urgency) -> None:
    """BTS/SIGN 158, from memory: severe above 140 and 40 from 1 to 5 years; hours of salbutamol are ours."""
    assert _wheezing(pulse, rate, *dosed) is expected


@pytest.mark.parametrize(
    ("pulse", "rate", "born", "expected"),
    [
        (125, 30, date(2017, 1, 1), U),
        (126, 30, date(2017, 1, 1), E),
        (125, 31, date(2017, 1, 1), E),
        (120, 28, date(2014, 3, 1), E),  # From 12 years oxygen says less, and a wheeze is asthma.
    ],
)
def test_a_wheeze_of_an_older_child(pulse: int, rate: int, born: date, expected: Urgency) -> None:
    assert _wheezing(pulse, rate, born=born) is expected


def test_a_wheeze_that_is_better_asks_nobody() -> None:
    each = (
        (hours, {RATE: rate, Signal.PULSE: 138, Signal.SYSTOLIC_PRESSURE: 100, OXYGEN: NASAL})
        for hours, rate in ((7, 40), (1, 34))
    )
    flows = {Signal.OXYGEN_FLOW: [(7, 4), (1, 1)]}
    record = rounds(*each, born=date(2023, 1, 1), conditions=(WHEEZE,), numbers=flows)
    found = findings(record, Kind.SEPSIS_RISK)["sepsis-signs"]
    assert (found.urgency, found.since, found.asked_since) == (R, ago(7), None)
    assert "better than at" in found.sentence
    assert "high risk" not in found.brief


def test_bronchiolitis_that_goes_beyond_its_virus() -> None:
    """Law 3: oxygen of yesterday was its virus; the emergency is of when the pulse came (NICE NG51, 160)."""
    told = condition(K.INFECTION, K.VIRAL_INFECTION, text="Bronchiolitis", began=40)
    fast = {Signal.RESPIRATION_RATE: 64, Signal.SYSTOLIC_PRESSURE: None}
    each = (
        (hours, {**fast, Signal.PULSE: pulse}) for hours, pulse in ((18, 150), (12, 150), (6, 166), (1, 170))
    )
    found = findings(rounds(*each, born=FIVE_MONTHS, conditions=(told,)), Kind.SEPSIS_RISK)["sepsis-signs"]
    assert (found.urgency, found.asked_since) == (E, ago(6))


def _malaria(*, ill: Any = None, born: date = date(1980, 1, 1), **rest: Any) -> Finding | None:
    record = rounds((1, ill or {}), conditions=(MALARIA,), born=born, **rest)
    found = findings(record, Kind.METABOLIC)
    return found.get("severe-malaria") or found.get("severe-malaria-of-a-child")


CHILD = date(2020, 1, 1)


@pytest.mark.parametrize(
    ("signal", "is_severe", "is_not", "born"),
    [
        (Signal.CREATININE, "266", "265", date(1980, 1, 1)),
        (Signal.GLUCOSE, "2.1", "2.2", date(1980, 1, 1)),
        (Signal.HAEMOGLOBIN, "80", "81", date(1980, 1, 1)),
        (Signal.SYSTOLIC_PRESSURE, "89", "90", date(1980, 1, 1)),
        (Signal.PH_VENOUS, "7.29", "7.3", date(1980, 1, 1)),
        (Signal.BICARBONATE, "14.9", "15", date(1980, 1, 1)),
        (Signal.LACTATE, "5.1", "5.0", date(1980, 1, 1)),
        (Signal.SPO2, "89", "90", date(1980, 1, 1)),
        (Signal.HAEMOGLOBIN, "49", "50", CHILD),
        (Signal.GLUCOSE, "2.1", "2.2", CHILD),
        (Signal.LACTATE, "5.1", "5.0", CHILD),
    ],
)
def test_severe_malaria(signal: Signal, is_severe: str, is_not: str, born: date) -> None:
    for value, expected in ((is_severe, E), (is_not, None)):
        shown = {signal: value} if signal in (Signal.SYSTOLIC_PRESSURE, Signal.SPO2) else {}
        numbers = {} if shown else {signal: readings(signal, [(1, value)])}
        found = _malaria(ill=shown, born=born, numbers=numbers)
        assert (found.urgency if found else None) is expected, (signal, value)


@pytest.mark.parametrize(
    ("route", "given", "expected"),
    [
        (Route.INTRAVENOUS, True, "Artesunate given at 03:00"),
        (
            Route.INTRAVENOUS,
            False,
            "Artesunate on the chart, no dose recorded in the last day: it is due now",
        ),
        (Route.ORAL, True, "artesunate by a vein now"),
        (Route.ORAL, False, "artesunate by a vein now"),
    ],
)
def test_artesunate_by_a_vein(route: Route, given: bool, expected: str) -> None:
    line = order("Artesunate", "antimalarial", "artemisinin", route=route)
    dose = administered("Artesunate", 5, "antimalarial", "artemisinin", route=route)
    confused = {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
    found = _malaria(ill=confused, orders=(line,), administrations=(dose,) if given else ())
    assert found is not None
    assert expected in found.sentence
    assert (found.urgency, found.since) == (E, ago(1))


def test_malaria_that_is_not_severe_is_quiet() -> None:
    assert _malaria(ill={Signal.TEMPERATURE: "39.5", Signal.PULSE: 110}) is None


@pytest.mark.parametrize(("days", "is_asked"), [(28, True), (29, False)])
def test_malaria_counts_for_four_weeks(days: float, is_asked: bool) -> None:
    old = condition(K.INFECTION, K.MALARIA, text="Malaria", began=24 * days)
    record = rounds((1, {Signal.SYSTOLIC_PRESSURE: 80}), conditions=(old,))
    assert ("severe-malaria" in findings(record, Kind.METABOLIC)) is is_asked


@pytest.mark.parametrize(
    ("kind", "text", "is_meant"),
    [
        (K.MALARIA, "Falciparum malaria", True),
        (K.MALARIA, "Plasmodium vivax", True),
        (K.MALARIA, "Malaria prophylaxis", False),
        (K.VIRAL_INFECTION, "RSV bronchiolitis", True),
        (K.VIRAL_INFECTION, "Bronchiolitis obliterans", False),
        (K.VIRAL_INFECTION, "Viral-induced wheeze", True),
        (K.VIRAL_INFECTION, "Croup", True),
        (K.VIRAL_INFECTION, "COVID-19 pneumonia", True),
        (K.VIRAL_INFECTION, "Influenza vaccination", False),
        (K.VIRAL_INFECTION, "Long COVID", False),
        (K.VIRAL_INFECTION, "Post-COVID-19 syndrome", False),
        (K.VIRAL_INFECTION, "COVID-19 vaccination", False),
        (K.TUBERCULOSIS, "TB test", False),
        (K.VIRAL_INFECTION, "Pneumonia", False),
        (K.ENCEPHALITIS, "Meningoencephalitis", True),
        (K.ENCEPHALITIS, "Autoimmune encephalitis", False),
        (K.BACTERIAL_INFECTION, "Influenza with bacterial superinfection", True),
        (K.BACTERIAL_INFECTION, "Aspiration pneumonia", True),
        (K.FUNGAL_INFECTION, "Candidaemia", True),
        (K.FUNGAL_INFECTION, "Oral candidiasis", False),
        (K.TUBERCULOSIS, "Pulmonary TB", True),
        (K.TUBERCULOSIS, "Latent tuberculosis", False),
        (K.TUBERCULOSIS, "TB contact", False),
    ],
)
def test_words(kind: ConditionKind, text: str, is_meant: bool) -> None:
    found = kinds_named(WORDS, text.casefold())
    assert (kind in found) is is_meant
    assert K.INFECTION in found or not is_meant


@pytest.mark.parametrize(
    ("code", "kind"),
    [
        ("B50.9", K.MALARIA),
        ("A15.0", K.TUBERCULOSIS),
        ("J21.0", K.VIRAL_INFECTION),
        ("J05.0", K.VIRAL_INFECTION),
        ("J06.9", K.VIRAL_INFECTION),
        ("A08.4", K.VIRAL_INFECTION),
        ("U07.1", K.VIRAL_INFECTION),
        ("J10.0", K.VIRAL_INFECTION),
        ("B00.4", K.ENCEPHALITIS),
        ("B37.7", K.FUNGAL_INFECTION),
        ("A39.2", K.BACTERIAL_INFECTION),
    ],
)
def test_codes(code: str, kind: ConditionKind) -> None:
    found = kinds_of_icd_10(code, ICD_10) or frozenset()
    assert {kind, K.INFECTION} <= found
    assert K.VIRAL_INFECTION not in (kinds_of_icd_10("J18.9", ICD_10) or ())
    assert K.VIRAL_INFECTION not in (kinds_of_icd_10("J05.1", ICD_10) or ())
    assert K.VIRAL_INFECTION not in (kinds_of_icd_10("A08.5", ICD_10) or ())


def _expected(told: Condition, *lines: Any) -> Record:
    return rounds((1, {}), conditions=(told,), orders=(order("Paracetamol 1 g"), *lines))


@pytest.mark.parametrize(
    ("told", "key", "classes"),
    [(MALARIA, "malaria", ("antimalarial",)), (BRAIN, "encephalitis", ("aciclovir-like",))],
)
def test_what_is_missing_on_the_chart(told: Condition, key: str, classes: tuple[str, ...]) -> None:
    assert key in findings(_expected(told), Kind.MEDICINE_MISSING)
    assert key not in findings(_expected(told, order("Own", *classes)), Kind.MEDICINE_MISSING)
