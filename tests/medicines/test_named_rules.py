"""Problems that forbid a medicine, and results that speak against one, through the real door.

Expected: the publication that each row of `named_rules.toml` and `laboratory_triggers.csv` names; rows
marked "common practice" have no source. How soon each is asked, and that a contra-indication of what must
not end suddenly is reviewed and not held, is our choice.
"""

from typing import Any

import pytest

from tests.medicines.wards import injury, interactions, order, problem, result, reviewed, suggestions
from tests.records import (
    AT,
    Json,
    answer_of,
    asked_for,
    earlier,
    full_set,
    given,
    observation,
    patient,
    quantity,
    stay,
)
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.named_rules import BY_PROBLEM, BY_TRIGGER, NAMED_RULES
from weatherglass.knowledge.medicines.rules.rule import Trigger
from weatherglass.knowledge.sepsis.neutropenic_sepsis import CYTOTOXIC_WORDS
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P, U, E = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT, Urgency.EMERGENCY
_CODES = {
    "neutrophils": ("751-8", "10*9/L"),
    "ALT": ("1742-6", "U/L"),
    "CK": ("2157-6", "U/L"),
    "troponin": ("67151-1", "ng/L"),
    "calcium": ("29265-6", "mmol/L"),
    "QTc": ("8636-3", "ms"),
    "glucose": ("15074-8", "mmol/L"),
    "paracetamol level": ("3298-7", "mg/L"),
}


def value(name: str, number: str, at: str = AT, **rest: Any) -> Json:
    """Return one result of these triggers."""
    if name in ("Mg", "K", "Na"):
        return result(name, number, at)
    code, unit = _CODES[name]
    return observation(
        f"{name}-{at}".replace(":", "").replace("+", "-"),
        code,
        at=at,
        valueQuantity=quantity(number, unit),
        **rest,
    )


def said(*resources: Json, text: str, **rest: Any) -> MedicineFinding | None:
    """Return the suggestion about one medicine, None where nothing is said of it."""
    beside = result("creatinine", "70")
    found = suggestions(reviewed(beside, *resources, {**order(text), "id": "o", **rest}))
    return found.get("o")


#: Problem, medicine, the rule that speaks, what of an order in use.
PROBLEMS = [
    ("Parkinson's disease", "Metoclopramide 10 mg", "parkinsons-dopamine-blocker", "hold"),
    ("Parkinson's disease", "Haloperidol 1 mg", "parkinsons-dopamine-blocker", "hold"),
    # STOPP 2 D6 names both; quetiapine and clozapine are left out.
    ("Dementia with Lewy bodies", "Haloperidol 1 mg", "parkinsons-dopamine-blocker", "hold"),
    ("Acute urinary retention", "Oxybutynin 5 mg", "retention-antimuscarinic", "review"),
    ("Acute urinary retention", "Amitriptyline 25 mg", "retention-antimuscarinic", "review"),
    ("Small bowel obstruction", "Metoclopramide 10 mg", "obstruction-prokinetic", "hold"),
    ("Small bowel obstruction", "Senna 15 mg", "obstruction-laxative", "review"),
    # CAST, N Engl J Med 1991;324:781.
    ("Ischaemic heart disease", "Flecainide 100 mg", "scarred-heart-antiarrhythmic", "hold"),
    ("Heart failure", "Propafenone 150 mg", "scarred-heart-antiarrhythmic", "hold"),
    ("Breastfeeding", "Methyldopa 250 mg", "birth-methyldopa", "review"),
    ("Acute pyelonephritis", "Nitrofurantoin 100 mg", "kidney-infection-nitrofurantoin", "review"),
    ("Hepatic encephalopathy", "Zopiclone 7.5 mg", "encephalopathy-sedative", "review"),
    ("Myasthenia gravis", "Gentamicin 240 mg intravenous", "myasthenia-antibacterial", "review"),
    ("Myasthenia gravis", "Clarithromycin 500 mg", "myasthenia-antibacterial", "review"),
    ("Myasthenia gravis", "Propranolol 40 mg", "myasthenia-others", "review"),
    ("Angioedema", "Ramipril 5 mg", "angioedema-renin", "hold"),
    ("Angio-oedema of the tongue", "Entresto 49 mg/51 mg tablets", "angioedema-renin", "hold"),
    ("Angioedema", "Candesartan 8 mg", "angioedema-receptor-blocker", "review"),
    ("Aortic dissection", "Alteplase 90 mg infusion", "dissection-thrombolytic", "hold"),
    ("Mechanical aortic valve", "Dabigatran 150 mg", "mechanical-valve-doac", "review"),
    ("Antiphospholipid syndrome", "Rivaroxaban 20 mg", "antiphospholipid-doac", "review"),
    ("Asthma", "Propranolol 40 mg", "asthma-beta-blocker", "review"),
    ("Heart failure", "Naproxen 250 mg", "heart-failure-nsaid", "review"),
    ("Heart failure", "Verapamil 80 mg", "heart-failure-rate-limiting", "review"),
    ("Heart failure", "Pioglitazone 30 mg", "heart-failure-glitazone", "hold"),
    ("Heart failure", "Domperidone 10 mg", "heart-failure-domperidone", "review"),
    ("Epilepsy", "Tramadol 50 mg", "epilepsy-threshold", "review"),
    ("Liver cirrhosis", "Ibuprofen 400 mg", "liver-disease-nsaid", "hold"),
    ("Liver cirrhosis", "Methotrexate 10 mg", "liver-disease-methotrexate", "review"),
    ("Drug overdose", "Paracetamol 1 g", "poisoning-paracetamol", "review"),
    ("Staggered paracetamol overdose", "Paracetamol 1 g", "paracetamol-poisoning-paracetamol", "hold"),
    ("Severe aortic stenosis", "Isosorbide mononitrate 60 mg", "aortic-stenosis-nitrate", "review"),
    ("Breastfeeding", "Codeine 30 mg", "breastfeeding-codeine", "review"),
    ("Breast-feeding mother", "Tramadol 50 mg", "breastfeeding-codeine", "review"),
    ("Constipation", "Clozapine 200 mg", "clozapine-constipation", "review"),
    ("Faecal impaction", "Clozapine 200 mg", "clozapine-constipation", "review"),
    ("Paralytic ileus", "Clozapine 200 mg", "clozapine-ileus", "hold"),
    ("Small bowel obstruction", "Clozapine 200 mg", "clozapine-ileus", "hold"),
    ("Asthma", "Timolol 0.5% eye drops", "asthma-eye-beta-blocker", "review"),
    ("Wolff-Parkinson-White syndrome", "Verapamil 80 mg", "pre-excitation-node-blocker", "hold"),
    ("WPW", "Digoxin 250 micrograms", "pre-excitation-node-blocker", "hold"),
    ("Pre-excited atrial fibrillation", "Diltiazem 60 mg", "pre-excitation-node-blocker", "hold"),
    ("Accessory pathway", "Bisoprolol 5 mg", "pre-excitation-others", "review"),
    ("G6PD deficiency", "Rasburicase 12 mg", "g6pd-oxidant", "hold"),
    ("Glucose-6-phosphate dehydrogenase deficiency", "Dapsone 100 mg", "g6pd-oxidant", "hold"),
    ("Favism", "Methylthioninium chloride 50 mg", "g6pd-oxidant", "hold"),
    ("G6PD deficient", "Nitrofurantoin 100 mg", "g6pd-others", "review"),
    ("Acute intermittent porphyria", "Phenobarbital 60 mg", "porphyria-attack", "review"),
    ("Variegate porphyria", "Phenytoin 300 mg", "porphyria-attack", "review"),
    ("Severe pre-eclampsia", "Ergometrine 500 micrograms", "pre-eclampsia-ergometrine", "hold"),
    ("Unsafe swallow", "Oxycodone MR 20 mg", "swallow-whole-form", "review"),
    ("Nasogastric tube in situ", "Aspirin EC 75 mg", "swallow-whole-form", "review"),
    ("Pneumonitis", "Nivolumab 480 mg", "recorded-checkpoint", "hold"),
    ("Diarrhoea", "Ipilimumab 200 mg", "diarrhoea-checkpoint", "hold"),
    ("Haemophilia A", "Ibuprofen 400 mg", "haemophilia-nsaid", "hold"),
    ("Von Willebrand disease", "Apixaban 5 mg", "haemophilia-thinner", "review"),
    ("Dysphagia", "Alendronic acid 70 mg", "swallow-bisphosphonate", "hold"),
    ("Dysphagia", "Pradaxa 110 mg capsules", "swallow-dabigatran", "review"),
    ("Asthma", "Carboprost 250 micrograms", "asthma-carboprost", "hold"),
    ("Deep vein thrombosis", "Rigevidon", "clot-contraceptive", "review"),
    ("Dysphagia", "Adalat LA 30 mg", "swallow-whole-form", "review"),
    ("PEG tube", "Co-careldopa 25/100", "swallow-time-critical", "review"),
    ("Acute pulmonary oedema", "Sodium chloride 0.9% 1 L", "overload-fluid", "hold"),
    ("Eclampsia", "Cabergoline 250 micrograms", "pre-eclampsia-prolactin", "hold"),
    ("Decompensated heart failure", "Hartmann's solution 1 L", "overload-fluid", "hold"),
    ("Fluid overload", "Plasma-Lyte 148 500 mL", "overload-fluid", "hold"),
    ("Overdose of amitriptyline", "Flecainide 100 mg", "tricyclic-poisoning", "hold"),
    ("Tricyclic antidepressant overdose", "Amitriptyline 50 mg", "tricyclic-poisoning", "hold"),
    ("Methaemoglobinaemia", "Dapsone 100 mg", "methaemoglobin-oxidant", "hold"),
    ("Hyperviscosity syndrome", "Red cells 2 units", "viscosity-red-cells", "review"),
    ("Thrombotic thrombocytopenic purpura", "Platelets 1 unit", "microangiopathy-platelets", "hold"),
    ("Generalised seizure", "Tramadol 50 mg", "seizure-threshold", "hold"),
    ("Breastfeeding", "Amiodarone 200 mg", "breastfeeding-others", "review"),
    ("Chickenpox", "Ibuprofen 200 mg", "chickenpox-nsaid", "review"),
    ("Maculopapular rash", "Lamotrigine 50 mg", "rash-new-medicine", "review"),
    ("C. difficile infection", "Loperamide 2 mg", "c-difficile-motility", "hold"),
    ("Pseudomembranous colitis", "Cefuroxime 750 mg IV", "c-difficile-antibacterial", "review"),
    ("Clostridioides difficile infection", "Omeprazole 20 mg", "c-difficile-acid-blocker", "review"),
    # BAP 2023, from memory: lorazepam comes first.
    ("Catatonia", "Haloperidol 5 mg", "catatonia-dopamine-blocker", "review"),
]
#: What is given instead, or acts only where it is put.
NO_HARM = [
    ("Dementia with Lewy bodies", "Quetiapine 25 mg"),
    ("Dementia", "Haloperidol 0.5 mg"),
    ("Urinary tract infection", "Nitrofurantoin 100 mg"),
    ("Hydronephrosis", "Oxybutynin 5 mg"),
    ("Constipation", "Senna 15 mg"),
    ("Nappy rash", "Lamotrigine 50 mg"),
    ("Chickenpox contact", "Ibuprofen 200 mg"),
    ("Rash", "Amlodipine 5 mg"),
    ("C. difficile infection", "Fidaxomicin 200 mg"),
    ("C. difficile infection", "Vancomycin 125 mg capsules"),
    ("Mild aortic stenosis", "Isosorbide mononitrate 60 mg"),
    ("Angioedema", "Amlodipine 5 mg"),
    ("Severe aortic stenosis", "Amlodipine 5 mg"),
    ("Parkinson's disease", "Domperidone 10 mg"),
    ("Parkinson's disease", "Quetiapine 25 mg"),
    ("Constipation", "Quetiapine 25 mg"),
    ("Breastfeeding", "Morphine 10 mg"),
    ("Parkinson's disease", "Ondansetron 4 mg"),
    ("Myasthenia gravis", "Amoxicillin 500 mg"),
    ("Mechanical aortic valve", "Warfarin 3 mg"),
    ("Asthma", "Bisoprolol 2.5 mg"),
    ("Wolff-Parkinson-White syndrome", "Flecainide 100 mg"),
    ("Porphyria cutanea tarda", "Phenobarbital 60 mg"),
    ("G6PD deficiency", "Amoxicillin 500 mg"),
    ("Normal delivery", "Ergometrine 500 micrograms"),
    ("Dysphagia", "Paracetamol 1 g"),
    ("Dysphagia", "Zomorph 10 mg capsules"),
    ("Dysphagia", "Zoladex LA 10.8 mg implant"),
    ("Pulmonary embolism", "Desogestrel 75 micrograms"),
    ("Ischaemic stroke", "Apixaban 5 mg"),
    ("Pulmonary embolism", "Tranexamic acid 1 g"),
    ("C. difficile infection", "Laxido"),
    ("Transient ischaemic attack", "Apixaban 5 mg"),
    ("Dysphagia", "Leuprorelin prolonged-release injection"),
    ("Heart failure", "Ibuprofen 5% gel"),
    ("Heart failure", "Amlodipine 5 mg"),
    ("Heart failure", "Sodium chloride 0.9% 1 L"),
    ("Fluid overload", "Sodium chloride 0.9% flush 10 mL"),
    ("Fluid overload", "Sodium chloride 0.9% nebules"),
    ("Fluid overload", "Furosemide 240 mg in sodium chloride 0.9% 50 mL"),
    ("Overdose of sertraline", "Flecainide 100 mg"),
    ("Urinary retention", "Tamsulosin 400 micrograms"),
    ("Metabolic encephalopathy", "Furosemide 40 mg"),
    ("Immune thrombocytopenic purpura", "Platelets 1 unit"),
    ("Liver cirrhosis", "Terlipressin 2 mg"),
    ("Catatonia", "Lorazepam 2 mg"),
]


@pytest.mark.parametrize(("begun", "is_asked"), [("56 d", True), ("57 d", False)])
def test_a_rash_counts_in_the_first_weeks_of_a_medicine(begun: str, is_asked: bool) -> None:
    """Label of lamotrigine: eight weeks."""
    found = said(problem("Rash", since=earlier("1 d")), text="Lamotrigine 50 mg", authoredOn=earlier(begun))
    assert (found is not None) is is_asked


class TestProblems:
    @pytest.mark.parametrize(("recorded", "text", "key", "action"), PROBLEMS)
    def test_what_it_forbids(self, recorded: str, text: str, key: str, action: str) -> None:
        rule = next(each.rule for each in NAMED_RULES if each.key == key)
        finding = said(problem(recorded), text=text)
        assert finding is not None
        (reason,) = [each for each in finding.reasons if each.rule == key]
        assert (reason.action, reason.why, reason.source) == (action, rule.reason, rule.sources[0])
        assert "on record" in reason.trigger

    def test_every_problem_is_tried(self) -> None:
        elsewhere = {
            "heart-failure-fluid",
            "overload-fluid-in-shock",
            "terlipressin-breathless",
            "encephalopathy-diuretic",
            "newborn-ceftriaxone",
            "stroke-anticoagulant",
            "clot-tranexamic",
            "c-difficile-laxative",
            "heart-block-slowed",
        }
        assert {key for _, _, key, _ in PROBLEMS} | elsewhere == {each.key for each in BY_PROBLEM}

    @pytest.mark.parametrize(
        ("recorded", "signs", "key", "action", "urgency"),
        [
            ("Pulmonary oedema", {"spo2": "88 %"}, "overload-fluid", "hold", U),
            ("Pulmonary oedema", {"systolic_pressure": "84 mm[Hg]"}, "overload-fluid-in-shock", "review", U),
            ("Heart failure", {"spo2": "88 %"}, "heart-failure-fluid", "review", P),
            ("Heart failure", {"spo2": "97 %"}, None, "", None),
            ("Asthma", {"spo2": "88 %"}, None, "", None),
        ],
    )
    def test_fluid_where_the_heart_cannot_carry_it(
        self, recorded: str, signs: dict[str, str], key: str | None, action: str, urgency: Urgency | None
    ) -> None:
        """Common practice, no source: it stops in overload, and in shock a senior decides."""
        finding = said(problem(recorded), *full_set(**signs), text="Sodium chloride 0.9% 1 L")
        found = {each.rule: each.action for each in finding.reasons} if finding is not None else {}
        assert found == ({key: action} if key is not None else {})
        if finding is not None:
            assert finding.urgency is urgency

    @pytest.mark.parametrize(("saturation", "urgency"), [("89 %", U), ("97 %", None)])
    def test_terlipressin_where_breathing_fails(self, saturation: str, urgency: Urgency | None) -> None:
        """MHRA, March 2023: respiratory failure in hepatorenal syndrome; beside varices too is our choice."""
        finding = said(problem("Liver cirrhosis"), *full_set(spo2=saturation), text="Terlipressin 2 mg")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(
        ("temperature", "text", "is_said"),
        [
            ("39.0 Cel", "Fentanyl 50 micrograms/hour patch", True),
            ("38.9 Cel", "Fentanyl 50 micrograms/hour patch", False),
            ("39.4 Cel", "Buprenorphine 20 micrograms/hour patch", True),
            ("39.4 Cel", "Oxycodone 10 mg", False),
        ],
    )
    def test_a_patch_in_fever(self, temperature: str, text: str, is_said: bool) -> None:
        """Label 4.4 (secondary), MHRA 2008: heat makes a patch give more. From 39.0 on is our choice."""
        finding = said(*full_set(temperature=temperature), text=text)
        rules = {each.rule for each in finding.reasons} if finding is not None else set()
        assert ("fever-opioid-patch" in rules) is is_said

    @pytest.mark.parametrize(
        ("recorded", "text", "began", "action"),
        [
            ("Ischaemic stroke", "Apixaban 5 mg", "4 d", "review"),
            ("Ischaemic stroke", "Apixaban 5 mg", "5 d", None),
            ("Ischaemic stroke", "Dalteparin 5000 units once daily", "1 d", None),
            ("Transient ischaemic attack", "Apixaban 5 mg", "1 d", None),
            ("C. difficile infection", "Laxido", "28 d", "hold"),
            ("C. difficile infection", "Laxido", "29 d", None),
            ("Pulmonary embolism", "Tranexamic acid 1 g", "92 d", "hold"),
            ("Pulmonary embolism", "Tranexamic acid 1 g", "93 d", None),
        ],
    )
    def test_what_is_known_to_be_fresh(
        self, recorded: str, text: str, began: str, action: str | None
    ) -> None:
        """Common practice, no source; the days are our choice. One without a date may be of years ago."""
        finding = said(problem(recorded, since=earlier(began)), text=text)
        assert (finding.action if finding is not None else None) == action
        if action is not None:
            draft = said(problem(recorded, since=earlier(began)), text=text, status="draft")
            assert draft is not None
            assert draft.action == "avoid"

    @pytest.mark.parametrize(
        ("mind", "rate", "text", "is_said"),
        [
            ("voice", "29", "Morphine 10 mg", True),
            ("new-confusion", "29", "Pregabalin 75 mg", True),
            ("voice", "30", "Morphine 10 mg", False),
            ("alert", "29", "Morphine 10 mg", False),
            ("voice", "29", "Fentanyl 50 micrograms/hour patch", False),
        ],
    )
    def test_what_these_kidneys_do_not_clear_waits_for_a_clear_mind(
        self, mind: str, rate: str, text: str, is_said: bool
    ) -> None:
        """NHS Specialist Pharmacy Service, opioids in renal impairment; held and urgent is our choice."""
        kidneys = result("eGFR", rate)
        finding = said(kidneys, *full_set(consciousness=mind), text=text)
        rules = {each.rule for each in finding.reasons} if finding is not None else set()
        assert ("drowsy-and-not-cleared" in rules) is is_said
        if is_said and finding is not None:
            assert (finding.action, finding.urgency) == ("hold", U)

    @pytest.mark.parametrize(
        ("systolic", "urgency"), [("98 mm[Hg]", P), ("84 mm[Hg]", U), ("124 mm[Hg]", None)]
    )
    def test_nimodipine_is_split_before_it_is_held(self, systolic: str, urgency: Urgency | None) -> None:
        """Common practice, no source: it was held at 98 as an antihypertensive."""
        finding = said(*full_set(systolic_pressure=systolic), text="Nimodipine 60 mg")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(("potassium", "is_held"), [("2.9", True), ("3.0", False)])
    def test_a_loop_diuretic_in_liver_disease(self, potassium: str, is_held: bool) -> None:
        """EASL 2018, from memory: furosemide stops below a potassium of 3, any diuretic in encephalopathy."""
        ill = said(problem("Liver cirrhosis"), result("K", potassium), text="Furosemide 40 mg")
        well = said(result("K", potassium), text="Furosemide 40 mg")
        assert (ill is not None and ill.action == "hold") is is_held
        assert well is None or well.action == "review"
        confused = said(problem("Hepatic encephalopathy"), text="Spironolactone 100 mg")
        assert (confused is not None and confused.action == "hold") is True

    @pytest.mark.parametrize(("days", "is_said"), [("6 d", True), ("8 d", False), (None, True)])
    def test_an_overdose_of_old_holds_nothing(self, days: str | None, is_said: bool) -> None:
        """Ours: paracetamol was held for an overdose of last year."""
        old = problem("Paracetamol overdose", since=earlier(days) if days else None)
        assert (said(old, text="Paracetamol 1 g") is not None) is is_said

    @pytest.mark.parametrize(("inr", "is_held"), [("5.0", True), ("8.1", True), ("4.9", False)])
    def test_nothing_more_against_clots_at_a_high_inr(self, inr: str, is_held: bool) -> None:
        """Common practice, no source: bridging ends once the INR is in range, and well above it at once."""
        finding = said(result("INR", inr), text="Enoxaparin 80 mg injection")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("hold", U) if is_held else None
        )

    @pytest.mark.parametrize(
        ("beside", "action"),
        [
            (result("K", "2.9"), "hold"),
            (result("K", "3.6"), None),
            (result("eGFR", "29"), "hold"),
            (result("eGFR", "31"), None),
        ],
    )
    def test_acetazolamide(self, beside: Json, action: str | None) -> None:
        """Common practice, no source: not with poor kidneys, an acidosis or a low potassium."""
        found = suggestions(reviewed(beside, {**order("Diamox 250 mg"), "id": "o"})).get("o")
        assert (found.action if found is not None else None) == action

    @pytest.mark.parametrize(
        ("enzyme", "text", "urgency"),
        [
            ("1999", "Haloperidol 5 mg", None),
            ("2000", "Haloperidol 5 mg", P),
            ("5000", "Metoclopramide 10 mg", U),
            ("5000", "Quetiapine 25 mg", None),
        ],
    )
    def test_what_blocks_dopamine_with_a_raised_creatine_kinase(
        self, enzyme: str, text: str, urgency: Urgency | None
    ) -> None:
        """Common practice, no source: it may be the neuroleptic malignant syndrome."""
        raised = observation("ck", "2157-6", valueQuantity=quantity(enzyme, "U/L"))
        finding = said(raised, text=text)
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(
        ("calcium", "text", "urgency"),
        [
            ("2.10", "Denosumab 60 mg", None),
            ("2.09", "Denosumab 60 mg", P),
            ("1.89", "Denosumab 60 mg", U),
            ("2.05", "Zoledronic acid 4 mg", P),
            ("1.89", "Calcium carbonate 1.25 g", None),
        ],
    )
    def test_nothing_that_lowers_a_low_calcium(
        self, calcium: str, text: str, urgency: Urgency | None
    ) -> None:
        """Label of denosumab, boxed warning; below 2.1 is our choice."""
        low = observation("ca", "29265-6", valueQuantity=quantity(calcium, "mmol/L"))
        finding = said(low, text=text)
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("hold", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(
        ("recorded", "text", "action", "urgency"),
        [
            ("Acute ischaemic stroke", "Aspirin 300 mg", "hold", U),
            (None, "Aspirin 300 mg", "review", U),
            ("Massive pulmonary embolism", "Heparin 25,000 units infusion", "review", P),
        ],
    )
    def test_after_thrombolysis_by_what_it_was_for(
        self, recorded: str | None, text: str, action: str, urgency: Urgency
    ) -> None:
        """Common practice, no source: of a stroke nothing against clotting for 24 hours, else it is asked."""
        alteplase = given("Alteplase 60 mg", earlier("8 h"), id="g")
        because = (problem(recorded, since=earlier("10 h")),) if recorded is not None else ()
        finding = said(alteplase, *because, text=text)
        assert finding is not None
        assert (finding.action, finding.urgency) == (action, urgency)

    @pytest.mark.parametrize(("glucose", "is_said"), [("3.9", True), ("4.0", False)])
    def test_a_quinolone_beside_a_low_glucose(self, glucose: str, is_said: bool) -> None:
        """Murad 2009: quinolones are among the medicines most reported with hypoglycaemia."""
        finding = said(result("glucose", glucose), text="Ciprofloxacin 500 mg")
        assert (finding is not None) is is_said

    def test_no_drop_in_an_attack_of_asthma(self) -> None:
        finding = said(problem("Acute asthma exacerbation"), text="Timolol 0.5% eye drops")
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", U)

    @pytest.mark.parametrize(("stage", "urgency"), [(1, None), (2, P), (3, P)])
    def test_enoxaparin_in_an_injury(self, stage: int, urgency: Urgency | None) -> None:
        """Label 4.2 and 4.4: below a clearance of 30, as stages 2 and 3 count, less of it."""
        found = suggestions(reviewed(*injury(stage), {**order("Enoxaparin 80 mg injection"), "id": "o"}))["o"]
        is_less = "injury-enoxaparin" in {each.rule for each in found.reasons}
        assert is_less is (urgency is not None)
        assert found.action == ("reduce" if is_less else "review")

    def test_what_runs_in_overload_is_stopped_or_paused(self) -> None:
        running = given("Sodium chloride 0.9% 1000 mL", earlier("1 h"), status="in-progress")
        (found,) = suggestions(reviewed(problem("Acute pulmonary oedema"), running)).values()
        assert "stopping or pausing" in found.sentence

    @pytest.mark.parametrize(("recorded", "text"), NO_HARM)
    def test_what_it_does_not(self, recorded: str, text: str) -> None:
        finding = said(problem(recorded), text=text)
        keys = {each.rule for each in finding.reasons} if finding is not None else set()
        assert not keys & {each.key for each in BY_PROBLEM}

    @pytest.mark.parametrize(("_", "text", "key", "__"), PROBLEMS)
    def test_without_the_problem_it_is_silent(self, _: str, text: str, key: str, __: str) -> None:
        finding = said(text=text)
        assert finding is None or key not in {each.rule for each in finding.reasons}

    @pytest.mark.parametrize(
        ("recorded", "action", "urgency"),
        [
            ("Paracetamol overdose", "hold", U),
            ("Intentional overdose of 40 paracetamol tablets", "hold", U),
            ("Acetaminophen toxicity", "hold", U),
            ("Overdose of sertraline", "review", P),
            ("Paracetamol for pain. Lithium toxicity", "review", P),
        ],
    )
    def test_paracetamol_waits_after_an_overdose_of_it(
        self, recorded: str, action: str, urgency: Urgency
    ) -> None:
        """Common practice, no source; after an overdose of something else its level is asked for first."""
        finding = said(problem(recorded), text="Paracetamol 1 g")
        assert finding is not None
        assert (finding.action, finding.urgency) == (action, urgency)

    def test_before_the_signature_it_is_avoided(self) -> None:
        for recorded, text, _, _ in PROBLEMS:
            finding = said(problem(recorded), text=text, status="draft")
            assert finding is not None
            if text.startswith(("Methotrexate", "Co-careldopa")):
                continue
            assert finding.action == "avoid", text

    def test_a_lasting_problem_counts_although_inactive(self) -> None:
        assert said(problem("Parkinson's disease", status="inactive"), text="Metoclopramide 10 mg")

    def test_a_valve_is_urgent_and_never_left_uncovered(self) -> None:
        finding = said(problem("Mechanical mitral valve"), text="Apixaban 5 mg")
        assert finding is not None
        assert finding.urgency is U
        assert "Not left without cover" in finding.reasons[0].why

    def test_said_once_beside_levodopa(self) -> None:
        """The pair is for a chart without the problem on its list."""
        chart = [{**order("Co-careldopa 25/100"), "id": "a"}, {**order("Metoclopramide 10 mg"), "id": "b"}]
        with_problem = reviewed(result("Na", "140"), problem("Parkinson's disease"), *chart)
        without = reviewed(result("Na", "140"), *chart)
        assert "dopamine-with-blocker" not in interactions(with_problem)
        assert "dopamine-with-blocker" in interactions(without)
        assert suggestions(with_problem)["b"].action == "hold"


#: Result, value, medicine, the action and how soon; None where it is silent. Both ends of each limit.
RESULTS = [
    # Amber (common practice): said by the red count below 1.5 alone.
    ("neutrophils", "2.0", "Clozapine 100 mg", None, None),
    ("neutrophils", "1.99", "Clozapine 100 mg", "monitor", R),
    ("neutrophils", "1.5", "Clozapine 100 mg", "monitor", R),
    ("neutrophils", "1.9", "Carbimazole 20 mg", None, None),
    ("neutrophils", "1.49", "Clozapine 100 mg", "hold", U),
    ("neutrophils", "0.5", "Carbimazole 20 mg", "hold", P),
    ("neutrophils", "0.49", "Carbimazole 20 mg", "hold", U),
    ("neutrophils", "0.3", "Capecitabine 1.5 g", "hold", U),
    ("neutrophils", "1.2", "Methotrexate 10 mg", "hold", P),
    ("neutrophils", "1.2", "Leflunomide 20 mg", "hold", P),
    ("neutrophils", "0.3", "Azathioprine 50 mg", "hold", U),
    # An antibacterial is a suspected infection, and with this count neutropenic sepsis.
    ("neutrophils", "0.3", "Co-trimoxazole 960 mg", "review", P),
    ("ALT", "199", "Simvastatin 20 mg", None, None),
    ("ALT", "200", "Simvastatin 20 mg", "hold", P),
    ("ALT", "1000", "Simvastatin 20 mg", "hold", U),
    ("ALT", "300", "Paracetamol 1 g", "review", P),
    ("ALT", "3000", "Co-codamol 30/500", "review", U),
    ("ALT", "300", "Isoniazid 300 mg", "hold", P),
    ("ALT", "300", "Methotrexate 10 mg", "hold", P),
    ("ALT", "300", "Amiodarone 200 mg", "review", R),
    # ASCO 2021 (J Clin Oncol 39:4073), secondary: held above three times the upper limit.
    ("ALT", "119", "Nivolumab 480 mg", None, None),
    ("ALT", "120", "Nivolumab 480 mg", "hold", P),
    ("troponin", "49", "Pembrolizumab 200 mg", None, None),
    ("troponin", "50", "Pembrolizumab 200 mg", "hold", P),
    ("CK", "2000", "Keytruda 200 mg", "hold", P),
    ("neutrophils", "1.2", "Nivolumab 480 mg", "hold", P),
    ("CK", "1999", "Atorvastatin 20 mg", None, None),
    ("CK", "2000", "Atorvastatin 20 mg", "hold", P),
    ("CK", "5000", "Fenofibrate 160 mg", "hold", U),
    ("calcium", "2.99", "Adcal-D3", None, None),
    ("calcium", "3.0", "Adcal-D3", "hold", P),
    ("calcium", "3.0", "Bendroflumethiazide 2.5 mg", "hold", P),
    ("calcium", "3.51", "Indapamide 2.5 mg", "hold", U),
    ("calcium", "3.2", "Priadel 400 mg", "measure level", P),
    ("calcium", "3.2", "Digoxin 125 micrograms", "measure level", P),
    ("Mg", "1.49", "Magnesium hydroxide mixture", None, None),
    ("Mg", "1.5", "Magnesium hydroxide mixture", "hold", P),
    ("Mg", "3.5", "Magnesium sulfate 1 g/hour infusion", "hold", U),
    ("Mg", "5.0", "Magnesium sulfate 1 g/hour infusion", "hold", E),
    ("QTc", "499", "Haloperidol 1 mg", None, None),
    ("QTc", "500", "Haloperidol 1 mg", "review", U),
    ("QTc", "540", "Ondansetron 4 mg", "review", U),
    ("K", "5.0", "Sando-K", None, None),
    ("K", "5.1", "Sando-K", "review", R),
    ("K", "2.9", "Clarithromycin 500 mg", "hold", P),
    ("K", "2.9", "Ondansetron 4 mg", "review", R),
    ("Mg", "0.6", "Erythromycin 250 mg tablets", "hold", P),
    ("Na", "130", "Indapamide 2.5 mg", None, None),
    ("Na", "129", "Indapamide 2.5 mg", "review", R),
    ("Na", "126", "Sertraline 50 mg", "review", R),
    ("Na", "130", "Mirtazapine 30 mg", None, None),
    ("Na", "129", "Mirtazapine 30 mg", "review", R),
    ("Na", "129", "Furosemide 40 mg", "review", R),
    ("Na", "129", "Glucose 5% infusion 1 L", "review", P),
    ("Na", "129", "Glucose 40% gel", None, None),
    ("Na", "124", "Mirtazapine 30 mg", "review", R),
    ("Na", "124", "Glucose 5% infusion 1 L", "hold", U),
    ("Na", "125", "Glucose 5% 1 L", "review", P),
    ("Na", "130", "Glucose 5% 1 L", None, None),
    ("Na", "124", "Sodium chloride 0.18% / glucose 4% 1 L", "hold", U),
    ("Na", "124", "Glucose 4 % and sodium chloride 0.18 %", "hold", U),
    ("Na", "124", "Sodium chloride 0.45% 1 L", "hold", U),
    ("Na", "124", "Dextrose saline 1 L", "hold", U),
    ("Na", "124", "5% dextrose 500 mL", "hold", U),
    ("Na", "124", "Dextrose 5% in water 1 L", "hold", U),
    ("Na", "124", "Glucose 5% + potassium chloride 20 mmol 1 L", "hold", U),
    ("Na", "124", "Potassium chloride 0.3% in glucose 5% 1 L", "hold", U),
    ("Na", "124", "Sodium chloride 0.9% 1 L", None, None),
    ("Na", "124", "Glucose 5% and sodium chloride 0.9% 1 L", None, None),
    ("Na", "124", "Sodium chloride 0.9% and glucose 5% 1 L", None, None),
    ("Na", "124", "Glucose 10% 500 mL infusion", None, None),
    ("Na", "124", "Glucose 50% 50 mL", None, None),
    ("Na", "124", "Glucose 5% oral solution", None, None),
    ("Na", "124", "Aminophylline 500 mg in glucose 5% 500 mL", None, None),
    # Ours: from 15 mmol/L a steroid that is swallowed or injected is named.
    ("glucose", "14.9", "Prednisolone 30 mg", None, None),
    ("glucose", "15.0", "Prednisolone 30 mg", "monitor", R),
    ("glucose", "18.0", "Beclometasone inhaler", None, None),
    # Common practice, no source: saline is no treatment of a high sodium, water is.
    ("Na", "150", "Sodium chloride 0.9% 1 L", None, None),
    ("Na", "151", "Sodium chloride 0.9% 1 L", "review", P),
    ("Na", "160", "Sodium chloride 0.45% and glucose 5% 1 L", None, None),
    ("Na", "160", "Sodium chloride 0.9% flush", None, None),
    ("K", "3.5", "Insulin soluble human 50 units in 50 mL infusion", None, None),
    ("K", "3.4", "Insulin soluble human 50 units in 50 mL infusion", "review", U),
    ("K", "2.9", "Insulin soluble human 50 units in 50 mL infusion", "review", U),
    ("K", "3.4", "Lantus 20 units", None, None),
    ("K", "3.5", "Digoxin 125 micrograms", None, None),
    ("K", "3.4", "Digoxin 125 micrograms", "review", R),
    ("K", "3.0", "Sotalol 80 mg", "review", R),
    ("paracetamol level", "99", "Paracetamol 1 g", None, None),
    ("paracetamol level", "100", "Paracetamol 1 g", "hold", U),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "dose", "beside", "since", "is_said"),
    [
        ("MST 30 mg", "30 mg twice daily", "Paracetamol 1 g", "24 h", True),
        ("MST 30 mg", "30 mg twice daily", "Paracetamol 1 g", "23 h", False),
        ("MST 30 mg", "30 mg twice daily", "Laxido", "48 h", False),
        ("MST 30 mg", "30 mg twice daily", "Laxido Orange", "48 h", False),
        ("MST 30 mg", "as directed", "Paracetamol 1 g", "48 h", False),
        ("Oramorph", "10 mg 4 hourly when needed", "Paracetamol 1 g", "48 h", False),
        ("Morphine 10 mg intravenous", "5 mg 4 hourly", "Paracetamol 1 g", "48 h", False),
        ("Targinact 10 mg/5 mg", "1 tablet twice daily", "Paracetamol 1 g", "48 h", False),
        ("Codeine 30 mg tablets", "30 mg four times daily", "Paracetamol 1 g", "48 h", True),
    ],
)
def test_a_regular_opioid_without_a_laxative(
    text: str, dose: str, beside: str, since: str, is_said: bool
) -> None:
    """STOPP version 2, L2, secondary: regular, not when needed; from the first day on is our choice."""
    other = {**order(beside), "id": "b"}
    finding = said(other, text=text, authoredOn=earlier(since), dosageInstruction=[{"text": dose}])
    rules = {each.rule: each.action for each in finding.reasons} if finding is not None else {}
    assert ("opioid-without-laxative" in rules) is is_said
    if is_said and finding is not None:
        assert finding.urgency is R


class TestFluidLoss:
    LOSS = problem("Vomiting", since="2026-02-28")

    @pytest.mark.parametrize(
        "text", ["Ibuprofen 400 mg", "Furosemide 40 mg", "Spironolactone 25 mg", "Metformin 500 mg"]
    )
    def test_what_is_paused(self, text: str) -> None:
        """NHS SPS (spironolactone); the others are common practice, no source."""
        finding = said(self.LOSS, text=text)
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", P)
        assert said(text=text) is None

    def test_a_diuretic_in_overload_goes_on(self) -> None:
        assert said(self.LOSS, problem("Fluid overload", since="2026-02-28"), text="Furosemide 40 mg") is None


class TestCancer:
    """Common practice, no source."""

    @pytest.mark.parametrize(
        ("recorded", "asks"),
        [("Acute lymphoblastic leukaemia", "oncology"), ("Psoriasis", "folinic acid is asked")],
    )
    def test_folinic_acid_is_not_pushed_in_leukaemia(self, recorded: str, asks: str) -> None:
        """Few neutrophils on methotrexate poison in psoriasis, and treat in leukaemia."""
        finding = said(problem(recorded), value("neutrophils", "1.2"), text="Methotrexate 20 mg")
        assert finding is not None
        assert asks in " ".join(each.why for each in finding.reasons)


def test_a_high_dose_of_methotrexate_that_is_not_cleared() -> None:
    """Common practice: a level and folinic acid by it; which day of the week it is due asks nobody then."""
    line = {**order("Methotrexate 12 g intravenous infusion"), "id": "o"}
    finding = suggestions(reviewed(*injury(2), line))["o"]
    assert finding.action == "hold"
    assert "glucarpidase" in finding.reasons[0].why
    assert "day of the week" not in " ".join(finding.cautions)


class TestResults:
    @pytest.mark.parametrize(("name", "number", "text", "action", "urgency"), RESULTS)
    def test_both_ends(
        self, name: str, number: str, text: str, action: str | None, urgency: Urgency | None
    ) -> None:
        finding = said(value(name, number), text=text)
        keys = {each.key for each in NAMED_RULES}
        reasons = [each for each in finding.reasons if each.rule in keys] if finding is not None else []
        assert [each.action for each in reasons] == ([action] if action is not None else [])
        if finding is not None and action is not None:
            assert (finding.action, finding.urgency) == (action, urgency)

    @pytest.mark.parametrize(("glucose", "is_said"), [("3.8", False), ("6.0", True), (None, True)])
    def test_water_that_treats_a_low_glucose(self, glucose: str | None, is_said: bool) -> None:
        measured = [result("glucose", glucose)] if glucose else []
        assert bool(said(value("Na", "124"), *measured, text="Glucose 5% 1 L")) is is_said

    def test_the_range_of_the_laboratory_comes_first(self) -> None:
        """Five times an upper limit of 30 is 150, and of 60 is 300."""
        ranges = {high: [{"high": quantity(high, "U/L")}] for high in ("30", "60")}
        for high, number, is_said in (("30", "149", 0), ("30", "150", 1), ("60", "299", 0), ("60", "300", 1)):
            finding = said(value("ALT", number, referenceRange=ranges[high]), text="Simvastatin 20 mg")
            assert bool(finding) is bool(is_said), (high, number)

    def test_neutropenic_sepsis_makes_it_an_emergency(self) -> None:
        fever = observation("t", "8310-5", valueQuantity=quantity("38.6", "Cel"))
        finding = said(value("neutrophils", "0.3"), fever, text="Clozapine 100 mg")
        assert finding is not None
        assert finding.urgency is E

    def test_an_old_result_says_nothing(self) -> None:
        assert said(value("CK", "9000", "2026-02-01T09:00:00+04:00"), text="Atorvastatin 20 mg") is None

    def test_magnesium_by_vein_in_slow_breathing(self) -> None:
        running = said(result("RR", "8"), text="Magnesium sulfate 1 g/hour infusion")
        by_mouth = said(result("RR", "8"), text="Magnesium aspartate 10 mmol sachets oral")
        assert running is not None
        assert (running.action, running.urgency) == ("hold", E)
        assert any("Calcium gluconate" in each for each in running.cautions)
        assert by_mouth is None

    @pytest.mark.parametrize(("number", "action"), [("3.4", None), ("3.5", "hold")])
    def test_magnesium_that_is_meant(self, number: str, action: str | None) -> None:
        """In pre-eclampsia 2 to 3.5 mmol/L is aimed at: 2.1 was "consider stopping"."""
        ill = problem("Severe pre-eclampsia")
        finding = said(value("Mg", number), ill, text="Magnesium sulfate 1 g/hour infusion")
        assert (finding.action if finding is not None else None) == action

    def test_an_attack_of_asthma(self) -> None:
        attack = problem("Acute severe asthma", since="2026-02-28")
        finding = said(attack, text="Bisoprolol 5 mg")
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", U)
        assert said(problem("Asthma", since="2010-01-01"), text="Bisoprolol 5 mg") is None

    def test_a_very_long_qt_is_a_finding_by_itself(self) -> None:
        for number, is_said in (("499", False), ("500", True)):
            (review,) = reviewed(value("QTc", number)).reviews
            found = [f for f in review.findings if f.kind is Kind.CRITICAL_RESULT and f.urgency is U]
            assert bool(found) is is_said

    def test_results_alone_make_nobody_acutely_ill(self) -> None:
        """They raise no general trigger: levodopa of somebody with a raised ALT is not urged."""
        assert said(value("ALT", "400"), text="Co-careldopa 25/100") is None


class TestMedicinesForCancer:
    """Rows marked "common practice" have no source; NICE CG151 names suspected neutropenic sepsis."""

    ILL = (*full_set(pulse="125 /min", respiration_rate="26 /min", spo2="91 %"), problem("Pneumonia"))

    @pytest.mark.parametrize("name", ["Docetaxel 140 mg infusion", "Melphalan 2 mg", "Venetoclax 100 mg"])
    def test_infection_holds_what_stops_the_marrow(self, name: str) -> None:
        """In serious illness with infection, urgently, with oncology; in a well patient it is only listed."""
        found = said(*self.ILL, text=name)
        assert found is not None
        assert found.action == "hold"
        assert found.urgency >= Urgency.URGENT
        assert "oncology" in found.sentence + " ".join(reason.why for reason in found.reasons)
        well = said(text=name)
        assert well is None or well.action == "not reviewed"

    @pytest.mark.parametrize(
        ("name", "is_held"),
        [("Cisplatin 100 mg", True), ("Capecitabine 500 mg tablets", True), ("Docetaxel 140 mg", False)],
    )
    def test_kidney_injury_holds_what_the_kidney_clears(self, name: str, *, is_held: bool) -> None:
        """And leaves the others alone."""
        found = suggestions(reviewed(*injury(1), {**order(name), "id": "o"})).get("o")
        assert (found is not None and found.action == "hold") is is_held

    def test_what_counts_as_chemotherapy_is_held_in_neutropenia(self) -> None:
        """Each word by which chemotherapy is recognised names a medicine of the group."""
        assert members_of(["cytotoxic"]).names >= CYTOTOXIC_WORDS


#: What a pregnancy forbids, the rule that speaks, its action and how soon.
IN_PREGNANCY = [
    ("Sodium valproate 500 mg MR tablets", "pregnancy-valproate", "review", U),
    ("Topiramate 50 mg", "pregnancy-topiramate", "review", P),
    ("Ramipril 5 mg", "pregnancy-renin-angiotensin", "hold", P),
    ("Entresto 49/51 mg", "pregnancy-renin-angiotensin", "hold", P),
    ("Methotrexate 10 mg", "pregnancy-methotrexate", "hold", U),
    ("Isotretinoin 20 mg", "pregnancy-teratogen", "hold", U),
    ("Mycophenolate mofetil 500 mg", "pregnancy-teratogen-with-its-team", "review", U),
    ("Ibuprofen 400 mg", "pregnancy-nsaid", "review", P),
    ("Warfarin 3 mg", "pregnancy-vitamin-k-antagonist", "review", P),
    ("Apixaban 5 mg", "pregnancy-doac", "review", P),
    ("Doxycycline 100 mg", "pregnancy-tetracycline", "review", P),
    ("Atorvastatin 20 mg", "pregnancy-others", "review", R),
    ("Trimethoprim 200 mg", "pregnancy-trimethoprim", "review", P),
    ("Fluconazole 150 mg", "pregnancy-azole", "review", P),
]
_MOTHER = {**patient("1994-05-01"), "gender": "female"}
_PREGNANCY = problem("Pregnancy, 22 weeks")


class TestPregnancy:
    """MHRA December 2007 and June 2023, PMC1779429 table 3, secondary for valproate; else common practice."""

    @staticmethod
    def found(*resources: Json, text: str) -> MedicineFinding | None:
        chart = {**order(text), "id": "o"}
        return suggestions(answer_of(_MOTHER, result("Na", "140"), *resources, chart)).get("o")

    @pytest.mark.parametrize(("text", "key", "action", "urgency"), IN_PREGNANCY)
    def test_what_it_forbids(self, text: str, key: str, action: str, urgency: Urgency) -> None:
        finding = self.found(_PREGNANCY, text=text)
        assert finding is not None
        assert (finding.reasons[0].rule, finding.action, finding.urgency) == (key, action, urgency)
        without = self.found(text=text)
        assert without is None or [each.rule for each in without.reasons] == ["childbearing-valproate"]

    def test_every_rule_is_tried(self) -> None:
        assert {key for _, key, _, _ in IN_PREGNANCY} == {each.key for each in BY_TRIGGER[Trigger.PREGNANCY]}

    @pytest.mark.parametrize(
        ("born", "gender", "is_asked"),
        [
            ("2014-03-02", "female", False),
            ("2014-03-01", "female", True),
            ("1971-03-02", "female", True),
            ("1971-03-01", "female", False),
            ("1996-03-01", "male", False),
            ("1996-03-01", "unknown", False),
            (None, "female", False),
        ],
    )
    def test_valproate_of_a_woman_who_may_become_pregnant(
        self, born: str | None, gender: str, *, is_asked: bool
    ) -> None:
        """From 12 to the 55th birthday (ours), routinely; pregnancy is asked for by its own rule."""
        who = patient(born, gender=gender)
        chart = {**order("Sodium valproate 500 mg MR tablets"), "id": "o"}
        found = suggestions(answer_of(who, result("Na", "140"), chart)).get("o")
        assert (found is not None) is is_asked
        assert found is None or (found.reasons[0].rule, found.urgency) == ("childbearing-valproate", R)

    @pytest.mark.parametrize("text", ["Labetalol 200 mg", "Ibuprofen 5% gel", "Amoxicillin 500 mg"])
    def test_what_it_does_not(self, text: str) -> None:
        assert self.found(_PREGNANCY, text=text) is None

    def test_after_the_birth_it_is_over(self) -> None:
        ended = problem("Pregnancy", status="resolved")
        assert self.found(ended, text="Ramipril 5 mg") is None

    @pytest.mark.parametrize(
        ("reason", "is_held"), [("Threatened miscarriage", True), ("Pregnancy", True), ("Miscarriage", False)]
    )
    def test_of_a_stay_it_counts_too(self, reason: str, *, is_held: bool) -> None:
        """One fact for all (ours): the score was chosen by it, and the chart was silent."""
        here = stay(period={"start": "2026-02-28T08:00:00+04:00"}, reasonCode=[{"text": reason}])
        assert (self.found(here, text="Ramipril 5 mg") is not None) is is_held

    def test_by_a_test(self) -> None:
        positive = observation("hcg", "2106-3", valueCodeableConcept={"text": "Positive"})
        assert self.found(positive, text="Ramipril 5 mg") is not None

    def test_it_makes_nobody_acutely_ill(self) -> None:
        """What must not be missed is not asked about in a well pregnant woman."""
        assert self.found(_PREGNANCY, text="Prednisolone 5 mg") is None


def _stay() -> Json:
    return stay(id="stay", period={"start": "2026-02-28T08:00:00+04:00"})


class TestInfectionInHospital:
    """BSR November 2025 (secondary): severe infection, by vein or in hospital."""

    PNEUMONIA = problem("Pneumonia", since="2026-02-28")

    @pytest.mark.parametrize(
        "text", ["Methotrexate 10 mg", "Adalimumab 40 mg", "Sulfasalazine 1 g", "Ruxolitinib 10 mg"]
    )
    def test_what_is_held(self, text: str) -> None:
        finding = said(self.PNEUMONIA, _stay(), text=text)
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", P)
        assert said(self.PNEUMONIA, text=text) is None  # Nobody says that it is treated in hospital.
        assert said(_stay(), text=text) is None

    def test_never_after_a_transplant(self) -> None:
        graft = problem("Kidney transplant")
        assert said(self.PNEUMONIA, _stay(), graft, text="Azathioprine 50 mg") is None


def _dose(text: str, at: str) -> Json:
    return given(text, at, id="dose")


@pytest.mark.parametrize(("span", "is_asked"), [("1 h", True), ("24 h", True), ("25 h", False)])
def test_thrombolysis_of_the_last_day(span: str, is_asked: bool) -> None:
    """Common practice, no source: after a stroke nothing against clotting for 24 hours."""
    finding = said(_dose("Alteplase 70 mg intravenous", earlier(span)), text="Clopidogrel 75 mg")
    keys = {each.rule for each in finding.reasons} if finding is not None else set()
    assert ("thrombolysed-antithrombotic" in keys) is is_asked
    if finding is not None and is_asked:
        assert finding.urgency is U


class TestAntibacterials:
    """The first dose is time-critical (NPSA/2010/RRR009); what is no first dose is not. Ours: a week."""

    SEPSIS = problem("Sepsis", since="2026-03-01")

    @pytest.mark.parametrize(("span", "is_first"), [("3 h", True), ("7 d", True), ("8 d", False)])
    def test_a_long_standing_order(self, span: str, is_first: bool) -> None:
        finding = said(self.SEPSIS, text="Trimethoprim 100 mg at night", authoredOn=earlier(span))
        assert (finding is not None and "first dose" in finding.sentence) is is_first

    def test_what_is_not_absorbed(self) -> None:
        assert said(self.SEPSIS, text="Vancomycin 125 mg capsules oral") is None
        assert said(self.SEPSIS, text="Vancomycin 1 g intravenous") is not None


def test_a_flush_of_heparin_is_not_held_for_bleeding() -> None:
    """Common practice, no source: a few units keep a line open, whatever route is recorded."""
    melaena = problem("Melaena", since="2026-03-01")
    by_vein = [{"route": {"text": "Intravenous"}}]
    assert said(melaena, text="Heparin sodium 10 units/mL flush", dosageInstruction=by_vein) is None
    assert said(melaena, text="Heparin sodium 5000 units", dosageInstruction=by_vein) is not None


def test_code_and_words_that_disagree_are_said_first() -> None:
    """The code was reviewed; a reader of one line has to know that the words name something else."""
    concept = {
        "text": "Paracetamol 1 g",
        "coding": [{"system": "http://www.whocc.no/atc", "code": "M01AE01"}],
    }
    chart = {**order("Paracetamol 1 g"), "id": "o", "medicationCodeableConcept": concept}
    finding = suggestions(reviewed(*injury(2), chart))["o"]
    assert finding.cautions[0] == "The name says paracetamol, the code ibuprofen: find out which is meant."


def test_an_order_later_than_every_value_is_looked_at() -> None:
    """Contrast asked for a minute after the newest result moves the moment of the review."""
    scan = asked_for(
        "CT abdomen with intravenous contrast", id="scan", authoredOn="2026-03-01T10:01:00+04:00"
    )
    finding = said(scan, text="Metformin 500 mg")
    assert finding is not None
    assert any(each.rule == "contrast-metformin" for each in finding.reasons)


def _open_stay(reason: str, end: str = "") -> Json:
    period = {"start": earlier("20 h")}
    return {
        "resourceType": "Encounter",
        "id": "stay",
        "status": "finished" if end else "in-progress",
        "class": {"system": "http://terminology.hl7.org/CodeSystem/v3-ActCode", "code": "IMP"},
        "subject": {"reference": "Patient/p"},
        "period": {**period, "end": end} if end else period,
        "reasonCode": [{"text": reason}],
    }


class TestTheReasonOfAStayCounts:
    """Ours: what somebody came in for forbids what the same words on the problem list would."""

    @pytest.mark.parametrize(("problem_", "text", "rule", "action"), PROBLEMS)
    def test_as_a_problem_does(self, problem_: str, text: str, rule: str, action: str) -> None:
        finding = said(_open_stay(problem_), text=text)
        assert finding is not None
        assert rule in {each.rule for each in finding.reasons}

    def test_not_of_a_stay_that_is_over(self) -> None:
        over = _open_stay("Parkinson's disease", end=earlier("2 h"))
        assert said(over, text="Metoclopramide 10 mg") is None

    def test_a_problem_without_words_is_named_by_what_it_is(self) -> None:
        coded = {"coding": [{"system": "http://hl7.org/fhir/sid/icd-10", "code": "G20"}]}
        finding = said({**problem("x"), "code": coded}, text="Metoclopramide 10 mg")
        assert finding is not None
        assert "Parkinson" in finding.sentence


def test_tuberculosis_medicines_come_before_paracetamol() -> None:
    """Common practice, no source: stopped at five times the upper limit; 199 is below 5 x 40."""
    chart = [{**order(text), "id": text[:4].lower()} for text in ("Paracetamol 1 g", "Rifampicin 600 mg")]
    found = suggestions(reviewed(result("creatinine", "70"), value("ALT", "200"), *chart))
    assert list(found) == ["rifa", "para"]
    assert [each.action for each in found.values()] == ["hold", "review"]
    assert not suggestions(reviewed(result("creatinine", "70"), value("ALT", "199"), *chart))


@pytest.mark.parametrize(
    ("gcs", "hours", "action"), [("15", "4 h", "review"), ("14", "4 h", "hold"), ("14", "25 h", None)]
)
@pytest.mark.parametrize("text", ["Aspirin 300 mg", "Enoxaparin 40 mg"])
def test_drowsiness_after_thrombolysis_holds_what_thins_the_blood(
    gcs: str, hours: str, action: str | None, text: str
) -> None:
    """Common practice, no source: 24 hours after thrombolysis, and a scan before anything more."""
    lysis = given("Alteplase 60 mg", earlier(hours), id="lysis")
    finding = said(lysis, result("GCS", gcs), text=text)
    reasons = finding.reasons if finding is not None else ()
    mine = [each.action for each in reasons if each.rule.startswith("thrombolysed-antithrombotic")]
    assert mine == ([action] if action is not None else [])


@pytest.mark.parametrize(
    ("text", "is_for_meals"),
    [
        ("NovoRapid 8 units", True),
        ("Insulin lispro 6 units", True),
        ("Actrapid 6 units", True),
        ("Lantus 20 units", False),
        ("NovoMix 30 18 units", False),
        ("Insulin aspart by pump", False),
    ],
)
def test_insulin_for_meals_waits_for_food_and_basal_insulin_does_not(text: str, is_for_meals: bool) -> None:
    """Common practice, no source."""
    fasting = {**problem("Nil by mouth"), "onsetDateTime": earlier("2 h")}
    finding = said(fasting, problem("Type 1 diabetes"), text=text)
    assert finding is not None
    rules = {each.rule for each in finding.reasons}
    assert ("fasting-mealtime-insulin" in rules) is is_for_meals
    assert ("fasting-insulin" in rules) is not is_for_meals
    assert "Basal insulin goes on" not in str(finding)


@pytest.mark.parametrize(("level", "is_held"), [("20", False), ("20.1", True)])
@pytest.mark.parametrize("text", ["Aminophylline infusion 500 micrograms/kg/hour", "Uniphyllin 200 mg"])
def test_theophylline_above_its_range_is_held(level: str, is_held: bool, text: str) -> None:
    """Royal Liverpool, therapeutic drug information: theophylline 10 to 20 mg/L."""
    measured = observation("theo", "4049-3", valueQuantity=quantity(level, "mg/L"))
    finding = said(measured, text=text)
    assert (finding is not None and finding.action == "hold" and finding.urgency is U) is is_held


@pytest.mark.parametrize(("route", "is_asked"), [("Oral", True), ("PEG", False), ("Subcutaneous", False)])
def test_what_is_not_swallowed_has_its_route_already(route: str, is_asked: bool) -> None:
    """A gastrostomy of years asks about what is swallowed alone; our choice."""
    tablets = order("Sodium valproate 500 mg", dosageInstruction=[{"route": {"text": route}}])
    found = suggestions(reviewed(problem("PEG tube"), tablets)).values()
    rules = {each.rule for one in found for each in one.reasons}
    assert ("swallow-time-critical" in rules) is is_asked


@pytest.mark.parametrize(
    ("known", "platelets", "is_held"),
    [
        ("Heparin-induced thrombocytopenia", "149", True),
        ("Heparin-induced thrombocytopenia", "150", False),
        ("Atrial fibrillation", "62", False),
    ],
)
def test_warfarin_waits_for_the_platelets(known: str, platelets: str, *, is_held: bool) -> None:
    """Arch Intern Med 2004;164:66, abstract: warfarin after the platelets have recovered."""
    found = said(problem(known), result("platelets", platelets), text="Warfarin 3 mg")
    rules = {one.rule for one in found.reasons} if found is not None else set()
    assert ("thrombocytopenia-warfarin" in rules) is is_held


@pytest.mark.parametrize(
    ("ended", "text", "is_asked"),
    [
        ("2026-02-16T10:00:00+04:00", "Naproxen 500 mg", True),
        ("2026-02-14T10:00:00+04:00", "Naproxen 500 mg", False),
        ("2026-02-16T10:00:00+04:00", "Ibuprofen 5% gel", False),
    ],
)
def test_an_anti_inflammatory_after_a_kidney_injury(ended: str, text: str, *, is_asked: bool) -> None:
    """Common practice; 14 days are ours: naproxen was signed three days after stage 3 without a word."""
    before = [result("creatinine", "70", "2026-01-10T10:00:00+04:00")]
    course = [result("creatinine", "160", ended), result("creatinine", "75", "2026-02-27T10:00:00+04:00")]
    found = said(*before, *course, text=text)
    rules = {one.rule for one in found.reasons} if found is not None else set()
    assert ("after-kidney-injury-nsaid" in rules) is is_asked
