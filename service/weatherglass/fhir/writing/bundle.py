"""One answer as one Bundle: each patient's results, the software, and what was not used."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime

import msgspec

from weatherglass.budget import check
from weatherglass.fhir.issues import Issue
from weatherglass.fhir.writing.communication_request import write_communication_request
from weatherglass.fhir.writing.detected_issue import write_detected_issue
from weatherglass.fhir.writing.frame.context import WritingContext, extension
from weatherglass.fhir.writing.frame.detail import Detail, Stamp
from weatherglass.fhir.writing.frame.identity import uuid_of
from weatherglass.fhir.writing.frame.labels import label
from weatherglass.fhir.writing.frame.terms import IDENTIFIER_SYSTEM, Json, Terms
from weatherglass.fhir.writing.latest import add_latest_results, latest_blocks
from weatherglass.fhir.writing.observation import write_aki, write_score, write_urgency
from weatherglass.fhir.writing.outcome import write_outcome
from weatherglass.fhir.writing.provenance import write_device, write_provenance
from weatherglass.fhir.writing.score_series import write_history, write_members
from weatherglass.fhir.writing.task import write_task
from weatherglass.handover.told import asks_for_a_look
from weatherglass.model.findings import AkiFinding, Finding, ScoreFinding, is_pressing
from weatherglass.model.review import Review
from weatherglass.model.sources import Label, Origin

_ENCODER = msgspec.json.Encoder(decimal_format="number")


def encode(resource: object) -> bytes:
    """Encode JSON canonically: the same value always gives the same bytes."""
    return _ENCODER.encode(resource)


def entry(uuid: str, resource: Json) -> Json:
    """Return an entry named by the lasting name of its resource."""
    return {"fullUrl": f"urn:uuid:{uuid}", "resource": resource}


def lines_of(entries: Iterable[Json]) -> Iterator[bytes]:
    """Write entries as NDJSON, each line ending in a newline.

    A line has no fullUrl, so each resource gets the UUID of its name as its id: a reference
    "urn:uuid:X" inside the answer leads to the line whose id is X.
    """
    for each in entries:
        resource = each["resource"]
        named = {"resourceType": resource["resourceType"], "id": each["fullUrl"].removeprefix("urn:uuid:")}
        yield encode({**named, **resource}) + b"\n"


def write_collection(
    reviews: Sequence[Review],
    issues: Sequence[Issue],
    stamp: Stamp,
    *,
    detail: Detail = Detail.FULL,
    members: bool = False,
) -> Json:
    """Write reviews and issues as a Bundle of type collection.

    Args:
        reviews: One a patient.
        issues: What was not used.
        stamp: The software.
        detail: How much of each review.
        members: Whether sub-scores are Observations of their own instead of components.
    """
    about = _About()
    entries: list[Json] = []
    for part in _parts(reviews, issues, stamp, about, detail=detail, members=members):
        entries.extend(part)
    bundle = about.head()
    bundle["entry"] = entries
    label([bundle], about.labels)
    return bundle


def encode_collection(
    reviews: Iterable[Review],
    issues: Sequence[Issue],
    stamp: Stamp,
    *,
    detail: Detail = Detail.FULL,
    members: bool = False,
) -> bytes:
    """Write the same Bundle as bytes, and hold the results of one patient at a time in any other form.

    Args:
        reviews: One a patient; each is let go of before the next one is asked for.
        issues: What was not used; complete once the last review was made.
        stamp: The software.
        detail: How much of each review.
        members: Whether sub-scores are Observations of their own instead of components.
    """
    about = _About()
    written = bytearray()
    for part in _parts(reviews, issues, stamp, about, detail=detail, members=members):
        written += b"," if written else b""
        written += encode(part)[1:-1]  # Its entries without the brackets of its own list; never none.
    tail: Json = {}
    label([tail], about.labels)
    meta = b"," + encode(tail)[1:] if tail else b"}"
    return b"".join((encode(about.head())[:-1], b',"entry":[', written, b"]", meta))


@dataclass(slots=True)
class _About:
    """What the head of a Bundle says about its entries; known once the last one is written."""

    names: list[str] = field(default_factory=list)
    newest: datetime | None = None
    labels: dict[Label, None] = field(default_factory=dict)

    def saw(self, review: Review) -> None:
        self.labels.update(dict.fromkeys(review.labels))
        if review.as_of is not None and (self.newest is None or review.as_of > self.newest):
            self.newest = review.as_of

    def head(self) -> Json:
        name = uuid_of("bundle", *self.names)
        head: Json = {
            "resourceType": "Bundle",
            "identifier": {"system": IDENTIFIER_SYSTEM, "value": name},
            "type": "collection",
        }
        if self.newest is not None:
            head["timestamp"] = self.newest.astimezone(UTC).isoformat().replace("+00:00", "Z")
        return head


def _parts(
    reviews: Iterable[Review],
    issues: Sequence[Issue],
    stamp: Stamp,
    about: _About,
    *,
    detail: Detail,
    members: bool,
) -> Iterator[list[Json]]:
    """Write the software, each patient, and what was not used."""
    terms = Terms(stamp.code_base)
    device_uuid, device = write_device(stamp.software, stamp.rules)
    about.names.append(f"urn:uuid:{device_uuid}")
    yield [entry(device_uuid, device)]
    for review in reviews:
        check()
        about.saw(review)
        part = write_review(review, about.names[0], terms, detail=detail, members=members)
        about.names.extend(each["fullUrl"] for each in part)
        yield part
    outcome = outcome_entry(issues, terms, about.names)
    about.names.append(outcome["fullUrl"])
    yield [outcome]


def outcome_entry(issues: Sequence[Issue], terms: Terms, about: Sequence[str]) -> Json:
    """Write what was not used as an entry, named after the results it stands beside."""
    uuid = uuid_of("outcome", *about, *(f"{i.path} {i.text}" for i in issues))
    return entry(uuid, write_outcome(issues, terms))


def write_review(
    review: Review, device: str, terms: Terms, *, detail: Detail = Detail.FULL, members: bool = False
) -> list[Json]:
    """Write one patient's results as entries, the summary first and Provenance last."""
    context = context_of(review, device, terms, is_brief=detail is Detail.BRIEF)
    beside = () if context.is_brief else latest_blocks(review)
    summary_uuid, summary = write_urgency(context, review, beside)
    if detail is Detail.BRIEF or review.is_narrowed:
        # Whoever keeps results must not take what is not written here for withdrawn.
        summary["extension"] = [extension("part-of-a-review", valueBoolean=True)]
    if detail is not Detail.BRIEF:
        add_latest_results(context, review, summary)
    entries = [entry(summary_uuid, summary)]
    inputs: dict[Origin, None] = {}
    for finding in review.findings:
        written = _write_finding(context, finding, detail, members=members)
        entries.extend(written)
        if written or is_pressing(finding):  # The summary rests on what presses, written or not.
            inputs.update(dict.fromkeys(finding.evidence))
    if detail is Detail.HISTORY:
        entries.extend(
            entry(uuid, resource)
            for finding in review.findings
            if isinstance(finding, ScoreFinding)
            for uuid, resource in write_history(context, finding)
        )
    if review.escalation is not None and detail is not Detail.BRIEF:
        about = context.named[id(review.escalation.because)]
        uuid, request = write_communication_request(
            context, review.escalation, about=about, reason=f"urn:uuid:{summary_uuid}"
        )
        entries.append(entry(uuid, request))
    uuid, provenance = write_provenance(context, [e["fullUrl"] for e in entries], inputs)
    entries.append(entry(uuid, provenance))
    label((each["resource"] for each in entries), review.labels)
    return entries


def context_of(review: Review, device: str, terms: Terms, *, is_brief: bool = False) -> WritingContext:
    """Return what all results of one patient share."""
    return WritingContext(
        patient=review.subject.origin,
        device=device,
        as_of=review.as_of or datetime(1970, 1, 1, tzinfo=UTC),
        zone=review.zone,
        terms=terms,
        is_brief=is_brief,
    )


def _write_finding(context: WritingContext, finding: Finding, detail: Detail, *, members: bool) -> list[Json]:
    rows: list[Json] = []
    if isinstance(finding, ScoreFinding):
        uuid, resource = write_score(context, finding, members=members)
        if members and finding.parts:
            rows = [entry(*member) for member in write_members(context, finding, uuid)]
            resource["hasMember"] = [{"reference": row["fullUrl"]} for row in rows]
    elif isinstance(finding, AkiFinding):
        uuid, resource = write_aki(context, finding)
    elif detail is Detail.BRIEF:
        return []
    else:
        uuid, resource = write_detected_issue(context, finding)
    full_url = f"urn:uuid:{uuid}"
    context.named[id(finding)] = full_url
    entries = [entry(uuid, resource), *rows]
    if asks_for_a_look(finding):
        entries.append(entry(*write_task(context, finding, full_url)))
    return entries
