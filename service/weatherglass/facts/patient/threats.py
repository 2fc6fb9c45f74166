"""What threatens life: bleeding and sepsis, each with how bad it is and since when."""

from functools import cached_property

from weatherglass.facts.infection.sepsis import Sepsis, sepsis_now
from weatherglass.facts.infection.stratum import Stratum, stratum_of
from weatherglass.facts.patient.illness import Illness
from weatherglass.facts.results.bleeding import BleedingNow, bleeding_now


class Threats(Illness):
    """What the findings tell of bleeding and sepsis, and the drug chart acts on."""

    @cached_property
    def bleeding(self) -> BleedingNow | None:
        """The possible bleeding of this moment, None where nothing speaks of it."""
        return bleeding_now(self)

    @cached_property
    def sepsis_stratum(self) -> Stratum | None:
        """The risk of a suspected infection by NEWS2; None without one, or where NEWS2 is not for it."""
        return stratum_of(self, self.infection) if self.infection is not None else None

    @cached_property
    def sepsis(self) -> Sepsis | None:
        """The sepsis of this moment, None where nothing says so."""
        return sepsis_now(self, self.sepsis_stratum)
