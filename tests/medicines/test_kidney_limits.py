"""Doses and refusals by a stable kidney function, at both ends of each band, through the real door.

Expected: the publication that each row of `kidney_limits.toml` names, and for the measure MHRA Drug
Safety Update October 2019. Rows marked "common practice" have no source. That a known dose in order is
silent, and how soon each is asked, is our choice.
"""

from typing import Any

import pytest

from tests.medicines.wards import injury, order, problem, result, suggestions
from tests.records import Json, answer_of, earlier, observation, patient, quantity
from weatherglass.knowledge.medicines.limits.kidney_limits import DIALYSIS_SOURCE, LIMITS
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

H, D, V, L = "hold", "reduce", "review", "measure level"
YOUNG = patient("1980-06-01")
#: Medicine, eGFR, what is suggested; the eGFR stands in where a clearance is asked for.
BANDS: list[tuple[str, str, list[tuple[str, str | None]]]] = [
    ("dabigatran", "Dabigatran 150 mg", [("29", H), ("30", None)]),
    ("rivaroxaban", "Rivaroxaban 20 mg", [("14", H), ("15", D), ("49", D), ("50", None)]),
    ("apixaban", "Apixaban 5 mg", [("14", H), ("15", D), ("29", D), ("30", None)]),
    ("edoxaban", "Edoxaban 60 mg", [("14", H), ("15", D), ("50", D), ("51", None)]),
    ("enoxaparin", "Enoxaparin 80 mg injection", [("14", H), ("15", D), ("29", D), ("30", None)]),
    ("other-heparins", "Dalteparin 5000 units", [("29", V), ("30", None)]),
    ("fondaparinux", "Fondaparinux 2.5 mg", [("19", H), ("20", D), ("50", D), ("51", None)]),
    ("nitrofurantoin", "Nitrofurantoin 50 mg", [("29", H), ("30", V), ("44", V), ("45", None)]),
    ("nsaid", "Naproxen 250 mg", [("29", H), ("30", V), ("49", V), ("50", None)]),
    ("aspirin", "Aspirin 75 mg", [("29", None)]),
    ("methotrexate", "Methotrexate 10 mg", [("29", H), ("30", V), ("59", V), ("60", None)]),
    ("lithium", "Priadel 400 mg", [("29", V), ("30", None)]),
    ("digoxin", "Digoxin 250 micrograms", [("29", D), ("30", None)]),
    ("colchicine", "Colchicine 500 micrograms", [("9", H), ("10", D), ("49", D), ("50", None)]),
    ("baclofen", "Baclofen 10 mg", [("29", H), ("30", V), ("59", V), ("60", None)]),
    ("gabapentin", "Gabapentin 300 mg", [("14", D), ("60", D), ("61", None)]),
    ("pregabalin", "Pregabalin 75 mg", [("14", D), ("60", D), ("61", None)]),
    ("levetiracetam", "Levetiracetam 500 mg", [("29", D), ("49", D), ("50", None)]),
    ("topiramate", "Topiramate 50 mg", [("69", D), ("70", None)]),
    ("oxcarbazepine", "Oxcarbazepine 300 mg", [("29", D), ("30", None)]),
    ("strong-opioids", "Oxycodone 5 mg", [("29", D), ("30", None)]),
    ("methadone", "Methadone 10 mg", [("29", V), ("30", None)]),
    ("codeine", "Co-codamol 30/500", [("29", H), ("30", None)]),
    ("pethidine", "Pethidine 50 mg", [("59", H), ("60", None)]),
    ("spironolactone", "Spironolactone 25 mg", [("19", H), ("20", D), ("29", D), ("30", None)]),
    ("eplerenone", "Eplerenone 50 mg", [("29", H), ("30", D), ("59", D), ("60", None)]),
    ("finerenone", "Finerenone 10 mg", [("24", V), ("25", None)]),
    ("amiloride", "Amiloride 5 mg", [("29", H), ("30", None)]),
    ("thiazide", "Bendroflumethiazide 2.5 mg", [("29", V), ("30", None)]),
    ("bisoprolol", "Bisoprolol 10 mg", [("19", D), ("20", None)]),
    ("sotalol", "Sotalol 80 mg", [("29", H), ("30", D), ("59", D), ("60", None)]),
    ("atenolol", "Atenolol 100 mg", [("34", D), ("35", None)]),
    ("sildenafil", "Sildenafil 50 mg", [("29", D), ("30", None)]),
    ("fenofibrate", "Fenofibrate 200 mg", [("29", H), ("30", D), ("59", D), ("60", None)]),
    ("rosuvastatin", "Crestor 10 mg", [("29", H), ("30", None)]),
    ("allopurinol", "Allopurinol 300 mg", [("29", D), ("30", None)]),
    ("zoledronic-acid", "Zoledronic acid 4 mg infusion", [("34", H), ("35", None)]),
    ("alendronic-acid", "Alendronic acid 70 mg", [("29", V), ("30", None)]),
    ("aciclovir-by-mouth", "Aciclovir 800 mg tablets", [("24", D), ("25", None)]),
    ("aciclovir-by-vein", "Aciclovir 500 mg intravenous", [("9", D), ("24", D), ("49", D), ("50", None)]),
    ("valganciclovir", "Valganciclovir 450 mg", [("24", D), ("25", D), ("59", D), ("60", None)]),
    ("ganciclovir", "Ganciclovir 350 mg infusion", [("59", D), ("60", None)]),
    ("other-antivirals", "Valaciclovir 1 g", [("29", D), ("30", None)]),
    ("nirmatrelvir", "Paxlovid tablets", [("29", D), ("30", V), ("59", V), ("60", None)]),
    ("co-trimoxazole", "Co-trimoxazole 960 mg", [("14", H), ("15", D), ("29", D), ("30", None)]),
    ("trimethoprim", "Trimethoprim 200 mg", [("29", V), ("30", None)]),
    ("quinolones", "Ciprofloxacin 500 mg tablets", [("29", D), ("30", None)]),
    ("clarithromycin", "Clarithromycin 500 mg", [("29", D), ("30", None)]),
    ("tetracyclines", "Lymecycline 408 mg", [("59", V), ("60", None)]),
    ("ertapenem", "Ertapenem 1 g", [("29", D), ("30", None)]),
    ("fosfomycin", "Fosfomycin 3 g sachet oral", [("9", H), ("10", None)]),
    ("beta-lactams", "Meropenem 1 g", [("29", V), ("30", None)]),
    ("fluconazole", "Fluconazole 200 mg capsules", [("49", V), ("50", None)]),
    ("amphotericin", "AmBisome 200 mg infusion", [("29", V), ("30", None)]),
    ("aminoglycosides", "Gentamicin 240 mg intravenous", [("29", L), ("30", L), ("79", L), ("80", None)]),
    ("vancomycin", "Vancomycin 1 g intravenous", [("29", L), ("30", None)]),
    ("h2-antagonists", "Famotidine 20 mg", [("49", D), ("50", None)]),
    ("glibenclamide", "Glibenclamide 5 mg", [("59", H), ("60", None)]),
    ("other-sulfonylureas", "Gliclazide 80 mg", [("29", D), ("30", None)]),
    ("exenatide", "Exenatide 5 micrograms", [("29", H), ("30", None)]),
    ("sitagliptin", "Sitagliptin 100 mg", [("29", D), ("44", D), ("45", None)]),
    ("alogliptin", "Alogliptin 25 mg", [("29", D), ("50", D), ("51", None)]),
    ("insulin", "Lantus 20 units", [("29", V), ("30", None)]),
    ("desmopressin", "Desmopressin 100 micrograms tablets", [("49", V), ("50", None)]),
    ("tizanidine", "Tizanidine 2 mg", [("29", D), ("30", None)]),
    ("tenofovir-disoproxil", "Tenofovir disoproxil 245 mg", [("29", V), ("49", V), ("50", None)]),
    ("gut-salts", "Magnesium hydroxide mixture", [("29", H), ("30", None)]),
    ("potassium-citrate", "Potassium citrate mixture", [("29", H), ("30", None)]),
    ("amantadine", "Amantadine 100 mg", [("14", V), ("15", V), ("34", V), ("35", None)]),
    ("duloxetine", "Duloxetine 60 mg", [("29", V), ("30", None)]),
    ("venlafaxine", "Venlafaxine 75 mg", [("29", V), ("30", None)]),
    # Of what is taken it says nothing; of a draft see below.
    ("renin-angiotensin-start", "Ramipril 5 mg", [("29", None), ("30", None)]),
    ("deferasirox", "Deferasirox 360 mg", [("39", H), ("40", V), ("59", V), ("60", None)]),
]  # fmt: skip


def of_kidneys(who: Json, *resources: Json) -> dict[str, MedicineFinding]:
    """Return what is suggested because of a kidney limit, by the order's id."""
    found = suggestions(answer_of(who, result("Na", "140"), *resources))
    return {name: one for name, one in found.items() if any(_is_limit(r.rule) for r in one.reasons)}


def _is_limit(key: str) -> bool:
    return key.startswith("kidneys-")


def action(text: str, *resources: Json, who: Json = YOUNG, **rest: Any) -> str | None:
    """Return what the limits suggest of one medicine, None where they are silent."""
    found = of_kidneys(who, *resources, {**order(text), "id": "o", **rest})
    reasons = [r.action for one in found.values() for r in one.reasons if _is_limit(r.rule)]
    return reasons[0] if reasons else None


def written(amount: str, unit: str, times: int = 1) -> Json:
    """Return a dosage as numbers."""
    dose = {"value": float(amount), "unit": unit, "system": "http://unitsofmeasure.org", "code": unit}
    repeat = {"frequency": times, "period": 1, "periodUnit": "d"}
    return {"dosageInstruction": [{"timing": {"repeat": repeat}, "doseAndRate": [{"doseQuantity": dose}]}]}


@pytest.mark.parametrize(
    ("text", "rate", "expected"), [(text, rate, what) for _, text, ends in BANDS for rate, what in ends]
)
def test_both_ends(text: str, rate: str, expected: str | None) -> None:
    assert action(text, result("eGFR", rate)) == expected


def test_every_limit_is_tried() -> None:
    elsewhere = {"potassium-keepers-with-too-little", "acetazolamide"}
    keys = [limit.key for limit in LIMITS if limit.key not in elsewhere]
    assert [key for key, _, _ in BANDS] == keys


@pytest.mark.parametrize(
    ("text", "rate", "potassium", "expected"),
    [
        ("Spironolactone 25 mg", "19", "4.2", H),
        ("Spironolactone 25 mg", "19", "3.5", H),
        ("Spironolactone 25 mg", "19", "3.4", V),
        ("Spironolactone 25 mg", "19", "2.8", V),
        ("Spironolactone 25 mg", "30", "3.4", None),
        ("Eplerenone 25 mg", "29", "3.1", V),
        ("Amiloride 5 mg", "25", "3.1", V),
    ],
)
def test_what_keeps_potassium_is_not_held_for_it_where_it_is_too_low(
    text: str, rate: str, potassium: str, expected: str | None
) -> None:
    """Our choice: nothing is taken away that a low potassium needs without a senior."""
    assert action(text, result("eGFR", rate), result("K", potassium)) == expected


@pytest.mark.parametrize(("rate", "expected"), [("19", H), ("20", None), ("50", None)])
def test_fondaparinux_in_a_coronary_syndrome_is_no_prevention(rate: str, expected: str | None) -> None:
    """Label, from memory: its 2.5 mg is kept from 20 mL/min on; "prevention is 1.5 mg" stood beside it."""
    syndrome = {**problem("NSTEMI"), "onsetDateTime": earlier("2 d")}
    assert action("Fondaparinux 2.5 mg", result("eGFR", rate), syndrome) == expected


class TestWhichMeasure:
    OLD = patient("1940-01-01")

    @staticmethod
    def weight(kilograms: str) -> Json:
        return observation("w", "29463-7", valueQuantity=quantity(kilograms, "kg"))

    def test_cockcroft_gault_decides_and_is_printed_with_its_weight(self) -> None:
        """(140 - 86) x 42 x 1.04 / 110 = 21.4 mL/min, where the eGFR is above 40."""
        resources = (result("creatinine", "110"), self.weight("42"))
        found = of_kidneys(self.OLD, *resources, order("Dabigatran 150 mg"))["dabigatran"]
        assert found.action == H
        assert "creatinine clearance 21.4 mL/min (Cockcroft-Gault, 42 kg)" in found.sentence
        assert found.urgency is Urgency.PROMPT

    def test_a_heavy_person_with_the_same_rate_is_not_refused(self) -> None:
        """(140 - 45) x 110 x 1.04 / 190 = 57 mL/min, where the eGFR is 29: the first is asked for."""
        resources = (result("creatinine", "190"), self.weight("110"))
        assert action("Dabigatran 150 mg", *resources) is None
        assert action("Nitrofurantoin 50 mg", *resources) in (H, V)

    def test_without_a_weight_the_rate_stands_in_and_says_so(self) -> None:
        found = of_kidneys(YOUNG, result("eGFR", "25"), order("Dabigatran 150 mg"))["dabigatran"]
        assert any("weigh the patient" in caution for caution in found.cautions)

    @pytest.mark.parametrize(("rate", "is_asked"), [("59", True), ("60", False)])
    def test_from_75_on_a_weight_is_asked_for(self, rate: str, is_asked: bool) -> None:
        found = of_kidneys(self.OLD, result("eGFR", rate), order("Apixaban 5 mg"))
        assert ("apixaban" in found) is is_asked
        if is_asked:
            assert found["apixaban"].sentence.startswith("Consider weighing the patient")

    @pytest.mark.parametrize(("born", "expected"), [("1951-03-01", H), ("1952-03-01", None)])
    def test_from_75_on_cockcroft_gault_comes_first_for_every_medicine(
        self, born: str, expected: str | None
    ) -> None:
        """An eGFR of about 50 and a clearance below 30 at 40 kg."""
        resources = (result("creatinine", "95"), self.weight("38"))
        assert action("Nitrofurantoin 50 mg", *resources, who=patient(born)) == expected

    def test_what_was_worked_out_is_not_called_reported(self) -> None:
        found = of_kidneys(YOUNG, result("creatinine", "300"), order("Naproxen 250 mg"))["naproxen"]
        assert "reported" not in found.sentence


class TestWhichDose:
    @pytest.mark.parametrize(
        ("text", "dose", "rate", "urgency"),
        [
            ("Apixaban", written("2.5", "mg", 2), "20", None),
            ("Apixaban", written("5", "mg", 2), "20", Urgency.PROMPT),
            ("Gabapentin", written("300", "mg", 2), "20", None),
            ("Gabapentin", written("300", "mg", 3), "20", Urgency.PROMPT),
            ("Digoxin", written("125", "ug"), "20", None),
            ("Digoxin", written("250", "ug"), "20", Urgency.PROMPT),
            ("Levetiracetam", written("1", "g", 2), "79", None),
            ("Levetiracetam", written("1500", "mg", 2), "79", Urgency.PROMPT),
            ("Gabapentin", {}, "20", Urgency.ROUTINE),
        ],
    )
    def test_a_dose_in_order_is_silent(
        self, text: str, dose: Json, rate: str, urgency: Urgency | None
    ) -> None:
        found = of_kidneys(YOUNG, result("eGFR", rate), {**order(text), **dose})
        assert [one.urgency for one in found.values()] == ([urgency] if urgency is not None else [])


class TestWhenSilent:
    def test_in_acute_injury_its_own_rules_speak(self) -> None:
        assert action("Gabapentin 300 mg", *injury(2)) is None

    @pytest.mark.parametrize(("stage", "expected"), [(1, None), (2, H), (3, H)])
    def test_what_is_refused_is_refused_in_a_severe_injury_too(
        self, stage: int, expected: str | None
    ) -> None:
        assert action("Dabigatran 150 mg", *injury(stage)) == expected
        assert action("Nitrofurantoin 50 mg", *injury(stage)) == expected

    @pytest.mark.parametrize(("kilograms", "expected"), [("55", H), ("56", None)])
    def test_what_is_measured_so_low_is_refused_in_any_injury(
        self, kilograms: str, expected: str | None
    ) -> None:
        """PMC6671778 table 3: not below 15 mL/min; ours: while creatinine rises the estimate is too high."""
        before = {**result("creatinine", "160", "2026-02-27T10:00:00+04:00"), "id": "before"}
        weight = observation("w", "29463-7", valueQuantity=quantity(kilograms, "kg"))
        rising = (before, result("creatinine", "250"), weight)
        assert action("Apixaban 5 mg", *rising, who=patient("1950-06-01")) == expected

    def test_in_children_and_in_pregnancy(self) -> None:
        assert action("Naproxen 250 mg", result("eGFR", "20"), who=patient("2015-01-01")) is None
        assert action("Naproxen 250 mg", result("eGFR", "20"), problem("Pregnancy")) is None

    def test_an_antibacterial_in_its_first_two_days(self) -> None:
        new: Json = {"authoredOn": "2026-03-01T06:00:00+04:00"}
        assert action("Meropenem 1 g", result("eGFR", "20"), **new) is None

    def test_what_does_not_reach_the_blood(self) -> None:
        """Common practice, no source: baclofen beside the cord, a heparin in the circuit, a gel."""
        for text in ("Baclofen intrathecal pump", "Enoxaparin 40 mg (HD circuit)", "Voltarol Emulgel"):
            assert action(text, result("eGFR", "12")) is None

    def test_desmopressin_where_water_would_be_lost(self) -> None:
        kept = problem("Cranial diabetes insipidus")
        assert action("Desmopressin 100 micrograms tablets", result("eGFR", "20"), kept) is None

    def test_by_its_route(self) -> None:
        assert action("Vancomycin 125 mg capsules oral", result("eGFR", "20")) is None
        assert action("Ibuprofen 5% gel", result("eGFR", "20")) is None

    def test_a_draft_is_not_started(self) -> None:
        assert action("Dabigatran 150 mg", result("eGFR", "20"), status="draft") == "avoid"


def test_on_dialysis_the_lowest_band_speaks() -> None:
    """Long-term dialysis counts as below 15. Our choice."""
    dialysis = problem("Haemodialysis", since="2024-01-01")
    found = of_kidneys(YOUNG, dialysis, order("Gabapentin 300 mg"), order("Nitrofurantoin 50 mg"))
    assert {name: one.action for name, one in found.items()} == {"gabapentin": D, "nitrofurantoin": H}
    apixaban = of_kidneys(YOUNG, dialysis, order("Apixaban 2.5 mg"))["apixaban"]
    assert (apixaban.action, apixaban.urgency) == ("review", Urgency.ROUTINE), "renal teams choose it"
    assert "dialysis" in found["gabapentin"].sentence
    assert DIALYSIS_SOURCE in found["gabapentin"].sources


def test_a_limit_cites_its_own_source_beside_many_others() -> None:
    """Each medicine's limit is met by a value of its own; none may answer with what another one rests on."""
    names = ("Spironolactone 25 mg", "Ibuprofen 400 mg", "Gabapentin 300 mg", "Allopurinol 300 mg")
    alone = {name: of_kidneys(YOUNG, result("eGFR", "22"), order(name)) for name in names}
    assert all(alone.values())
    for _ in range(10):  # What is gone leaves its place in memory to another one, or not.
        together = of_kidneys(YOUNG, result("eGFR", "22"), *(order(name) for name in names))
        for found in alone.values():
            for key, one in found.items():
                assert together[key].sources == one.sources, key
                assert together[key].evidence == one.evidence, key


@pytest.mark.parametrize(
    ("milligrams", "rate", "expected"), [("325", "29", None), ("326", "29", H), ("326", "30", None)]
)
def test_aspirin_for_pain_is_held_and_aspirin_for_the_heart_is_not(
    milligrams: str, rate: str, expected: str | None
) -> None:
    """AGS Beers Criteria 2023, table 6: above 325 mg a day at a clearance below 30."""
    assert action("Aspirin", result("eGFR", rate), **written(milligrams, "mg")) == expected


@pytest.mark.parametrize(("rate", "is_told"), [("29", True), ("30", False)])
def test_a_renin_angiotensin_blocker_is_not_begun_below_30_without_advice(rate: str, is_told: bool) -> None:
    """NHS Specialist Pharmacy Service, secondary; of what is taken nothing is said (STOPP 3)."""
    found = of_kidneys(YOUNG, result("eGFR", rate), {**order("Ramipril 5 mg"), "id": "o", "status": "draft"})
    reasons = [r.rule for one in found.values() for r in one.reasons]
    assert ("kidneys-renin-angiotensin-start-30" in reasons) is is_told
