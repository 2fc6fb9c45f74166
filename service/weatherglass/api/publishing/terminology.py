"""Our own CodeSystems and ValueSets, made from the enums and the criteria tables."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from weatherglass import __version__
from weatherglass.cds_hooks.cards import OVERRIDE_REASONS
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.writing.composition import SECTIONS
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.fhir.writing.frame.narrative import narrative, paragraph
from weatherglass.fhir.writing.frame.terms import (
    AKI_STAGE_WORDS,
    KIND_WORDS,
    MEASURE_NAMES,
    SCORE_NAMES,
    Json,
    words_of,
)
from weatherglass.knowledge.scores import open_scores
from weatherglass.model.findings import State, Urgency
from weatherglass.model.signals import CodedSignal, Letter, Signal, label_of
from weatherglass.review.catalogue import score_definitions
from weatherglass.review.selection import selectable

#: When what is published here last changed in meaning; the resources have to carry a date.
RELEASED = "2026-11-25"


@dataclass(frozen=True, slots=True)
class System:
    """One code system of ours.

    Attributes:
        name: Its name below the base, which is also its id.
        title: Its name for people.
        about: What its codes say.
        concepts: Its codes with their words.
        whole: False when rules may add codes that are not listed here.
    """

    name: str
    title: str
    about: str
    concepts: Callable[[], Mapping[str, str]]
    whole: bool = True


def _sub_scores() -> dict[str, str]:
    found: dict[str, str] = {}
    for definition in score_definitions():
        for parameter, _ in definition.tables():
            found.setdefault(f"{definition.key}-{parameter.key}", parameter.label)
    for key, score in open_scores.OPEN_SCORES.items():
        found |= {f"{key}-{part}": part.replace("-", " ") for part in score.parts}
    return found


def _measures() -> dict[str, str]:
    signals = {signal.value: label_of(signal) for signal in (*Signal, *CodedSignal)}
    return {**signals, **MEASURE_NAMES}


def _scores() -> dict[str, str]:
    return {**{each.key: each.name for each in score_definitions()}, **SCORE_NAMES}


SYSTEMS = (
    System("score", "Scores and stages", "What an Observation of a review is about.", _scores),
    System("sub-score", "Sub-scores", "One parameter of a score.", _sub_scores),
    System(
        "aki-stage",
        "Stages of acute kidney injury",
        "The stage by one criterion; 0 means that it was looked for and not found.",
        lambda: {str(stage): words for stage, words in AKI_STAGE_WORDS.items()},
    ),
    System(
        "finding-kind",
        "Kinds of finding",
        "What sort of finding a DetectedIssue is.",
        lambda: {kind.value: words for kind, words in KIND_WORDS.items()},
    ),
    System(
        "urgency",
        "Urgency",
        "How soon somebody should look.",
        lambda: {each.word: words_of(each.word) for each in Urgency},
    ),
    System(
        "state",
        "State of a finding",
        "A finding against the record's own past.",
        lambda: {each.value: words_of(each.value) for each in State},
    ),
    System(
        "letter",
        "Order of assessment",
        "Where a finding belongs in the order A to E.",
        lambda: {each.value: words_of(each.name.lower()) for each in Letter},
    ),
    System(
        "issue",
        "Issues",
        "Why something of a request was not used, or was used with a reservation.",
        lambda: {key.value: words_of(key.value) for key in IssueKey},
    ),
    System(
        "handover-section",
        "Sections of a handover",
        "The parts of a handover document.",
        lambda: dict(SECTIONS),
    ),
    System(
        "measure",
        "Measures",
        "A number or word that a finding rests on. Rules may use further codes, each with its words.",
        _measures,
        whole=False,
    ),
    System(
        "criteria",
        "Criteria",
        "What the parameter 'criteria' of an operation can name.",
        lambda: {
            name: {**_scores(), **{kind.value: words for kind, words in KIND_WORDS.items()}}.get(name, name)
            for name in sorted(selectable())
        },
    ),
    System(
        "override-reason",
        "Reasons to set a card aside",
        "Why a clinician did not follow a CDS Hooks card; counted, never kept.",
        lambda: dict(OVERRIDE_REASONS),
    ),
    System(
        "detail",
        "Detail",
        "How much of a review is written.",
        lambda: {
            Detail.BRIEF.value: "Scores, stages and what was not used",
            Detail.FULL.value: "Everything that was found",
            Detail.HISTORY.value: "Everything, and the past scores as Observations",
        },
    ),
)


def code_system(system: System, code_base: str, base_url: str) -> Json:
    """Write one system as a CodeSystem."""
    concepts = system.concepts()
    return {
        "resourceType": "CodeSystem",
        "id": system.name,
        "text": narrative(paragraph(f"{system.title}: {system.about}")),
        "url": code_base + system.name,
        **_edition(system),
        "description": system.about,
        "caseSensitive": True,
        "valueSet": value_set_url(system.name, base_url),
        "content": "complete" if system.whole else "fragment",
        "count": len(concepts),
        "concept": [{"code": code, "display": words} for code, words in concepts.items()],
    }


def value_set(system: System, code_base: str, base_url: str) -> Json:
    """Write all codes of one system as a ValueSet."""
    return {
        "resourceType": "ValueSet",
        "id": system.name,
        "text": narrative(paragraph(f"All codes of the code system '{system.title}'.")),
        "url": value_set_url(system.name, base_url),
        **_edition(system),
        "description": f"All codes of the code system. {system.about}",
        "immutable": False,
        "compose": {"include": [{"system": code_base + system.name}]},
    }


def _edition(system: System) -> Json:
    """Write what a system and the set of its codes are known by alike."""
    return {
        "version": __version__,
        "name": f"Weatherglass{computable(system.name)}",
        "title": system.title,
        "status": "active",
        "experimental": False,
        "date": RELEASED,
    }


def value_set_url(name: str, base_url: str) -> str:
    """Return the canonical address of a value set."""
    return f"{base_url}/fhir/ValueSet/{name}"


def computable(name: str) -> str:
    """Return a name as programs generate code from it: 'handover-document' as 'HandoverDocument'."""
    return "".join(part.capitalize() for part in name.split("-"))
