"""What meets on one chart: medicines that are dangerous together, or with a trigger.

A combination is named even when each of its parts has a suggestion of its own, because
the danger is more than the sum. The rows stand in `combinations.toml`.
"""

from typing import Final

from weatherglass.knowledge.data_files import Columns, all_named, cite, toml_table
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.rule import Circumstance, Trigger
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Source


class Combination(Plain, frozen=True, kw_only=True):
    """One combination.

    Attributes:
        key: Stable key.
        groups: Each group must be met by at least one order in force.
        triggers: If given, all of these must be present.
        any_trigger: If given, at least one of these must be present.
        circumstances: If given, at least one of these must hold.
        in_one_order: Whether one order must meet every group (a combination product).
        harm: What it comes to, in few words.
        sentence: What the reader sees, in words of ours.
        urgent: Whether somebody should act within the hour.
        urgent_with: If given, only with one of these.
        calm_when: Circumstances in which nobody has to.
        sources: Where it is stated.
    """

    key: str
    groups: tuple[tuple[MedicineClass, ...], ...]
    harm: str
    sentence: str
    sources: tuple[Source, ...]
    triggers: tuple[Trigger, ...] = ()
    any_trigger: tuple[Trigger, ...] = ()
    circumstances: tuple[Circumstance, ...] = ()
    in_one_order: bool = False
    urgent: bool = False
    urgent_with: tuple[Trigger, ...] = ()
    calm_when: tuple[Circumstance, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a combination without medicines, words or source."""
        if not (
            self.key and self.groups and all(self.groups) and self.harm and self.sentence and self.sources
        ):
            raise ValueError(f"Combination {self.key!r} is incomplete.")


class _Row(Columns, frozen=True):
    groups: tuple[tuple[MedicineClass, ...], ...]
    harm: str
    sentence: str
    sources: tuple[str, ...]
    triggers: tuple[str, ...] = ()
    any_trigger: tuple[str, ...] = ()
    circumstances: tuple[str, ...] = ()
    in_one_order: bool = False
    urgent: bool = False
    urgent_with: tuple[str, ...] = ()
    calm_when: tuple[str, ...] = ()


def _combination(key: str, row: _Row) -> Combination:
    return Combination(
        key=key,
        groups=row.groups,
        harm=row.harm,
        sentence=row.sentence,
        sources=tuple(map(cite, row.sources)),
        triggers=all_named(Trigger, row.triggers),
        any_trigger=all_named(Trigger, row.any_trigger),
        circumstances=all_named(Circumstance, row.circumstances),
        in_one_order=row.in_one_order,
        urgent=row.urgent,
        urgent_with=all_named(Trigger, row.urgent_with),
        calm_when=all_named(Circumstance, row.calm_when),
    )


COMBINATIONS: Final = toml_table("medicines/rules/combinations.toml", _Row, _combination)
