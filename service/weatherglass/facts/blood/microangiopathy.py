"""Do low platelets and a low haemoglobin come with red cells that break down, and is there another cause?

The limits, and what counts as another cause, stand in `knowledge/blood/microangiopathy`.
"""

from collections.abc import Callable, Iterator
from datetime import datetime

from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.coagulation import is_dic_asked, is_of_old, overt_dic
from weatherglass.facts.blood.heparin_fall import platelet_fall
from weatherglass.facts.blood.thinned import is_anticoagulated
from weatherglass.facts.results.high_creatinine import is_high_without_a_range
from weatherglass.facts.results.preeclampsia import hellp_since
from weatherglass.facts.results.shown import Shown
from weatherglass.facts.rounds.measures import measure_of
from weatherglass.facts.series.limits_met import Beyond, reaches
from weatherglass.knowledge.blood import microangiopathy as criteria
from weatherglass.knowledge.scores.points import isth_dic_2001
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import ConditionKind as Kind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Signal
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.times.known_times import earliest, latest
from weatherglass.model.words.lists import inside_a_sentence
from weatherglass.model.words.value_words import named_value

_FOR = criteria.COUNTS_FOR.length


class Microangiopathy(Plain, frozen=True):
    """What asks for it.

    Attributes:
        blood: Platelets and haemoglobin.
        breakdown: What shows that red cells break down.
        organs: What shows that kidneys or brain suffer.
        kidneys_suffer: Whether kidneys are among them.
        is_very_low: Whether platelets are very low.
        is_proven: Whether results or words show the breakdown beyond doubt.
        after_diarrhoea: The diarrhoea that came before, where that is what asks.
        inr: The newest INR that still counts.
        on_heparin: Whether platelets fell under heparin too.
        known_since: Since when somebody has recorded it by name.
        turns: Whether platelets have risen since then, and the kidneys are no worse.
    """

    blood: tuple[Shown, Shown]
    breakdown: tuple[Shown, ...]
    organs: tuple[Shown, ...]
    kidneys_suffer: bool
    is_very_low: bool
    is_proven: bool
    after_diarrhoea: Shown | None
    inr: Measurement | None
    on_heparin: bool
    known_since: datetime | None
    turns: bool = False

    @property
    def since(self) -> datetime | None:
        """Since when enough has been there: both results, and the first of what stands beside them."""
        beside = (*self.breakdown, *self.organs)
        return latest((*(one.since for one in self.blood), earliest(one.since for one in beside)))


def microangiopathy(bedside: Bedside) -> Microangiopathy | None:
    """Return what asks for it, None where nothing does or another cause explains it."""
    diarrhoea = _diarrhoea(bedside)
    fewer = criteria.FEWER_PLATELETS if diarrhoea is not None else criteria.LOW_PLATELETS
    platelets = _beyond(bedside, Signal.PLATELETS, fewer)
    if platelets is None or _is_newborn(bedside):
        return None
    breakdown = tuple(_breakdown(bedside))
    is_proven = _is_proven(breakdown) or (_is_likely(breakdown) and not _is_explained(bedside))
    red = _beyond(
        bedside, Signal.HAEMOGLOBIN, criteria.HAEMOGLOBIN_PROVEN if is_proven else criteria.HAEMOGLOBIN
    )
    if red is None or _is_of_old(bedside, platelets, red) or _is_something_else(bedside):
        return None
    kidneys = _kidneys(bedside)
    known_since = _known_since(bedside)
    found = Microangiopathy(
        blood=(_result(Signal.PLATELETS, platelets), _result(Signal.HAEMOGLOBIN, red)),
        breakdown=breakdown,
        organs=(*(() if kidneys is None else (kidneys,)), *_brain(bedside)),
        kidneys_suffer=kidneys is not None,
        is_very_low=criteria.VERY_LOW_PLATELETS.is_met_by(platelets.newest.value),
        is_proven=is_proven,
        after_diarrhoea=diarrhoea,
        inr=next(reversed(bedside.exact(Signal.INR, _FOR)), None),
        on_heparin=platelet_fall(bedside) is not None,
        known_since=known_since,
        turns=known_since is not None and _turns(bedside, known_since),
    )
    return found if _is_asked(bedside, found) else None


def _turns(bedside: Bedside, since: datetime) -> bool:
    """Tell whether platelets rise by more than chance, and creatinine has come down from its highest."""
    platelets, creatinine = (
        [one.value for one in bedside.record.series(signal).within(since, bedside.as_of) if one.is_exact]
        for signal in (Signal.PLATELETS, Signal.CREATININE)
    )
    if not platelets or not creatinine or creatinine[-1] >= max(creatinine):
        return False
    return platelets[-1] == max(platelets[platelets.index(min(platelets)) :]) and platelets[-1] >= (
        criteria.TURNS.value * min(platelets)
    )


def _is_asked(bedside: Bedside, found: Microangiopathy) -> bool:
    """Tell whether enough speaks of it, beside what else may explain it."""
    if found.is_proven:
        return True
    if found.after_diarrhoea is not None and found.kidneys_suffer:
        return True
    if _has_other_cause(bedside) or found.on_heparin:
        return False
    if found.kidneys_suffer and bedside.record.known_of(*criteria.INFLAMES_VESSELS):
        return True
    if _is_infected(bedside) and not (found.is_very_low and found.inr is not None):
        return False
    if found.is_very_low:
        return bool(found.breakdown or found.organs)
    return found.kidneys_suffer and (bool(found.breakdown) or len(found.organs) > 1)


# Another cause


def _is_newborn(bedside: Bedside) -> bool:
    days = bedside.age_in_days
    return days is not None and days < criteria.NOT_BELOW.days


def _is_of_old(bedside: Bedside, platelets: Beyond, red: Beyond) -> bool:
    if is_of_old(bedside, Signal.PLATELETS, platelets.newest, isth_dic_2001.OF_OLD):
        return True
    return is_of_old(bedside, Signal.HAEMOGLOBIN, red.newest, criteria.HAEMOGLOBIN_OF_OLD)


def _is_something_else(bedside: Bedside) -> bool:
    """Tell whether malaria, HELLP syndrome or failing coagulation is what is there or asked about."""
    if bedside.record.told_of(Kind.MALARIA):
        return True
    if bedside.is_pregnant_or_recently and hellp_since(bedside) is not None:
        return True
    if _beyond(bedside, Signal.FIBRINOGEN, criteria.LOW_FIBRINOGEN) is not None:
        return True
    is_long = _beyond(bedside, Signal.INR, criteria.LONG_INR) is not None
    if is_long and not is_anticoagulated(bedside):
        return True
    return is_dic_asked(bedside) and overt_dic(bedside).lowest >= isth_dic_2001.OVERT


def _is_explained(bedside: Bedside) -> bool:
    return _has_other_cause(bedside) or _is_infected(bedside) or platelet_fall(bedside) is not None


def _is_infected(bedside: Bedside) -> bool:
    return bedside.infection is not None and not bedside.infection.by_orders_alone


def _has_other_cause(bedside: Bedside) -> bool:
    if bedside.record.known_of(*criteria.OTHER_CAUSES) or bedside.on_chart(criteria.CANCER_MEDICINES):
        return True
    if _beyond(bedside, Signal.NEUTROPHILS, criteria.FEW_NEUTROPHILS) is not None:
        return True
    return bedside.bleeding is not None and bool(bedside.bleeding.recorded)


# What shows it


def _beyond(bedside: Bedside, signal: Signal, limit: Cutoff) -> Beyond | None:
    return bedside.newest_beyond(signal, reaches(limit), _FOR)


def _result(signal: Signal, one: Beyond) -> Shown:
    words = named_value(signal, one.newest)
    return Shown(words, one.since, (one.newest.origin,), measure_of(signal, one.newest))


def _breakdown(bedside: Bedside) -> Iterator[Shown]:
    """Yield what shows that red cells break down, words first."""
    for told in bedside.record.told_of(Kind.HAEMOLYSIS, Kind.MICROANGIOPATHY)[:1]:
        yield Shown.recorded(told, " recorded")
    has_liver = bool(bedside.record.told_of(criteria.LIVER))
    haptoglobin = _ranged(bedside, Signal.HAPTOGLOBIN, _is_low)
    if haptoglobin is not None and not has_liver:
        yield haptoglobin
    dehydrogenase = _ranged(bedside, Signal.LACTATE_DEHYDROGENASE, _is_high)
    if dehydrogenase is not None:
        yield dehydrogenase
    bilirubin = _beyond(bedside, Signal.BILIRUBIN, criteria.BILIRUBIN)
    if bilirubin is not None and not has_liver:
        yield _result(Signal.BILIRUBIN, bilirubin)


def _is_proven(breakdown: tuple[Shown, ...]) -> bool:
    """Tell whether words or haptoglobin say so, which infection and cancer do not lower."""
    return any(one.measure is None or one.measure.key == Signal.HAPTOGLOBIN.value for one in breakdown)


def _is_likely(breakdown: tuple[Shown, ...]) -> bool:
    """Tell whether lactate dehydrogenase and bilirubin say so together."""
    keys = {one.measure.key for one in breakdown if one.measure is not None}
    return keys >= {Signal.LACTATE_DEHYDROGENASE.value, Signal.BILIRUBIN.value}


def _ranged(bedside: Bedside, signal: Signal, is_met: Callable[[Measurement], bool]) -> Shown | None:
    found = bedside.newest_beyond(signal, is_met, _FOR)
    return _result(signal, found) if found is not None else None


def _is_low(one: Measurement) -> bool:
    """Tell whether a haptoglobin is low by its own range, or by ours where none was sent."""
    low = one.reference_low
    return one.value < low if low is not None else criteria.HAPTOGLOBIN.is_met_by(one.value)


def _is_high(one: Measurement) -> bool:
    """Tell whether a lactate dehydrogenase is high by its own range, or by ours where none was sent."""
    high = one.reference_high
    if high is None:
        return criteria.DEHYDROGENASE.is_met_by(one.value)
    return one.value > high * criteria.DEHYDROGENASE_OF_RANGE.value


def _kidneys(bedside: Bedside) -> Shown | None:
    """Return what shows that kidneys suffer: an injury, or a creatinine that nothing earlier stages."""
    now = bedside.aki_now
    if not now.stage:
        return _unstaged(bedside)
    origins = tuple(one.result.origin for one in bedside.kidneys.kdigo[-1:] if one.stage)
    return Shown(f"acute kidney injury stage {now.stage}", now.since, origins)


def _brain(bedside: Bedside) -> Iterator[Shown]:
    """Yield what shows that the brain suffers."""
    mind = bedside.altered_mind
    if mind is not None:
        yield Shown(mind.words, mind.since, mind.origins)
    for seizure in bedside.seizures[:1]:
        yield Shown(f"{inside_a_sentence(seizure.text)} recorded", seizure.at, (seizure.origin,))
    yield from _stroke(bedside)


def _unstaged(bedside: Bedside) -> Shown | None:
    """Return a creatinine above its own range, where no earlier one is there to compare it with."""
    if bedside.kidney_disease_is_known:
        return None
    # A child's that is high for the age is no less so because one of yesterday, ill already, stages it.
    if not bedside.is_child and any(one.stage is not None for one in bedside.kidneys.kdigo[-1:]):
        return None

    def is_high(one: Measurement) -> bool:
        limit = one.reference_high
        return is_high_without_a_range(bedside, one) if limit is None else one.value > limit

    return _ranged(bedside, Signal.CREATININE, is_high)


def _stroke(bedside: Bedside) -> Iterator[Shown]:
    for told in bedside.record.told_of(Kind.STROKE):
        if told.at is not None and bedside.as_of - told.at <= criteria.STROKE_COUNTS_FOR.length:
            yield Shown.recorded(told, " recorded")
            return


def _diarrhoea(bedside: Bedside) -> Shown | None:
    """Return diarrhoea of the last weeks: in a child any, in an adult with blood in it."""
    kind = Kind.VOMITING_OR_DIARRHOEA if bedside.is_child else Kind.BLOODY_DIARRHOEA
    for told in bedside.record.told_of(kind):
        if told.at is None or bedside.as_of - told.at <= criteria.DIARRHOEA_COUNTS_FOR.length:
            return Shown.recorded(told)
    return None


def _known_since(bedside: Bedside) -> datetime | None:
    told = bedside.record.told_of(Kind.MICROANGIOPATHY)
    return earliest(one.at for one in told)
