"""What the patient has: problems on the list, and what a stay or a request was for."""

from datetime import datetime, timedelta
from enum import StrEnum

from weatherglass.model.plain import Plain
from weatherglass.model.sources import Origin


class ConditionKind(StrEnum):
    """Conditions that change how a finding is read or what a medicine may do."""

    COPD = "chronic obstructive pulmonary disease"
    HYPERCAPNIA = "hypercapnic respiratory failure"
    CHRONIC_KIDNEY_DISEASE = "chronic kidney disease"
    DIALYSIS = "dialysis"
    HEART_FAILURE = "heart failure"
    ISCHAEMIC_HEART_DISEASE = "ischaemic heart disease"
    CORONARY_STENT = "coronary stent"
    ACUTE_CORONARY_SYNDROME = "acute coronary syndrome"
    MECHANICAL_VALVE = "mechanical heart valve"
    ATRIAL_FIBRILLATION = "atrial fibrillation"
    STROKE = "stroke or transient ischaemic attack"
    VENOUS_THROMBOEMBOLISM = "venous thromboembolism"
    ANTIPHOSPHOLIPID = "antiphospholipid syndrome"
    LV_THROMBUS = "left ventricular thrombus"
    DIABETES_TYPE_1 = "type 1 diabetes"
    DIABETES_TYPE_2 = "type 2 diabetes"
    DIABETES = "diabetes"
    HYPERTENSION = "hypertension"
    LIVER_DISEASE = "liver disease"
    ENCEPHALOPATHY = "encephalopathy"
    HEPATIC_ENCEPHALOPATHY = "encephalopathy of the liver"
    MALNUTRITION = "malnutrition or little intake"
    INFECTION = "infection"
    SEPSIS = "sepsis"
    PNEUMONIA = "pneumonia"
    BLEEDING = "bleeding"
    MELAENA = "gastrointestinal bleeding"
    INTRACRANIAL_BLEEDING = "bleeding into the head"
    CRITICAL_SITE_BLEEDING = "bleeding into a closed place"
    MINOR_BLEEDING = "bleeding from the nose, the gums or into the urine"
    NOTHING_BY_MOUTH = "nothing by mouth"
    PREGNANCY = "pregnancy"
    POSTPARTUM = "recently given birth"
    ADRENAL_INSUFFICIENCY = "adrenal insufficiency"
    PARKINSONS = "Parkinson's disease"
    EPILEPSY = "epilepsy"
    SEIZURE = "a seizure"
    SEIZURES_GOING_ON = "seizures that repeat or do not stop"
    MYASTHENIA = "myasthenia gravis"
    TRANSPLANT = "organ transplant"
    PALLIATIVE = "palliative care"
    CHRONIC_CONFUSION = "long-standing confusion"
    ROUSED_BY_VOICE_AS_USUAL = "response to voice only, as usual"
    ROUSED_BY_PAIN_AS_USUAL = "response to pain only, as usual"
    SPINAL_CORD_INJURY = "spinal cord injury"
    WEAK_LEGS = "weak or numb legs"
    DEHYDRATION = "fluid depletion"
    VOMITING_OR_DIARRHOEA = "vomiting or diarrhoea"
    FLUID_OVERLOAD = "fluid overload"
    URINARY_OBSTRUCTION = "urinary tract obstruction"
    URINARY_RETENTION = "urinary retention"
    PREECLAMPSIA = "pre-eclampsia"
    ECTOPIC_PREGNANCY = "ectopic pregnancy"
    RUPTURED_ECTOPIC = "ruptured ectopic pregnancy"
    HYPEREMESIS = "vomiting of pregnancy that does not stop"
    BREASTFEEDING = "breast-feeding"
    RHESUS_NEGATIVE = "rhesus D negative"
    BLEEDING_BEFORE_BIRTH = "bleeding before a birth"
    REDUCED_MOVEMENTS = "an unborn baby that moves less"
    SENSITISING_EVENT = "bleeding or a blow to the belly in pregnancy"
    CONSTIPATION = "constipation"
    BOWEL_OBSTRUCTION = "ileus or bowel obstruction"
    PACEMAKER = "pacemaker"
    DEFIBRILLATOR = "implanted defibrillator"
    CANCER = "cancer"
    DIABETES_INSIPIDUS = "arginine vasopressin deficiency"
    OPIOID_DEPENDENCE = "opioid dependence"
    ANAPHYLAXIS = "anaphylaxis"
    ANGIOEDEMA = "angioedema"
    SEVERE_SKIN_REACTION = "severe skin reaction to a medicine"
    HEPARIN_THROMBOCYTOPENIA = "heparin-induced thrombocytopenia"
    ALCOHOL_DEPENDENCE = "alcohol dependence"
    ALCOHOL_WITHDRAWAL = "alcohol withdrawal"
    LOW_PRESSURE_IS_USUAL = "long-standing low blood pressure"
    DEMENTIA = "dementia"
    LEWY_BODY = "Lewy body dementia"
    ASTHMA = "asthma"
    CHEST_PAIN = "chest pain"
    SEVERE_AORTIC_STENOSIS = "severe aortic stenosis"
    HEAD_INJURY = "head injury"
    FALL = "a fall"
    OPERABLE_FRACTURE = "a fracture that is operated on as a rule"
    NEUTROPENIA = "neutropenia"
    CHEMOTHERAPY = "treatment with cytotoxic medicines"
    POISONING = "overdose or poisoning"
    PARACETAMOL_POISONING = "paracetamol overdose or poisoning"
    ARRHYTHMIA = "arrhythmia of this illness"
    CARDIAC_ARREST = "cardiac arrest"
    HYPERTHYROIDISM = "hyperthyroidism"
    HYPOTHYROIDISM = "hypothyroidism"
    PRE_EXCITATION = "pre-excitation"
    G6PD_DEFICIENCY = "G6PD deficiency"
    ACUTE_PORPHYRIA = "acute porphyria"
    UNSAFE_SWALLOW = "swallow that is not safe, or a feeding tube"
    MICROANGIOPATHY = "thrombotic microangiopathy"
    HAEMOLYSIS = "breakdown of red cells"
    BLOODY_DIARRHOEA = "bloody diarrhoea"
    MALARIA = "malaria"
    SEVERE_MALARIA = "severe malaria"
    NON_BLANCHING_RASH = "non-blanching rash"
    BILIOUS_VOMITING = "bilious vomiting"
    REDCURRANT_STOOL = "redcurrant stool"
    INTUSSUSCEPTION = "intussusception"
    TESTICULAR_PAIN = "acute pain of a testis"
    BUTTON_BATTERY = "a swallowed button battery"
    JAUNDICE = "jaundice"
    KAWASAKI = "Kawasaki disease"
    MIXING_HEART = "a heart that mixes its blood, or was made to"
    BACTERIAL_INFECTION = "infection by bacteria"
    KIDNEY_INFECTION = "infection of the kidney"
    VIRAL_INFECTION = "infection by a virus"
    ENCEPHALITIS = "encephalitis"
    FUNGAL_INFECTION = "infection of the blood or a deep place by a fungus"
    TUBERCULOSIS = "tuberculosis"
    AIRWAY_THREATENED = "a threatened airway"
    TRACHEOSTOMY_BLOCKED = "a tracheostomy that is blocked or out"
    STRIDOR_IN_CROUP = "stridor in croup"
    BLEEDING_AFTER_TONSILLECTOMY = "bleeding after tonsils were taken out"
    AORTIC_CATASTROPHE = "aortic dissection or rupture"
    CARDIAC_TAMPONADE = "cardiac tamponade"
    PERICARDIAL_EFFUSION = "pericardial effusion"
    TENSION_PNEUMOTHORAX = "tension pneumothorax"
    PNEUMOTHORAX = "pneumothorax"
    COMPARTMENT_SYNDROME = "compartment syndrome"
    LIMB_ISCHAEMIA = "acute ischaemia of a limb"
    CORD_COMPRESSION = "compression of the cord or the cauda equina"
    ACUTE_STROKE = "a stroke of today"
    STROKE_SIGNS = "signs of a stroke"
    TRANSIENT_ISCHAEMIC_ATTACK = "transient ischaemic attack"
    BACTERIAL_MENINGITIS = "meningitis or meningococcal disease"
    RAISED_BRAIN_PRESSURE = "raised pressure in the skull"
    GUT_CATASTROPHE = "perforation, strangulation or lost blood supply of the gut"
    TORSION = "torsion of a testis or an ovary"
    NECROTISING_INFECTION = "necrotising infection"
    ST_ELEVATION = "infarction with ST elevation"
    DANGEROUS_RHYTHM = "a rhythm that can stop the heart"
    HEART_BLOCK = "complete heart block"
    SEVERE_ASTHMA_ATTACK = "a severe attack of asthma"
    GUILLAIN_BARRE = "Guillain-Barré syndrome"
    WEAK_BREATHING = "muscles or a chest wall too weak to breathe against illness"
    MYASTHENIC_CRISIS = "myasthenic crisis"
    CARBON_MONOXIDE = "carbon monoxide poisoning"
    METHAEMOGLOBIN = "methaemoglobinaemia"
    ACUTE_PULMONARY_OEDEMA = "acute pulmonary oedema"
    PULMONARY_EMBOLISM = "pulmonary embolism"
    HIGH_RISK_EMBOLISM = "a massive pulmonary embolism"
    ADRENAL_CRISIS = "adrenal crisis"
    THYROID_STORM = "thyroid storm"
    MYXOEDEMA_COMA = "myxoedema coma"
    MALIGNANT_HYPERTHERMIA = "malignant hyperthermia"
    HEAT_STROKE = "heat stroke"
    SELF_HARM = "suicidal thoughts or self-harm"
    PSYCHOSIS_AFTER_BIRTH = "psychosis after a birth"
    NEUROLEPTIC_MALIGNANT = "neuroleptic malignant syndrome"
    SEROTONIN_SYNDROME = "serotonin syndrome"
    KETOACIDOSIS = "ketoacidosis or hyperosmolar state"
    ACUTE_LIVER_FAILURE = "acute liver failure"
    SICKLE_DISEASE = "sickle cell disease"
    SICKLE_CRISIS = "a sickle cell crisis"
    SIGHT_THREATENED = "sight that may be lost"
    TRANSFUSION_REACTION = "a transfusion reaction"
    SHOCK = "shock"
    DIALYSIS_PERITONITIS = "peritonitis of peritoneal dialysis"
    OVERDOSE = "an overdose"
    CLONUS = "clonus"
    CHOKING = "something in the airway"
    BULGING_FONTANELLE = "a bulging fontanelle"
    CATATONIA = "catatonia"
    BURN = "a burn"
    LARGE_BURN = "a large burn"
    EATING_DISORDER = "anorexia nervosa"
    DROWNING = "drowning"
    BIRTH_ASPHYXIA = "a brain that lacked oxygen at birth"
    STIFF_MUSCLES = "stiff muscles"
    NEWBORN_HAEMOLYSIS = "antibodies against a newborn's red cells"
    SCARRED_WOMB = "a scar of the womb"
    BACLOFEN_PUMP = "a pump with baclofen"
    UNEXPLAINED_INJURY = "an injury that infants seldom have by themselves"
    BRUISE = "a bruise"
    BIRTH_EMERGENCY = "an emergency of birth"
    CORD_PROLAPSE = "a cord that came before the child"
    MEMBRANES_RUPTURED = "membranes that have ruptured"
    PREECLAMPSIA_SYMPTOM = "a symptom that pre-eclampsia has"
    WERNICKE = "Wernicke's encephalopathy"
    HYPERVISCOSITY = "blood too thick to flow"
    CAVAL_OBSTRUCTION = "obstruction of the superior vena cava"
    DEADLY_BLEEDING = "bleeding that can kill within minutes"
    INNER_BLEEDING = "bleeding into the belly or the chest"
    HOME_OXYGEN = "oxygen at home"
    APNOEA = "apnoea"
    BREATHLESSNESS = "breathlessness"
    SEVERE_HEADACHE = "a severe headache"
    MISCARRIAGE = "miscarriage"
    POSITIVE_PREGNANCY_TEST = "a positive pregnancy test"
    EARLY_PREGNANCY = "a pregnancy of its first weeks or of unknown place"
    PREGNANCY_IN_THE_WOMB = "a pregnancy seen in the womb"
    ABDOMINAL_PAIN = "pain in the belly"
    COLLAPSE = "a collapse or faint"
    PENETRATING_INJURY = "a stab or gunshot wound of the body"
    STRAINED_HEART = "heart disease that pregnancy strains"
    SUDDEN_HEADACHE = "a headache that came at once"
    INFECTED_OBSTRUCTION = "an infected kidney that does not drain"
    URETERIC_STONE = "a stone in a ureter"
    PRIAPISM = "priapism"
    PITUITARY_APOPLEXY = "pituitary apoplexy"
    PROMYELOCYTIC_LEUKAEMIA = "acute promyelocytic leukaemia"
    PERIPARTUM_CARDIOMYOPATHY = "peripartum cardiomyopathy"
    GAS_EMBOLISM = "air embolism"
    GIANT_CELL_ARTERITIS = "giant cell arteritis"
    TRICYCLIC_POISONING = "overdose of a tricyclic antidepressant"
    SWOLLEN_NECK = "a swollen neck or a changed voice"
    LOW_CALCIUM_SIGNS = "a sign of low calcium"
    DIARRHOEA = "diarrhoea"
    C_DIFFICILE = "infection with Clostridioides difficile"
    BLOOD_INFECTION = "infection of the blood"
    LONG_INFECTION = "infection that is treated for weeks"
    RASH = "a rash"
    CHICKENPOX = "chickenpox"
    HEAT_OR_EXERTION = "collapse in heat or exertion"
    INJURED_LIMB = "an injured limb"
    PAIN_BEYOND_INJURY = "pain beyond the injury"
    SOFT_TISSUE_INFECTION = "infection of skin or soft tissue"
    DYING_TISSUE = "a sign of dying tissue"
    PANCREATITIS = "acute pancreatitis"
    CHECKPOINT_INHIBITION = "treatment with a checkpoint inhibitor"
    PNEUMONITIS = "inflammation of the lungs"
    COLITIS = "inflammation of the colon"
    MYOCARDITIS = "inflammation of the heart muscle"
    TIRING_MUSCLES = "weak or inflamed muscles"
    PARAPROTEIN = "a paraprotein"
    MYELOMA = "myeloma"
    POLYCYTHAEMIA = "polycythaemia"
    DISTURBED_SIGHT = "disturbed sight"
    HEADACHE = "a headache"
    NO_SPLEEN = "no working spleen"
    HAEMOPHILIA = "haemophilia or its like"
    BLED_INTO_JOINT = "bleeding into a joint or a muscle"
    ACUTE_LEUKAEMIA = "acute leukaemia"
    IMMUNE_HAEMOLYSIS = "red cells that antibodies break down"
    STEM_CELL_TRANSPLANT = "stem cell transplant"
    T_CELL_THERAPY = "treatment with T cells or what binds them"
    JAW_OR_SCALP = "pain of jaw or scalp"
    VASCULITIS = "vasculitis of small vessels"
    HAEMOPTYSIS = "blood coughed up"
    SYSTEMIC_SCLEROSIS = "systemic sclerosis"
    HOT_JOINT = "a hot joint"
    SWOLLEN_CALF = "a swollen calf"
    LIVER_TRANSPLANT = "liver transplant"
    RETURNED_TRAVELLER = "travel from where malaria is"
    CIRCUMSTANCE_OF_LIFE = "a circumstance of life, no illness"


#: An infection, wherever it is.
INFECTED = frozenset({ConditionKind.INFECTION, ConditionKind.SEPSIS})


class Condition(Plain, frozen=True, kw_only=True):
    """A problem on the list, as far as a rule can use it.

    Attributes:
        began_by: Where only a month or a year is recorded, the latest that it can have begun.
        has_onset: Whether `began` is when it began, not when it was written down.
    """

    origin: Origin
    text: str
    kinds: frozenset[ConditionKind] = frozenset()
    began: datetime | None = None
    began_by: datetime | None = None
    ended: datetime | None = None
    has_onset: bool = False
    active: bool = True
    confirmed: bool = True

    def may_have_begun_within(self, length: timedelta, moment: datetime) -> bool:
        """Tell whether it can have begun so recently; a problem without any date can."""
        began = self.began or self.began_by
        return began is None or moment - began <= length


class Reason(Plain, frozen=True, kw_only=True):
    """Why a stay was begun or something asked for, as far as a rule can use it.

    Attributes:
        at: Start of the stay, or when the request was written; None where that is not recorded.
        ends: End of the stay; None where it is open, and of a request.
        inpatient: Whether it is the reason of a stay in hospital.
        confirmed: Whether its words say so; otherwise they only ask.
    """

    origin: Origin
    text: str
    kinds: frozenset[ConditionKind]
    at: datetime | None = None
    ends: datetime | None = None
    inpatient: bool = False
    confirmed: bool = True


class Recorded(Plain, frozen=True):
    """What somebody wrote down, wherever it stands: its words, from when, where and what it is."""

    text: str
    at: datetime | None
    origin: Origin
    kinds: frozenset[ConditionKind] = frozenset()
    confirmed: bool = True
