"""Cards: a handful, the most urgent first, each with its reason and its publication.

A card says what the review found, in the review's own sentence; nothing is compared
here. When there is more than fits, the last card names the rest.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from weatherglass.cds_hooks.markdown import blocks, bullets, escape, plain
from weatherglass.fhir.writing.frame.identity import finding_uuid, uuid_of
from weatherglass.fhir.writing.frame.sheet import Sheet, say
from weatherglass.fhir.writing.frame.terms import KIND_WORDS, Json
from weatherglass.medicines.telling.coverage import NOT_CHECKED
from weatherglass.medicines.telling.one_decision import decision_sentence, decisions
from weatherglass.model.findings import (
    Finding,
    InteractionFinding,
    Kind,
    MedicineFinding,
    Review,
    ScoreFinding,
    Urgency,
)
from weatherglass.model.sources import Source
from weatherglass.model.words.brief_words import in_brief
from weatherglass.model.words.call_words import look_again
from weatherglass.model.words.clock_words import Clock

#: The specification wants fewer than 140 characters.
SUMMARY_LENGTH = 139
_LABEL_LENGTH = 120
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
_NEVER_AN_ORDER = "A suggestion for a clinician, never an order. Local policy decides."
_OURS = "Weatherglass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What every card of one answer shares.

    Attributes:
        sheet: The patient's sheet, for times and names.
        instance: Id of the trigger; cards are named after it.
        base_url: Address of this service, for links to the published tables.
        launch: Where the record system starts the page; None when it is not set up for that.
        remarks: What a reader must know beside every finding (age of the data, what was not sent).
    """

    sheet: Sheet
    instance: str
    base_url: str
    launch: str | None = None
    remarks: tuple[str, ...] = ()


def summary_of(sentence: str, length: int = SUMMARY_LENGTH) -> str:
    """Return a sentence that fits on a card, cut between words when it must be.

    Examples:
        >>> len(summary_of("word " * 60)) <= SUMMARY_LENGTH
        True
        >>> summary_of("NEWS2 9.")
        'NEWS2 9.'
    """
    text = plain(sentence)
    if len(text) <= length:
        return text
    cut = text[: length - 1]
    end = cut.rfind(" ")
    return f"{cut[: end if end > 60 else len(cut)].rstrip(' ,;:')}…"


def short(finding: Finding) -> str:
    """Return a finding's sentence, or what it comes to in a few words where that is too long."""
    if len(plain(finding.sentence)) <= SUMMARY_LENGTH:
        return finding.sentence
    return f"{in_brief(finding)}."


def name_of(sheet: Sheet, finding: Finding) -> str:
    """Return the lasting name of a finding, the same however often it is asked for."""
    order = finding.order if isinstance(finding, MedicineFinding) else ""
    at = finding.at.isoformat() if finding.at is not None else ""
    return finding_uuid(sheet.patient, finding.kind, finding.key, order, at, finding.evidence)


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
        also: Sentences that belong to it (whom to call, a recorded ceiling).
        suggestions: What may be chosen.
    """
    return _card(
        frame,
        name=name_of(frame.sheet, finding),
        sentence=short(finding),
        detail=blocks(
            escape(finding.sentence),
            bullets(also),
            detail_of(finding, frame.sheet),
        ),
        urgency=finding.urgency,
        findings=(finding,),
        suggestions=suggestions,
    )


def group_card(
    frame: Frame,
    sentence: str,
    findings: Sequence[Finding],
    *,
    also: Sequence[str] = (),
    suggestions: Sequence[Json] = (),
) -> Json:
    """Return one card for several findings, each told in full."""
    told = [bullets(also)]
    told += [_told_once(group, frame.sheet) for group in decisions(findings)]
    return _card(
        frame,
        name=uuid_of("group", *(name_of(frame.sheet, f) for f in findings)),
        sentence=sentence,
        detail=blocks(*told),
        urgency=max(f.urgency for f in findings),
        findings=findings,
        suggestions=suggestions,
    )


def _told_once(group: Sequence[Finding], sheet: Sheet) -> str:
    """Tell a finding in full; of several that are one decision the decision once, then what is of each."""
    medicines = [one for one in group if isinstance(one, MedicineFinding)]
    if len(medicines) < len(group) or len(group) == 1:
        return blocks(*(blocks(f"**{escape(f.sentence)}**", detail_of(f, sheet)) for f in group))
    each = [blocks(f"{escape(f.named)}:", detail_of(f, sheet)) for f in medicines]
    return blocks(f"**{escape(decision_sentence(medicines))}**", *each)


def remark_card(frame: Frame, sentence: str, details: Iterable[str], urgency: Urgency) -> Json:
    """Return a card about the data rather than about a finding."""
    return _card(
        frame,
        name=uuid_of("remark", sentence),
        sentence=sentence,
        detail=blocks(escape(sentence), bullets(details)),
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
    detail: str,
    urgency: Urgency,
    findings: Sequence[Finding],
    suggestions: Sequence[Json],
) -> Json:
    sources = list(dict.fromkeys(s for f in findings for s in _sources_of(f)))
    card: Json = {
        "uuid": uuid_of("card", frame.instance, name, sentence),
        "summary": summary_of(sentence),
        "detail": blocks(detail, bullets((*_not_checked(findings), *frame.remarks)), f"*{_NEVER_AN_ORDER}*"),
        "indicator": _indicator(urgency, findings),
        "source": _source(frame, sources, findings),
        "overrideReasons": [
            frame.sheet.terms.coding("override-reason", code, words)
            for code, words in OVERRIDE_REASONS.items()
        ],
    }
    links = list(_links(frame, findings, sources))
    if links:
        card["links"] = links
    if suggestions:
        card["suggestions"] = list(suggestions)
        card["selectionBehavior"] = "any"
    return card


def _not_checked(findings: Sequence[Finding]) -> Iterable[str]:
    """Say beside every medicine what nobody looked at."""
    if any(isinstance(f, MedicineFinding | InteractionFinding) for f in findings):
        yield NOT_CHECKED


def _indicator(urgency: Urgency, findings: Sequence[Finding]) -> str:
    """Return how a card stands out: a recorded severe allergy is critical, like an emergency."""
    if any(f.kind is Kind.ALLERGY and f.urgency >= Urgency.URGENT for f in findings):
        return INDICATOR[Urgency.EMERGENCY]
    return INDICATOR[urgency]


def detail_of(finding: Finding, sheet: Sheet) -> str:
    """Return everything a reader may want to know beyond the sentence."""
    rows: list[str] = []
    if isinstance(finding, MedicineFinding):
        rows += [f"Why: {r.why} ({r.trigger})" for r in finding.reasons]
    rows += [say(measure, sheet) for measure in finding.measures]
    if isinstance(finding, ScoreFinding):
        rows += [f"{part.label}: {part.shown}" for part in finding.parts]
        if finding.response:
            rows.append(f"{finding.response_by}: {finding.response}")
    rows += [f"Missing: {gap.label} ({gap.reason.value})" for gap in finding.missing]
    if isinstance(finding, MedicineFinding):
        rows += _about_medicine(finding, sheet)
    rows += finding.cautions
    rows += [
        f"Source: {s.citation}; {s.locator} [{s.mark.value}]" for s in dict.fromkeys(_sources_of(finding))
    ]
    return bullets(rows)


def _about_medicine(finding: MedicineFinding, sheet: Sheet) -> Iterable[str]:
    if finding.risk_if_stopped:
        yield finding.risk_if_stopped
    yield from finding.would_change
    if finding.restart is not None:
        by = f", by {sheet.clock(finding.restart.by)}" if finding.restart.by is not None else ""
        yield f"Restart: {finding.restart.condition}; decided by {finding.restart.who}{by}"
    if finding.review_by is not None:
        words = look_again(finding.review_by, Clock(sheet.zone, sheet.as_of))
        yield f"{words[0].upper()}{words[1:]}"
    if finding.matched_by:
        yield f"Recognised by {finding.matched_by}"


def _sources_of(finding: Finding) -> tuple[Source, ...]:
    if isinstance(finding, MedicineFinding):
        return (*(reason.source for reason in finding.reasons), *finding.sources)
    return finding.sources


def _source(frame: Frame, sources: Sequence[Source], findings: Sequence[Finding]) -> Json:
    if not sources:
        return {"label": _OURS}
    first = sources[0]
    source: Json = {"label": summary_of(first.citation, _LABEL_LENGTH)}
    if _is_address(first.address):
        source["url"] = first.address
    kind = findings[0].kind
    source["topic"] = frame.sheet.terms.coding("finding-kind", kind.value, KIND_WORDS[kind])
    return source


def _links(frame: Frame, findings: Sequence[Finding], sources: Sequence[Source]) -> Iterable[Json]:
    if frame.launch is not None:
        yield {"label": "The whole review, from the record", "url": frame.launch, "type": "smart"}
    editions = dict.fromkeys(f.edition for f in findings if isinstance(f, ScoreFinding))
    for edition in editions:
        yield {
            "label": "The table in use, row by row",
            "url": f"{frame.base_url.rstrip('/')}/criteria/{edition}",
            "type": "absolute",
        }
    addresses = dict.fromkeys((s.citation, s.address) for s in sources if _is_address(s.address))
    for citation, address in list(addresses)[:3]:
        yield {"label": summary_of(citation, _LABEL_LENGTH), "url": address, "type": "absolute"}


def _is_address(text: str) -> bool:
    return text.startswith("https://")
