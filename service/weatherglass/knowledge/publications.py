"""Publications that several criteria cite, by a name for each; their texts stand in `publications.toml`.

A rule without a publication that could be read says so: `memory` marks what is common
practice restated from memory, which a clinician must check before use.
"""

from typing import Final

from weatherglass.knowledge import data_files
from weatherglass.knowledge.data_files import publication
from weatherglass.model.sources import Mark

memory: Final = data_files.memory

NICE_AKI: Final = publication("nice-ng148")
NICE_AKI_MEDICINES: Final = publication("nice-ktt17")
AKI_PHARMACY: Final = publication("think-kidneys-medicines-2016")
AKI_RESTART: Final = publication("think-kidneys-restart-2016")
NICE_CKD: Final = publication("nice-ng203")
HYPERKALAEMIA: Final = publication("ukka-hyperkalaemia-2023")
MHRA_SGLT2: Final = publication("mhra-sglt2-2020")
NICE_DIABETES: Final = publication("nice-ng28")
NICE_HEAD_INJURY: Final = publication("nice-ng232")
STOPP: Final = publication("stopp-2")
EARLY_FULL_DOSE: Final = publication("crass-2019").at(
    "kidney injury on admission resolves within 48 hours in half: reduction is deferred", Mark.SECONDARY
)
#: Read in excerpts: what sedates is looked at before breathing is slow.
SEDATION_FIRST: Final = publication("aspmn-2011").at(
    "sedation is measured with every round and comes before slow breathing", Mark.SECONDARY
)
BSH_WARFARIN: Final = publication("bsh-warfarin-2011")
ACG_BLEEDING: Final = publication("acg-cag-2022")
ESGE_BLEEDING: Final = publication("esge-2021")
BSG_BLEEDING: Final = publication("bsg-lower-gi-2019")
HYPOGLYCAEMIA: Final = publication("jbds-hypoglycaemia-2021")
KETOACIDOSIS: Final = publication("jbds-ketoacidosis-2023")
TYPE_1_KETONES: Final = publication("nhs-my-type-1")
NALOXONE: Final = publication("ggc-naloxone")
STEROID_CARD: Final = publication("steroid-card-2020")
OMITTED_MEDICINES: Final = publication("npsa-rrr009")
FDA_BENZODIAZEPINES: Final = publication("fda-benzodiazepines-2020")
FDA_BETA_BLOCKERS: Final = publication("fda-label-beta-blockers")
FDA_ANTICOAGULANTS: Final = publication("fda-label-doac")
FDA_OPIOIDS: Final = publication("fda-opioids-2019")
LABELS: Final = publication("labels")
NICE_PARKINSONS: Final = publication("nice-qs164")
PHARMACY_REVIEW: Final = publication("pharmacy-reviews-aki")
SEPSIS: Final = publication("nice-ng51")
SEPSIS_2016: Final = publication("nice-ng51-2016")
#: The rows for adults, with the address of an open article that prints them.
SEPSIS_2016_ADULTS: Final = publication("nice-ng51-2016-adults")
SURVIVING_SEPSIS: Final = publication("ssc-hour-1-2018")
VENTILATION: Final = publication("bts-ics-2016")
MAJOR_BLEEDING: Final = publication("isth-2005")
CONVENTION: Final = publication("clinical-convention")
SIMPSON_2020 = publication("simpson-2020")
