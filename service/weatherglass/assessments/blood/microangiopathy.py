"""Is this a thrombotic microangiopathy: few platelets, red cells that break down, no other cause?"""

from collections.abc import Iterator

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.blood.microangiopathy import Microangiopathy, microangiopathy
from weatherglass.facts.results.shown import Shown, measures_of
from weatherglass.knowledge.blood import microangiopathy as criteria
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.signals import Letter, Signal
from weatherglass.model.sources import Cited
from weatherglass.model.words.lists import capital, listed
from weatherglass.model.words.value_words import value_words

_FEW = 2


def assess_microangiopathy(bedside: Bedside) -> Iterator[Finding]:
    """Ask for it, whom to call and what is never given."""
    if bedside.is_peri_arrest:
        return
    found = microangiopathy(bedside)
    if found is None:
        return
    shown = _shown(found)
    asked = _asked(bedside, found)
    if _is_known(bedside, found):
        asked, shown = f"{asked.removesuffix('?')}:", _measured(shown)
    head = f"{asked} {_said(shown)}"
    yield tell(
        About(Kind.METABOLIC, "microangiopathy", Letter.CIRCULATION),
        _urgency(bedside, found),
        rests_on(bedside, found.since, *shown),
        brief=f"{asked} {_said(tuple(one for one in _few(found) if one in shown))}",
        sentence=f"{head}: {_who(bedside)} now{_exchange(bedside, found)}; {criteria.ASKS.text}; "
        f"{criteria.NO_PLATELETS.text}{_other_question(found)}{_immune(bedside)}.",
        measures=measures_of(shown),
        sources=_sources(found),
        cautions=_cautions(found),
        decided_by="low platelets and haemoglobin with red cells that break down or organs that suffer",
    )


def _shown(found: Microangiopathy) -> tuple[Shown, ...]:
    beside = (found.after_diarrhoea,) if found.after_diarrhoea is not None else ()
    return (*found.blood, *found.breakdown, *found.organs, *beside)


def _measured(shown: tuple[Shown, ...]) -> tuple[Shown, ...]:
    """Leave out what only says that it is recorded, which its name says, where anything else is left."""
    numbers = tuple(one for one in shown if one.measure is not None)
    return numbers if len(numbers) > _FEW else shown


def _few(found: Microangiopathy) -> tuple[Shown, ...]:
    """Return the two results and the first of each of what stands beside them."""
    return (*found.blood, *found.organs[:2], *(found.breakdown[:1] if len(found.organs) < _FEW else ()))


def _said(shown: tuple[Shown, ...]) -> str:
    blood, beside = shown[:2], shown[2:]
    words = " and ".join(one.words for one in blood)
    with_these = f" with {listed([one.words for one in beside])}" if beside else ""
    return f"{capital(words)}{with_these}"


def _asked(bedside: Bedside, found: Microangiopathy) -> str:
    if bedside.is_pregnant_or_recently:
        return "HELLP syndrome, or another thrombotic microangiopathy?"
    if found.after_diarrhoea is not None:
        return "Haemolytic uraemic syndrome?"
    return "Thrombotic microangiopathy (TTP, HUS)?"


def _who(bedside: Bedside) -> str:
    """Name whom to ask beside haematology."""
    if bedside.is_pregnant_or_recently:
        return "obstetrics and haematology"
    return "paediatric nephrology and haematology" if bedside.is_child else "haematology"


def _exchange(bedside: Bedside, found: Microangiopathy) -> str:
    """Say by when plasma exchange is wanted, where TTP leads; empty where it does not, or was begun."""
    if bedside.is_pregnant_or_recently or found.after_diarrhoea is not None or found.since is None:
        return ""
    if _is_known(bedside, found):
        return ""  # Its team has begun, or has decided.
    due = found.since + criteria.EXCHANGE_WITHIN.length
    was = "it was due " if due <= bedside.as_of else ""
    return f", plasma exchange within 4 to 8 hours ({was}by {bedside.clock.full(due)})"


def _other_question(found: Microangiopathy) -> str:
    """Say what else is open: heparin, or coagulation that nobody has measured."""
    if found.on_heparin:
        return "; heparin is the other question, and stands beside it"
    return "" if found.inr is not None else "; with a long INR or a low fibrinogen it is DIC first"


def _immune(bedside: Bedside) -> str:
    is_there = bedside.record.known_of(ConditionKind.IMMUNE_DISEASE)
    return f"; {criteria.OF_THE_IMMUNE_SYSTEM.text}" if is_there else ""


def _urgency(bedside: Bedside, found: Microangiopathy) -> Urgency:
    suffers = found.is_proven and bool(found.organs)
    if found.turns and _is_known(bedside, found):
        return Urgency.ROUTINE
    is_worst = (found.is_very_low or suffers) and not _is_known(bedside, found)
    return Urgency.EMERGENCY if is_worst else Urgency.URGENT


def _is_known(bedside: Bedside, found: Microangiopathy) -> bool:
    """Tell whether it has been on record for so long that its team knows."""
    known = found.known_since
    return known is not None and bedside.as_of - known > criteria.KNOWN_FROM.length


def _sources(found: Microangiopathy) -> Iterator[Cited]:
    yield criteria.ASKED
    low = criteria.FEWER_PLATELETS if found.after_diarrhoea is not None else criteria.LOW_PLATELETS
    yield (criteria.VERY_LOW_PLATELETS if found.is_very_low else low)
    yield (criteria.HAEMOGLOBIN_PROVEN if found.is_proven else criteria.HAEMOGLOBIN)
    keys = {one.measure.key for one in found.breakdown if one.measure is not None}
    yield from (source for signal, source in _BREAKDOWN if signal.value in keys)
    if found.after_diarrhoea is not None:
        yield criteria.SHIGA_TOXIN
    yield criteria.OTHERWISE_EXPLAINED
    yield criteria.ASKS
    yield criteria.NO_PLATELETS
    yield criteria.EXCHANGE_WITHIN
    yield criteria.TURNS
    yield criteria.URGENCY


_BREAKDOWN = (
    (Signal.BILIRUBIN, criteria.BILIRUBIN.source),
    (Signal.HAPTOGLOBIN, criteria.HAPTOGLOBIN.source),
    (Signal.LACTATE_DEHYDROGENASE, criteria.DEHYDROGENASE.source),
)


def _cautions(found: Microangiopathy) -> Iterator[str]:
    if found.after_diarrhoea is not None:
        yield criteria.SHIGA_TOXIN.text
    if found.inr is not None:
        yield f"INR {value_words(Signal.INR, found.inr)} does not suggest DIC."
