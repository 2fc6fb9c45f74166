"""The record as it stands at one moment, with what several questions share.

Each fact is derived once, when first asked for, and read by every assessment that needs it. What there is
stands by question in `facts/patient`: who it is, the drug chart, the kidneys, the rounds, breath and blood,
and what these come to. A module there knows those before it and none after it.

What the rules of the drug chart have against an antibacterial is judged by what comes after the facts; it is
handed in as a question, and asked only where somebody would be asked to give that antibacterial.
"""

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import cached_property

from weatherglass.facts.infection.antimicrobial import Objection, Treatment
from weatherglass.facts.infection.sepsis import first_antimicrobial
from weatherglass.facts.patient.threats import Threats
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin


class Bedside(Threats):
    """One patient at one moment.

    Attributes:
        record: The record as it stood at `as_of`; nothing later is visible.
        as_of: The moment of the review.
        choices: What the site has chosen.
    """

    def __init__(
        self, record: Record, as_of: datetime, choices: LocalChoices, objections: "Objections | None" = None
    ) -> None:
        """Take a record that has already been cut off at `as_of`, and who judges its antibacterials."""
        super().__init__(record, as_of, choices)
        self._objections = objections

    @cached_property
    def first_antimicrobial(self) -> Treatment | None:
        """When the first antimicrobial is due, and what is recorded of it; None where none is asked for."""
        return first_antimicrobial(self, self.sepsis_stratum, self.risk_by_signs, self._judged)

    def _judged(self) -> Mapping[Origin, Objection]:
        return self._objections(self) if self._objections is not None else {}


#: What the drug chart has against the antibacterials of a patient, by their orders.
Objections = Callable[[Bedside], Mapping[Origin, Objection]]
