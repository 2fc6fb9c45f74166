"""Anaphylaxis on record: how long it is an emergency, how long it is watched, what may have caused it.

That it endangers airway, breathing and circulation within minutes, and what is given first, is published; the
hours are our choice, because a record says when somebody wrote it down and not when it was over.
"""

from datetime import timedelta
from typing import Final

from weatherglass.knowledge.data_files import publication
from weatherglass.model.clauses import Clause, Window
from weatherglass.model.sources import common_practice, our_choice

PUBLIC_KEY: Final = "anaphylaxis"

COUNTS_FOR: Final = Window(
    length=timedelta(hours=24),
    source=our_choice("a recorded anaphylaxis speaks for 24 hours; one without a date does not"),
)
EMERGENCY_FOR: Final = Window(
    length=timedelta(hours=1),
    source=our_choice("a recorded anaphylaxis is an emergency for its first hour; then its signs say so"),
)
SUSPECTED_WITHIN: Final = Window(
    length=timedelta(hours=2),
    source=our_choice("what was begun or given in the 2 hours before an anaphylaxis may have caused it"),
)
EMERGENCY: Final = publication("clin-med-2022-anaphylaxis").at(
    "abstract: airway, breathing or circulation fail rapidly, and it may cause death"
)
TREATED: Final = Clause(
    text=(
        "Adrenaline into the muscle by the local protocol, again after 5 minutes if it does not resolve; "
        "blood for tryptase; then watch for a second one."
    ),
    source=publication("resuscitation-2021-anaphylaxis").at(
        "abstract: adrenaline into the muscle repeated after 5 minutes; duration of observation"
    ),
)
BETA_BLOCKER: Final = Clause(
    text="A beta-blocker is on the chart: adrenaline may act less.",
    source=common_practice("beta-blockers blunt the answer to adrenaline"),
)
#: Names of what treats a reaction and so did not cause it.
TREATMENTS: Final = frozenset(
    {
        "adrenaline",
        "epinephrine",
        "chlorphenamine",
        "chlorpheniramine",
        "cetirizine",
        "hydrocortisone",
        "salbutamol",
        "glucagon",
        "oxygen",
        "sodium chloride",
    }
)
