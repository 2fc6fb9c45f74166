"""What a named rule says of one medicine, beside a problem or a result."""

from typing import Any

from tests.medicines.wards import order, result, reviewed, suggestions
from tests.records import AT, Json, observation, quantity
from weatherglass.model.findings import Urgency
from weatherglass.model.medicine_findings import MedicineFinding

R, P, U, E = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT, Urgency.EMERGENCY


CODES = {
    "neutrophils": ("751-8", "10*9/L"),
    "ALT": ("1742-6", "U/L"),
    "CK": ("2157-6", "U/L"),
    "APTT": ("14979-9", "s"),
    "lithium level": ("14334-7", "mmol/L"),
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
    code, unit = CODES[name]
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
    ("Melaena", "Alendronic acid 70 mg", "gut-bleeding-bisphosphonate", "hold"),
    ("Duodenal ulcer", "Alendronic acid 70 mg", "gut-bleeding-bisphosphonate", "hold"),
    ("Haematemesis", "Tranexamic acid 1 g", "gut-bleeding-tranexamic", "review"),
    # CAST, N Engl J Med 1991;324:781.
    ("Ischaemic heart disease", "Flecainide 100 mg", "scarred-heart-antiarrhythmic", "hold"),
    ("Heart failure", "Propafenone 150 mg", "scarred-heart-antiarrhythmic", "hold"),
    ("Breastfeeding", "Methyldopa 250 mg", "birth-methyldopa", "review"),
    ("Acute pyelonephritis", "Nitrofurantoin 100 mg", "kidney-infection-nitrofurantoin", "review"),
    ("Hepatic encephalopathy", "Zopiclone 7.5 mg", "encephalopathy-sedative", "review"),
    ("Myasthenia gravis", "Gentamicin 240 mg intravenous", "myasthenia-antibacterial", "review"),
    ("Myasthenia gravis", "Clarithromycin 500 mg", "myasthenia-antibacterial", "review"),
    ("Myasthenia gravis", "Propranolol 40 mg", "myasthenia-others", "review"),
    ("Myasthenia gravis", "Rocuronium 50 mg", "myasthenia-relaxant", "review"),
    ("Myasthenia gravis", "Suxamethonium 100 mg", "myasthenia-suxamethonium", "review"),
    ("Diabetic ketoacidosis", "Metformin 1 g", "ketoacidosis-metformin", "hold"),
    ("Diabetic ketoacidosis", "Empagliflozin 10 mg", "ketoacidosis-sglt2", "hold"),
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
    ("Deep vein thrombosis", "Combined oral contraceptive pill", "clot-contraceptive", "review"),
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
    # STOPP 2 H1, C2, D1, I1 and G3; the label of methoxyflurane.
    ("Peptic ulcer disease", "Naproxen 500 mg", "ulcer-unprotected", "review"),
    ("History of duodenal ulcer", "Aspirin 75 mg", "ulcer-unprotected", "review"),
    ("Angle-closure glaucoma", "Amitriptyline 25 mg", "narrow-angle-pupil", "review"),
    ("Narrow-angle glaucoma", "Oxybutynin 5 mg", "narrow-angle-pupil", "review"),
    ("Primary angle closure", "Ipratropium nebules", "narrow-angle-pupil", "review"),
    ("Malignant hyperthermia susceptibility", "Penthrox", "hyperthermia-anaesthetic", "hold"),
    ("History of malignant hyperthermia", "Suxamethonium 100 mg", "hyperthermia-anaesthetic", "hold"),
    ("Congenital long QT syndrome", "Ondansetron 4 mg", "long-qt-syndrome", "review"),
    ("Myasthenia gravis", "Magnesium sulfate 5 g intravenous infusion", "myasthenia-magnesium", "review"),
    # BAP 2023, from memory: lorazepam comes first.
    ("Catatonia", "Haloperidol 5 mg", "catatonia-dopamine-blocker", "review"),
]
