"""The record as it stands at one moment, with what several questions share.

Each fact is derived once, when first asked for, and read by every assessment that needs it. What there is
stands by question in `facts/patient`: who it is, the drug chart, the kidneys, the rounds, breath and blood,
and what these come to. A module there knows those before it and none after it.
"""

from weatherglass.facts.patient.threats import Threats


class Bedside(Threats):
    """One patient at one moment.

    Attributes:
        record: The record as it stood at `as_of`; nothing later is visible.
        as_of: The moment of the review.
        choices: What the site has chosen.
    """
