"""Every criterion in use as plain rows, for the command line, HTTP and the docs page."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import timedelta
from decimal import Decimal
from enum import Enum
from functools import cache
from hashlib import sha256
from types import ModuleType
from typing import Any, Final

from weatherglass.knowledge import (
    comorbidity_notes,
    contested_choices,
    documented_choices,
    investigations,
    latest_results,
)
from weatherglass.knowledge.blood import microangiopathy, obstetric_blood, transfusion
from weatherglass.knowledge.brain import epidural, head_injury, neurogenic_pressure, seizures
from weatherglass.knowledge.breathing import blood_gas, oxygen_targets
from weatherglass.knowledge.data_files import Columns
from weatherglass.knowledge.emergencies import (
    acute_problems,
    anaphylaxis,
    crises,
    rescue_doses,
    watched_infusions,
)
from weatherglass.knowledge.kidneys import kdigo_aki_2012, kidney_baseline, kidney_choices, nhs_aki_2014
from weatherglass.knowledge.limits import (
    context_choices,
    critical_results,
    newborn_jaundice,
    newborn_weight,
    out_of_range,
    plausibility,
    positive_tests,
    slow_results,
    treatment_targets,
)
from weatherglass.knowledge.medicines import (
    allergy_classes,
    dose_limits,
    expected_medicines,
    ingredients,
    kidney_limits,
    named_rules,
    needle_times,
    pairs,
    preventive_doses,
    time_critical,
    washouts,
)
from weatherglass.knowledge.medicines.rules import rules as medicine_rules
from weatherglass.knowledge.medicines.rules import timing, triggers
from weatherglass.knowledge.metabolic import (
    liver,
    magnesium_infusion,
    metabolic,
    potassium_shift,
    refeeding,
    tumour_lysis,
)
from weatherglass.knowledge.scores import (
    bedside_pews_2009,
    curb_65_2003,
    four_at_2014,
    four_ts_2006,
    glasgow_blatchford_2000,
    isth_dic_2001,
    maternal_criteria_2014,
    mews_2001,
    news2_2017,
    organ_failure,
    phoenix_2024,
    qsofa_2016,
    score_choices,
    shock_index,
    sirs_1992,
)
from weatherglass.knowledge.scores.point_rows import Band, PointRow
from weatherglass.knowledge.sepsis import (
    maternal_sepsis,
    neutropenic_sepsis,
    other_causes,
    paediatric_sepsis,
    sepsis_strata,
)
from weatherglass.knowledge.signs import (
    child_signs,
    child_trends,
    heart_and_pressure,
    single_signs,
    slow_decline,
    trend_limits,
)
from weatherglass.knowledge.signs.single_signs import SingleAnswer, SingleSign
from weatherglass.knowledge.ward import fluid_balance, intensive_care, last_days
from weatherglass.medicines.printed import PrintedTable, rule_tables
from weatherglass.medicines.printed_names import name_tables
from weatherglass.model.clauses import AgeLimit
from weatherglass.model.plain import Plain
from weatherglass.model.sources import Mark, Publication, Source
from weatherglass.model.tables.bands import BandTable, ChoiceTable, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand
from weatherglass.model.tables.risk_tables import Risk
from weatherglass.model.tables.scores import AgedScore, CutoffTable, ResponseTier, ScoreDefinition
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


#: Public name -> the module that holds the edition's data.
EDITIONS: Mapping[str, ModuleType] = {
    "news2-2017": news2_2017,
    "bedside-pews-2009": bedside_pews_2009,
    "maternal-criteria-2014": maternal_criteria_2014,
    "mews-2001": mews_2001,
    "qsofa-2016": qsofa_2016,
    "sirs-1992": sirs_1992,
    "shock-index-2019": shock_index,
    glasgow_blatchford_2000.PUBLIC_KEY: glasgow_blatchford_2000,
    curb_65_2003.PUBLIC_KEY: curb_65_2003,
    isth_dic_2001.PUBLIC_KEY: isth_dic_2001,
    four_ts_2006.PUBLIC_KEY: four_ts_2006,
    four_at_2014.PUBLIC_KEY: four_at_2014,
    phoenix_2024.PUBLIC_KEY: phoenix_2024,
    kdigo_aki_2012.PUBLIC_KEY: kdigo_aki_2012,
    nhs_aki_2014.PUBLIC_KEY: nhs_aki_2014,
    "kidney-baseline": kidney_baseline,
    organ_failure.PUBLIC_KEY: organ_failure,
    kidney_choices.PUBLIC_KEY: kidney_choices,
    score_choices.PUBLIC_KEY: score_choices,
    last_days.PUBLIC_KEY: last_days,
    newborn_jaundice.PUBLIC_KEY: newborn_jaundice,
    newborn_weight.PUBLIC_KEY: newborn_weight,
    obstetric_blood.PUBLIC_KEY: obstetric_blood,
    out_of_range.PUBLIC_KEY: out_of_range,
    slow_results.PUBLIC_KEY: slow_results,
    seizures.PUBLIC_KEY: seizures,
    single_signs.PUBLIC_KEY: single_signs,
    slow_decline.PUBLIC_KEY: slow_decline,
    child_signs.PUBLIC_KEY: child_signs,
    child_trends.PUBLIC_KEY: child_trends,
    crises.PUBLIC_KEY: crises,
    positive_tests.PUBLIC_KEY: positive_tests,
    rescue_doses.PUBLIC_KEY: rescue_doses,
    watched_infusions.PUBLIC_KEY: watched_infusions,
    critical_results.PUBLIC_KEY: critical_results,
    trend_limits.PUBLIC_KEY: trend_limits,
    blood_gas.PUBLIC_KEY: blood_gas,
    fluid_balance.PUBLIC_KEY: fluid_balance,
    oxygen_targets.PUBLIC_KEY: oxygen_targets,
    sepsis_strata.PUBLIC_KEY: sepsis_strata,
    paediatric_sepsis.PUBLIC_KEY: paediatric_sepsis,
    maternal_sepsis.PUBLIC_KEY: maternal_sepsis,
    neutropenic_sepsis.PUBLIC_KEY: neutropenic_sepsis,
    other_causes.PUBLIC_KEY: other_causes,
    plausibility.PUBLIC_KEY: plausibility,
    heart_and_pressure.PUBLIC_KEY: heart_and_pressure,
    neurogenic_pressure.PUBLIC_KEY: neurogenic_pressure,
    transfusion.PUBLIC_KEY: transfusion,
    head_injury.PUBLIC_KEY: head_injury,
    acute_problems.PUBLIC_KEY: acute_problems,
    anaphylaxis.PUBLIC_KEY: anaphylaxis,
    intensive_care.PUBLIC_KEY: intensive_care,
    epidural.PUBLIC_KEY: epidural,
    metabolic.PUBLIC_KEY: metabolic,
    potassium_shift.PUBLIC_KEY: potassium_shift,
    refeeding.PUBLIC_KEY: refeeding,
    liver.PUBLIC_KEY: liver,
    magnesium_infusion.PUBLIC_KEY: magnesium_infusion,
    microangiopathy.PUBLIC_KEY: microangiopathy,
    context_choices.PUBLIC_KEY: context_choices,
    comorbidity_notes.PUBLIC_KEY: comorbidity_notes,
    treatment_targets.PUBLIC_KEY: treatment_targets,
    tumour_lysis.PUBLIC_KEY: tumour_lysis,
    investigations.PUBLIC_KEY: investigations,
    latest_results.PUBLIC_KEY: latest_results,
    documented_choices.PUBLIC_KEY: documented_choices,
    contested_choices.PUBLIC_KEY: contested_choices,
    allergy_classes.PUBLIC_KEY: allergy_classes,
    expected_medicines.PUBLIC_KEY: expected_medicines,
    pairs.PUBLIC_KEY: pairs,
    time_critical.PUBLIC_KEY: time_critical,
    kidney_limits.PUBLIC_KEY: kidney_limits,
    dose_limits.PUBLIC_KEY: dose_limits,
    preventive_doses.PUBLIC_KEY: preventive_doses,
    washouts.PUBLIC_KEY: washouts,
    needle_times.PUBLIC_KEY: needle_times,
    named_rules.PUBLIC_KEY: named_rules,
    "medicines": medicine_rules,
    "medicine-names": ingredients,
}

#: Editions that are tables, and the modules that hold their numbers.
_TABLES: Mapping[str, tuple[Callable[[], tuple[PrintedTable, ...]], tuple[ModuleType, ...]]] = {
    "medicines": (rule_tables, (triggers, timing)),
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
