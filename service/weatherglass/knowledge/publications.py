"""Publications that several criteria cite, each written down once, and all that the drug chart cites.

A publication that only one edition cites stands in the module of that edition. A rule
without a publication that could be read says so: `memory` marks what is common practice
restated from memory, which a clinician must check before use.
"""

from dataclasses import replace
from typing import Final

from weatherglass.model.sources import Mark, Publication, Source

NICE_AKI: Final = Publication(
    key="nice-ng148",
    citation="NICE NG148, Acute kidney injury: prevention, detection and management, 2019",
    address="https://www.nice.org.uk/guidance/ng148",
)
NICE_AKI_MEDICINES: Final = Publication(
    key="nice-ktt17",
    citation="NICE KTT17, Acute kidney injury: use of medicines in people with or at increased risk of AKI",
    address="https://www.nice.org.uk/advice/ktt17",
)
AKI_PHARMACY: Final = Publication(
    key="think-kidneys-medicines-2016",
    citation=(
        "UK Renal Pharmacy Group and Think Kidneys, Guidelines for medicines optimisation in patients "
        "with acute kidney injury, June 2015, revised March 2016"
    ),
)
AKI_RESTART: Final = Publication(
    key="think-kidneys-restart-2016",
    citation=(
        "Think Kidneys, When or if to re-start ACEI, ARB, diuretics and other antihypertensive drugs "
        "after an episode of acute kidney injury, April 2016"
    ),
)
NICE_CKD: Final = Publication(
    key="nice-ng203",
    citation="NICE NG203, Chronic kidney disease: assessment and management, 2021",
    address="https://www.nice.org.uk/guidance/ng203",
)
HYPERKALAEMIA: Final = Publication(
    key="ukka-hyperkalaemia-2023",
    citation="UK Kidney Association, Treatment of acute hyperkalaemia in adults, 2020, updated October 2023",
)
MHRA_SGLT2: Final = Publication(
    key="mhra-sglt2-2020",
    citation="MHRA Drug Safety Update, SGLT2 inhibitors: monitor ketones during hospitalisation, March 2020",
)
NICE_DIABETES: Final = Publication(
    key="nice-ng28",
    citation="NICE NG28, Type 2 diabetes in adults: management",
    address="https://www.nice.org.uk/guidance/ng28",
)
NICE_HEAD_INJURY: Final = Publication(
    key="nice-ng232",
    citation="NICE NG232, Head injury: assessment and early management, 2023",
    address="https://www.nice.org.uk/guidance/ng232",
)
STOPP: Final = Publication(
    key="stopp-2", citation="STOPP/START criteria, version 2, Age Ageing 2015;44:213-218"
)
EARLY_FULL_DOSE: Final = Publication(
    key="crass-2019",
    citation="Crass RL et al., Renal dosing of antibiotics: are we jumping the gun? Clin Infect Dis 2019;"
    "68:1596-1602",
).at("kidney injury on admission resolves within 48 hours in half: reduction is deferred", Mark.SECONDARY)
#: Read in excerpts: what sedates is looked at before breathing is slow.
SEDATION_FIRST: Final = Publication(
    key="aspmn-2011",
    citation="Jarzyna D et al., American Society for Pain Management Nursing guidelines on monitoring for "
    "opioid-induced sedation and respiratory depression, 2011",
).at("sedation is measured with every round and comes before slow breathing", Mark.SECONDARY)
BSH_WARFARIN: Final = Publication(
    key="bsh-warfarin-2011",
    citation=(
        "Keeling D et al., Guidelines on oral anticoagulation with warfarin, fourth edition, "
        "Br J Haematol 2011;154:311-324"
    ),
)
ACG_BLEEDING: Final = Publication(
    key="acg-cag-2022",
    citation=(
        "Abraham NS et al., Management of anticoagulants and antiplatelets during acute gastrointestinal "
        "bleeding, Am J Gastroenterol 2022;117:542-558"
    ),
)
ESGE_BLEEDING: Final = Publication(
    key="esge-2021",
    citation="Gralnek IM et al., Non-variceal upper gastrointestinal haemorrhage, Endoscopy 2021;53:300-332",
)
BSG_BLEEDING: Final = Publication(
    key="bsg-lower-gi-2019",
    citation="Oakland K et al., Acute lower gastrointestinal bleeding, Gut 2019;68:776-789",
)
HYPOGLYCAEMIA: Final = Publication(
    key="jbds-hypoglycaemia-2021",
    citation=(
        "Joint British Diabetes Societies for Inpatient Care, The hospital management of hypoglycaemia "
        "in adults with diabetes mellitus, revised April 2021"
    ),
)
KETOACIDOSIS: Final = Publication(
    key="jbds-ketoacidosis-2023",
    citation=(
        "Joint British Diabetes Societies for Inpatient Care, The management of diabetic ketoacidosis in "
        "adults, revised March 2023"
    ),
)
TYPE_1_KETONES: Final = Publication(
    key="nhs-my-type-1",
    citation="NHS England, My Type 1 Diabetes: ketones and diabetic ketoacidosis, May 2023",
    address="https://www.mytype1diabetes.nhs.uk/resources/internal/ketones-and-diabetic-ketoacidosis/",
)
NALOXONE: Final = Publication(
    key="ggc-naloxone",
    citation=(
        "NHS Greater Glasgow and Clyde, Adult Therapeutics Handbook, Reversal of opioid-induced respiratory "
        "depression"
    ),
    address="http://handbook.ggcmedicines.org.uk/guidelines/drug-overdose-and-toxicity/reversal-of-opioid-induced-respiratory-depression",
)
STEROID_CARD: Final = Publication(
    key="steroid-card-2020",
    citation="National Patient Safety Alert, Steroid Emergency Card, August 2020",
)
OMITTED_MEDICINES: Final = Publication(
    key="npsa-rrr009",
    citation="NPSA/2010/RRR009, Reducing harm from omitted and delayed medicines in hospital, 2010",
)
FDA_BENZODIAZEPINES: Final = Publication(
    key="fda-benzodiazepines-2020",
    citation="FDA Drug Safety Communication, benzodiazepine boxed warning, 23 September 2020",
)
FDA_BETA_BLOCKERS: Final = Publication(
    key="fda-label-beta-blockers",
    citation="US prescribing information of beta-blockers, boxed warning on abrupt cessation",
)
FDA_ANTICOAGULANTS: Final = Publication(
    key="fda-label-doac",
    citation="US prescribing information of direct oral anticoagulants, boxed warning on early cessation",
)
FDA_OPIOIDS: Final = Publication(
    key="fda-opioids-2019",
    citation="FDA Drug Safety Communication, harm from sudden discontinuation of opioids, 9 April 2019",
)
LABELS: Final = Publication(
    key="labels",
    citation="Prescribing information of the medicine (US label or UK summary of product characteristics)",
)
NICE_PARKINSONS: Final = Publication(
    key="nice-qs164",
    citation="NICE QS164, Parkinson's disease, quality standard, 2018",
    address="https://www.nice.org.uk/guidance/qs164",
)
PHARMACY_REVIEW: Final = Publication(
    key="pharmacy-reviews-aki",
    citation="Published pharmacy reviews of medicines in acute kidney injury",
)
SEPSIS: Final = Publication(
    key="nice-ng51",
    citation=(
        "NICE. Sepsis: recognition, diagnosis and early management. Guideline NG51, 2016, "
        "updated January 2024; for people of 16 and over replaced by NG253, November 2025"
    ),
    address="https://www.nice.org.uk/guidance/ng253",
)
SEPSIS_2016: Final = Publication(
    key="nice-ng51-2016",
    citation=("NICE. Sepsis: recognition, diagnosis and early management. Guideline NG51, July 2016"),
)
#: The rows for adults, with the address of an open article that prints them.
SEPSIS_2016_ADULTS: Final = replace(
    SEPSIS_2016,
    address="https://sjtrem.biomedcentral.com/articles/10.1186/s13049-019-0642-2/tables/1",
)
SURVIVING_SEPSIS: Final = Publication(
    key="ssc-hour-1-2018",
    citation=(
        "Levy MM, Evans LE, Rhodes A. The Surviving Sepsis Campaign bundle: 2018 update. "
        "Intensive Care Med 2018;44:925-928, also Crit Care Med 2018;46:997-1000"
    ),
)
VENTILATION: Final = Publication(
    key="bts-ics-2016",
    citation=(
        "Davidson AC, Banham S, Elliott M, et al. BTS/ICS guideline for the ventilatory management of "
        "acute hypercapnic respiratory failure in adults. Thorax 2016;71(Suppl 2):ii1-35, with the "
        "clarification in Thorax 2017;72:588"
    ),
    address="https://thorax.bmj.com/content/72/6/588",
)
MAJOR_BLEEDING: Final = Publication(
    key="isth-2005",
    citation=(
        "Schulman S, Kearon C. Definition of major bleeding in clinical investigations of antihemostatic "
        "medicinal products in non-surgical patients. J Thromb Haemost 2005;3:692-694"
    ),
)
CONVENTION: Final = Publication(
    key="clinical-convention",
    citation=("Clinical convention, publication not identified"),
)
_PRACTICE: Final = Publication(
    key="practice",
    citation="Common clinical practice, restated from memory; to be checked against a current formulary",
)


def memory(what: str) -> Source:
    """Return the source of a rule that was restated from memory."""
    return _PRACTICE.at(what, Mark.FROM_MEMORY)


SIMPSON_2020 = Publication(
    key="simpson-2020",
    citation="Simpson H et al., Guidance for the prevention and emergency management of adult patients with "
    "adrenal insufficiency, Clin Med 2020;20:371-378",
)
