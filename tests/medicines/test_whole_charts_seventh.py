"""What a pharmacist's reading of 130 whole charts mended: doses in a name, falls, fits, one fact said once.

MHRA September 2014 (nitrofurantoin, a rate of 45); labels of metformin, 4.3, and of methotrexate, 4.2; the
rest is ours or common practice.
"""

from typing import Any

import pytest

from tests.medicines.rounds import P, R, U
from tests.medicines.wards import interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, alertness, answer_of, earlier, full_set, given, patient
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.reading.medicines.dosage import day_of, named_dosage
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

E = Urgency.EMERGENCY


def line(text: str, **rest: Any) -> Json:
    """Return the order that is asked about."""
    return {**order(text), "id": "o", **rest}


def said(*resources: Json) -> MedicineFinding | None:
    """Return what is suggested of the order "o"."""
    return suggestions(reviewed(*full_set(), *resources)).get("o")


def rules(found: MedicineFinding | None) -> dict[str, str]:
    """Return the action of each rule that speaks of a line."""
    return {one.rule: one.action for one in found.reasons} if found is not None else {}


class TestDoseInTheName:
    """A chart that writes the whole order as one name is read like any other."""

    @pytest.mark.parametrize(
        ("name", "day"),
        [
            ("Methotrexate 10 mg once a day", "10"),
            ("Co-codamol 30/500 two tablets four times a day", "8"),
            # What one tablet holds is no dose.
            ("Apixaban 5 mg tablets twice a day", "None"),
            ("Paracetamol 500 mg tablets 2 tablets four times a day", "8"),
            ("Ramipril 5 mg capsules", "None"),
            ("Morphine 20 mg/24 h subcutaneous infusion", "None"),
        ],
    )
    def test_what_it_comes_to(self, name: str, day: str) -> None:
        assert str(day_of(named_dosage(name)).regular) == day

    def test_methotrexate_every_day(self) -> None:
        found = said(line("Methotrexate 10 mg once a day"))
        assert found is not None
        assert (found.action, found.urgency) == ("hold", U)
        assert said(line("Methotrexate 10 mg once weekly")) is None

    def test_a_dosage_of_its_own_decides(self) -> None:
        weekly = {"dosageInstruction": [{"text": "10 mg once weekly"}]}
        assert said(line("Methotrexate 10 mg once a day", **weekly)) is None

    def test_when_needed_is_said_once(self) -> None:
        found = said(line("Naproxen 500 mg PRN"), result("K", "6.6"))
        assert found is not None
        assert found.as_needed
        assert "when needed" not in found.sentence

    @pytest.mark.parametrize("text", ["Senna two tablets at night", "Fostair 100/6 one puff twice a day"])
    def test_a_number_in_letters_hides_no_medicine(self, text: str) -> None:
        (one,) = reviewed(*full_set(), line(text)).reviews
        assert one.medicines_not_recognised == 0


class TestFall:
    """Common practice, no source: bleeding nobody sees, after a fall on an anticoagulant."""

    @pytest.mark.parametrize(
        ("systolic", "days", "is_held"), [("100", 2.9, True), ("101", 2.9, False), ("100", 3.1, False)]
    )
    def test_a_low_pressure_after_it(self, systolic: str, days: float, *, is_held: bool) -> None:
        low = result("SBP", systolic)
        fell = problem("Fall", since=earlier(f"{days} d"))
        found = suggestions(reviewed(low, fell, line("Apixaban 5 mg twice a day"))).get("o")
        assert ("fall-anticoagulant" in rules(found)) is is_held
        if is_held and found is not None:
            assert (found.action, found.urgency) == ("hold", U)

    @pytest.mark.parametrize(
        ("mind", "days", "text", "is_held"),
        [
            ("new-confusion", 2.9, "Apixaban 5 mg twice a day", True),
            ("voice", 2.9, "Apixaban 5 mg twice a day", True),
            ("alert", 2.9, "Apixaban 5 mg twice a day", False),
            ("new-confusion", 3.1, "Apixaban 5 mg twice a day", False),
            ("new-confusion", 2.9, "Enoxaparin 40 mg once a day", False),
        ],
    )
    def test_a_clouded_mind_after_it(self, mind: str, days: float, text: str, *, is_held: bool) -> None:
        """Common practice, no source: no dose before the scan, which the fall asks for."""
        fell = problem("Fall", since=earlier(f"{days} d"))
        found = suggestions(reviewed(*full_set(consciousness=mind), fell, line(text))).get("o")
        assert ("fall-clouded-anticoagulant" in rules(found)) is is_held
        if is_held and found is not None:
            assert (found.action, found.urgency) == ("hold", U)

    def test_what_only_prevents_goes_on(self) -> None:
        low, fell = result("SBP", "92"), problem("Hip fracture", since=earlier("6 h"))
        found = suggestions(reviewed(low, fell, line("Enoxaparin 40 mg once a day"))).get("o")
        assert "fall-anticoagulant" not in rules(found)

    @pytest.mark.parametrize(
        ("rest", "action"),
        [
            ((), "review"),
            ((problem("Fall", since=earlier("5 h")),), "hold"),
            ((result("SBP", "84"),), "hold"),
        ],
    )
    def test_an_inr_of_4_8(self, rest: tuple[Json, ...], action: str) -> None:
        found = suggestions(reviewed(result("INR", "4.8"), *rest, line("Warfarin 3 mg"))).get("o")
        assert rules(found)["inr-above-target"] == action


class TestOneFactOnce:
    def test_the_numbers_of_an_injury_stand_with_the_injury(self) -> None:
        before = result("creatinine", "85", earlier("40 d"))
        answer = reviewed(before, {**result("creatinine", "210"), "id": "now"}, line("Naproxen 500 mg"))
        found = suggestions(answer)["o"]
        assert "acute kidney injury stage 2" in found.sentence
        assert "210" not in found.sentence
        assert any("creatinine 210 µmol/L, 2.47 times 85" in one.trigger for one in found.reasons)

    def test_a_potassium_that_holds_all_of_them_is_no_line_of_its_own(self) -> None:
        high, usual = result("K", "6.9"), result("creatinine", "100", earlier("40 d"))
        ill = (high, usual, {**result("creatinine", "260"), "id": "now"})
        held = (order("Spironolactone 50 mg"), order("Ramipril 10 mg"), order("Sando-K 2 tablets"))
        assert interactions(reviewed(*ill, *held)) == {}
        assert "aki-hyperkalaemia-raas" in interactions(reviewed(result("K", "5.6"), *ill[1:], *held))

    def test_what_else_makes_drowsy_is_said_once(self) -> None:
        chart = (order("Morphine 10 mg"), order("Diazepam 5 mg"), order("Cyclizine 50 mg"))
        (one,) = reviewed(result("RR", "8"), *chart).reviews
        text = " ".join(review_text(one, ()).split())
        assert text.count("Think of glucose, carbon dioxide") == 1

    def test_fludrocortisone_is_not_what_is_raised(self) -> None:
        ill = (problem("Addison's disease"), result("SBP", "88"))
        found = suggestions(reviewed(*ill, line("Fludrocortisone 100 micrograms once a day")))["o"]
        assert "at its own dose" in found.sentence
        assert "doubled" not in found.sentence


class TestFits:
    """Our choice: what treats a fit is watched and not questioned while it goes on."""

    @pytest.mark.parametrize(
        ("recorded", "action"),
        [("Status epilepticus", "monitor"), ("Epilepsy", "review"), ("Gout", "hold")],
    )
    def test_lorazepam(self, recorded: str, action: str) -> None:
        deep = full_set(consciousness="unresponsive")
        fits = problem(recorded, since=earlier("1 h"))
        found = suggestions(reviewed(*deep, fits, line("Lorazepam 4 mg")))["o"]
        assert rules(found)["sedation-benzodiazepine"] == action


class TestKidneysAndKetones:
    @pytest.mark.parametrize(
        ("born", "before", "now", "is_asked"),
        [
            # 25 years: a rate of 90 and more is left. 80 years: below 45.
            ("2001-03-01", "50", "80", False),
            ("1946-03-01", "85", "140", True),
        ],
    )
    def test_nitrofurantoin_in_a_first_stage(
        self, born: str, before: str, now: str, *, is_asked: bool
    ) -> None:
        usual = result("creatinine", before, earlier("40 d"))
        newest = {**result("creatinine", now), "id": "now"}
        answer = answer_of(patient(born), usual, newest, line("Nitrofurantoin 100 mg"))
        assert ("aki-nitrofurantoin" in rules(suggestions(answer).get("o"))) is is_asked

    @pytest.mark.parametrize(("ketones", "is_held"), [("2.9", False), ("3.0", True)])
    def test_metformin_and_ketones(self, ketones: str, *, is_held: bool) -> None:
        found = said(result("ketones", ketones), line("Metformin 1 g twice a day"))
        assert (rules(found).get("ketones-metformin") == "hold") is is_held

    @pytest.mark.parametrize(("potassium", "action"), [("5.9", "review"), ("6.0", "hold")])
    def test_digoxin_and_a_high_potassium(self, potassium: str, action: str) -> None:
        found = said(result("K", potassium), line("Digoxin 125 micrograms once a day"))
        assert rules(found)["potassium-digoxin"] == action


def test_long_acting_insulin_beside_an_infusion_is_not_in_the_pair() -> None:
    chart = [
        order(each) for each in ("Actrapid intravenous infusion", "Lantus 20 units", "Empagliflozin 10 mg")
    ]
    found = interactions(reviewed(*full_set(), *chart))["sglt2-with-insulin-by-vein"]
    assert not any("Lantus" in each for each in found.medicines)
    assert found.urgency is P


def test_an_ordinary_chart_is_quiet() -> None:
    """Nothing of this speaks where nothing is wrong (our choice of what is ordinary)."""
    names = (
        "Amlodipine 5 mg once a day", "Atorvastatin 20 mg at night", "Paracetamol 1 g four times a day",
        "Metformin 500 mg tablets twice a day", "Apixaban 5 mg twice a day", "Senna 15 mg at night PRN",
        "Salbutamol 100 micrograms two puffs PRN", "Digoxin 62.5 micrograms once a day",
    )  # fmt: skip
    fine = (result("K", "4.4"), result("creatinine", "80"), alertness("alert"))
    answer = reviewed(*full_set(), *fine, *(order(each) for each in names))
    assert all(one.urgency is R for one in suggestions(answer).values())


@pytest.mark.parametrize(
    ("dose", "is_asked"),
    [("Octaplex 2500 units", False), ("Idarucizumab 5 g", False), ("Vitamin K 10 mg", True)],
)
def test_what_was_reversed_is_not_asked_to_be(dose: str, *, is_asked: bool) -> None:
    """Common practice, no source: vitamin K alone acts within hours, and reverses nothing by itself now."""
    bleed = problem("Acute subdural haematoma", since=earlier("5 h"))
    (one,) = reviewed(*full_set(), bleed, order("Warfarin 3 mg"), given(dose, earlier("3 h"))).reviews
    (found,) = [f for f in one.findings if f.key.startswith("head-bleed")]
    assert ("asked about reversing it" in found.sentence) is is_asked
