"""What meets on one chart: medicines that are dangerous together, or with a trigger.

A combination is named even when each of its parts has a suggestion of its own, because
the danger is more than the sum. The rows stand in `combinations.toml`.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, Named, toml_members
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.model.sources import Source


class Combination(Columns, frozen=True, kw_only=True):
    """One combination; its columns are explained in `combinations.toml`."""

    key: str
    groups: tuple[tuple[MedicineClass, ...], ...]
    harm: str
    sentence: str
    sources: tuple[Source, ...]
    triggers: tuple[Named[Trigger], ...] = ()
    any_trigger: tuple[Named[Trigger], ...] = ()
    circumstances: tuple[Named[Circumstance], ...] = ()
    in_one_order: bool = False
    swallowed: bool = False
    urgent: bool = False
    urgent_with: tuple[Named[Trigger], ...] = ()
    calm_when: tuple[Named[Circumstance], ...] = ()
    answered_by: tuple[Named[Circumstance], ...] = ()
    asked_by: frozenset[str] = frozenset()
    said_by_holds: bool = False

    def __post_init__(self) -> None:
        """Refuse a combination without medicines, words or source."""
        if not (
            self.key and self.groups and all(self.groups) and self.harm and self.sentence and self.sources
        ):
            raise ValueError(f"Combination {self.key!r} is incomplete.")


COMBINATIONS: Final = toml_members("medicines/rules/combinations.toml", Combination)
