"""The drug-chart rules laid out for a pharmacist to read line by line."""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from weatherglass.knowledge.medicines.class_codes import CLASSES
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE, PRECEDENCE_SOURCE
from weatherglass.knowledge.medicines.rules.circumstances import CIRCUMSTANCES, CIRCUMSTANCES_SOURCE
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS, Combination
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES, LevelRule
from weatherglass.knowledge.medicines.rules.rule import Caution, Circumstance, MedicineRule
from weatherglass.knowledge.medicines.rules.rules import NOT_TO_BE_STARTED, RULES
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP
from weatherglass.knowledge.medicines.rules.thrombosis import DISCUSS, THROMBOSIS_RISKS
from weatherglass.knowledge.medicines.rules.triggers import DO_NOT_START_RAAS, MEANINGS
from weatherglass.knowledge.medicines.rules.urgencies import (
    GRADES,
    LOOK_AGAIN,
    LOOK_AGAIN_FOR,
    LOOK_AGAIN_IN_DOUBT,
    LOOK_AGAIN_SOURCE,
    URGENCY_SOURCE,
)
from weatherglass.model.sources import Source
from weatherglass.model.words.clock_words import lasting
from weatherglass.model.words.value_words import limit_words

#: What stands in a cell that has nothing to say.
NONE: Final = "-"


class PrintedTable(NamedTuple):
    """One table as a reader sees it; every cell is plain text."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def rule_tables() -> tuple[PrintedTable, ...]:
    """Return everything that decides about a line of the drug chart."""
    return (
        _rules(),
        _triggers(),
        _actions(),
        _look_again(),
        _do_not_stop(),
        _thrombosis(),
        _combinations(),
        _levels(),
        _circumstances(),
        publications(_cited()),
    )


# Rules


def _rules() -> PrintedTable:
    columns = (
        "rule",
        "trigger",
        "class",
        "action",
        "reason",
        "caution",
        "monitor",
        "restart",
        "rank",
        "source",
        "mark",
    )
    return PrintedTable("Rules", columns, tuple(_rule(rule) for rule in (*RULES, NOT_TO_BE_STARTED)))


def _rule(rule: MedicineRule) -> tuple[str, ...]:
    restart = rule.restart
    back = (
        f"{restart.condition}; {restart.who}; within {lasting(restart.within)}" if restart is not None else ""
    )
    return (
        rule.key,
        rule.trigger.value,
        (labels(rule.classes) or rule.medicine)
        + (f", but not {labels(rule.but_not)}" if rule.but_not else ""),
        _actions_of(rule),
        rule.reason,
        _cautions(rule) or NONE,
        "; ".join(rule.monitor) or NONE,
        back or NONE,
        f"{rule.rank.number}: {rule.rank.why}" if rule.rank is not None else NONE,
        places(rule.sources),
        marks(rule.sources),
    )


def _cautions(rule: MedicineRule) -> str:
    """Write the cautions of a rule, each with what it holds for."""
    return " ".join([*rule.caution, *(f"[{_only_for(each)}] {each.text}" for each in rule.only_for)])


def _only_for(one: Caution) -> str:
    named = [labels(one.classes), ", ".join(one.ingredients), ", ".join(each.value for each in one.forms)]
    return "; ".join(filter(None, named))


def _actions_of(rule: MedicineRule) -> str:
    """Write an action with everything that makes it stronger, milder or silent."""
    said = [rule.action.value]
    if rule.also:
        said.append(f"also {', '.join(each.value for each in rule.also)}")
    said.extend(f"{step.action.value} with {_circumstance(step.when)}" for step in rule.stronger)
    said.extend(f"but {step.action.value} with {_circumstance(step.when)}" for step in rule.milder)
    if rule.only_when:
        said.append(f"only with {_circumstance(rule.only_when)}")
    if rule.unless:
        said.append(f"not with {_circumstance(rule.unless)}")
    if rule.until_given:
        said.append("until a dose has been given")
    if rule is NOT_TO_BE_STARTED:
        above = limit_words(DO_NOT_START_RAAS, with_unit=False)
        said.append(f"orders not signed yet, potassium {above}")
    return "; ".join(said)


def _circumstance(circumstances: Iterable[Circumstance]) -> str:
    return " or ".join(each.value for each in circumstances)


def labels(classes: Iterable[MedicineClass]) -> str:
    """Name classes as a clinician reads them."""
    return ", ".join(CLASSES[key].label for key in classes)


def places(sources: Iterable[Source]) -> str:
    """Write where each source is printed, by the key of its publication."""
    return "; ".join(f"{source.key}: {source.locator}" for source in sources)


def marks(sources: Iterable[Source]) -> str:
    """Write how the sources were checked."""
    return "; ".join(dict.fromkeys(source.mark.value for source in sources))


def _cited() -> Iterator[Source]:
    for rule in (*RULES, NOT_TO_BE_STARTED):
        yield from rule.sources
    for combination in COMBINATIONS:
        yield from combination.sources
    for note in DO_NOT_STOP:
        yield note.source
    for risk in THROMBOSIS_RISKS:
        yield risk.source
    for level in LEVEL_RULES:
        yield from _level_sources(level)


def publications(sources: Iterable[Source]) -> PrintedTable:
    """Return the full citation of every key."""
    cited = {source.key: (source.citation, source.address or NONE) for source in sources}
    rows = tuple((key, *cited[key]) for key in sorted(cited))
    return PrintedTable("Sources by their keys", ("key", "citation", "address"), rows)


# What goes with them


def _triggers() -> PrintedTable:
    rows = tuple(
        (
            trigger.value,
            meaning,
            "; ".join(f"{grade.means}: {grade.hold}" for grade in GRADES[trigger]),
            URGENCY_SOURCE.locator,
            URGENCY_SOURCE.mark.value,
        )
        for trigger, meaning in MEANINGS.items()
    )
    return PrintedTable(
        "Triggers", ("trigger", "meaning", "how soon a hold is looked at", "source", "mark"), rows
    )


def _actions() -> PrintedTable:
    rows = tuple(
        (
            str(rank),
            action.value,
            ACTIONS[action].words,
            PRECEDENCE_SOURCE.locator,
            PRECEDENCE_SOURCE.mark.value,
        )
        for rank, action in enumerate(PRECEDENCE, start=1)
    )
    return PrintedTable("Actions, strongest first", ("rank", "action", "in words", "source", "mark"), rows)


def _look_again() -> PrintedTable:
    times = {
        **{f"a suggestion that is {word}": within for word, within in LOOK_AGAIN.items()},
        **{trigger.value: within for trigger, within in LOOK_AGAIN_FOR.items()},
        "a value in doubt": LOOK_AGAIN_IN_DOUBT,
    }
    rows = tuple(
        (what, lasting(within), LOOK_AGAIN_SOURCE.locator, LOOK_AGAIN_SOURCE.mark.value)
        for what, within in times.items()
    )
    return PrintedTable("By when a suggestion is looked at again", ("of", "within", "source", "mark"), rows)


def _do_not_stop() -> PrintedTable:
    rows = tuple(
        (
            labels(entry.classes),
            entry.harm,
            _circumstance(entry.when) or "always",
            "yes" if entry.never_hold else "no",
            places((entry.source,)),
            entry.source.mark.value,
        )
        for entry in DO_NOT_STOP
    )
    columns = ("class", "harm of sudden omission", "when", "a hold is never suggested", "source", "mark")
    return PrintedTable("Not to be stopped suddenly", columns, rows)


def _thrombosis() -> PrintedTable:
    rows = tuple((risk.text, places((risk.source,)), risk.source.mark.value) for risk in THROMBOSIS_RISKS)
    title = f"Shown beside every hold of a medicine that keeps blood from clotting. {DISCUSS}"
    return PrintedTable(title, ("condition", "source", "mark"), rows)


def _combinations() -> PrintedTable:
    rows = tuple(
        (
            " with ".join(" or ".join(CLASSES[key].label for key in group) for group in each.groups),
            _needed(each),
            each.sentence,
            "within the hour" if each.urgent else "at the review",
            places(each.sources),
            marks(each.sources),
        )
        for each in COMBINATIONS
    )
    columns = ("medicines", "only with", "what is said", "how soon", "source", "mark")
    return PrintedTable("Combinations", columns, rows)


def _needed(one: Combination) -> str:
    said = []
    if one.in_one_order:
        said.append("in one product")
    if one.triggers:
        said.append(" and ".join(each.value for each in one.triggers))
    if one.any_trigger:
        said.append(" or ".join(each.value for each in one.any_trigger))
    if one.circumstances:
        said.append(_circumstance(one.circumstances))
    return "; ".join(said) or NONE


def _levels() -> PrintedTable:
    rows = tuple(
        (
            level.key,
            f"{_too_high(level)}; below the range that was sent"
            + (f"; older than {lasting(level.overdue.length)} in kidney injury" if level.overdue else ""),
            ACTIONS[level.when_high].label.lower(),
            level.high_reason,
            places(_level_sources(level)),
            marks(_level_sources(level)),
        )
        for level in LEVEL_RULES
    )
    return PrintedTable("Levels", ("medicine", "when", "when high", "reason", "source", "mark"), rows)


def _too_high(level: LevelRule) -> str:
    own = level.before_dose.limit.cutoff if level.before_dose is not None else None
    beyond = f", or {limit_words(own)} before a dose where none is sent" if own is not None else ""
    return f"above the range that was sent{beyond}"


def _level_sources(level: LevelRule) -> tuple[Source, ...]:
    return (level.source, *((level.overdue.source,) if level.overdue is not None else ()))


def _circumstances() -> PrintedTable:
    rows = tuple(
        (
            row.key.value,
            ", ".join((*(kind.value for kind in row.problems), *(kind.value for kind in row.procedures))),
            "also when inactive" if row.lasts else "while active",
            lasting(row.within) if row.within is not None else "always",
            CIRCUMSTANCES_SOURCE.locator,
            CIRCUMSTANCES_SOURCE.mark.value,
        )
        for row in CIRCUMSTANCES
    )
    columns = ("circumstance", "any of these on record", "counts", "for how long", "source", "mark")
    return PrintedTable("Circumstances read from the problem list", columns, rows)
