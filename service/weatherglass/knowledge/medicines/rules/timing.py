"""How long what is recorded sets a rule off, and how recent two results must be to go together.

No publication fixes these times; each is ours and says why. How long a laboratory result
and a blood gas count is a site's own choice (`LocalChoices`).
"""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.printed_rows import PrintedRows
from weatherglass.knowledge.scores import news2_2017
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import our_choice

_C = MedicineClass

_ROWS: Final = PrintedRows("medicines/rules/timing-rows", globals())


#: NEWS2 with suspected infection from which the rules on sepsis hold, and without it.
SEPSIS_SCORE: Final = replace(
    news2_2017.URGENT_RESPONSE, source=cited.SEPSIS.at("1.11.5, moderate risk from NEWS2 5")
)
SERIOUS_ILLNESS_SCORE: Final = replace(
    news2_2017.EMERGENCY_RESPONSE,
    source=our_choice("NEWS2 7 or more without suspected infection is acute serious illness"),
)

LIMITED_EVIDENCE_FOR: Final = frozenset(_ROWS.members("limited-evidence-for", _C))
HEART_FAILURE_MEDICINES: Final = frozenset(_ROWS.members("heart-failure-medicines", _C))
STEROIDS_FOR_LONG: Final = _ROWS.members("steroids-for-long", ConditionKind)
ASKED_ABOUT_AFTERWARDS: Final = frozenset(_ROWS.members("asked-about-afterwards", _C))

#: A dose a day in milligrams that is enough in an infection, by name.
STEROID_ENOUGH: Final = {
    "hydrocortisone": _ROWS.share("hydrocortisone-enough"),
    "prednisolone": _ROWS.share("prednisolone-enough"),
}
