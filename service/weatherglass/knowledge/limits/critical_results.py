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
_ROWS: Final = PrintedRows("limits/critical-results-rows")


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
NEWBORN_FOR: Final = _ROWS.window("newborn-for")
POTASSIUM_OF_NEWBORN_FOR: Final = _ROWS.window("potassium-of-newborn-for")
LACTATE: Final = tuple(band for band in CRITICAL_RESULTS if band.key == "lactate-high")

# Blood gas: criteria that hold together.

ACIDAEMIA: Final = _ROWS.cutoff("acidaemia")
HYPERCAPNIA: Final = _ROWS.cutoff("hypercapnia")
VENTILATION_HYPERCAPNIA: Final = _ROWS.cutoff("ventilation-hypercapnia")
BICARBONATE_LOW: Final = _ROWS.cutoff("bicarbonate-low")
BICARBONATE_VERY_LOW: Final = _ROWS.cutoff("bicarbonate-very-low")

# Potassium: what to exclude, and when an ECG is asked for.

ECG_FOR_POTASSIUM: Final = _ROWS.cutoff("ecg-for-potassium")
SPURIOUS_POTASSIUM: Final = _ROWS.clause("spurious-potassium")
PLATELETS_RAISE_POTASSIUM: Final = _ROWS.cutoff("platelets-raise-potassium")
WHITE_CELLS_RAISE_POTASSIUM: Final = _ROWS.cutoff("white-cells-raise-potassium")
DOUBT_IS_REPEATED_FIRST: Final = _ROWS.clause("doubt-is-repeated-first")
CREATININE_UP: Final = _ROWS.cutoff("creatinine-up")
CALCIUM_FOR_ALBUMIN: Final = _ROWS.share("calcium-for-albumin")
ALBUMIN_NORMAL: Final = _ROWS.share("albumin-normal")
ALBUMIN_NEAR: Final = _ROWS.window("albumin-near")
ADJUSTED_HERE: Final = _ROWS.clause("adjusted-here")
LOW_CALCIUM_WITH_SIGNS: Final = _ROWS.clause("low-calcium-with-signs")
CALCIUM_AFTER_THYROID: Final = _ROWS.window("calcium-after-thyroid")
MILDLY_LOW: Final = _ROWS.cutoff("mildly-low")
CALCIUM_BOUND: Final = _ROWS.clause("calcium-bound")
PHOSPHATE_BINDS: Final = _ROWS.cutoff("phosphate-binds")
CALCIUM_IN_MUSCLE: Final = _ROWS.clause("calcium-in-muscle")
ADULT_LIMITS: Final = _ROWS.clause("adult-limits")
TREAT_IN_DIABETES: Final = _ROWS.cutoff("treat-in-diabetes")
LOOK_FOR_A_CAUSE: Final = _ROWS.clause("look-for-a-cause")
A_BABY: Final = _ROWS.age("a-baby")
LOOK_FOR_A_CAUSE_IN_A_BABY: Final = _ROWS.clause("look-for-a-cause-in-a-baby")
LOOK_FOR_A_CAUSE_IN_A_CHILD: Final = _ROWS.clause("look-for-a-cause-in-a-child")
INSULIN_GIVEN: Final = _ROWS.clause("insulin-given")
INSULIN_EXPLAINS_FOR: Final = _ROWS.window("insulin-explains-for")
#: A glucose that was treated falls again while these act, longest where the kidneys clear them badly.
RELEASES_INSULIN: Final = (MedicineClass.SULFONYLUREA, MedicineClass.GLINIDE)
MAY_FALL_AGAIN: Final = _ROWS.clause("may-fall-again")
NEVER_REPEATED_FOR: Final = _ROWS.window("never-repeated-for")
FALLS_AGAIN: Final = _ROWS.window("falls-again")
KEEPS_SULFONYLUREA: Final = (ConditionKind.CHRONIC_KIDNEY_DISEASE, ConditionKind.DIALYSIS)
POTASSIUM_IN_KETOACIDOSIS: Final = _ROWS.clause("potassium-in-ketoacidosis")
HEART_NEEDS_POTASSIUM: Final = _ROWS.members("heart-needs-potassium", ConditionKind)
FAST_PULSE: Final = _ROWS.cutoff("fast-pulse")
VERY_FAST_PULSE: Final = _ROWS.cutoff("very-fast-pulse")
DIGOXIN_ACTS_FOR: Final = _ROWS.window("digoxin-acts-for")
POTASSIUM_AND_HEART: Final = _ROWS.source("potassium-and-heart")
LOW_TOGETHER_ON_QT: Final = _ROWS.source("low-together-on-qt")
SODIUM_NOT_ALERT: Final = _ROWS.clause("sodium-not-alert")
SODIUM_VERY_LOW: Final = _ROWS.cutoff("sodium-very-low")
SODIUM_PROFOUND: Final = _ROWS.cutoff("sodium-profound")
SODIUM_ASKS: Final = _ROWS.clause("sodium-asks")
LITHIUM_NOT_ALERT: Final = _ROWS.source("lithium-not-alert")
SODIUM_ANSWERED: Final = _ROWS.cutoff("sodium-answered")
SODIUM_MAY_DULL: Final = _ROWS.source("sodium-may-dull")
SODIUM_OF_A_CHILD: Final = _ROWS.source("sodium-of-a-child")
SODIUM_VERY_HIGH: Final = _ROWS.cutoff("sodium-very-high")
LIVER_INJURY: Final = _ROWS.cutoff("liver-injury")
RESULT_OF_OLD: Final = _ROWS.share("result-of-old")
RESULT_OF_OLD_FROM: Final = _ROWS.window("result-of-old-from")
RESULT_OF_OLD_UNTIL: Final = _ROWS.window("result-of-old-until")
KIDNEYS_RECOVER: Final = _ROWS.source("kidneys-recover")
MUSCLE_HEALS: Final = _ROWS.share("muscle-heals")
NOT_ALERT: Final = _ROWS.clause("not-alert")
LACTATE_AFTER_A_FIT: Final = _ROWS.clause("lactate-after-a-fit")
THIAMINE_WITH_GLUCOSE: Final = _ROWS.clause("thiamine-with-glucose")
LACTATE_AFTER_SURGERY: Final = _ROWS.window("lactate-after-surgery")
CALM: Final = _ROWS.cutoff("calm")
GLUCOSE_IN_MILLIGRAMS: Final = _ROWS.cutoff("glucose-in-milligrams")
GLUCOSE_BEFORE: Final = _ROWS.cutoff("glucose-before")
POTASSIUM_SLOW_PULSE: Final = _ROWS.cutoff("potassium-slow-pulse")
AS_FOR_LONG: Final = _ROWS.share("as-for-long")
IMMUNE: Final = _ROWS.clause("immune")
IMMUNE_FROM: Final = _ROWS.window("immune-from")
RED_CELLS_ANSWER: Final = _ROWS.clause("red-cells-answer")
VITAMIN_K_ANSWERS: Final = _ROWS.clause("vitamin-k-answers")
VITAMIN_K_ANSWERS_FOR: Final = _ROWS.window("vitamin-k-answers-for")
RED_CELLS_ANSWER_FOR: Final = _ROWS.window("red-cells-answer-for")
LACTATE_AFTER_A_FIT_FOR: Final = _ROWS.window("lactate-after-a-fit-for")
GLUCOSE_IS_PAST: Final = _ROWS.window("glucose-is-past")
TREAT_WHOEVER: Final = _ROWS.cutoff("treat-whoever")
LACKS_THIAMINE: Final = _ROWS.members("lacks-thiamine", ConditionKind)
LOWERS_GLUCOSE: Final = _ROWS.members("lowers-glucose", ConditionKind)
CELLS_LOWERED: Final = _ROWS.members("cells-lowered", ConditionKind)
