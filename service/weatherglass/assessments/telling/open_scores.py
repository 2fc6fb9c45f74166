"""From a total with open parts to a finding: what every such score says in the same way.

A band is named only where the least and the most lie in it; the parts that are not known are named.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime

from weatherglass.assessments.telling.basis import rests_on
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.open_points import OpenTotal, Points
from weatherglass.knowledge.scores.open_scores import OPEN_SCORES
from weatherglass.knowledge.scores.points.point_rows import Band, band_of
from weatherglass.model.findings import (
    Kind,
    Measure,
    Missing,
    MissingReason,
    ScoreFinding,
    ScorePart,
    Urgency,
)
from weatherglass.model.plain import Plain
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Cited, Origin, sources_of
from weatherglass.model.times.known_times import latest
from weatherglass.model.words.lists import listed


class Asked(Plain, frozen=True):
    """What a total asks for, and since when.

    Attributes:
        words: What is asked, a sentence's end without its full stop; empty where nobody is asked.
        since: When its urgency began; None where it asks for nobody.
        rule: The rule that asks, in words.
    """

    urgency: Urgency = Urgency.ROUTINE
    words: str = ""
    since: datetime | None = None
    rule: str = ""


NOBODY = Asked()


def asked_from(
    found: OpenTotal, least: int, urgency: Urgency, words: str, *, rule: str, open_words: str = ""
) -> Asked:
    """Return what is asked from a total on; below it nothing, but what is said while it could be reached."""
    if found.lowest < least:
        return Asked(words=open_words) if found.highest >= least else NOBODY
    return Asked(urgency, words, found.reached_since(least), rule)


class Interpretation(Plain, frozen=True, kw_only=True):
    """What is particular to one total.

    Attributes:
        remark: What follows the total, with its own comma.
        in_brief: What follows it in few words, where that is less.
        names_parts: Whether the parts are named beside their values (organs), or the values say enough.
        band: The band of the total; None while it is open, or where it has none.
    """

    remark: str = ""
    in_brief: str | None = None
    asked: Asked = NOBODY
    letter: Letter = Letter.OVERALL
    cautions: tuple[str, ...] = ()
    sources: tuple[Cited, ...] = ()
    band: Band | None = None
    names_parts: bool = False
    evidence: tuple[Origin, ...] = ()


def band_words(bands: tuple[Band, ...], found: OpenTotal) -> str:
    """Return the band of a total, with its own comma; empty while it is open."""
    band = band_of(bands, found.lowest, found.highest)
    return f", {band.label}" if band is not None else ""


def _brief(found: OpenTotal, read: Interpretation) -> str:
    """Return a total in few words, with the values that score most."""
    total = str(found.lowest) if found.lowest == found.highest else f"{found.lowest} to {found.highest}"
    most = sorted((one for one in found.parts if one.lowest), key=lambda one: -one.lowest)[:3]
    because = f": {', '.join(one.shown for one in most)}" if most else ""
    remark = read.remark if read.in_brief is None else read.in_brief
    return f"{OPEN_SCORES[found.score].name} {total}{remark}{because}"


def open_score(bedside: Bedside, found: OpenTotal, read: Interpretation) -> ScoreFinding:
    """Report a total, with what is open as what it could add."""
    known = [one for one in found.parts if one.at is not None]
    asked = read.asked
    return ScoreFinding(
        kind=Kind.SCORE,
        key=found.score,
        letter=read.letter,
        urgency=asked.urgency,
        sentence=_sentence(found, read),
        brief=_brief(found, read),
        **rests_on(
            bedside,
            asked.since,
            *read.evidence,
            *(origin for one in found.parts for origin in one.origins),
            at=latest(one.at for one in known) or bedside.as_of,
            measures=tuple(_measure(found.score, one) for one in known),
        ),
        missing=tuple(_gap(one) for one in found.unknown),
        sources=sources_of(read.sources),
        cautions=read.cautions,
        decided_by=asked.rule,
        edition=OPEN_SCORES[found.score].edition,
        name=OPEN_SCORES[found.score].name,
        total=found.lowest if found.lowest == found.highest else None,
        lowest=found.lowest,
        highest=found.highest,
        parts=tuple(_part(one) for one in found.parts),
        unknown=tuple(_key(one) for one in found.unknown),
        tier=read.band.label if read.band is not None else "",
        is_secondary=True,
    )


def _sentence(found: OpenTotal, read: Interpretation) -> str:
    is_whole = found.lowest == found.highest
    total = str(found.lowest) if is_whole else f"{found.lowest} to {found.highest}"
    scoring = [_scored(one, read) for one in found.parts if one.lowest]
    said = [listed(scoring)] if scoring else []
    opened = [one for one in found.unknown if not one.lowest]
    if opened and read.names_parts:
        said.append(f"open: {listed([f'{_label(one)} ({one.shown})' for one in opened])}")
    else:
        said += _open(opened)
    if read.asked.words:
        said.append(read.asked.words)
    name = OPEN_SCORES[found.score].name
    return f"{name} {total}{read.remark}{': ' if said else ''}{'; '.join(said)}."


def _open(opened: Sequence[Points]) -> Iterator[str]:
    """Name what is not recorded, and what is known without deciding the points."""
    gone = [one.missing for one in opened if one.missing]
    if gone:
        yield f"not recorded: {listed(gone)}"
    open_still = [one.shown for one in opened if not one.missing]
    if open_still:
        yield f"open: {listed(open_still)}"


def _scored(one: Points, read: Interpretation) -> str:
    return f"{_label(one)} {one.lowest} ({one.shown})" if read.names_parts else f"{one.shown} ({one.lowest})"


def _key(one: Points) -> str:
    return str(one.part)


def _label(one: Points) -> str:
    return one.part.replace("-", " ")


def _measure(score: str, one: Points) -> Measure:
    return Measure(f"{score}-{one.part}", _label(one), one.shown, at=one.at)


def _gap(one: Points) -> Missing:
    return Missing(
        key=_key(one),
        label=one.missing or one.shown,
        reason=MissingReason.NOT_RECORDED,
        could_add=(0, one.highest - one.lowest),
    )


def _part(one: Points) -> ScorePart:
    return ScorePart(
        key=_key(one),
        label=_label(one),
        points=None if one.is_open else one.lowest,
        lowest=one.lowest,
        highest=one.highest,
        shown=one.shown,
        said=f"{_label(one)} {one.shown}",
        short=one.shown,
        measured=(Measure(_key(one), _label(one), one.shown, at=one.at),) if one.at is not None else (),
        missing=_gap(one) if one.is_open else None,
    )
