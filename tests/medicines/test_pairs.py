"""Named pairs and duplicates, each through the real door.

Expected: the publication that each row of `pairs.toml` names. Which urgency a pair has, that bridging
is calm below an INR of 2.0, and that potassium below 4.0 calms a supplement are our choice; what a row
marks as common practice has no source.
"""

from datetime import datetime, timedelta
from typing import Any

import pytest

from tests.medicines.wards import dosed, injury, interactions, order, problem, result, reviewed, suggestions
from tests.records import AT, Json, answer_of, earlier, flag, observation, patient, quantity, stay
from weatherglass.handover.told import rank_of
from weatherglass.knowledge.data_files import TableError
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import InteractionFinding

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT
#: Each pair with two lines that make it, and how soon in somebody otherwise well.
EXAMPLES: dict[str, tuple[str, str, Urgency]] = {
    "two-anticoagulants-named": ("Apixaban 5 mg", "Enoxaparin 40 mg injection", U),
    "argatroban-with-warfarin": ("Argatroban infusion", "Warfarin 3 mg", R),
    "azole-with-local-steroid": ("Itraconazole 200 mg capsules", "Seretide 250 Evohaler", R),
    "live-vaccine-with-immunosuppressant": ("Yellow fever vaccine 0.5 mL", "Adalimumab 40 mg", U),
    "two-heparins": ("Enoxaparin 40 mg injection", "Dalteparin 5000 units injection", U),
    "warfarin-with-heparin": ("Warfarin 3 mg", "Enoxaparin 80 mg injection", P),
    "anticoagulant-ordered-twice": ("Enoxaparin 120 mg injection", "Enoxaparin 40 mg injection", P),
    "nsaid-with-anticoagulant": ("Naproxen 500 mg", "Rivaroxaban 20 mg", P),
    "antiplatelet-with-anticoagulant": ("Clopidogrel 75 mg", "Apixaban 5 mg", R),
    "antidepressant-with-anticoagulant": ("Sertraline 50 mg", "Apixaban 5 mg", R),
    "doac-with-strong-azole": ("Rivaroxaban 20 mg", "Itraconazole 200 mg capsules", P),
    "dabigatran-with-inhibitor": ("Dabigatran 150 mg", "Dronedarone 400 mg", P),
    "doac-with-rifampicin": ("Apixaban 5 mg", "Rifampicin 600 mg", P),
    "two-broad-beta-lactams": ("Co-amoxiclav 1.2 g", "Meropenem 1 g", P),
    "methadone-with-inducer": ("Methadone 1 mg/mL", "Rifampicin 600 mg", P),
    "contraceptive-with-inducer": ("Microgynon 30", "Carbamazepine 200 mg", R),
    "integrase-inhibitor-with-metal": ("Dolutegravir 50 mg", "Ferrous sulfate 200 mg", R),
    "dolutegravir-with-inducer": ("Dolutegravir 50 mg", "Rifampicin 600 mg", P),
    "hiv-medicine-with-inducer": ("Biktarvy", "Carbamazepine 200 mg", P),
    "warfarin-with-inducer": ("Warfarin 3 mg", "Rifampicin 600 mg", R),
    "warfarin-with-herb": ("Warfarin 3 mg", "Cranberry juice", R),
    "st-johns-wort-with-antidepressant": ("St John's wort", "Sertraline 50 mg", P),
    "two-dihydropyridines": ("Amlodipine 5 mg", "Felodipine 5 mg", P),
    "two-p2y12-inhibitors": ("Clopidogrel 75 mg", "Ticagrelor 90 mg", P),
    "two-gabapentinoids": ("Pregabalin 75 mg", "Gabapentin 300 mg", P),
    "two-thiazides": ("Indapamide 2.5 mg", "Bendroflumethiazide 2.5 mg", P),
    "two-sulfonylureas": ("Gliclazide 80 mg", "Glimepiride 2 mg", P),
    "two-gliptins": ("Sitagliptin 100 mg", "Linagliptin 5 mg", R),
    "two-glp1-agonists": ("Semaglutide 1 mg", "Liraglutide 1.2 mg", P),
    "two-rapid-insulins": ("NovoRapid", "Humalog", P),
    "two-weak-opioids": ("Codeine 30 mg", "Tramadol 50 mg", P),
    "codeine-twice": ("Co-codamol 30/500", "Codeine 30 mg", P),
    "two-strong-opioids": ("Oramorph 10 mg/5 mL", "Oxycodone 5 mg capsules", P),
    "aspirin-twice": ("Aspirin 75 mg", "Aspirin 300 mg", P),
    "tacrolimus-of-two-forms": ("Advagraf 5 mg", "Adoport 1 mg", U),
    "azole-with-inducer": ("Voriconazole 200 mg tablets", "Rifampicin 600 mg", P),
    "steroid-with-inducer": ("Prednisolone 10 mg", "Rifampicin 600 mg", R),
    "tamoxifen-with-inhibitor": ("Tamoxifen 20 mg", "Fluoxetine 20 mg", R),
    "tolvaptan-with-inhibitor": ("Tolvaptan 15 mg", "Clarithromycin 500 mg", P),
    "naloxegol-with-inhibitor": ("Naloxegol 25 mg", "Clarithromycin 500 mg", P),
    "bosentan-with-ciclosporin": ("Bosentan 125 mg", "Neoral 100 mg", P),
    "two-hypnotics": ("Zopiclone 3.75 mg", "Temazepam 10 mg", P),
    "driver-with-long-acting": ("Morphine 60 mg/24 h CSCI", "Zomorph 60 mg capsules", U),
    "doac-with-inducer": ("Apixaban 5 mg", "Carbamazepine 200 mg", R),
    "doac-with-macrolide": ("Edoxaban 60 mg", "Erythromycin 500 mg tablets", R),
    "doac-with-booster": ("Apixaban 5 mg", "Paxlovid", P),
    "warfarin-with-antimicrobial": ("Warfarin 3 mg", "Clarithromycin 500 mg", P),
    "warfarin-with-fluoropyrimidine": ("Warfarin 3 mg", "Capecitabine 1500 mg", P),
    "warfarin-with-miconazole": ("Warfarin 3 mg", "Miconazole 20 mg/g oromucosal gel", P),
    "warfarin-with-amiodarone": ("Warfarin 3 mg", "Amiodarone 200 mg", R),
    "warfarin-with-tramadol": ("Warfarin 3 mg", "Tramadol 50 mg", R),
    "methotrexate-with-trimethoprim": ("Methotrexate 10 mg tablets", "Co-trimoxazole 960 mg", U),
    "thiopurine-with-allopurinol": ("Azathioprine 100 mg", "Allopurinol 100 mg", P),
    "clozapine-with-marrow-suppressant": ("Clozapine 100 mg", "Carbamazepine 200 mg", P),
    "linezolid-with-serotonergic": ("Linezolid 600 mg", "Sertraline 50 mg", U),
    "maoi-with-serotonergic": ("Phenelzine 15 mg", "Pethidine 50 mg", U),
    "mao-b-with-opioid": ("Rasagiline 1 mg", "Pethidine 50 mg", U),
    "tramadol-with-antidepressant": ("Tramadol 50 mg", "Sertraline 50 mg", R),
    "digoxin-with-inhibitor": ("Digoxin 250 micrograms", "Verapamil 80 mg", R),
    "methotrexate-twice": ("Methotrexate 10 mg tablets", "Methotrexate 2.5 mg tablets", P),
    "theophylline-twice": ("Uniphyllin 400 mg", "Aminophylline infusion", U),
    "two-basal-insulins": ("Lantus 100 units/mL", "Tresiba 200 units/mL", U),
    "glargine-of-two-strengths": ("Toujeo 300 units/mL", "Lantus 100 units/mL", U),
    "buprenorphine-with-opioid": ("Buprenorphine 8 mg sublingual tablets", "Methadone 1 mg/mL", P),
    "naltrexone-with-opioid": ("Naltrexone 50 mg", "Morphine 10 mg", U),
    "opioid-with-inhibitor": ("Fentanyl 50 micrograms/hour patch", "Clarithromycin 500 mg", P),
    "phenytoin-with-raiser": ("Phenytoin 300 mg", "Fluconazole 200 mg", R),
    "phenytoin-with-feed": ("Phenytoin 90 mg/15 mL", "Nutrison 75 mL/hour", R),
    "smoke-dependent-with-nicotine": ("Clozapine 100 mg", "Nicotine 21 mg patch", R),
    "two-inhaled-antimuscarinics": ("Tiotropium 18 microgram inhaler", "Ipratropium nebules", R),
    "valproate-with-carbapenem": ("Epilim 500 mg", "Meropenem 1 g", U),
    "opioid-with-z-drug": ("Morphine 10 mg", "Zopiclone 7.5 mg", R),
    "opioid-with-gabapentinoid": ("Morphine 10 mg", "Pregabalin 75 mg", R),
    "tizanidine-with-ciprofloxacin": ("Tizanidine 2 mg", "Ciprofloxacin 500 mg", U),
    "theophylline-with-inhibitor": ("Uniphyllin 200 mg", "Clarithromycin 500 mg", P),
    "clozapine-with-inhibitor": ("Clozapine 100 mg", "Ciprofloxacin 500 mg", P),
    "dopamine-with-blocker": ("Co-careldopa 25/100", "Metoclopramide 10 mg", P),
    "lithium-with-nsaid": ("Priadel 400 mg", "Ibuprofen 400 mg", P),
    "lithium-with-blocker-or-thiazide": ("Priadel 400 mg", "Ramipril 5 mg", R),
    "colchicine-with-strong-inhibitor": ("Colchicine 500 micrograms", "Clarithromycin 500 mg", U),
    "colchicine-with-inhibitor": ("Colchicine 500 micrograms", "Verapamil 80 mg", P),
    "simvastatin-with-strong-inhibitor": ("Simvastatin 20 mg", "Erythromycin 500 mg tablets", P),
    "simvastatin-dose": ("Zocor 40 mg", "Amlodipine 5 mg", R),
    "atorvastatin-with-inhibitor": ("Lipitor 80 mg", "Clarithromycin 500 mg", R),
    "statin-with-ciclosporin": ("Rosuvastatin 10 mg", "Neoral 100 mg", P),
    "statin-with-fusidic-acid": ("Atorvastatin 40 mg", "Sodium fusidate 500 mg", P),
    "vinca-with-azole": ("Vincristine 2 mg IV", "Posaconazole 300 mg", P),
    "two-steroids": ("Prednisolone 30 mg", "Hydrocortisone 100 mg IV", R),
    "statin-with-gemfibrozil": ("Gemfibrozil 600 mg", "Pravastatin 40 mg", P),
    "beta-blocker-with-verapamil": ("Bisoprolol 5 mg", "Verapamil 80 mg", P),
    "beta-blocker-with-diltiazem": ("Bisoprolol 5 mg", "Diltiazem 120 mg", R),
    "ivabradine-with-inhibitor": ("Ivabradine 5 mg", "Diltiazem 120 mg", P),
    "amiodarone-with-sofosbuvir": ("Amiodarone 200 mg", "Sofosbuvir 400 mg", P),
    "digoxin-with-amiodarone": ("Digoxin 125 micrograms", "Amiodarone 200 mg", R),
    "digoxin-with-macrolide": ("Digoxin 125 micrograms", "Clarithromycin 500 mg", P),
    "riociguat-with-nitrate": ("Riociguat 1 mg", "Sildenafil 50 mg", U),
    "ace-inhibitor-with-arb": ("Ramipril 5 mg", "Losartan 50 mg", P),
    "sacubitril-with-ace-inhibitor": ("Entresto 24 mg/26 mg", "Ramipril 5 mg", U),
    "trimethoprim-with-raas": ("Trimethoprim 200 mg", "Ramipril 5 mg", R),
    "trimethoprim-with-potassium-keeper": ("Trimethoprim 200 mg", "Spironolactone 25 mg", P),
    "mra-with-raas": ("Spironolactone 25 mg", "Ramipril 5 mg", R),
    "potassium-with-keeper": ("Sando-K", "Spironolactone 25 mg", P),
    "eplerenone-with-inhibitor": ("Eplerenone 25 mg", "Clarithromycin 500 mg", P),
    "rejection-medicine-with-inhibitor": ("Adoport 1 mg", "Fluconazole 200 mg capsules", P),
    "rejection-medicine-with-calcium-blocker": ("Adoport 1 mg", "Diltiazem 120 mg", R),
    "rejection-medicine-with-inducer": ("Adoport 1 mg", "St John's wort", P),
    "tacrolimus-with-ciclosporin": ("Adoport 1 mg", "Neoral 100 mg", U),
    "calcineurin-with-potassium": ("Adoport 1 mg", "Sando-K", P),
    "calcineurin-with-nephrotoxin": ("Adoport 1 mg", "Ibuprofen 400 mg", P),
    "domperidone-with-inhibitor": ("Domperidone 10 mg", "Clarithromycin 500 mg", P),
    "citalopram-with-qt": ("Citalopram 20 mg", "Ondansetron 4 mg", R),
    "hydroxychloroquine-with-macrolide": ("Hydroxychloroquine 200 mg", "Azithromycin 500 mg", P),
    "macrolide-contraindicated": ("Clarithromycin 500 mg", "Ranolazine 500 mg", U),
    "two-qt": ("Haloperidol 1 mg", "Ondansetron 4 mg", R),
    "clopidogrel-with-omeprazole": ("Clopidogrel 75 mg", "Omeprazole 20 mg", R),
    "ticagrelor-with-inhibitor": ("Ticagrelor 90 mg", "Clarithromycin 500 mg", P),
    "aminoglycoside-with-nephrotoxin": ("Gentamicin 240 mg injection", "Vancomycin 1 g infusion", P),
    "aminoglycoside-with-loop-diuretic": ("Gentamicin 240 mg injection", "Furosemide 40 mg", R),
    "booster-with-others": ("Paxlovid", "Amiodarone 200 mg", P),
    "booster-with-local-steroid": ("Symtuza", "Fluticasone 250 micrograms inhaler", R),
    "two-nsaids": ("Naproxen 500 mg", "Etoricoxib 60 mg", P),
    "two-antidepressants": ("Sertraline 50 mg", "Fluoxetine 20 mg", P),
    "two-loop-diuretics": ("Furosemide 40 mg", "Bumetanide 1 mg", P),
    "two-ace-inhibitors": ("Ramipril 5 mg", "Lisinopril 10 mg", P),
    "two-beta-blockers": ("Bisoprolol 5 mg", "Atenolol 50 mg", P),
    "two-acid-blockers": ("Omeprazole 20 mg", "Lansoprazole 30 mg", R),
    "two-statins": ("Simvastatin 20 mg", "Atorvastatin 20 mg", P),
    "two-long-acting-opioids": ("Zomorph 30 mg capsules", "Longtec 10 mg", P),
    "two-opioid-patches": ("Matrifen 25 patches", "BuTrans 10 patches", P),
    "opioid-patch-with-long-acting": ("Zomorph 30 mg capsules", "Durogesic 25 patches", P),
    "carbamazepine-with-inhibitor": ("Tegretol 400 mg", "Clarithromycin 500 mg", P),
    "lamotrigine-begun-on-valproate": ("Lamotrigine 50 mg", "Epilim 500 mg", P),
    "nsaid-with-steroid": ("Naproxen 500 mg", "Dexamethasone 8 mg", R),
    "two-sglt2-inhibitors": ("Dapagliflozin 10 mg", "Synjardy 5 mg/1000 mg", P),
    "metformin-twice": ("Metformin 500 mg", "Metformin 1 g", R),
    "two-driver-opioids": ("Morphine 30 mg/24 h CSCI", "Oxycodone 20 mg/24 h CSCI", P),
    "paracetamol-twice": ("Co-codamol 30/500", "Paracetamol 1 g", P),
    "linezolid-with-mao-b": ("Linezolid 600 mg", "Rasagiline 1 mg", U),
    "selegiline-with-serotonergic": ("Selegiline 10 mg", "Sertraline 50 mg", P),
    "apomorphine-with-setron": ("Apomorphine 30 mg/24 h", "Ondansetron 4 mg", U),
    "epidural-with-anticoagulant": ("Levobupivacaine 0.1% epidural", "Enoxaparin 80 mg injection", U),
    "olanzapine-with-benzodiazepine-injected": (
        "Olanzapine 10 mg intramuscular",
        "Lorazepam 2 mg intramuscular",
        P,
    ),
    "strong-antiplatelet-with-anticoagulant": ("Ticagrelor 90 mg", "Apixaban 5 mg", P),
    "antibacterial-bound-in-the-gut": ("Ciprofloxacin 500 mg tablets", "Ferrous fumarate 210 mg", R),
    "by-two-routes": ("Furosemide 40 mg intravenous injection", "Furosemide 40 mg tablets", P),
    "statin-with-booster": ("Atorvastatin 10 mg", "Paxlovid", R),
    "cholinesterase-inhibitor-with-antimuscarinic": ("Donepezil 10 mg", "Oxybutynin 5 mg", R),
}
#: Pairs that ask for something else as well, which these bring.
_WITH = {"colchicine-with-statin": [result("eGFR", "40")]}


def line(number: int, text: str, **rest: Any) -> Json:
    """Return an order in words alone."""
    return {**order(text, **rest), "id": f"o{number}"}


def found(*lines: Json | str, beside: tuple[Json, ...] = ()) -> dict[str, InteractionFinding]:
    """Return the pairs and combinations of a chart, by key."""
    orders = [line(at, one) if isinstance(one, str) else one for at, one in enumerate(lines)]
    return interactions(reviewed(result("Na", "140"), *beside, *orders))


class TestEachRow:
    @pytest.mark.parametrize("key", EXAMPLES)
    def test_the_two_are_named_with_what_they_do_and_where_it_is_printed(self, key: str) -> None:
        one, other, urgency = EXAMPLES[key]
        pair = next(each for each in PAIRS if each.key == key)
        finding = found(one, other)[key]
        assert finding.sentence.endswith(pair.says)
        assert sorted(finding.medicines) == sorted((one, other))
        assert finding.urgency is urgency
        assert finding.sources[: len(pair.sources)] == pair.sources

    @pytest.mark.parametrize("key", EXAMPLES)
    def test_each_alone_is_silent(self, key: str) -> None:
        one, other, _ = EXAMPLES[key]
        assert key not in found(one, "Senna 7.5 mg")
        assert key not in found(other, "Lactulose 10 mL")

    def test_every_pair_is_tried(self) -> None:
        elsewhere = {"same-dose-twice", "calcineurin-twice", "one-medicine-by-two-names"}
        elsewhere |= {"ceftriaxone-with-calcium-in-a-newborn", "after-a-direct-anticoagulant"}
        assert {*EXAMPLES, *_WITH, *elsewhere} == {pair.key for pair in PAIRS}

    def test_what_says_it_stands_before(self) -> None:
        seen: set[str] = set()
        for pair in PAIRS:
            assert not (pair.said_by & {each.key for each in PAIRS}) - seen
            seen.add(pair.key)


class TestHowUrgent:
    @pytest.mark.parametrize(("inr", "urgency"), [("1.9", R), ("2.0", U), ("3.0", U)])
    def test_bridging_by_the_inr(self, inr: str, urgency: Urgency) -> None:
        chart = found("Warfarin 3 mg", "Enoxaparin 80 mg injection", beside=(result("INR", inr),))
        assert chart["warfarin-with-heparin"].urgency is urgency

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("Butrans 10 micrograms/hour patch", "Morphine 10 mg"),
            ("Levemir 10 units", "Levemir 14 units"),
            ("Lantus 10 units", "NovoRapid 4 units"),
            ("Zomorph 10 mg", "Oramorph 5 mg"),
            ("Olanzapine 10 mg tablets", "Lorazepam 2 mg intramuscular"),
            ("Ciprofloxacin 400 mg intravenous infusion", "Ferrous fumarate 210 mg"),
            ("Vancomycin 1 g intravenous infusion", "Vancomycin 125 mg capsules"),
            ("Atorvastatin 40 mg", "Fucidin 2% cream"),
            ("Prednisolone 30 mg", "Hydrocortisone 10 mg tablets"),
            ("Heparin 5000 units", "Enoxaparin 20 mg (dialysis circuit)"),
        ],
    )
    def test_what_is_meant_together_is_silent(self, one: str, other: str) -> None:
        assert not found(one, other)

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("MST 30 mg", "Oxycodone MR 20 mg"),
            ("Morphine sulfate modified-release 30 mg", "Longtec 20 mg"),
            ("Tramadol SR 100 mg", "Zomorph 10 mg"),
        ],
    )
    def test_a_long_acting_opioid_is_known_by_its_form(self, one: str, other: str) -> None:
        """Common practice, no source: one long-acting opioid at a time, by brand or by its form."""
        assert "two-long-acting-opioids" in found(one, other)

    @pytest.mark.parametrize(("pulse", "urgency"), [("50", R), ("49", P), ("40", P)])
    def test_digoxin_with_verapamil_by_the_pulse(self, pulse: str, urgency: Urgency) -> None:
        chart = found("Digoxin 250 micrograms", "Verapamil 80 mg", beside=(result("HR", pulse),))
        assert chart["digoxin-with-inhibitor"].urgency is urgency

    def test_a_lack_of_potassium_is_not_answered_with_less(self) -> None:
        """Nothing is pushed that a low potassium forbids."""
        for potassium in ("2.3", "3.4"):
            chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", potassium),))
            assert "potassium-with-keeper" not in chart

    @pytest.mark.parametrize(("text", "urgency"), [("Verapamil 80 mg tablets", P), ("Verapamil 5 mg IV", U)])
    def test_verapamil_into_a_vein_beside_a_beta_blocker(self, text: str, urgency: Urgency) -> None:
        assert found("Bisoprolol 5 mg", text)["beta-blocker-with-verapamil"].urgency is urgency

    @pytest.mark.parametrize(
        ("potassium", "urgency"), [("3.5", R), ("3.9", R), ("4.0", P), ("5.4", P), ("5.5", U)]
    )
    def test_a_supplement_by_the_potassium(self, potassium: str, urgency: Urgency) -> None:
        chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", potassium),))
        assert chart["potassium-with-keeper"].urgency is urgency

    def test_a_supplement_is_asked_about_from_the_potassium_that_needs_it_no_more(self) -> None:
        """Beside a low potassium both were meant: nothing was due then."""
        before, after = earlier("26 h"), earlier("20 h")
        results = (result("K", "3.1", before), result("K", "4.4", after), result("K", "4.8"))
        chart = found("Sando-K", "Spironolactone 25 mg", beside=results)
        assert chart["potassium-with-keeper"].asked_since == datetime.fromisoformat(after)
        chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", "3.9"),))
        assert chart["potassium-with-keeper"].asked_since is None

    @pytest.mark.parametrize(("days", "is_said"), [("6.9 d", False), ("7.1 d", True)])
    def test_no_potassium_of_a_week(self, days: str, is_said: bool) -> None:
        chart = found("Spironolactone 25 mg", "Ramipril 5 mg", beside=(result("K", "4.5", earlier(days)),))
        assert ("mra-with-raas" in chart) is is_said

    def test_an_inr_since_both_began_calms(self) -> None:
        pair = ("Warfarin 3 mg", "Clarithromycin 500 mg")
        before = found(*pair, beside=(result("INR", "2.4", "2026-02-24T09:00:00+04:00"),))
        since = found(*pair, beside=(result("INR", "2.4", AT),))
        assert before["warfarin-with-antimicrobial"].urgency is P
        assert since["warfarin-with-antimicrobial"].urgency is R

    def test_an_inr_that_is_due_later_presses_nobody_yet(self) -> None:
        """Both for a day, and the INR in order: it said "routine since" of a day to come."""
        late = line(1, "Metronidazole 400 mg", authoredOn=earlier("1 d"))
        told = found("Warfarin 3 mg", late, beside=(result("INR", "2.4", AT),))["warfarin-with-antimicrobial"]
        assert (told.urgency, told.asked_since) == (R, None)

    @pytest.mark.parametrize(
        ("amount", "often", "is_said"),
        [
            ("12.5", (1, 1, "d"), False),
            ("25", (1, 2, "d"), False),
            ("25", (1, 1, "d"), True),
            ("50", (1, 2, "d"), True),
        ],
    )
    def test_lamotrigine_on_valproate_by_its_dose(
        self, amount: str, often: tuple[int, int, str], is_said: bool
    ) -> None:
        """Label of lamotrigine, 4.2, from memory: 25 mg every other day for two weeks."""
        chart = found(dosed("Lamotrigine", amount, "mg", often), line(1, "Epilim 500 mg"))
        assert ("lamotrigine-begun-on-valproate" in chart) is is_said

    @pytest.mark.parametrize(
        ("began", "came", "is_said"),
        [
            ("55 d", None, True),
            ("57 d", None, False),
            ("48 h", "71 h", False),
            ("48 h", "73 h", True),
            ("96 h", "73 h", False),
            ("98 h", "73 h", True),
        ],
    )
    def test_lamotrigine_that_is_new(self, began: str, came: str | None, is_said: bool) -> None:
        """Eight weeks; what was ordered within a day of coming in may have been taken before: our choice."""
        beside = (stay(period={"start": earlier(came)}),) if came else ()
        ordered = line(0, "Lamotrigine 50 mg", authoredOn=earlier(began))
        chart = found(ordered, "Epilim 500 mg", beside=beside)
        assert ("lamotrigine-begun-on-valproate" in chart) is is_said

    @pytest.mark.parametrize(
        ("words", "is_said"),
        [("25 mg every other day", False), ("25 mg on alternate days", False), ("25 mg daily", True)],
    )
    def test_lamotrigine_every_other_day_in_words(self, words: str, is_said: bool) -> None:
        ordered = line(0, "Lamotrigine", dosageInstruction=[{"text": words}])
        assert ("lamotrigine-begun-on-valproate" in found(ordered, "Epilim 500 mg")) is is_said

    def test_what_is_only_reported_is_a_step_less(self) -> None:
        home = {
            "resourceType": "MedicationStatement",
            "id": "home",
            "status": "active",
            "subject": {"reference": "Patient/p"},
            "medicationCodeableConcept": {"text": "Apixaban 5 mg"},
        }
        chart = found(home, line(1, "Enoxaparin 40 mg injection"))
        assert chart["two-anticoagulants-named"].urgency is P
        assert "reported as taken" in chart["two-anticoagulants-named"].sentence

    def test_liver_disease_makes_colchicine_worse(self) -> None:
        chart = found(*EXAMPLES["colchicine-with-inhibitor"][:2], beside=(problem("Liver cirrhosis"),))
        assert chart["colchicine-with-inhibitor"].urgency is U

    def test_two_blockers_in_heart_failure_are_calm(self) -> None:
        chart = found("Ramipril 5 mg", "Losartan 50 mg", beside=(problem("Heart failure"),))
        assert chart["ace-inhibitor-with-arb"].urgency is R

    @pytest.mark.parametrize(("rate", "is_said"), [("44", True), ("45", False)])
    def test_colchicine_with_a_statin_asks_for_poor_kidneys(self, rate: str, is_said: bool) -> None:
        chart = found("Colchicine 500 micrograms", "Atorvastatin 20 mg", beside=(result("eGFR", rate),))
        assert ("colchicine-with-statin" in chart) is is_said

    @pytest.mark.parametrize("beside", [(), (result("K", "5.7"),)])
    def test_a_lower_dose_is_no_answer_where_another_is_asked_for(self, beside: tuple[Json, ...]) -> None:
        """The pair asks for another antibacterial (SPS, Medsafe): no line says lower or review beside it."""
        injured = (result("creatinine", "80", earlier("2 d")), result("creatinine", "170"))
        pair = (line(1, "Trimethoprim 200 mg"), line(2, "Methotrexate 15 mg"))
        answer = reviewed(*pair, *injured, *beside)
        assert "methotrexate-with-trimethoprim" in interactions(answer)
        assert not [one for one in suggestions(answer).values() if "Trimethoprim" in one.medicine]
        alone = suggestions(reviewed(pair[0], *injured, *beside))
        assert [one.action for one in alone.values()] == ["reduce"]

    def test_in_recorded_last_days_nothing_is_above_routine(self) -> None:
        dying = flag("End of life care: last days of life")
        chart = found("Midazolam 10 mg", "Haloperidol 1 mg", "Methadone 5 mg", beside=(dying,))
        assert chart
        assert all(one.urgency is R for one in chart.values())


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


@pytest.mark.parametrize(
    ("dose", "kilograms", "urgency"),
    [
        ("40", None, R),
        ("60", None, U),
        ("60", "90.9", U),
        ("60", "91", R),
        ("80", "99.9", U),
        ("80", "100", R),
        ("81", "100", U),
    ],
)
def test_an_anticoagulant_beside_an_epidural_by_its_dose(
    dose: str, kilograms: str | None, urgency: Urgency
) -> None:
    """Label of enoxaparin, boxed warning; that prevention is routine, as after operations, is our choice.

    Common practice, no source: 60 mg a day prevents from 91 kg, 40 mg twice a day from 100 kg.
    """
    epidural = line(1, "Levobupivacaine 0.1%", dosageInstruction=[{"route": {"text": "epidural"}}])
    weight = (observation("kg", "29463-7", valueQuantity=quantity(kilograms, "kg")),) if kilograms else ()
    chart = found({**dosed("Enoxaparin", dose, "mg"), "id": "o0"}, epidural, beside=weight)
    assert chart["epidural-with-anticoagulant"].urgency is urgency


@pytest.mark.parametrize(("born", "is_said"), [("2026-02-10", True), ("2026-01-20", False)])
def test_ceftriaxone_with_calcium_in_a_newborn(born: str, is_said: bool) -> None:
    """Label: contraindicated up to 28 days in who needs calcium by vein; and no dose of it is pushed."""
    chart = (line(0, "Ceftriaxone 200 mg intravenous"), line(1, "Calcium gluconate 10% infusion"))
    answer = answer_of(patient(born), result("Na", "140"), problem("Neonatal sepsis"), *chart)
    assert ("ceftriaxone-with-calcium-in-a-newborn" in interactions(answer)) is is_said
    assert ("o0" in suggestions(answer)) is not is_said


@pytest.mark.parametrize(("born", "is_said"), [("2026-02-10", True), ("1980-02-10", False)])
def test_ceftriaxone_in_a_jaundiced_newborn(born: str, is_said: bool) -> None:
    """Label: it drives bilirubin from albumin; in an adult with jaundice it is not questioned for that."""
    found = suggestions(answer_of(patient(born), problem("Jaundice"), line(0, "Ceftriaxone 200 mg"))).get(
        "o0"
    )
    rules = {reason.rule for reason in found.reasons} if found is not None else set()
    assert ("newborn-ceftriaxone" in rules) is is_said


def test_of_equals_the_pair_that_harms_by_itself_leads() -> None:
    """What the kidneys made urgent comes after what kills with any: colchicine beside a macrolide."""
    injured = (result("creatinine", "80", earlier("2 d")), result("creatinine", "170"))
    chart = found("Colchicine 500 micrograms", "Clarithromycin 500 mg", "Verapamil 80 mg", beside=injured)
    fatal, raised = chart["colchicine-with-strong-inhibitor"], chart["colchicine-with-inhibitor"]
    assert fatal.urgency is raised.urgency is U
    assert (fatal.raised, raised.raised) == (False, True)
    assert rank_of(fatal) < rank_of(raised)


class TestInrThatRoseTooFar:
    """Above 3.0 it is not settled, and from 5 (British guideline, as restated) urgent: our choice."""

    @pytest.mark.parametrize(("inr", "urgency"), [("3.0", R), ("3.1", P), ("4.9", P), ("5.0", U), ("9.2", U)])
    def test_beside_an_antimicrobial(self, inr: str, urgency: Urgency) -> None:
        started = line(1, "Clarithromycin 500 mg", authoredOn=earlier("48 h"))
        warfarin = line(0, "Warfarin 3 mg", authoredOn=earlier("400 h"))
        measured = result("INR", inr, at=earlier("2 h"))
        pair = found(warfarin, started, beside=(measured,))["warfarin-with-antimicrobial"]
        assert pair.urgency is urgency
        if urgency is not R:
            assert pair.asked_since == datetime.fromisoformat(earlier("2 h"))


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


def test_an_ordinary_chart_is_quiet() -> None:
    """Ten medicines of an ordinary older person say nothing. Our choice of what is ordinary."""
    chart = (
        "Ramipril 5 mg", "Bisoprolol 2.5 mg", "Furosemide 40 mg", "Atorvastatin 20 mg", "Aspirin 75 mg",
        "Amlodipine 5 mg", "Metformin 500 mg", "Lansoprazole 30 mg", "Paracetamol 1 g", "Senna 7.5 mg",
    )  # fmt: skip
    assert not found(*chart)


@pytest.mark.parametrize(
    ("chart", "key"),
    [
        (("Fentanyl 25 micrograms/hour patch", "Fentanyl 12 micrograms/hour patch"), "two-opioid-patches"),
        (("Fentanyl 25 micrograms/hour patch", "BuTrans 10"), "two-opioid-patches"),
        (("Fentanyl 25 micrograms/hour patch", "Zomorph 30 mg"), "opioid-patch-with-long-acting"),
        (("Fentanyl 25 micrograms/hour patch", "Nicotine 21 mg patch"), None),
        (("Fentanyl 25 micrograms/hour patch", "Fentanyl 100 micrograms injection"), None),
        (("Inegy 10/40", "Clarithromycin 500 mg"), "simvastatin-with-strong-inhibitor"),
        (("Nardil 15 mg", "Tramadol 50 mg"), "maoi-with-serotonergic"),
    ],
)
def test_patches_and_trade_names(chart: tuple[str, ...], key: str | None) -> None:
    """Common practice, no source: one long-acting opioid at a time. Trade names from memory."""
    assert set(found(*chart)) == ({key} if key else set())


def test_a_group_that_needs_a_form_stands_alone() -> None:
    with pytest.raises(TableError):
        members_of(["opioid-patch", "morphine"])


@pytest.mark.parametrize(("creatinine", "urgency"), [("70", P), ("150", U)])
def test_lithium_with_an_anti_inflammatory_waits_for_no_level_of_next_week(
    creatinine: str, urgency: Urgency
) -> None:
    """Common practice: in kidney injury the level is taken now."""
    beside = (result("creatinine", "70", earlier("36 h")), result("creatinine", creatinine))
    one = found("Priadel 400 mg", "Ibuprofen 400 mg", beside=beside)["lithium-with-nsaid"]
    assert one.urgency is urgency
    assert "a level now with kidney injury" in one.sentence


@pytest.mark.parametrize(
    ("measured", "urgency"),
    [
        ([], R),
        ([("K", "3.4")], P),
        ([("QTc", "479")], R),
        ([("QTc", "480")], P),
    ],
)
def test_two_that_lengthen_qt_are_no_routine_beside_what_adds_to_it(
    measured: list[tuple[str, str]], urgency: Urgency
) -> None:
    """MHRA December 2020 (potassium); from a QTc of 480 ms: our choice."""
    beside = tuple(
        observation("qtc", "8636-3", at=earlier("2 h"), valueQuantity=quantity(value, "ms"))
        if name == "QTc"
        else result(name, value, at=earlier("2 h"))
        for name, value in measured
    )
    pair = found(line(0, "Sotalol 80 mg"), line(1, "Levofloxacin 500 mg"), beside=beside)["two-qt"]
    assert pair.urgency is urgency


def test_nobody_asks_for_stomach_protection_in_a_bleed() -> None:
    """Ours: the NSAID is held then, and what is given for the bleed is not a matter of the chart review."""
    lines = (line(0, "Naproxen 500 mg"), line(1, "Dexamethasone 8 mg"), line(2, "Sertraline 50 mg"))
    asked = {"nsaid-with-steroid", "antidepressant-with-anticoagulant"}
    assert asked <= set(found(*lines))
    assert not asked & set(found(*lines, beside=(problem("Melaena", since=earlier("2 h")),)))


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


@pytest.mark.parametrize(
    ("known", "text", "is_said"),
    [
        ("2026-02-21", "Fondaparinux 2.5 mg injection", False),
        ("2026-02-20", "Fondaparinux 2.5 mg injection", True),
        ("2026-02-28", "Enoxaparin 80 mg injection", False),
        ("2026-02-28", "Apixaban 5 mg", True),
        (None, "Fondaparinux 2.5 mg injection", True),
    ],
)
def test_both_are_the_treatment_of_a_fresh_coronary_syndrome(
    known: str | None, text: str, *, is_said: bool
) -> None:
    """Ours: ticagrelor beside an injected anticoagulant in its first 8 days."""
    told = [problem("NSTEMI", since=f"{known}T10:00:00+04:00")] if known else []
    chart = [{**order("Ticagrelor 90 mg"), "id": "a"}, {**order(text), "id": "b"}]
    keys = interactions(reviewed(result("Na", "140"), *told, *chart))
    assert ("strong-antiplatelet-with-anticoagulant" in keys) is is_said
    assert ("antiplatelet-with-anticoagulant" in keys) is is_said


@pytest.mark.parametrize(
    ("before", "now", "urgency"), [("2.5", "3.0", R), ("2.6", "3.1", P), ("2.7", "3.1", R), (None, "3.9", R)]
)
def test_warfarin_and_amiodarone_by_an_inr_that_climbs(
    before: str | None, now: str, urgency: Urgency
) -> None:
    """Ours: above 3.0, and 0.5 above an INR of the two weeks before."""
    inrs = (result("INR", now), *((result("INR", before, earlier("3 d")),) if before else ()))
    chart = found("Warfarin 3 mg", "Amiodarone 200 mg", beside=inrs)
    assert chart["warfarin-with-amiodarone"].urgency is urgency


@pytest.mark.parametrize(("began", "urgency"), [("91 d", P), ("93 d", R)])
def test_a_fresh_clot_is_not_treated_beside_an_inducer(began: str, urgency: Urgency) -> None:
    """Label of apixaban, 4.5, from memory; three months are our choice."""
    clot = problem("Deep vein thrombosis", since=earlier(began))
    chart = found("Apixaban 5 mg", "Carbamazepine 200 mg", beside=(clot,))
    assert chart["doac-with-inducer"].urgency is urgency


def test_nobody_asks_for_stomach_protection_in_a_child() -> None:
    """Ours: a few days of both for an attack of asthma or after an operation are usual in a child."""
    chart = [{**order(text), "id": str(at)} for at, text in enumerate(("Ibuprofen", "Prednisolone"))]
    young = patient("2021-03-01")
    told = interactions(answer_of(young, result("Na", "140"), *chart))
    assert "nsaid-with-steroid" not in told


@pytest.mark.parametrize(("rate", "urgency"), [("12", R), ("11", P)])
def test_an_opioid_and_a_gabapentinoid_in_slow_breathing(rate: str, urgency: Urgency) -> None:
    """Ours: at 11 breaths, awake or not."""
    chart = [{**order("Methadone 1 mg/mL"), "id": "a"}, {**order("Pregabalin 300 mg"), "id": "b"}]
    told = interactions(reviewed(result("RR", rate), *chart))
    assert told["opioid-with-gabapentinoid"].urgency is urgency


@pytest.mark.parametrize(
    ("one", "other", "is_said"),
    [
        (("Tildiem LA 200 mg", "200 mg once daily"), ("Adizem-XL 120 mg", "120 mg once daily"), True),
        (("Exforge 5/80", "1 tablet daily"), ("Istin 5 mg", "5 mg once daily"), True),
        (("Lantus 100 units/mL", "20 units at night"), ("Toujeo 300 units/mL", "22 units at night"), True),
        (("Bisoprolol 5 mg", "5 mg once daily"), ("Bisoprolol 2.5 mg", "2.5 mg once daily"), False),
        (("Furosemide 40 mg", "40 mg in the morning"), ("Frusol 20 mg", "20 mg at midday"), False),
        (("Furosemide 40 mg intravenous", "40 mg once daily"), ("Frusol 20 mg", "20 mg once daily"), False),
        (("Losec 20 mg", "20 mg once daily"), ("Omeprazole 40 mg", "40 mg once daily"), False),
        (("Tildiem LA 200 mg", "200 mg once daily"), ("Adizem-XL 120 mg", "120 mg when needed"), False),
    ],
)
def test_one_medicine_by_two_names(one: tuple[str, str], other: tuple[str, str], is_said: bool) -> None:
    """STOPP 2, A3: any duplicate; that it takes another name, one way and one time is our choice."""
    chart = found(
        *(
            {**line(place, text), "dosageInstruction": [{"text": words, "asNeededBoolean": "when" in words}]}
            for place, (text, words) in enumerate((one, other))
        )
    )
    assert ("one-medicine-by-two-names" in chart) is is_said
    assert "same-dose-twice" not in chart


def test_on_long_term_dialysis_no_kidney_is_spared() -> None:
    """Vancomycin with gentamicin treats its peritonitis: "creatinine daily" helps nobody."""
    both = "Vancomycin 1 g intravenous", "Gentamicin 80 mg intravenous"
    assert "aminoglycoside-with-nephrotoxin" in found(*both)
    assert "aminoglycoside-with-nephrotoxin" not in found(*both, beside=(problem("Haemodialysis"),))


@pytest.mark.parametrize(("injured", "is_said"), [(injury(2), False), ([result("Na", "140")], True)])
def test_a_routine_pair_that_a_hold_ends_is_not_told(injured: list[Json], is_said: bool) -> None:
    """Ours: "or another pain relief" beside "consider holding naproxen" said one thing twice."""
    chart = found("Naproxen 250 mg", "Dexamethasone 8 mg", beside=tuple(injured))
    assert ("nsaid-with-steroid" in chart) is is_said
