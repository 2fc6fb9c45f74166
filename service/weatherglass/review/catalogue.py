"""Every criterion in use as plain rows, for the command line, HTTP and the docs page."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import timedelta
from decimal import Decimal
from enum import Enum
from functools import cache
from hashlib import sha256
from importlib import import_module
from pkgutil import walk_packages
from types import ModuleType
from typing import Any, Final

from weatherglass import knowledge
from weatherglass.knowledge.data_files import Columns
from weatherglass.knowledge.medicines.rules import rule, timing, triggers
from weatherglass.knowledge.scores.points.point_rows import Band, PointRow
from weatherglass.knowledge.signs.single_signs import SingleAnswer, SingleSign
from weatherglass.medicines.printed import PrintedTable, rule_tables
from weatherglass.medicines.printed_names import name_tables
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Mark, Publication, Source
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.tables.scores import AgedScore, CutoffTable, ResponseTier, ScoreDefinition
from weatherglass.model.words.clauses import AgeLimit
from weatherglass.model.words.clock_words import lasting


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a criterion: what, when, what it gives, and where it is printed."""

    name: str
    value: str
    gives: str
    source: str
    place: str
    mark: str


@dataclass(frozen=True, slots=True)
class Criterion:
    """One published edition as a reader sees it; what is no list of numbers is a table."""

    name: str
    title: str
    about: str
    rows: tuple[Row, ...]
    tables: tuple[PrintedTable, ...] = ()


def _editions() -> dict[str, ModuleType]:
    below = walk_packages(knowledge.__path__, f"{knowledge.__name__}.")
    modules = [import_module(one.name) for one in below]
    return {module.PUBLIC_KEY: module for module in modules if hasattr(module, "PUBLIC_KEY")}


#: Every module of `knowledge` that has a public name, by it; room by room.
EDITIONS: Final[Mapping[str, ModuleType]] = _editions()
#: Editions that are tables, and the modules that hold their numbers.
_TABLES: Mapping[str, tuple[Callable[[], tuple[PrintedTable, ...]], tuple[ModuleType, ...]]] = {
    "medicines": (rule_tables, (triggers, timing, rule)),
    "medicine-names": (name_tables, ()),
}


@cache
def criterion(name: str) -> Criterion:
    """Return one edition as rows.

    Raises:
        KeyError: There is no edition of that name.
    """
    module = EDITIONS[name]
    about = (module.__doc__ or "").partition("\n")[2].strip()
    tables, modules = _TABLES.get(name, (tuple, (module,)))
    rows = tuple(
        row
        for each in modules
        for key, value in vars(each).items()
        if key.isupper()
        for row in _rows(key, value)
    )
    return Criterion(name, title_of(name), about, tuple(dict.fromkeys(rows)), tables())


def title_of(name: str) -> str:
    """Return what an edition is called, without its rows."""
    return (EDITIONS[name].__doc__ or name).partition("\n")[0]


def rule_sets() -> dict[str, str]:
    """Return a short content hash by edition: it changes when any number of it does."""
    return {name: _hash_of(criterion(name)) for name in EDITIONS}


def _hash_of(shown: Criterion) -> str:
    content = (shown.rows, shown.tables) if shown.tables else shown.rows
    return sha256(repr(content).encode()).hexdigest()[:12]


def score_definitions() -> Iterator[ScoreDefinition]:
    """Yield every published score of the editions in use, each band of age on its own."""
    for module in EDITIONS.values():
        for value in vars(module).values():
            for item in value if isinstance(value, tuple) else (value,):
                if isinstance(item, ScoreDefinition):
                    yield item
                elif isinstance(item, AgedScore):
                    yield item.definition


def _rows(key: str, value: Any) -> Iterator[Row]:  # noqa: PLR0912 - one branch a shape of data
    name = key.replace("_", " ").capitalize().replace("Spo2", "SpO2")
    if isinstance(value, Publication):
        return
    if isinstance(value, Source):
        # A choice that findings rest on has no other row; what stands in a publication has its own.
        if value.mark is Mark.OUR_CHOICE and not key.startswith("_"):
            yield _row(name.removesuffix(" source"), value.locator, "", value)
    elif isinstance(value, BandTable):
        for band in value.bands:
            yield _row(name, _span(band.low, band.high, value.unit.value), _points(band.points), value.source)
    elif isinstance(value, ChoiceTable):
        for choice, points in value.points_by_choice.items():
            yield _row(name, choice.name.lower().replace("_", " "), _points(points), value.source)
    elif isinstance(value, CutoffTable):
        for cutoff in value.cutoffs:
            yield _row(name, cutoff.printed, _points(value.points), cutoff.source)
    elif isinstance(value, AgeLimit):
        yield _row(name, f"{value.years} years" if value.years else f"{value.days} days", "", value.source)
    elif isinstance(value, Cutoff):
        yield _row(name, value.printed, "", value.source)
    elif isinstance(value, CriticalBand):
        yield _row(value.key, value.cutoff.printed, f"{value.label}: {value.urgency}", value.source)
    elif isinstance(value, SingleSign):
        yield _row(value.key, value.cutoff.printed, f"{value.urgency}; {value.whose}", value.source)
    elif isinstance(value, SingleAnswer):
        yield _row("consciousness", value.answer.value, value.urgency, value.source)
    elif isinstance(value, ResponseTier):
        yield _row(f"Response, {value.label}", value.monitoring, value.response, value.source)
    elif isinstance(value, PointRow):
        when = value.cutoff.printed if value.cutoff is not None else "recorded"
        needs = f", with {value.needs}" if value.needs else ""
        score = f"{value.score} " if value.score else ""
        yield _row(
            f"{score}{value.part}", f"{value.input} {when}{needs}", _points(value.points), value.source
        )
    elif isinstance(value, Band):
        yield _row("Total", f"{value.at_least} or more", value.label, value.source)
    elif isinstance(value, ScoreDefinition):
        return
    elif isinstance(value, (tuple, list)):
        for item in value:
            yield from _rows(key, item)
    elif isinstance(value, Mapping):
        for inner, item in value.items():
            yield from _rows(f"{key} {inner}", item)
    elif _has_fields(value):
        for place, source in enumerate(_sources_of(value)):
            yield _row(
                str(getattr(value, "key", name)), "the same" if place else _plain_fields(value), "", source
            )


def _sources_of(value: Any) -> Iterator[Source]:
    """Yield where a row is stated, the first place first; nothing for a row that names none."""
    stated = getattr(value, "source", None)
    several: tuple[Any, ...] = (stated,) if stated is not None else getattr(value, "sources", ())
    yield from (one for one in several if isinstance(one, Source))


def _has_fields(value: Any) -> bool:
    return _is_of_fields(value.__class__)


@cache
def _is_of_fields(kind: Any) -> bool:
    return issubclass(kind, (Columns, Plain)) or is_dataclass(kind)


def _plain_fields(value: Any) -> str:
    names = (
        value.__struct_fields__
        if isinstance(value, (Columns, Plain))
        else [one.name for one in fields(value)]
    )
    limit = getattr(value, "cutoff", None)
    shown = (
        limit.printed
        if isinstance(limit, Cutoff) and name in _OF_A_LIMIT
        else _field(name, getattr(value, name))
        for name in names
    )
    return "; ".join(filter(None, shown))


#: Columns of which a row makes its limit.
_OF_A_LIMIT: Final = ("when", "below", "above")


_EMPTY: Final[tuple[Any, ...]] = (None, False, 0, "", (), frozenset(), timedelta(0))


def _field(name: str, content: Any) -> str:
    """Say one column of a row; its key and sources stand beside it, what is empty or not so is left out."""
    if name.startswith("_") or name in ("key", "remark", "as_in"):
        return ""
    if isinstance(content, str):
        return content
    if content in _EMPTY and not isinstance(content, Decimal):
        return ""
    if name == "caution":
        return " ".join(content)  # Sentences, in their order.
    words = name.replace("_", " ")
    if content is True:
        return words
    if _has_fields(content) and not isinstance(content, (Source, Cutoff)):
        return f"{words}: {_plain_fields(content)}"
    return _said(content)


def _said(content: Any) -> str:
    if isinstance(content, str):
        return content
    if isinstance(content, Source):
        return ""
    if isinstance(content, Cutoff):
        return content.printed
    if isinstance(content, Risk):
        return f"{content.word} risk"
    if isinstance(content, timedelta):
        return lasting(content)
    if isinstance(content, (frozenset, tuple)):
        return ", ".join(sorted(filter(None, map(_said, content))))
    if _has_fields(content):
        return _plain_fields(content)
    return str(content.value if isinstance(content, Enum) else content)


def _points(points: int) -> str:
    return f"{points} point{'' if abs(points) == 1 else 's'}"


def _row(name: str, value: str, gives: str, source: Source) -> Row:
    return Row(name, value, gives, source.citation, source.locator, source.mark.value)


def _span(low: object, high: object, unit: str) -> str:
    if low is None:
        return f"{high} or less {unit}"
    return f"{low} or more {unit}" if high is None else f"{low} to {high} {unit}"
