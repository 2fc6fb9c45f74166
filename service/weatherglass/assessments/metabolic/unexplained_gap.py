"""Is there an acid in the blood that nobody has named: a toxic alcohol, a salicylate?"""

from collections.abc import Iterator
from decimal import Decimal

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.metabolic.unexplained_gap import UnexplainedGap
from weatherglass.facts.results.latest_results import as_told
from weatherglass.facts.rounds.measures import missing_of
from weatherglass.knowledge.breathing import blood_gas as gas
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain, round_half_up
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import our_choice
from weatherglass.model.words.lists import listed

_URGENCY = our_choice(
    "an unexplained anion gap is 'urgent', an emergency at pH 7.20 or less or an altered mind"
)


def assess_unexplained_gap(bedside: Bedside) -> Iterator[Finding]:
    """Ask for it, with what was measured and what was not."""
    found = bedside.unexplained_gap
    if found is None or bedside.is_peri_arrest:
        return
    mind = bedside.altered_mind
    severe = [at for at in (found.severe_since, mind.since if mind is not None else None) if at is not None]
    is_emergency = bool(severe) or mind is not None
    head = f"Toxic alcohol or salicylate? {_said(found)}"
    gap = found.gap
    beside = [
        (signal, one)
        for signal, one in ((Signal.LACTATE, gap.lactate), (Signal.KETONES, gap.ketones))
        if one is not None
    ]
    osmolal = [(Signal.OSMOLALITY, found.osmolal.measured)] if found.osmolal is not None else []
    shown = (*gap.parts, *beside, *osmolal)
    began = max(found.since, min(severe)) if severe else found.since
    yield tell(
        About(Kind.METABOLIC, "unexplained-gap", Letter.CIRCULATION),
        Urgency.EMERGENCY if is_emergency else Urgency.URGENT,
        rests_on(
            bedside,
            found.since,
            *shown,
            *(mind.origins if mind is not None else ()),
            at=found.sample.ph.at,
            asked_since=began,
        ),
        brief=head,
        asks=gas.GAP_ASKS.text,
        missing=tuple(
            missing_of(signal)
            for signal, one in ((Signal.LACTATE, gap.lactate), (Signal.KETONES, gap.ketones))
            if one is None
        ),
        sources=(
            gas.GAP_ASKS,
            gas.GAP_LEFT,
            gas.ANION_GAP,
            *((gas.OSMOLAL_GAP,) if found.osmolal is not None else ()),
            _URGENCY,
        ),
        decided_by="an anion gap that lactate and ketones do not explain",
    )


def _said(found: UnexplainedGap) -> str:
    """Say the gap and what does not explain it: 'Anion gap 35 mmol/L with lactate 1.6 and ketones 0.4'."""
    gap = found.gap
    parts = (("lactate", gap.lactate), ("ketones", gap.ketones))
    known = [f"{name} {as_told(one)}" for name, one in parts if one is not None]
    open_ = [name for name, one in parts if one is None]
    said = f"Anion gap {plain(round_half_up(gap.value, Decimal(1)))} mmol/L"
    if known:
        said += f" with {listed(known)}"
    if open_:
        said += f", {listed(open_)} not measured"
    if found.osmolal is not None:
        said += f", osmolal gap {plain(round_half_up(found.osmolal.value, Decimal(1)))}"
        said += "" if found.osmolal.is_high else ", which does not rule it out late"
    return said
