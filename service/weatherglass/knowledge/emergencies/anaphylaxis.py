"""Anaphylaxis on record: how long it is an emergency, how long it is watched, what may have caused it.

That it endangers airway, breathing and circulation within minutes, and what is given first, is published; the
hours are our choice, because a record says when somebody wrote it down and not when it was over.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "anaphylaxis"
_ROWS: Final = PrintedRows("emergencies/anaphylaxis-rows")

COUNTS_FOR: Final = _ROWS.window("counts-for")
EMERGENCY_FOR: Final = _ROWS.window("emergency-for")
AGAIN_FROM: Final = _ROWS.cutoff("again-from")
SUSPECTED_WITHIN: Final = _ROWS.window("suspected-within")
GOES_ON: Final = _ROWS.source("goes-on")
EMERGENCY: Final = _ROWS.source("emergency")
TREATED: Final = _ROWS.clause("treated")
BETA_BLOCKER: Final = _ROWS.clause("beta-blocker")
WATCHED: Final = _ROWS.clause("watched")
GIVEN_FROM: Final = _ROWS.window("given-from")
ADRENALINE: Final = frozenset({"adrenaline", "epinephrine"})
#: What is given for it.
MEDICINES: Final = ADRENALINE | {"chlorphenamine", "chlorpheniramine", "cetirizine", "hydrocortisone"}
#: Names of what treats a reaction and so did not cause it.
TREATMENTS: Final = MEDICINES | {"salbutamol", "glucagon", "oxygen", "sodium chloride"}
