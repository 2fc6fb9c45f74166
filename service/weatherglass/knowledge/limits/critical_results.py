"""Laboratory and blood gas results that somebody has to hear about.

Data only: for each analyte and side `critical-results.csv` has the printed limits with the most
severe first; the first that a result meets holds. Telephoning limits differ between laboratories, so a
reference range that comes with the result is shown beside ours and a site may choose.

The urgency is our ranking throughout; no source uses our four words.

Left out, with reasons:
    Ketoacidosis itself: its definition combines ketones, glucose or known diabetes, and an acidosis.
        The ketones have limits of their own here, the acidosis is read with the blood gas.
    Limits for children: laboratories print a few; those below are adult ones.
"""

from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.knowledge.limits import critical_bands as bands
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "critical-results"
_ROWS: Final = PrintedRows("limits/critical-results-rows", globals())


BARNSLEY: Final = publication("barnsley-limits")

#: Levels of medicines in the blood at which they poison. The range that a laboratory sends with a result
#: comes first in the drug-chart review; these limits hold where none is sent, and say what is dangerous where
#: one is. Left out: ciclosporin and valproate (no limit holds for everybody), clozapine and lamotrigine (no
#: code of their levels could be confirmed), amikacin, gentamicin, tobramycin and vancomycin (only a level
#: before the next dose has a limit, which stands with the rule on that medicine).
DRUG_LEVELS: Final = bands.of("drug-levels")
#: Every limit of `critical-results.csv` and `drug-levels.csv`.
CRITICAL_RESULTS: Final = (*bands.RESULTS, *DRUG_LEVELS)
#: What holds in the first days of life in the place of the limits of the same key.
NEWBORN_RESULTS: Final = bands.of("newborn-results")
LACTATE: Final = tuple(band for band in CRITICAL_RESULTS if band.key == "lactate-high")


#: A glucose that was treated falls again while these act, longest where the kidneys clear them badly.
RELEASES_INSULIN: Final = (MedicineClass.SULFONYLUREA, MedicineClass.GLINIDE)
KEEPS_SULFONYLUREA: Final = (ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS)
HEART_NEEDS_POTASSIUM: Final = _ROWS.members("heart-needs-potassium", ConditionKind)
LACKS_THIAMINE: Final = _ROWS.members("lacks-thiamine", ConditionKind)
LOWERS_GLUCOSE: Final = _ROWS.members("lowers-glucose", ConditionKind)
CELLS_LOWERED: Final = _ROWS.members("cells-lowered", ConditionKind)
