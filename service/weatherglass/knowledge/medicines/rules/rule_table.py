"""Read a table of drug-chart rules from a TOML file beside this module: `[key]`, then the rule's columns.

The columns are those of `rule.MedicineRule`. `stronger` and `milder` are its steps and eases; the way back
from a hold stands in `back_when`, `back_then`, `back_who` and `back_within`. Circumstances, triggers and
forms are named in small letters.
"""

from datetime import timedelta

from weatherglass.knowledge.data_files import Columns, Lasting, Named, toml_table
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.actions import Action
from weatherglass.knowledge.medicines.rules.rule import (
    USUAL_WHO,
    Caution,
    Circumstance,
    MedicineRule,
    Rank,
    RestartPlan,
    Step,
    Trigger,
    each_sentence,
)
from weatherglass.knowledge.medicines.rules.ways_back import way_back
from weatherglass.model.sources import Source
from weatherglass.model.tables.scores import UrgencyWord


class _Rule(Columns, frozen=True):
    trigger: Named[Trigger]
    action: Action
    reason: str
    sources: tuple[Source, ...]
    classes: tuple[MedicineClass, ...] = ()
    medicine: str = ""
    but_not: tuple[MedicineClass, ...] = ()
    except_for: frozenset[str] = frozenset()
    only_when: tuple[Named[Circumstance], ...] = ()
    unless: tuple[Named[Circumstance], ...] = ()
    until_given: bool = False
    not_to_start: bool = False
    also: tuple[Action, ...] = ()
    stronger: tuple[Step, ...] = ()
    milder: tuple[Step, ...] = ()
    soon: tuple[UrgencyWord, ...] = ()
    says: str = ""
    caution: str | tuple[str, ...] = ()
    only_for: tuple[Caution, ...] = ()
    monitor: tuple[str, ...] = ()
    back_when: tuple[str, ...] = ()
    back_then: tuple[str, ...] = ()
    back_who: str = USUAL_WHO
    back_within: Lasting = timedelta(hours=24)
    rank: int = 0
    rank_why: str = ""


def rules_of(name: str) -> tuple[MedicineRule, ...]:
    """Return the rules of `rules/NAME.toml`, in the order of the file.

    Raises:
        TableError: If a row does not fit; file, row and column are named.
    """
    return toml_table(f"medicines/rules/{name}.toml", _Rule, _rule)


def _rule(key: str, row: _Rule) -> MedicineRule:
    return MedicineRule(
        key=key,
        trigger=row.trigger,
        classes=row.classes,
        medicine=row.medicine,
        but_not=row.but_not,
        except_for=row.except_for,
        only_when=row.only_when,
        unless=row.unless,
        until_given=row.until_given,
        not_to_start=row.not_to_start,
        action=row.action,
        also=row.also,
        steps=row.stronger,
        eases=row.milder,
        soon=row.soon,
        says=row.says,
        reason=row.reason,
        caution=each_sentence(row.caution),
        only_for=row.only_for,
        monitor=row.monitor,
        restart=_restart(row),
        rank=Rank(row.rank, row.rank_why) if row.rank else None,
        sources=row.sources,
    )


def _restart(row: _Rule) -> RestartPlan | None:
    if not row.back_when:
        return None
    return RestartPlan(
        conditions=tuple(map(way_back, row.back_when)),
        then=tuple(map(way_back, row.back_then)),
        who=row.back_who,
        within=row.back_within,
    )
