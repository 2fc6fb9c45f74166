"""Maternal Early Warning Criteria, National Partnership for Maternal Safety, 2014.

Data only. Any single criterion asks for an urgent bedside evaluation; nothing is added
up. Every inequality is strict as printed and holds for the value as recorded.

Left out, with reasons:
    Non-remitting headache or shortness of breath in pre-eclampsia: symptoms are not read;
    the criterion is listed in `PREECLAMPSIA_SYMPTOMS` for the clinician.
    Totals of the national maternity score of England and of other aggregate obstetric
    scores: their cut-offs could not be read in the publications. A reported total is
    followed, not computed.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import ChoiceTable
from weatherglass.model.tables.scores import (
    CutoffTable,
)

PUBLICATION: Final = publication("maternal-criteria-2014")

#: The rows stand in `maternal-criteria-2014.toml`.
MATERNAL_CRITERIA: Final = printed_score("maternal-criteria-2014")
SYSTOLIC_PRESSURE: Final = MATERNAL_CRITERIA.table("systolic-pressure", CutoffTable)
DIASTOLIC_PRESSURE: Final = MATERNAL_CRITERIA.table("diastolic-pressure", CutoffTable)
PULSE: Final = MATERNAL_CRITERIA.table("pulse", CutoffTable)
RESPIRATION_RATE: Final = MATERNAL_CRITERIA.table("respiration", CutoffTable)
SPO2_ON_AIR: Final = MATERNAL_CRITERIA.table("spo2", CutoffTable)
URINE_RATE: Final = MATERNAL_CRITERIA.table("urine-output", CutoffTable)
URINE_WINDOW: Final = Window(
    length=timedelta(hours=2),
    source=PUBLICATION.at("The Maternal Early Warning Criteria, row 'Oliguria'", Mark.SECONDARY),
)
#: Printed as agitation, confusion or unresponsiveness.
CONSCIOUSNESS: Final = MATERNAL_CRITERIA.table("consciousness", ChoiceTable)

NEW_OXYGEN: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("oxygen that is given from the first record on is new for 24 hours"),
)
PREECLAMPSIA_SYMPTOMS: Final = Clause(
    text="In pre-eclampsia a headache that does not remit, or shortness of breath, is a criterion.",
    source=PUBLICATION.at("The Maternal Early Warning Criteria, pre-eclampsia", Mark.SECONDARY),
)
VERIFY_SINGLE_VALUES: Final = Clause(
    text="A single abnormal pressure, pulse, breathing rate or saturation should be verified.",
    source=PUBLICATION.at("text beside the criteria, isolated measurements", Mark.SECONDARY),
)
