"""The letters of a systematic assessment, from airway to exposure."""

from enum import StrEnum
from typing import Final


class Letter(StrEnum):
    """Where a finding stands in the systematic order of assessment."""

    AIRWAY = "A"
    BREATHING = "B"
    CIRCULATION = "C"
    DISABILITY = "D"
    EXPOSURE = "E"
    OVERALL = "overall"

    @property
    def sign(self) -> str:
        """Its letter; empty where a finding is about the whole patient."""
        return "" if self is Letter.OVERALL else self.value

    @property
    def heading(self) -> str:
        """What stands above its findings."""
        return self.name.capitalize()


#: What speaks for everything is not to stand behind the single systems.
AS_TOLD: Final = (Letter.OVERALL, *(letter for letter in Letter if letter is not Letter.OVERALL))
