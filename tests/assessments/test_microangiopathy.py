"""When thrombotic microangiopathy is asked about, and when another cause comes first, at both ends.

Platelets below 30, an INR below 1.5 and (indirect) bilirubin above 2 mg/dL: PLASMIC, Lancet Haematol 2017.
Platelets only where bleeding threatens life: British Society for Haematology, 2023. The rest is ours.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import ago, condition, findings, order, readings, reason, rounds
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.signals import CodedSignal, Consciousness, Signal
from weatherglass.terminology.kind_tables import kinds_named
from weatherglass.terminology.problems import WORDS

E, U = Urgency.EMERGENCY, Urgency.URGENT
PLT, HB, BILI, INR = Signal.PLATELETS, Signal.HAEMOGLOBIN, Signal.BILIRUBIN, Signal.INR
HAPTO, LDH, CREATININE = Signal.HAPTOGLOBIN, Signal.LACTATE_DEHYDROGENASE, Signal.CREATININE
CONFUSED = {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
YELLOW = {BILI: [(3, "35")]}
INJURED = [(200, "60"), (3, "140")]
SEPSIS = condition(ConditionKind.SEPSIS, ConditionKind.INFECTION, text="Sepsis", began=30)


def _record(
    platelets: str = "12", red: str = "78", *, ill: Any = None, kidneys: bool = False, **rest: Any
) -> Record:
    numbers = {PLT: [(3, platelets)], HB: [(3, red)], **rest.pop("numbers", {})}
    if kidneys:
        numbers[CREATININE] = INJURED
    return rounds((1, ill or {}), numbers=numbers, **rest)


def _of(record: Record) -> Finding | None:
    return findings(record, Kind.METABOLIC).get("microangiopathy")


def _urgency(record: Record) -> Urgency | None:
    found = _of(record)
    return found.urgency if found is not None else None


@pytest.mark.parametrize(
    ("platelets", "red", "beside", "expected"),
    [
        pytest.param("29", "99", {"kidneys": True}, E, id="very-low-and-kidneys"),
        pytest.param("29", "99", {"ill": CONFUSED}, E, id="very-low-and-mind"),
        pytest.param("29", "99", {"numbers": {BILI: [(3, "35")]}}, E, id="very-low-and-bilirubin"),
        pytest.param("29", "99", {"numbers": {BILI: [(3, "34")]}}, None, id="bilirubin-not-above"),
        pytest.param("29", "99", {}, None, id="nothing-beside"),
        pytest.param("29", "100", {"kidneys": True}, None, id="haemoglobin-not-low"),
        pytest.param("30", "99", {"kidneys": True}, None, id="kidneys-alone"),
        pytest.param("30", "99", {"kidneys": True, "ill": CONFUSED}, U, id="kidneys-and-mind"),
        pytest.param("99", "99", {"kidneys": True, "numbers": YELLOW}, U, id="two"),
        pytest.param("100", "99", {"kidneys": True, "ill": CONFUSED}, None, id="platelets-not-low"),
        pytest.param("99", "99", {"numbers": {HAPTO: [(3, "0.29")]}}, U, id="haptoglobin"),
        pytest.param("99", "99", {"numbers": {HAPTO: [(3, "0.3")]}}, None, id="haptoglobin-not-low"),
        pytest.param("99", "99", {"numbers": {HAPTO: [(3, "0.1")]}, "kidneys": True}, E, id="both"),
        pytest.param("99", "119", {"numbers": {HAPTO: [(3, "0.1")]}}, U, id="proven-and-119"),
        pytest.param("99", "120", {"numbers": {HAPTO: [(3, "0.1")]}}, None, id="proven-and-120"),
        pytest.param("99", "119", {"numbers": {LDH: [(3, "376")], BILI: [(3, "35")]}}, U, id="ldh-and-119"),
        pytest.param("99", "99", {"numbers": {LDH: [(3, "376")], BILI: [(3, "35")]}}, U, id="ldh"),
        pytest.param("99", "99", {"numbers": {LDH: [(3, "375")], BILI: [(3, "35")]}}, None, id="ldh-at"),
        pytest.param("99", "99", {"numbers": {LDH: [(3, "900")]}}, None, id="ldh-alone"),
    ],
)  # fmt: skip
def test_what_asks_for_it(platelets: str, red: str, beside: dict[str, Any], expected: Urgency | None) -> None:
    assert _urgency(_record(platelets, red, **beside)) is expected


@pytest.mark.parametrize(("high", "is_asked"), [("250", True), ("260", False)])
def test_dehydrogenase_by_its_own_range(high: str, is_asked: bool) -> None:
    results = {LDH: readings(LDH, [(3, "380")], reference=("120", high)), BILI: [(3, "35")]}
    assert (_of(_record("60", numbers=results)) is not None) is is_asked


@pytest.mark.parametrize(("low", "is_asked"), [("0.5", True), ("0.4", False)])
def test_haptoglobin_by_its_own_range(low: str, is_asked: bool) -> None:
    results = {HAPTO: readings(HAPTO, [(3, "0.4")], reference=(low, "2"))}
    assert (_of(_record("60", numbers=results)) is not None) is is_asked


@pytest.mark.parametrize(
    "results",
    [
        pytest.param({INR: [(3, "1.5")]}, id="long-inr"),
        pytest.param({Signal.FIBRINOGEN: [(3, "0.9")]}, id="low-fibrinogen"),
    ],
)
def test_failing_coagulation_is_something_else(results: Any) -> None:
    assert _of(_record(kidneys=True, numbers={**results, HAPTO: [(3, "0.1")]})) is None


def test_a_normal_inr_speaks_for_it() -> None:
    found = _of(_record(kidneys=True, numbers={INR: [(3, "1.4")]}))
    assert found is not None
    assert found.cautions == ("INR 1.4 does not suggest DIC.",)


def test_an_inr_of_a_vitamin_k_antagonist_says_nothing() -> None:
    warfarin = order("Warfarin 3 mg", "vitamin-k-antagonist")
    record = _record(kidneys=True, numbers={INR: [(3, "2.6")], HAPTO: [(3, "0.1")]}, orders=(warfarin,))
    assert _urgency(record) is E


@pytest.mark.parametrize(
    "kind",
    [
        ConditionKind.CANCER,
        ConditionKind.CHEMOTHERAPY,
        ConditionKind.STEM_CELL_TRANSPLANT,
        ConditionKind.LIVER_DISEASE,
        ConditionKind.BLEEDING,
        ConditionKind.TRANSPLANT,
    ],
)
def test_another_cause_comes_first_until_red_cells_are_seen_to_break(kind: ConditionKind) -> None:
    cause, fragments = (
        condition(kind, began=5),
        condition(ConditionKind.HAEMOLYSIS, text="Schistocytes", began=4),
    )
    assert _of(_record(kidneys=True, conditions=(cause,))) is None
    assert _urgency(_record(kidneys=True, conditions=(cause, fragments))) is E


@pytest.mark.parametrize(
    ("platelets", "inr", "is_asked"), [("29", "1.2", True), ("29", None, False), ("30", "1.2", False)]
)
def test_in_infection(platelets: str, inr: str | None, is_asked: bool) -> None:
    results = {INR: [(3, inr)]} if inr else {}
    record = _record(platelets, kidneys=True, ill=CONFUSED, numbers=results, conditions=(SEPSIS,))
    assert (_of(record) is not None) is is_asked


@pytest.mark.parametrize(("told", "is_asked"), [((), True), ((SEPSIS,), False)])
def test_dehydrogenase_and_bilirubin_say_little_in_infection(told: Any, is_asked: bool) -> None:
    results = {LDH: [(3, "900")], BILI: [(3, "60")]}
    assert (_of(_record("60", kidneys=True, numbers=results, conditions=told)) is not None) is is_asked


@pytest.mark.parametrize(("neutrophils", "is_asked"), [("0.9", False), ("1.0", True)])
def test_a_marrow_that_makes_too_little(neutrophils: str, is_asked: bool) -> None:
    """Ours: with neutrophils below 1.0 low platelets beside a low haemoglobin say no more than that."""
    numbers = {**YELLOW, Signal.NEUTROPHILS: [(3, neutrophils)]}
    assert (_of(_record(numbers=numbers)) is not None) is is_asked


def test_never_in_malaria() -> None:
    malaria = condition(ConditionKind.MALARIA, ConditionKind.INFECTION, text="Malaria", began=5)
    assert _of(_record(kidneys=True, numbers={HAPTO: [(3, "0.1")]}, conditions=(malaria,))) is None


@pytest.mark.parametrize(
    ("earlier", "is_asked"),
    [
        pytest.param({PLT: [(300, "16")]}, True, id="higher-before"),
        pytest.param({PLT: [(300, "15")]}, False, id="platelets-of-old"),
        pytest.param({HB: [(300, "86")]}, True, id="red-higher-before"),
        pytest.param({HB: [(300, "85")]}, False, id="red-of-old"),
    ],
)
def test_what_is_as_low_as_usual_is_not_asked(earlier: dict[Signal, Any], is_asked: bool) -> None:
    numbers = {one: [*values, (3, "12" if one is PLT else "78")] for one, values in earlier.items()}
    assert (_of(_record(kidneys=True, numbers=numbers)) is not None) is is_asked


@pytest.mark.parametrize(
    ("kind", "born", "expected"),
    [
        (ConditionKind.VOMITING_OR_DIARRHOEA, date(2022, 1, 1), U),
        (ConditionKind.VOMITING_OR_DIARRHOEA, date(1980, 1, 1), None),
        (ConditionKind.BLOODY_DIARRHOEA, date(1980, 1, 1), U),
        (ConditionKind.FALL, date(2022, 1, 1), None),
    ],
)
def test_after_diarrhoea(kind: ConditionKind, born: date, expected: Urgency | None) -> None:
    """Haemolytic uraemic syndrome: platelets below 150, from memory; urgent while they are 30 or more."""
    gut = reason(kind, hours=20, text="Diarrhoea", inpatient=True)
    record = _record("149", "90", born=born, reasons=(gut,), numbers={CREATININE: [(200, "30"), (3, "90")]})
    found = _of(record)
    assert (found.urgency if found else None) is expected
    if found is not None:
        assert found.brief.startswith("Haemolytic uraemic syndrome?")
        assert any("Shiga toxin" in one for one in found.cautions)


def test_diarrhoea_without_kidney_injury_or_with_enough_platelets() -> None:
    gut = condition(ConditionKind.BLOODY_DIARRHOEA, text="Bloody diarrhoea", began=20)
    assert _of(_record("90", "90", conditions=(gut,))) is None
    assert _of(_record("150", "90", conditions=(gut,), kidneys=True)) is None


@pytest.mark.parametrize(("alt", "is_asked"), [("41", False), ("40", True)])
def test_hellp_is_asked_once(alt: str, is_asked: bool) -> None:
    """Platelets below 100 and a raised liver test are HELLP's, which stands with the pressure."""
    pregnant = condition(ConditionKind.PREGNANCY, text="Pregnancy", began=500)
    numbers = {Signal.ALT: [(3, alt)], HAPTO: [(3, "0.1")]}
    found = _of(_record(numbers=numbers, conditions=(pregnant,), sex="female", born=date(1995, 1, 1)))
    assert (found is not None) is is_asked
    if found is not None:
        assert "HELLP" in found.brief
        assert "obstetrics" in found.sentence


def test_what_it_says() -> None:
    found = _of(_record(kidneys=True, ill=CONFUSED, numbers={HAPTO: [(3, "0.1")]}))
    assert found is not None
    assert "no platelets are transfused unless bleeding threatens life" in found.sentence
    assert "ADAMTS13 before plasma" in found.sentence
    assert found.since == ago(3)


def test_a_repeat_moves_nothing() -> None:
    creatinine = [(200, "60"), (20, "140"), (3, "150")]
    numbers = {PLT: [(20, "20"), (3, "12")], HB: [(20, "80"), (3, "78")], CREATININE: creatinine}
    found = _of(_record(numbers=numbers))
    assert found is not None
    assert found.since == ago(20)


@pytest.mark.parametrize(("hours", "expected"), [(24, E), (25, U)])
def test_one_that_is_recorded_by_name_is_known_after_a_day(hours: float, expected: Urgency) -> None:
    named = condition(ConditionKind.MICROANGIOPATHY, ConditionKind.HAEMOLYSIS, text="TTP", began=hours)
    assert _urgency(_record(conditions=(named,))) is expected


@pytest.mark.parametrize(("hours", "is_asked"), [(48, True), (49, False)])
def test_results_count_for_two_days(hours: float, is_asked: bool) -> None:
    numbers = {PLT: [(hours, "12")], HB: [(hours, "78")]}
    assert (_of(_record(kidneys=True, numbers=numbers)) is not None) is is_asked


@pytest.mark.parametrize(
    ("text", "kind", "is_meant"),
    [
        ("Thrombotic thrombocytopenic purpura", ConditionKind.MICROANGIOPATHY, True),
        ("Haemolytic uraemic syndrome", ConditionKind.MICROANGIOPATHY, True),
        ("Hemolytic-uremic syndrome", ConditionKind.MICROANGIOPATHY, True),
        ("Schistocytes on blood film", ConditionKind.HAEMOLYSIS, True),
        ("Autoimmune haemolytic anaemia", ConditionKind.HAEMOLYSIS, False),
        ("E. coli O157 infection", ConditionKind.BLOODY_DIARRHOEA, True),
        ("Bloody diarrhea", ConditionKind.BLOODY_DIARRHOEA, True),
        ("Diarrhoea", ConditionKind.BLOODY_DIARRHOEA, False),
    ],
)
def test_words(text: str, kind: ConditionKind, is_meant: bool) -> None:
    found = kinds_named(WORDS, text.casefold())
    assert (kind in found) is is_meant


@pytest.mark.parametrize(("hours", "said"), [(3, "(by "), (9, "(it was due by ")])
def test_by_when_plasma_is_exchanged(hours: float, said: str) -> None:
    """British Society for Haematology 2023, from memory: within 4 to 8 hours; a repeat moves nothing."""
    numbers = {PLT: [(hours, "12"), (1, "11")], HB: [(hours, "78"), (1, "77")], HAPTO: [(hours, "0.1")]}
    found = _of(rounds((hours, CONFUSED), (1, CONFUSED), numbers=numbers))
    assert found is not None
    assert f"plasma exchange within 4 to 8 hours {said}" in found.sentence


@pytest.mark.parametrize(("creatinine", "expected"), [("90", U), ("89", None)])
def test_a_first_creatinine_that_is_high_for_a_child(creatinine: str, expected: Urgency | None) -> None:
    """After diarrhoea, with nothing earlier to stage it; 90 at 6 years is ours."""
    ill = condition(ConditionKind.VOMITING_OR_DIARRHOEA, text="Bloody diarrhoea", began=96)
    record = _record(
        "42", "74", numbers={CREATININE: [(3, creatinine)]}, conditions=(ill,), born=date(2019, 6, 1)
    )
    assert _urgency(record) is expected


@pytest.mark.parametrize(("creatinine", "expected"), [("90", U), ("89", None)])
def test_a_childs_high_creatinine_beside_one_of_yesterday(creatinine: str, expected: Urgency | None) -> None:
    """One of yesterday that was ill already stages nothing, and took the question away."""
    ill = condition(ConditionKind.VOMITING_OR_DIARRHOEA, text="Bloody diarrhoea", began=96)
    numbers = {CREATININE: [(20, "80"), (3, creatinine)]}
    record = _record("90", "96", numbers=numbers, conditions=(ill,), born=date(2019, 6, 1))
    assert _urgency(record) is expected


@pytest.mark.parametrize(
    ("kind", "creatinine", "expected"),
    [
        (ConditionKind.IMMUNE_DISEASE, "130", U),
        (ConditionKind.IMMUNE_DISEASE, "60", None),
        (ConditionKind.EPILEPSY, "130", None),
    ],
)
def test_in_lupus_an_injured_kidney_is_enough(
    kind: ConditionKind, creatinine: str, expected: Urgency | None
) -> None:
    """Platelets 40 and haemoglobin 71 in lupus were a kidney injury alone (ours)."""
    known = condition(kind, text=kind.value, began=9000)
    numbers = {CREATININE: [(700, "52"), (3, creatinine)]}
    assert _urgency(_record("40", "71", numbers=numbers, conditions=(known,))) is expected
