"""Which lines of the chart make a pair: doses, preventive ones, first ones, levels in order. Ours."""

from datetime import timedelta

import pytest

from tests.medicines.paired import P, R, U, found, line
from tests.medicines.wards import dosed, interactions, order, problem, result, reviewed, suggestions
from tests.records import AT, Json, earlier, observation, quantity
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import InteractionFinding


class TestTheSameDoseTwice:
    """STOPP 2, A3: any duplicate; that both lines say the same dose of a day is our choice."""

    @staticmethod
    def said(*charts: Json) -> InteractionFinding | None:
        lines = [{**each, "id": f"o{at}"} for at, each in enumerate(charts)]
        return found(*lines).get("same-dose-twice")

    @staticmethod
    def worded(text: str, words: str) -> Json:
        return {**order(text), "dosageInstruction": [{"text": words}]}

    def test_tacrolimus_twice_is_urgent(self) -> None:
        """Ours: either dose decides about the graft."""
        lines = dosed("Adoport 1 mg", "3", "mg"), dosed("Prograf 1 mg capsules", "3", "mg")
        keys = found(*({**line, "id": str(place)} for place, line in enumerate(lines)))
        assert keys["calcineurin-twice"].urgency is U
        assert "same-dose-twice" not in keys

    def test_one_order_on_two_servers(self) -> None:
        """By another name, and with its dose in words."""
        finding = self.said(dosed("Ramipril 5 mg", "5", "mg"), self.worded("Tritace 5 mg", "5 mg OD"))
        assert finding is not None
        assert finding.urgency is P
        assert sorted(finding.medicines) == ["Ramipril 5 mg", "Tritace 5 mg"]

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            (("Ramipril", "5 mg once daily"), ("Ramipril", "2.5 mg once daily")),
            (("Gabapentin", "300 mg in the morning"), ("Gabapentin", "300 mg at night")),
            (("Morphine sulfate MR", "10 mg twice daily"), ("Oramorph", "10 mg twice daily when needed")),
            (("Insulin glargine", "10 units at night"), ("Insulin glargine", "10 units at night")),
            (("Ramipril", "as directed"), ("Ramipril", "as directed")),
        ],
    )
    def test_what_may_be_meant_is_silent(self, one: tuple[str, str], other: tuple[str, str]) -> None:
        assert self.said(self.worded(*one), self.worded(*other)) is None


class TestPreventiveDoses:
    """An injected anticoagulant that only prevents clots makes its pair with an NSAID routine: our choice.

    The doses: prescribing information, 4.2, from memory.
    """

    @pytest.mark.parametrize(
        ("name", "amount", "unit", "often", "urgency"),
        [
            ("Enoxaparin", "40", "mg", (1, 1, "d"), R),
            ("Enoxaparin", "40", "mg", (2, 1, "d"), P),
            ("Enoxaparin", "80", "mg", (1, 1, "d"), P),
            ("Enoxaparin", "4000", "[iU]", (1, 1, "d"), R),
            ("Dalteparin", "5000", "unit", (1, 1, "d"), R),
            ("Dalteparin", "7500", "unit", (1, 1, "d"), P),
            ("Tinzaparin", "4500", "unit", (1, 1, "d"), R),
            ("Tinzaparin", "10000", "unit", (1, 1, "d"), P),
            ("Heparin", "5000", "unit", (3, 1, "d"), R),
            ("Heparin", "5000", "unit", (4, 1, "d"), P),
            ("Fondaparinux", "2.5", "mg", (1, 1, "d"), R),
            ("Fondaparinux", "7.5", "mg", (1, 1, "d"), P),
            ("Apixaban", "2.5", "mg", (2, 1, "d"), P),
        ],
    )
    def test_by_numbers(
        self, name: str, amount: str, unit: str, often: tuple[int, int, str], urgency: Urgency
    ) -> None:
        order_of_it = dosed(name, amount, unit, often)
        assert found("Naproxen 500 mg", order_of_it)["nsaid-with-anticoagulant"].urgency is urgency

    @pytest.mark.parametrize(
        ("text", "urgency"),
        [
            ("40 mg once daily", R),
            ("40 mg twice daily", P),
            ("40mg once daily", R),
            ("140 mg once daily", P),
            ("as charted", P),
        ],
    )
    def test_by_words(self, text: str, urgency: Urgency) -> None:
        injected = line(1, "Enoxaparin injection", dosageInstruction=[{"text": text}])
        assert found("Naproxen 500 mg", injected)["nsaid-with-anticoagulant"].urgency is urgency

    def test_one_that_treats_beside_it_counts(self) -> None:
        prevents = line(1, "Enoxaparin injection", dosageInstruction=[{"text": "40 mg once daily"}])
        assert (
            found("Naproxen 500 mg", prevents, line(2, "Warfarin 3 mg"))["nsaid-with-anticoagulant"].urgency
            is P
        )


class TestWhichLines:
    @pytest.mark.parametrize("status", ["stopped", "on-hold", "completed", "cancelled"])
    def test_what_is_not_taken_makes_no_pair(self, status: str) -> None:
        held = line(1, "Clarithromycin 500 mg", status=status)
        assert "warfarin-with-antimicrobial" not in found("Warfarin 3 mg", held)

    def test_a_draft_makes_one(self) -> None:
        draft = line(1, "Clarithromycin 500 mg", status="draft")
        assert "not signed yet" in found("Warfarin 3 mg", draft)["warfarin-with-antimicrobial"].sentence

    @pytest.mark.parametrize(
        ("one", "other", "key"),
        [
            ("Apixaban 5 mg", "Heparin sodium 50 units flush", "two-anticoagulants-named"),
            ("Apixaban 5 mg", "Hepsal", "two-anticoagulants-named"),
            ("Warfarin 3 mg", "Ibuprofen 5% gel", "nsaid-with-anticoagulant"),
            ("Warfarin 3 mg", "Erythromycin 2% gel", "warfarin-with-antimicrobial"),
            ("Tizanidine 2 mg", "Ciprofloxacin 0.3% eye drops", "tizanidine-with-ciprofloxacin"),
            ("Co-careldopa 25/100", "Quetiapine 25 mg", "dopamine-with-blocker"),
            ("Co-careldopa 25/100", "Domperidone 10 mg", "dopamine-with-blocker"),
            ("Apixaban 5 mg", "Azithromycin 500 mg", "doac-with-macrolide"),
            ("Morphine sulfate 10 mg", "Morphine 2 mg injection", "two-long-acting-opioids"),
            ("Citalopram 10 mg", "Citalopram 20 mg", "citalopram-with-qt"),
            ("Haloperidol 1 mg", "Haloperidol 500 micrograms", "two-qt"),
            ("Bisoprolol 5 mg", "Timolol 0.5% eye drops", "two-beta-blockers"),
            ("Methotrexate 10 mg", "Naproxen 250 mg", "methotrexate-with-trimethoprim"),
        ],
    )
    def test_what_is_no_pair(self, one: str, other: str, key: str) -> None:
        """Flushes, local forms, the medicines that are the alternative, and one medicine in two strengths."""
        assert key not in found(one, other)

    def test_one_product_is_no_pair_with_itself(self) -> None:
        assert "ace-inhibitor-with-arb" not in found("Sacubitril 24 mg / valsartan 26 mg tablets")
        assert not found("Co-trimoxazole 960 mg")

    def test_a_medicine_that_nobody_here_knows_is_found_by_its_word(self) -> None:
        assert "maoi-with-serotonergic" in found("Tranylcypromine (own supply) zz", "Tramadol 50 mg")

    @pytest.mark.parametrize(("dose", "is_said"), [("20", False), ("21", True), ("40", True), (None, True)])
    def test_a_dose_limit(self, dose: str | None, is_said: bool) -> None:
        """Above 20 mg a day of simvastatin; a dose that is not recorded may be above it."""
        dosage: Json = {}
        if dose is not None:
            amount = {"value": float(dose), "unit": "mg", "system": "http://unitsofmeasure.org", "code": "mg"}
            repeat = {"frequency": 1, "period": 1, "periodUnit": "d"}
            dosage = {
                "dosageInstruction": [
                    {"timing": {"repeat": repeat}, "doseAndRate": [{"doseQuantity": amount}]}
                ]
            }
        assert ("simvastatin-dose" in found(line(0, "Simvastatin", **dosage), "Amlodipine 5 mg")) is is_said

    def test_said_once(self) -> None:
        """Three medicines that lengthen QT are one finding."""
        chart = found("Haloperidol 1 mg", "Ondansetron 4 mg", "Erythromycin 250 mg tablets")
        assert len(chart["two-qt"].orders) == 3
        assert "two-qt" not in found("Citalopram 20 mg", "Ondansetron 4 mg")
        drowsy = found("Morphine 10 mg", "Pregabalin 75 mg", beside=(result("RR", "8"),))
        assert set(drowsy) == {"opioid-sedative-drowsy"}

    def test_since_the_last_of_the_two(self) -> None:
        late = line(1, "Clarithromycin 500 mg", authoredOn=earlier("2 h"))
        finding = found("Warfarin 3 mg", late)["warfarin-with-antimicrobial"]
        assert finding.since is not None
        assert finding.at is None or finding.at - finding.since < timedelta(hours=3)


class TestNothingIsPushedThatAPairForbids:
    def test_the_antibacterial_of_a_pair_is_not_urged(self) -> None:
        """The first dose in sepsis is time-critical, but not of a carbapenem beside valproate."""
        septic = (problem("Sepsis", since="2026-02-28"), result("SBP", "88"), result("lactate", "4.5"))
        chart = [line(0, "Meropenem 1 g"), line(1, "Epilim 500 mg")]
        both = suggestions(reviewed(*septic, *chart))
        alone = suggestions(reviewed(*septic, chart[0]))
        assert alone["o0"].action == "continue"
        assert "o0" not in both or both["o0"].action != "continue"


class TestLevelInOrder:
    """Ours: a level in order, two days after both began, makes the pair routine."""

    @pytest.mark.parametrize(
        ("level", "at", "urgency"),
        [("8", AT, R), ("28", AT, P), ("8", earlier("9 d"), P), (None, AT, P)],
        ids=["in order", "too high", "before it could tell", "none"],
    )
    def test_calm(self, level: str | None, at: str, urgency: Urgency) -> None:
        taken = [
            order("Adoport 4 mg", authoredOn=earlier("30 d")),
            order("Fluconazole 100 mg capsules", authoredOn=earlier("10 d")),
        ]
        levels = (
            [observation("tac", "11253-2", at=at, valueQuantity=quantity(level, "ug/L"))] if level else []
        )
        found = interactions(reviewed(result("Na", "140"), *levels, *taken))
        assert found["rejection-medicine-with-inhibitor"].urgency is urgency


class TestFirstDose:
    @pytest.mark.parametrize(("dose", "is_twice"), [("300 mg stat", False), ("300 mg once daily", True)])
    def test_beside_what_goes_on_is_no_order_twice(self, dose: str, is_twice: bool) -> None:
        """Ours: aspirin 300 mg at once and 75 mg a day are a coronary event as it is treated."""
        first = {**order("Aspirin 300 mg", authoredOn=earlier("2 h")), "id": "first"}
        first["dosageInstruction"] = [{"text": dose}]
        found = interactions(reviewed(result("Na", "140"), first, {**order("Aspirin 75 mg"), "id": "daily"}))
        assert ("aspirin-twice" in found) is is_twice
