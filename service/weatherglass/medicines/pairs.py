"""Which named pairs stand on the chart, the same medicine or class twice among them.

Asked of what is taken, reported as taken, or about to be signed; what has ended makes a pair only while
it acts on.
A pair is said once, with every line that makes it, and not where another finding has said it of
the same lines.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Final

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.medicines.drug_chart import Line, Standing, is_in_use
from weatherglass.facts.medicines.meeting_pairs import MetPair, against, content_of
from weatherglass.facts.medicines.named_lines import NamedLine
from weatherglass.knowledge.medicines.groups import Members
from weatherglass.knowledge.medicines.limits.washouts import WASHOUTS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.pairs import PAIRS, URGENCY_SOURCE, Pair
from weatherglass.knowledge.medicines.rules.rule import Circumstance
from weatherglass.medicines.judging.situation import Situation
from weatherglass.medicines.pair_circumstances import ANSWERS, no_longer_calm, worse_since
from weatherglass.medicines.telling.wording import each_once, name_of
from weatherglass.model.findings import URGENCY_OF, Kind, Urgency
from weatherglass.model.medicine_findings import InteractionFinding
from weatherglass.model.once import cached_property
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Origin
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.lists import capital


def pairs(
    bedside: Bedside, situation: Situation, said: Iterable[InteractionFinding]
) -> list[InteractionFinding]:
    """Return every pair on the chart that nothing among `said` has named already."""
    if not bedside.pairs_met:
        return []
    applying = _applying(situation)
    told: dict[str, list[frozenset[Origin]]] = {}
    for finding in said:
        told.setdefault(finding.key, []).append(frozenset(finding.orders))
    found = []
    for met in bedside.pairs_met:
        if is_left_at_home(bedside, met):
            continue
        asked = _Asked(bedside, met, applying)
        orders = frozenset(line.order for line in met.lines)
        if _is_said(met.pair, orders, told) or not asked.is_spoken_of:
            continue
        told.setdefault(met.pair.key, []).append(orders)
        asked_since = worse_since(bedside, met.pair, situation) or no_longer_calm(bedside, met)
        found.append(_finding(bedside, met, _urgency(asked), asked_since))
    return found


def is_of_one_kind(met: MetPair) -> bool:
    """Tell whether a pair asks which of two medicines of one kind is meant: that is no omission."""
    return met.pair.other is None and met.pair.same == "no" and met.pair.against == "neither"


def is_left_at_home(bedside: Bedside, met: MetPair) -> bool:
    """Tell whether one of two is a home medicine that is not taken here, and no longer acts."""
    left = [line for line in met.lines if line.order in bedside.left_at_home]
    if not left or is_of_one_kind(met):
        return False
    return not met.pair.acts_on or any(not _acts_since_admission(bedside, line) for line in left)


def _acts_since_admission(bedside: Bedside, line: Line) -> bool:
    """Tell whether a medicine whose last dose was at home may still act."""
    of_line, admitted = bedside.named(line), bedside.admitted_at
    rows = (row for row in WASHOUTS if of_line.is_one_of(row.members))
    return admitted is None or any(bedside.as_of - admitted <= row.lasts for row in rows)


def _applying(situation: Situation) -> frozenset[str]:
    sure = (each for each, met in situation.met.items() if not met.doubt)
    return frozenset[str]((*situation.applies, *sure))


def _is_said(pair: Pair, orders: frozenset[Origin], told: Mapping[str, list[frozenset[Origin]]]) -> bool:
    return any(orders <= others for key in pair.said_by for others in told.get(key, ()))


# How urgent


class _Asked(Plain, frozen=True):
    bedside: Bedside
    met: MetPair
    applying: frozenset[str]

    def any_of(self, circumstances: frozenset[str], *, if_none: bool = False) -> bool:
        """Tell whether any of these circumstances holds; without any, as said."""
        if not circumstances:
            return if_none
        return not circumstances.isdisjoint(self.applying) or any(
            answer(self.bedside, self.met)
            for each in circumstances
            if (answer := ANSWERS.get(each)) is not None
        )

    @property
    def is_spoken_of(self) -> bool:
        """Whether the pair speaks in these circumstances."""
        pair = self.met.pair
        return self.any_of(pair.only_when, if_none=True) and not self.any_of(pair.silent_when)


def _urgency(asked: _Asked) -> Urgency:
    pair = asked.met.pair
    urgency = URGENCY_OF[pair.urgency]
    if Circumstance.LAST_DAYS in asked.applying:
        # A background opioid that is given twice by mistake hastens what nobody meant.
        return min(urgency, Urgency.PROMPT) if _is_doubled_relief(asked.met) else Urgency.ROUTINE
    if asked.any_of(pair.worse_when):
        urgency = Urgency(min(urgency + 1, Urgency.URGENT))
    elif asked.any_of(pair.calm_when):
        urgency = Urgency.ROUTINE
    if any(line.standing is Standing.REPORTED or _fades(line) for line in asked.met.lines):
        urgency = Urgency(max(urgency - 1, Urgency.ROUTINE))
    return urgency


def _is_doubled_relief(met: MetPair) -> bool:
    """Tell whether a pair is of opioids alone, none of which is only given when needed."""
    return all(
        MedicineClass.OPIOID in line.classes and (line.charted is None or not line.charted.as_needed)
        for line in met.lines
    )


#: What is gone within days of its end, and is no reason to hurry.
_FADES: Final = frozenset({MedicineClass.SSRI.value, MedicineClass.SNRI.value})


def _fades(line: Line) -> bool:
    is_fluoxetine = "fluoxetine" in line.medicine.ingredients
    return line.standing is Standing.ENDED and not is_fluoxetine and not _FADES.isdisjoint(line.classes)


# What is said


def _against(met: MetPair, urgency: Urgency) -> tuple[Origin, ...]:
    """Return the orders that nothing else may push; what is routine forbids nothing."""
    if urgency is Urgency.ROUTINE:
        return ()
    return against(met)


def _finding(
    bedside: Bedside, met: MetPair, urgency: Urgency, worse_since: datetime | None
) -> InteractionFinding:
    pair, lines = met.pair, met.lines
    names = each_once(
        (line.medicine.ingredients, line.medicine.written, _named(bedside, pair, line)) for line in lines
    )
    orders = tuple(line.order for line in lines)
    # The last of the orders made the pair.
    since = latest(line.since for line in lines)
    return InteractionFinding(
        kind=Kind.MEDICINE_INTERACTION,
        key=pair.key,
        letter=Letter.EXPOSURE,
        urgency=urgency,
        sentence=f"{' + '.join(names)}. {pair.says}",
        brief=f"{' + '.join(names)}. {pair.harm}",
        **rests_on(
            bedside,
            since,
            *orders,
            asked_since=worse_since if since is not None and worse_since and worse_since > since else None,
        ),
        sources=(*pair.sources, URGENCY_SOURCE),
        decided_by="a named pair on the chart",
        orders=orders,
        medicines=tuple(line.medicine.text for line in lines),
        against=_against(met, urgency),
        asks=capital(pair.asks),
        raised=urgency > URGENCY_OF[pair.urgency],
        sides=tuple(tuple(line.order for line in side) for side in (met.one, met.other))
        if pair.other
        else (),
    )


def _named(bedside: Bedside, pair: Pair, line: Line) -> str:
    """Return the name of a line, with when it ended, or was lowered, where that makes the pair."""
    ends = line.charted.ends if line.charted is not None and line.standing is Standing.ENDED else None
    if ends is None:
        return name_of(line)
    if not pair.ended:
        return f"{name_of(line)} (ended {bedside.clock.full(ends)}, acts on)"
    how = "lowered" if is_in_use(line.medicine, bedside.drug_chart.used) else "ended"
    return f"{line.medicine.written} ({how} {bedside.clock.full(ends)})"


# What is on hold


class Partners:
    """What is taken, by the pairs that it could make with a medicine that would come back."""

    def __init__(self, bedside: Bedside, situation: Situation) -> None:
        """Take the patient; both sides of every pair are laid out when the first medicine asks."""
        self._bedside = bedside
        self._applying = _applying(situation)

    @cached_property
    def _sides(self) -> list[tuple[Pair, Mapping[frozenset[str], Line], Mapping[frozenset[str], Line]]]:
        lines = self._bedside.named_lines
        return [
            (pair, _distinct(lines, pair.one), _distinct(lines, pair.second))
            for pair in PAIRS
            if pair.against != "neither" and lines
        ]

    def of(self, line: Line) -> Line | None:
        """Return what is taken that a pair forbids to be given with a line, None where nothing is."""
        of_line = self._bedside.named(line)
        for pair, ones, others in self._sides:
            if pair.against != "other" and others and of_line.is_one_of(pair.one):
                found = self._beside(pair, line, others)
            elif pair.against != "one" and ones and of_line.is_one_of(pair.second):
                found = self._beside(pair, line, ones)
            else:
                continue
            if found is not None:
                return found
        return None

    def _beside(self, pair: Pair, line: Line, others: Mapping[frozenset[str], Line]) -> Line | None:
        content = content_of(line)
        for each, other in others.items():
            if other.order == line.order or (pair.same == "no" and each & content):
                continue
            asked = _Asked(self._bedside, MetPair(pair, (line,), (other,)), self._applying)
            return other if asked.is_spoken_of and _urgency(asked) > Urgency.ROUTINE else None
        return None


def _distinct(lines: Iterable[NamedLine], members: Members) -> Mapping[frozenset[str], Line]:
    """Return one line for each different medicine among those that are meant."""
    return {content_of(each.line): each.line for each in lines if each.is_one_of(members)}
