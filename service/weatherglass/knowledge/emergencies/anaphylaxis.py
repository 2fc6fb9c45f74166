"""Anaphylaxis on record: how long it is an emergency, how long it is watched, what may have caused it.

That it endangers airway, breathing and circulation within minutes, and what is given first, is published; the
hours are our choice, because a record says when somebody wrote it down and not when it was over.
"""

from typing import Final

from weatherglass.knowledge.printed_rows import PrintedRows

PUBLIC_KEY: Final = "anaphylaxis"
_ROWS: Final = PrintedRows("emergencies/anaphylaxis-rows", globals())

ADRENALINE: Final = frozenset({"adrenaline", "epinephrine"})
#: What is given for it.
MEDICINES: Final = ADRENALINE | {"chlorphenamine", "chlorpheniramine", "cetirizine", "hydrocortisone"}
#: Names of what treats a reaction and so did not cause it.
TREATMENTS: Final = MEDICINES | {"salbutamol", "glucagon", "oxygen", "sodium chloride"}
