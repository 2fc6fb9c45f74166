"""Names that sound like a problem and are another, or none: found by reading every title of ICD-10.

The titles are those of ICD-10 (WHO, version 2019) and of its clinical modification in the United States,
some shortened; what they must not be taken for is our own reading.
"""

import pytest

from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.model.record.problems import ConditionKind as K


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Acute myocardial infarction", K.ACUTE_STROKE),
        ("Acute transmural myocardial infarction of anterior wall", K.ACUTE_STROKE),
        ("Acute inferior infarct", K.ACUTE_STROKE),
        ("Acute infarction of small intestine", K.ACUTE_STROKE),
        ("Traumatic subcutaneous emphysema", K.COPD),
        ("Surgical emphysema", K.COPD),
        ("Emphysema of the neck", K.COPD),
        ("Maternal group B streptococcus (GBS) colonization", K.GUILLAIN_BARRE),
        ("GBS sepsis", K.GUILLAIN_BARRE),
        ("GBS +ve", K.GUILLAIN_BARRE),
        ("Encounter for fitting and adjustment of hearing aid", K.SEIZURE),
        ("Burn-out", K.BURN),
        ("Idiopathic interstitial pneumonia", K.PNEUMONIA),
        ("Cryptogenic organising pneumonia", K.INFECTION),
        ("Chronic eosinophilic pneumonia", K.INFECTION),
        ("Other noninfective gastroenteritis and colitis", K.INFECTION),
        ("Allergy to other anti-infective agents", K.INFECTION),
        ("Acute rheumatic endocarditis", K.INFECTION),
        ("Asymptomatic human immunodeficiency virus [HIV] infection status", K.INFECTION),
        ("Carrier of viral infection", K.INFECTION),
        ("Need for immunization against influenza", K.INFECTION),
        ("Underimmunization for COVID-19 status", K.INFECTION),
        ("Pertussis vaccine, including combinations", K.INFECTION),
        ("Special screening examination for respiratory tuberculosis", K.INFECTION),
        ("Encounter for sepsis aftercare", K.SEPSIS),
        ("Benign intracranial hypertension", K.HYPERTENSION),
        ("Secondary pulmonary arterial hypertension", K.HYPERTENSION),
        ("Malignant neuroleptic syndrome", K.CANCER),
        ("Elevated cancer antigen 125", K.CANCER),
        ("Genetic susceptibility to malignant neoplasm", K.CANCER),
        ("Follow-up examination after treatment for malignant neoplasms", K.CANCER),
        ("Alcoholism and drug addiction in family", K.ALCOHOL_DEPENDENCE),
        ("Nephrogenic diabetes insipidus", K.DIABETES_INSIPIDUS),
        ("Cannabis hyperemesis syndrome", K.PREGNANCY),
        ("Recurrent pregnancy loss", K.PREGNANCY),
        ("Single liveborn infant, delivered by cesarean", K.POSTPARTUM),
        ("Congenital malformations of seminal vesicles", K.VESICLES),
        ("Ptosis of breast", K.TIRING_MUSCLES),
        ("Conjunctival haemorrhage", K.BLEEDING),
    ],
)
def test_it_is_something_else(text: str, kind: K) -> None:
    assert kind not in kinds_in_words(text).kinds


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Acute MCA infarct", K.ACUTE_STROKE),
        ("New left MCA territory infarct", K.ACUTE_STROKE),
        ("Acute posterior circulation infarct", K.ACUTE_STROKE),
        ("Emphysema", K.COPD),
        ("GBS, vital capacity falling", K.GUILLAIN_BARRE),
        ("Fitting for 10 minutes", K.SEIZURE),
        ("Pneumonia despite influenza vaccination", K.PNEUMONIA),
        ("Carrier of MRSA, sepsis", K.SEPSIS),
        ("Shock following gastrointestinal haemorrhage", K.BLEEDING),
        ("Essential arterial hypertension", K.HYPERTENSION),
        ("Neuroleptic malignant syndrome", K.NEUROLEPTIC_MALIGNANT),
        ("Malignant neuroleptic syndrome", K.NEUROLEPTIC_MALIGNANT),
        ("Cannabis hyperemesis syndrome", K.VOMITING_OR_DIARRHOEA),
        ("Conjunctival haemorrhage", K.MINOR_BLEEDING),
        ("Group B streptococcus (GBS) bacteraemia", K.INFECTION),
        # A "negative" that is part of a name denies nothing.
        ("Sepsis due to other Gram-negative organisms", K.SEPSIS),
        ("Pneumonia due to Gram-negatives", K.PNEUMONIA),
        ("Carcinoma of the breast, receptor negative", K.CANCER),
    ],
)
def test_what_it_sounds_like_is_still_read(text: str, kind: K) -> None:
    words = kinds_in_words(text)
    assert kind in words.kinds
    assert not words.past


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Legionnaires disease", K.PNEUMONIA),
        ("Omphalitis of newborn", K.INFECTION),
        ("Pyothorax with fistula", K.SOURCE_TO_DRAIN),
        ("Pyogenic arthritis, unspecified", K.LONG_INFECTION),
        ("Waterhouse-Friderichsen syndrome", K.SEPSIS),
        ("Primary adrenocortical insufficiency", K.ADRENAL_INSUFFICIENCY),
        ("Addison disease", K.ADRENAL_INSUFFICIENCY),
        ("Atrioventricular block, complete", K.HEART_BLOCK),
        ("Atrioventricular block, second degree", K.ARRHYTHMIA),
        ("Embolism and thrombosis of arteries of lower extremities", K.LIMB_ISCHAEMIA),
        ("Phlebitis and thrombophlebitis of other deep vessels", K.VENOUS_THROMBOEMBOLISM),
        ("Perforation of intestine (nontraumatic)", K.GUT_CATASTROPHE),
        ("Shock, unspecified", K.SHOCK),
        ("Other shock", K.SHOCK),
        ("Respiratory arrest", K.RESPIRATORY_ARREST),
        ("Cardio-respiratory arrest", K.CARDIAC_ARREST),
        ("Pulseless electrical activity, not elsewhere classified", K.CARDIAC_ARREST),
        ("Premature separation of placenta, unspecified", K.BLEEDING_BEFORE_BIRTH),
        ("Rupture of uterus during labour", K.BIRTH_EMERGENCY),
        ("Alcoholic liver disease", K.LIVER_DISEASE),
        ("Hepatorenal syndrome", K.LIVER_DISEASE),
        ("Cerebral oedema", K.RAISED_BRAIN_PRESSURE),
        ("Calculus of ureter", K.URETERIC_STONE),
    ],
)
def test_the_title_is_read_as_the_words_of_the_ward_are(text: str, kind: K) -> None:
    assert kind in kinds_in_words(text).kinds


@pytest.mark.parametrize("text", ["State of emotional shock and stress", "Electric shock", "Spinal shock"])
def test_not_every_shock_is_one(text: str) -> None:
    assert K.SHOCK not in kinds_in_words(text).kinds


@pytest.mark.parametrize(
    "text",
    [
        "Sequelae of cerebral infarction",
        "Hemiplegia following cerebral infarction",
        "Aphasia following nontraumatic subarachnoid hemorrhage",
        "Fracture of femur, sequela",
        "Late effects of stroke",
    ],
)
def test_what_is_left_of_an_illness_is_of_the_past(text: str) -> None:
    assert kinds_in_words(text).past
