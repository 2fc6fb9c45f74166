"""Cards: a handful, the most dangerous first, each of few words, with one link to the numbers and sources.

A card says what the review found, in the review's own words and order; nothing is compared here. A summary
that is too long goes on below it. What does not fit stands in the review, and the card counts it.
"""

import re
from collections.abc import Iterable, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from weatherglass.cds_hooks.markdown import blocks, bullets, plain
from weatherglass.fhir.writing.frame.context import WritingContext
from weatherglass.fhir.writing.frame.identity import finding_uuid, uuid_of
from weatherglass.fhir.writing.frame.terms import KIND_WORDS, Json
from weatherglass.handover.lines import Role
from weatherglass.handover.told import Told, is_settled
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.medicines.telling.coverage import NOT_CHECKED_IN_SHORT
from weatherglass.medicines.telling.wording import as_charted
from weatherglass.model.findings import Finding, Kind, ScoreFinding, Urgency
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding
from weatherglass.model.review import Review
from weatherglass.model.sources import Source

#: The specification wants fewer than 140 characters.
SUMMARY_LENGTH = 139
#: Ours: what can be read while somebody is about to do something else; what presses of medicines stays, and
#: what is asked of whoever is called.
MOST_WORDS = 60
_LABEL_LENGTH = 60
#: Where one part of a sentence ends and another begins.
_PART = re.compile(r"[,;:.?](?= )| and ")
MOST_CARDS = 5
INDICATOR = {
    Urgency.EMERGENCY: "critical",
    Urgency.URGENT: "warning",
    Urgency.PROMPT: "warning",
    Urgency.ROUTINE: "info",
}
#: Why a card may be set aside; the words are ours.
OVERRIDE_REASONS = {
    "already-known": "The team knows and has a plan",
    "benefit-outweighs-risk": "The benefit outweighs the risk for this patient",
    "will-review-later": "Will be looked at later in this shift",
    "data-not-right": "The recorded data are not right",
    "not-for-this-patient": "Does not apply to this patient",
}
_NEVER_AN_ORDER = "A suggestion, never an order."
_ON_A_CARD = (Role.ASKED, Role.MISSING, Role.CAUTION, Role.EVIDENCE)
_OURS = "Weatherglass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What every card of one answer shares.

    Attributes:
        context: The patient's context, for times and names.
        instance: Id of the trigger; cards are named after it.
        base_url: Address of this service, for links to the published tables.
        launch: Where the record system starts the page; None when it is not set up for that.
        remarks: What a reader must know beside the first card: what was not sent.
    """

    context: WritingContext
    instance: str
    base_url: str
    launch: str | None = None
    remarks: tuple[str, ...] = ()


def summary_of(sentence: str, length: int = SUMMARY_LENGTH) -> str:
    """Return a sentence that fits on a card, cut between its parts when it must be, or else between words.

    Examples:
        >>> len(summary_of("word " * 60)) <= SUMMARY_LENGTH
        True
        >>> summary_of("NEWS2 9.")
        'NEWS2 9.'
        >>> summary_of("Ketones 6.2 (JBDS, from memory), glucose 26: insulin now.", 45)
        'Ketones 6.2 (JBDS, from memory)…'
    """
    text = plain(sentence)
    if len(text) <= length:
        return text
    cut = text[: length - 1]
    parts = [found.start() for found in _PART.finditer(cut) if _is_whole(cut[: found.start()])]
    ends = (*parts[-1:], cut.rfind(" "), len(cut))
    return f"{cut[: next(end for end in ends if end > length // 2)].rstrip(' ,;:')}…"


def _is_whole(part: str) -> bool:
    return part.count("(") == part.count(")")


def rest_of(sentence: str) -> str:
    """Return what the summary of a sentence had no room for; empty where it is whole.

    Examples:
        >>> rest_of("NEWS2 9."), rest_of(f"{'NEWS2 9, ' * 15}critical care now.")
        ('', '…critical care now.')
    """
    text, said = plain(sentence), summary_of(sentence)
    return "" if said == text else f"…{text[len(said) - 1 :].lstrip(' ,;:')}"


def short(finding: Finding) -> str:
    """Return a finding's sentence, or what it comes to in a few words where that is too long."""
    return finding.sentence if _fits(finding) else f"{finding.brief}."


def _fits(finding: Finding) -> bool:
    return not isinstance(finding, ScoreFinding) and len(plain(finding.sentence)) <= SUMMARY_LENGTH


def name_of(context: WritingContext, finding: Finding) -> str:
    """Return the lasting name of a finding, the same however often it is asked for."""
    order = finding.order if isinstance(finding, MedicineFinding) else ""
    at = finding.at.isoformat() if finding.at is not None else ""
    return finding_uuid(context.patient, finding.kind, finding.key, order, at, finding.evidence)


def card_of(
    frame: Frame,
    finding: Finding,
    *,
    also: Sequence[str] = (),
    suggestions: Sequence[Json] = (),
) -> Json:
    """Return the card of one finding.

    Args:
        frame: What every card shares.
        finding: What was found.
        also: Sentences that stand there in any case (whom to call, a recorded ceiling).
        suggestions: What may be chosen.
    """
    return _card(
        frame,
        name=name_of(frame.context, finding),
        sentence=short(finding),
        always=also,
        said=tuple(words for _, words in _about(frame.context.told(finding))),
        pressing=frozenset({finding.asks} if also and not _fits(finding) else ()),
        urgency=finding.urgency,
        findings=(finding,),
        suggestions=suggestions,
    )


def group_card(
    frame: Frame,
    findings: Sequence[Finding],
    sentence: str = "",
    *,
    also: Sequence[str] = (),
    suggestions: Sequence[Json] = (),
) -> Json:
    """Return one card for several findings in few words; the first leads where no sentence stands for all."""
    leads = not sentence
    told = [(short(one), one) for one in findings[1:]] if leads else list(_each_once(findings))
    pressing = frozenset(words for words, one in told if _is_never_left_out(one, findings, leads=leads))
    about = list(_about(frame.context.told(findings[0]))) if leads else []
    besides = [words for _, words in about]
    # Why a medicine is asked about, and what a pair does, come before what else there is.
    why = (
        besides
        if isinstance(findings[0], InteractionFinding)
        else [words for is_reason, words in about if is_reason]
    )
    return _card(
        frame,
        name=uuid_of("group", *(name_of(frame.context, f) for f in findings)),
        sentence=sentence or short(findings[0]),
        always=also,
        said=why,
        counted=[words for words, _ in told],
        pressing=pressing,
        besides=besides,
        urgency=max(f.urgency for f in findings),
        findings=findings,
        suggestions=suggestions,
    )


def _is_never_left_out(finding: Finding, among: Sequence[Finding], *, leads: bool) -> bool:
    """Tell whether it is an emergency, or of the drug chart and pressing.

    Whoever signs reads the card and not the review. A pair that does not lead has to be urgent, on a card
    of the drug chart alone.
    """
    if isinstance(finding, InteractionFinding):
        of_chart = all(isinstance(one, MedicineFinding | InteractionFinding) for one in among)
        least = Urgency.PROMPT if leads else Urgency.URGENT if of_chart else Urgency.EMERGENCY
    else:
        least = Urgency.PROMPT if isinstance(finding, MedicineFinding) else Urgency.EMERGENCY
    return finding.urgency >= least


def _each_once(findings: Sequence[Finding]) -> Iterable[tuple[str, Finding]]:
    """Tell each finding in few words; of the drug chart what is asked, with the medicines it is asked of.

    What that settles comes after it.

    Returns:
        The words, and the finding, of several the most urgent one.
    """
    asked: dict[str, list[MedicineFinding]] = {}
    for finding in findings:
        if isinstance(finding, MedicineFinding) and finding.kind is not Kind.ALLERGY:
            asked.setdefault(finding.action, []).append(finding)
        elif not is_settled(finding):
            yield short(finding), finding
    for action, some in asked.items():
        words = f"{ACTIONS[action].label}: {', '.join(names_of(some))}."
        yield words, max(some, key=lambda one: one.urgency)
    yield from ((short(finding), finding) for finding in findings if is_settled(finding))


def names_of(some: Iterable[MedicineFinding]) -> list[str]:
    """Name medicines as the chart does, each once."""
    return list(dict.fromkeys(as_charted(one.medicine) for one in some))


def remark_card(
    frame: Frame,
    sentence: str,
    details: Sequence[str] = (),
    urgency: Urgency = Urgency.ROUTINE,
    *,
    pressing: Sequence[str] = (),
) -> Json:
    """Return a card about the data rather than about a finding; what is pressing stands there in any case."""
    return _card(
        frame,
        name=uuid_of("remark", sentence),
        sentence=sentence,
        always=tuple(filter(None, pressing)),
        said=details,
        urgency=urgency,
        findings=(),
        suggestions=(),
    )


def without_a_name(frame: Frame, review: Review) -> Iterable[Json]:
    """Return a card where orders on the chart have no name: silence would read as an all-clear."""
    for finding in review.findings:
        if finding.kind is Kind.MEDICINE_NOT_REVIEWED and finding.key == "not-named":
            yield card_of(frame, finding)


def _card(
    frame: Frame,
    *,
    name: str,
    sentence: str,
    said: Sequence[str],
    urgency: Urgency,
    findings: Sequence[Finding],
    suggestions: Sequence[Json],
    always: Sequence[str] = (),
    counted: Sequence[str] = (),
    pressing: AbstractSet[str] = frozenset(),
    besides: Sequence[str] = (),
) -> Json:
    sources = list(dict.fromkeys(s for f in findings for s in frame.context.told(f).sources))
    summary, first = summary_of(sentence), tuple(filter(None, (rest_of(sentence), *always)))
    card: Json = {
        "uuid": uuid_of("card", frame.instance, name, sentence),
        "summary": summary,
        "detail": _detail(frame, summary, (first, said, counted, besides), pressing, findings),
        "indicator": _indicator(urgency, findings),
        "source": _source(frame, sources, findings),
        "overrideReasons": [
            frame.context.terms.coding("override-reason", code, words)
            for code, words in OVERRIDE_REASONS.items()
        ],
    }
    links = list(_links(frame, findings))
    if links:
        card["links"] = links
    if suggestions:
        card["suggestions"] = list(suggestions)
        card["selectionBehavior"] = "any"
    return card


def _detail(
    frame: Frame,
    summary: str,
    sentences: tuple[Sequence[str], ...],
    pressing: AbstractSet[str],
    findings: Sequence[Finding],
) -> str:
    """Return as much as fits beside the summary, what is needed most first.

    Args:
        frame: Its remarks come in any case.
        summary: What stands above.
        sentences: What stands in any case, what comes first, what is counted where it is left out, the rest.
        pressing: Of what is counted, what stands there however long it is.
        findings: What the card is about.
    """
    first, said, counted, besides = sentences
    wanted = dict.fromkeys(filter(None, (*said, *counted, *besides)))
    always = (
        *first,
        *frame.remarks,
        *_not_checked(findings),
        _NEVER_AN_ORDER,
        *(pressing & wanted.keys()),
    )
    room = MOST_WORDS - words_of(summary) - sum(map(words_of, always)) - words_of(_more(len(counted)))
    kept: list[str] = []
    for sentence in wanted:
        if sentence in pressing:
            kept.append(sentence)
        elif words_of(sentence) <= room:
            kept.append(sentence)
            room -= words_of(sentence)
    missed = sum(sentence not in kept for sentence in counted)
    return blocks(
        bullets((*first, *kept, _more(missed), *frame.remarks, *_not_checked(findings))),
        f"*{_NEVER_AN_ORDER}*",
    )


def words_of(text: str) -> int:
    """Count the words of a text; a sign alone is none.

    Examples:
        >>> words_of("NEWS2 9 - call now.")
        4
    """
    return sum(any(sign.isalnum() for sign in word) for word in text.split())


def _more(many: int) -> str:
    return f"And {many} more in the review." if many else ""


def _not_checked(findings: Sequence[Finding]) -> Iterable[str]:
    """Say beside every medicine what nobody looked at."""
    if any(isinstance(f, MedicineFinding | InteractionFinding) for f in findings):
        yield NOT_CHECKED_IN_SHORT


def _indicator(urgency: Urgency, findings: Sequence[Finding]) -> str:
    """Return how a card stands out: a recorded severe allergy is critical, like an emergency."""
    if any(f.kind is Kind.ALLERGY and f.urgency >= Urgency.URGENT for f in findings):
        return INDICATOR[Urgency.EMERGENCY]
    return INDICATOR[urgency]


def _about(told: Told) -> Iterable[tuple[bool, str]]:
    """Return what a reader may want to know beyond the few words, the most needed first.

    Returns:
        Whether it is the reason of a suggestion, and the words.
    """
    finding = told.finding
    if isinstance(finding, MedicineFinding):
        head = short(finding)
        asked = list(told.of(Role.WHY))
        met = [line.short for line in asked if not (line.is_said and _fits(finding))]
        whys = [line.besides for line in asked if line.besides not in head]
        # Where the summary says what met the rules, why that matters comes first; the time of it after.
        is_said = all(reason.short in head for reason in finding.reasons)
        reasons = [(True, words) for words in dict.fromkeys((*whys, *met) if is_said else (*met, *whys))]
        weighed = [(False, line.short) for line in told.of(Role.RISK, Role.LOOK_AGAIN)]
        # Of what is not begun nothing can be stopped; else what stopping does and the next look come first.
        yield from (*reasons, *weighed) if finding.action == Action.AVOID else (*weighed, *reasons)
        yield from ((False, line.short) for line in told.of(Role.RESTART))
    elif not _fits(finding):
        # The few words stand in the summary.
        yield False, finding.asks or finding.sentence
    yield from ((False, line.short) for line in told.of(*_ON_A_CARD))


def _source(frame: Frame, sources: Sequence[Source], findings: Sequence[Finding]) -> Json:
    if not sources:
        return {"label": _OURS}
    first = sources[0]
    # Who published it: the rest of a citation stands behind the link.
    source: Json = {"label": summary_of(first.publisher, _LABEL_LENGTH)}
    if _is_address(first.address):
        source["url"] = first.address
    kind = findings[0].kind
    source["topic"] = frame.context.terms.coding("finding-kind", kind.value, KIND_WORDS[kind])
    return source


def _links(frame: Frame, findings: Sequence[Finding]) -> Iterable[Json]:
    """Return where the whole review is, where it can be started, and one link to the numbers and sources."""
    if frame.launch is not None:
        yield {"label": "The whole review, from the record", "url": frame.launch, "type": "smart"}
    editions = list(dict.fromkeys(f.edition for f in findings if isinstance(f, ScoreFinding)))
    if findings:
        base = f"{frame.base_url.rstrip('/')}/criteria"
        address = f"{base}/{editions[0]}" if len(editions) == 1 else base
        yield {"label": "The numbers in use, with their sources", "url": address, "type": "absolute"}


def _is_address(text: str) -> bool:
    return text.startswith("https://")
