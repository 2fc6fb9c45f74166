"""Does a venous gas ask for an arterial one?

A venous sample has a lower pH and a higher carbon dioxide, so it is shown as venous and
never judged by arterial limits.
"""

from collections.abc import Iterator

from weatherglass.clinical.bedside import Bedside
from weatherglass.clinical.criteria import critical_results as limits
from weatherglass.clinical.findings import Finding, Kind, Letter, Urgency
from weatherglass.clinical.gas_samples import ARTERIAL, VENOUS, gas_samples
from weatherglass.clinical.record import Remark
from weatherglass.clinical.runs import run_at_level
from weatherglass.clinical.scoring import measure_of
from weatherglass.clinical.sources import our_choice

_VENOUS = our_choice("a venous pH below 7.35 asks for an arterial sample, sooner below 7.25")


def assess_venous_gas(bedside: Bedside) -> Iterator[Finding]:
    """Show an acid venous sample that no arterial one has followed."""
    samples = gas_samples(bedside.record, VENOUS)
    if not samples or bedside.as_of - samples[-1].ph.at > bedside.choices.gas_counts_for:
        return
    arterial = gas_samples(bedside.record, ARTERIAL)
    newest = samples[-1]
    if arterial and arterial[-1].ph.at >= newest.ph.at:
        return  # The arterial sample says more.
    run = run_at_level([s.ph.at for s in samples], [int(s.is_acid) for s in samples])
    state = bedside.state_of(run)
    if run is None or state is None or not newest.is_acid:
        return
    yield Finding(
        kind=Kind.BLOOD_GAS,
        key="venous-gas",
        letter=Letter.BREATHING,
        urgency=Urgency.URGENT if newest.is_severe else Urgency.PROMPT,
        sentence=f"Venous gas: {newest.numbers}. Take an arterial sample to judge it.",
        at=newest.ph.at,
        state=state,
        since=run.since,
        measures=tuple(measure_of(signal, one) for signal, one in newest.parts),
        evidence=tuple(dict.fromkeys(one.origin for _, one in newest.parts)),
        sources=(_VENOUS, limits.VENOUS_GAS.source),
        cautions=(limits.VENOUS_GAS.text,),
        decided_by="a venous pH below 7.35",
        provisional=Remark.PROVISIONAL in newest.ph.remarks,
    )
