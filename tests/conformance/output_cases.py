"""The case matrix: every kind of finding, whole, with gaps, and where it does not apply.

Built by hand from the finding types alone, so that the writers are judged on whatever
a rule may hand them and not only on what today's rules say about the demo ward.
"""

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any

from weatherglass.fhir.issues import Issue, IssueKey, Severity
from weatherglass.fhir.writing.frame.terms import SCORE_NAMES
from weatherglass.model.findings import (
    AkiFinding,
    Finding,
    Kind,
    Measure,
    Missing,
    MissingReason,
    ScoreFinding,
    ScorePart,
    ScorePoint,
    State,
    Urgency,
)
from weatherglass.model.medicine_findings import InteractionFinding, MedicineFinding, MedicineReason, Restart
from weatherglass.model.numbers.quantities import Unit
from weatherglass.model.review import Escalation, Handover, Review
from weatherglass.model.signals import Letter
from weatherglass.model.sources import Label, Origin, Publication, our_choice
from weatherglass.model.subject import Sex, Subject

AT = datetime(2026, 3, 12, 7, 30, tzinfo=UTC)
ZONE = timezone(timedelta(hours=5, minutes=30))
STATES = ("complete", "missing", "excluded")
_PAPER = Publication(
    key="paper-2020", citation="A paper. A journal 2020;1:2", address="https://example.org/paper"
).at("Table 1")
_MEASURES = (
    Measure(
        key="potassium",
        label="potassium",
        value=Decimal("6.20"),
        unit=Unit.MILLIMOLE_PER_LITRE,
        at=AT,
        origin=Origin("Observation/k-1"),
    ),
    Measure(key="ratio", label="ratio", value=Decimal("1.9E+1"), unit=Unit.RATIO),
    Measure(key="words", label="answer", value="new confusion", origin=Origin("Observation/c-1")),
)
_EVIDENCE = tuple(
    Origin(name)
    for name in (
        "Observation/k-1",
        "Observation/c-1",
        "Condition/d-1",
        "http://ward.example/fhir/Procedure/9",
    )
)
_COMMON: dict[str, dict[str, Any]] = {
    "complete": {
        "at": AT - timedelta(minutes=12),
        "state": State.CONTINUING,
        "since": AT - timedelta(hours=3),
        "measures": _MEASURES,
        "evidence": _EVIDENCE,
        "sources": (_PAPER, our_choice("how soon")),
        "cautions": ("Haemolysis was reported.",),
        "decided_by": "a rule",
        "provisional": True,
    },
    "missing": {
        "at": AT - timedelta(hours=1),
        "state": State.NEW,
        "measures": _MEASURES[:1],
        "evidence": _EVIDENCE[:1],
        "missing": tuple(
            Missing(key=f"input-{n}", label=f"input {n}", reason=reason, could_add=(0, 3))
            for n, reason in enumerate(MissingReason)
        ),
        "sources": (our_choice("a gap stays a gap"),),
    },
    # As little as the type allows: no time, no inputs, no source.
    "excluded": {"at": None, "sources": ()},
}
_ACTIONS = (
    "hold",
    "reduce",
    "review",
    "avoid",
    "measure level",
    "continue",
    "monitor",
    "consider restarting",
)


def findings(kind: Kind, state: str) -> Sequence[Finding]:
    """Return the findings of one kind in one state."""
    told: dict[str, Any] = {
        "kind": kind,
        "letter": Letter.CIRCULATION,
        "urgency": Urgency.URGENT,
        "sentence": f"{kind.value}: something to know.",
        "brief": f"{kind.value}: something",
        **_COMMON[state],
    }
    if kind in (Kind.SCORE, Kind.SCORE_NOT_APPLICABLE):
        return [_score(score, state, told) for score in SCORE_NAMES if score in _SCORED]
    if kind is Kind.AKI_STAGE:
        return list(_kidneys(state, told))
    if kind in (Kind.MEDICINE, Kind.MEDICINE_RESTART, Kind.MEDICINE_NOT_REVIEWED):
        return [_medicine(n, action, state, told) for n, action in enumerate(_ACTIONS)]
    if kind is Kind.MEDICINE_INTERACTION:
        orders = ("MedicationRequest/m-1", "MedicationRequest/m-2", "MedicationStatement/s-1")
        return [
            InteractionFinding(
                **{**told, "key": "three-together"},
                orders=tuple(Origin(name) for name in orders[: 1 if state == "excluded" else 3]),
                medicines=("furosemide", "ramipril", "ibuprofen")[: 1 if state == "excluded" else 3],
            )
        ]
    return [Finding(**{**told, "key": f"{kind.value}-key", "urgency": urgency}) for urgency in Urgency]


_SCORED = {
    "news2": ("respiration", "spo2-scale-2", "air-or-oxygen", "systolic-pressure", "pulse", "consciousness"),
    "mews": ("respiration", "pulse"),
    "qsofa": ("respiration", "systolic-pressure", "mentation"),
    "sirs": ("temperature", "pulse", "breathing", "white-cells"),
    "shock-index": (),
    "bedside-pews": ("heart-rate",),
}


def _score(score: str, state: str, told: dict[str, Any]) -> ScoreFinding:
    keys = _SCORED[score]
    reasons = tuple(MissingReason)
    parts = tuple(
        ScorePart(
            key=key,
            label=key.replace("-", " "),
            points=None if state == "missing" else n,
            lowest=0,
            highest=3,
            shown="not recorded" if state == "missing" else "18 /min",
            said=key,
            short="18",
            measured=() if state == "missing" else _MEASURES[:1],
            missing=Missing(key=key, label=key, reason=reasons[n % len(reasons)])
            if state == "missing"
            else None,
        )
        for n, key in enumerate(keys)
    )
    whole = state == "complete"
    return ScoreFinding(
        **{**told, "key": score},
        edition=f"{score}-2017",
        name=SCORE_NAMES[score],
        total=6 if whole else None,
        lowest=6 if whole else 2,
        highest=6 if whole else 14,
        parts=() if state == "excluded" else parts,
        not_applicable="Not for people under 16." if state == "excluded" else "",
        tier="5-6" if whole else "",
        response="an urgent review" if whole else "",
        monitoring="hourly" if whole else "",
        variant="SpO2 scale 2" if score == "news2" else "",
        history=() if state == "excluded" else tuple(_past(len(parts))),
    )


def _past(rows: int) -> Iterator[ScorePoint]:
    for hours in range(100, -1, -4):
        known = hours % 8 == 0
        yield ScorePoint(
            at=AT - timedelta(hours=hours),
            total=3 if known else None,
            lowest=3,
            highest=3 if known else 9,
            parts=tuple(n if known or n % 2 else None for n in range(rows)),
            tier="1-4",
            evidence=(Origin(f"Observation/set-{hours}"),),
        )


def _kidneys(state: str, told: dict[str, Any]) -> Iterator[AkiFinding]:
    for criterion in ("aki-kdigo", "aki-warning-stage"):
        for stage in (0, 1, 2, 3) if state == "complete" else (None,):
            yield AkiFinding(
                **{**told, "key": criterion, "at": AT - timedelta(hours=stage or 5)},
                criterion=criterion,
                stage=stage,
                not_assessed="" if stage is not None else "no reference value",
                reference=Decimal("88.4") if stage is not None else None,
                ratio=Decimal("2.10") if stage is not None else None,
                method="lowest of 7 days" if stage is not None else "",
                flag="HIGH" if stage is None else "",
            )


def _medicine(number: int, action: str, state: str, told: dict[str, Any]) -> MedicineFinding:
    named = state != "excluded"
    return MedicineFinding(
        **{**told, "key": f"rule-{action.replace(' ', '-')}"},
        # An order that the sender did not name can only be described.
        order=Origin(f"MedicationRequest/m-{number}" if named else f"Bundle.entry[{number}].resource"),
        medicine="furosemide 40 mg tablets",
        ingredients=("furosemide",) if named else (),
        action=action,
        matched_by="code" if named else "",
        dose_text="40 mg twice a day",
        already_on_hold=number % 2 == 0,
        reasons=(
            MedicineReason(rule="rule", action=action, why="kidneys", trigger="AKI stage 2", source=_PAPER),
        ),
        restart=Restart(condition="creatinine has settled", who="the team", by=AT + timedelta(hours=24))
        if named
        else None,
        would_change=("a level in range",) if named else (),
        do_not_stop="Do not stop abruptly." if number % 2 else "",
        also=("review",) if named else (),
        monitor=("potassium daily",) if named else (),
        review_by=AT + timedelta(hours=24) if named else None,
    )


#: A degree of confidentiality, and another label that the sender gave no name.
_LABELS = (
    Label("http://terminology.hl7.org/CodeSystem/v3-Confidentiality", "R", "restricted"),
    Label("http://terminology.hl7.org/CodeSystem/v3-ActCode", "PSY"),
)


def review(found: Sequence[Finding], state: str, patient: str = "Patient/p-1") -> Review:
    """Return a review of some findings about a person as well known as the state allows."""
    known = state != "excluded"
    return Review(
        subject=Subject(
            origin=Origin(patient if known else "urn:uuid:6b1f3c1e-0000-5000-8000-000000000001"),
            name="Ottoline Marshwiggle" if known else "",
            born=AT.date().replace(year=1950) if known else None,
            born_exactly=state == "complete",
            sex=Sex.FEMALE if known else Sex.UNKNOWN,
        ),
        as_of=AT,
        place="Larkmoor, bed 3" if known else "",
        urgency=Urgency.URGENT if found else Urgency.ROUTINE,
        headline=found[0].sentence if found else "Nothing in the record could be assessed.",
        findings=tuple(found),
        escalation=_escalation(found[-1], state) if found else None,
        compose=lambda: Handover(
            situation=("I am calling about a patient.",),
            background=("Admitted with: not recorded.",) if known else (),
            assessment=("Newest vital signs 07:18.",) if known else (),
            recommendation=("Please review within 1 hour.",) if known else (),
        ),
        ceiling=("Recorded treatment ceiling: ward care.",) if state == "complete" else (),
        data_age="Newest vital signs 12 Mar 07:18." if known else "",
        cautions=("Decision support.",) if known else (),
        labels=_LABELS if state == "complete" else (),
        zone=ZONE if state == "complete" else UTC,
    )


def _escalation(because: Finding, state: str) -> Escalation:
    return Escalation(
        urgency=Urgency.URGENT,
        roles=("ward doctor", "senior doctor"),
        within=timedelta(hours=1),
        began=AT,
        due=AT + timedelta(hours=1),
        overdue=None if state == "complete" else timedelta(minutes=20),
        reason=because.sentence,
        decided_by=because.decided_by,
        because=because,
    )


ISSUES = tuple(
    Issue(severity, key, path, "What is wrong and what to send instead.")
    for key in IssueKey
    for severity, path in ((Severity.WARNING, "Bundle.entry[7].resource.valueQuantity"), (Severity.ERROR, ""))
)
