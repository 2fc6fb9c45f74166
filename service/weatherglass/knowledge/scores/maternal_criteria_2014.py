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

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores.printed_scores import printed_score
from weatherglass.model.tables.bands import ChoiceTable
from weatherglass.model.tables.scores import CutoffTable

PUBLIC_KEY: Final = "maternal-criteria-2014"
#: The rows stand in `maternal-criteria-2014.toml`.
MATERNAL_CRITERIA: Final = printed_score("maternal-criteria-2014")
SYSTOLIC_PRESSURE: Final = MATERNAL_CRITERIA.table("systolic-pressure", CutoffTable)
DIASTOLIC_PRESSURE: Final = MATERNAL_CRITERIA.table("diastolic-pressure", CutoffTable)
PULSE: Final = MATERNAL_CRITERIA.table("pulse", CutoffTable)
RESPIRATION_RATE: Final = MATERNAL_CRITERIA.table("respiration", CutoffTable)
SPO2_ON_AIR: Final = MATERNAL_CRITERIA.table("spo2", CutoffTable)
URINE_RATE: Final = MATERNAL_CRITERIA.table("urine-output", CutoffTable)
_ROWS: Final = PrintedRows("scores/maternal-criteria-2014-rows", globals())
#: Printed as agitation, confusion or unresponsiveness.
CONSCIOUSNESS: Final = MATERNAL_CRITERIA.table("consciousness", ChoiceTable)

PREECLAMPSIA_SYMPTOMS: Final = _ROWS.clause("preeclampsia-symptoms")
