"""Infection is suspected in somebody whom the adult strata are not for: what then?

In children and in pregnancy other guidelines hold, which are not read here. Single
high-risk values of children under 5 (NICE, 2016), a raised lactate and skin signs are
named all the same.
"""

from collections.abc import Iterator

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import context_choices as ours
from weatherglass.clinical.criteria import publications as cited
from weatherglass.clinical.criteria import sepsis_strata as sepsis
from weatherglass.clinical.findings import Finding, Kind, Letter, Measure, Urgency
from weatherglass.clinical.infection import SuspectedInfection
from weatherglass.clinical.quantities import plain
from weatherglass.clinical.runs import Run
from weatherglass.clinical.scoring import measure_of
from weatherglass.clinical.signals import Signal
from weatherglass.clinical.sources import Source


def assess_infection_without_stratum(bedside: Bedside) -> Iterator[Finding]:
    """Say that the adult strata do not apply, and name what raises the risk."""
    infection = bedside.infection
    if infection is not None and not bedside.may_use_news2:
        yield _no_stratum(bedside, infection)


def _no_stratum(bedside: Bedside, infection: SuspectedInfection) -> Finding:
    features = bedside.risk_features
    who = "in pregnancy or soon after" if bedside.is_pregnant_or_recently else "in a child"
    young = _under_5(bedside)
    signs = [*features.words, *(words for words, _, _ in young)]
    because = f" {'; '.join(signs)[0].upper()}{'; '.join(signs)[1:]}." if signs else ""
    since = infection.since
    measures = tuple(
        m
        for m in (
            *((measure_of(Signal.LACTATE, features.lactate),) if features.lactate is not None else ()),
            *(measure for _, measure, _ in young),
        )
    )
    origins = [c.origin for c in infection.conditions] + [o.origin for o in infection.orders]
    origins += [m.origin for m in measures if m.origin is not None]
    return Finding(
        kind=Kind.SEPSIS_RISK,
        key="no-stratum",
        letter=Letter.OVERALL,
        urgency=Urgency.URGENT if signs else Urgency.ROUTINE,
        sentence=f"Infection is suspected {who}: the adult strata by NEWS2 do not apply.{because}",
        at=max((m.at for m in measures if m.at is not None), default=since),
        state=bedside.state_of(Run(since, bedside.as_of, is_present=True)) if since is not None else None,
        since=since,
        measures=measures,
        evidence=tuple(dict.fromkeys(origins)),
        sources=(
            cited.SEPSIS.at("separate guidelines for children and for pregnancy"),
            *((sepsis.LACTATE_RAISES_RISK.source,) if features.lactate is not None else ()),
            *((sepsis.SKIN_RAISES_RISK_SOURCE,) if features.skin is not None else ()),
            *(source for _, _, source in young),
        ),
        cautions=("Use the guideline for children or for pregnancy, and ask for a senior review.",),
        decided_by="a high-risk sign with suspected infection" if signs else "",
    )


def _under_5(bedside: Bedside) -> list[tuple[str, Measure, Source]]:
    """Return the single high-risk values of a child under 5, of the newest round."""
    age = bedside.age
    band = next(
        (b for b in sepsis.UNDER_5_HIGH_RISK if age is not None and b.from_years <= age < b.below_years), None
    )
    if (
        band is None
        or not bedside.sets
        or bedside.as_of - bedside.sets[-1].end > ours.VITAL_SIGNS_COUNT_FOR.length
    ):
        return []
    newest = bedside.sets[-1]
    breathed = bedside.oxygen_course[-1] if bedside.oxygen_course else None
    on_air = breathed is not None and breathed.at == newest.end and not breathed.is_oxygen
    found = []
    for signal, cutoff in (
        (Signal.RESPIRATION_RATE, band.respiration),
        (Signal.PULSE, band.pulse),
        (Signal.PULSE, sepsis.UNDER_5_SLOW_PULSE),
        *(((Signal.SPO2, sepsis.UNDER_5_SATURATION_ON_AIR),) if on_air else ()),
        (Signal.CAPILLARY_REFILL, sepsis.UNDER_5_CAPILLARY_REFILL),
    ):
        one = newest.number(signal)
        if one is not None and one.spread is None and cutoff.is_met_by(one.value):
            measure = measure_of(signal, one)
            found.append((f"{measure.label} {plain(one.value)}", measure, cutoff.source))
    return found
