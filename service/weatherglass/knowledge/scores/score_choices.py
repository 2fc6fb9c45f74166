"""What no publication fixes about scores: whom they are for, and what belongs to a round.

Data only. Every number here is ours, says why, and is listed in the catalogue for a site
to judge.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.model.record.problems import ConditionKind

PUBLIC_KEY: Final = "score-choices"
_ROWS: Final = PrintedRows("scores/score-choices-rows")

ADULT_FROM: Final = _ROWS.age("adult-from")
NOT_IN_PREGNANCY: Final = _ROWS.clause("not-in-pregnancy")
CHILD_UNTIL: Final = _ROWS.age("child-until")
CALM_CHILD: Final = _ROWS.clause("calm-child")
CALM_BELOW: Final = _ROWS.age("calm-below")
CALM_TOTAL: Final = _ROWS.share("calm-total")
CALM_HOT: Final = _ROWS.cutoff("calm-hot")
CALM_COLD: Final = _ROWS.cutoff("calm-cold")
OF_TERM_BABIES: Final = _ROWS.clause("of-term-babies")
MATERNITY: Final = _ROWS.clause("maternity")
LONGEST_PREGNANCY: Final = _ROWS.window("longest-pregnancy")
YOUNGEST_PREGNANT: Final = _ROWS.age("youngest-pregnant")
NOT_PREGNANT_FOR: Final = _ROWS.window("not-pregnant-for")
OLDEST_BY_TEST: Final = _ROWS.age("oldest-by-test")
KNOWN_BY_TEST: Final = _ROWS.clause("known-by-test")
EARLY_IN_PREGNANCY: Final = _ROWS.window("early-in-pregnancy")
EARLY_WHERE_UNKNOWN: Final = _ROWS.window("early-where-unknown")
LAST_KNOWN: Final = _ROWS.clause("last-known")
OPEN_TOTAL: Final = _ROWS.cutoff("open-total").limit
MEASURED_AGAIN_WITHIN: Final = _ROWS.window("measured-again-within")
ANSWERED_FOR: Final = _ROWS.window("answered-for")
DELIRIUM_KNOWN_FROM: Final = _ROWS.window("delirium-known-from")
DELIRIUM_KNOWN_FOR: Final = _ROWS.window("delirium-known-for")
ANSWERED_BY_A_MASK: Final = _ROWS.window("answered-by-a-mask")
SATURATION_ON_OXYGEN: Final = _ROWS.clause("saturation-on-oxygen")
OXYGEN_WITHOUT_AMOUNT: Final = _ROWS.clause("oxygen-without-amount")
COMA_SCALE_BESIDE_ACVPU: Final = _ROWS.clause("coma-scale-beside-acvpu")
RESULTS_IN_A_ROUND: Final = _ROWS.clause("results-in-a-round")
NEEDS_INFECTION: Final = _ROWS.clause("needs-infection")
SECONDARY_HISTORY: Final = _ROWS.window("secondary-history")

REPORTED_PAEDIATRIC_URGENT: Final = _ROWS.cutoff("reported-paediatric-urgent")
REPORTED_PAEDIATRIC_PROMPT: Final = _ROWS.cutoff("reported-paediatric-prompt")
REPORTED_MATERNITY_PROMPT: Final = _ROWS.cutoff("reported-maternity-prompt")
REPORTED_RISE: Final = _ROWS.clause("reported-rise")
CALM_CIRCULATION: Final = _ROWS.members("calm-circulation", ConditionKind)
CALM_BREATHING: Final = _ROWS.members("calm-breathing", ConditionKind)
