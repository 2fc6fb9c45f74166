"""Writing results back: once, again, after a change, beside others, and in spite of them.

Expected: FHIR R4 3.1.0 (conditional create, version-aware update, transaction), and the
issue's own promise: delivering twice changes nothing and touches nothing of anybody else's.
"""

import copy
import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import httpx
import pytest
from click.testing import CliRunner

from tests.ehr.little_store import LittleStore, Resource
from tests.ehr.pretend import Pretend, run
from weatherglass.cli.commands.batch import command as batch
from weatherglass.ehr.client.faults import EhrError
from weatherglass.ehr.writing_back.delivery import Delivery, Report
from weatherglass.ehr.writing_back.results import ResultFolder, ResultsError, read_results, results_in
from weatherglass.ehr.writing_back.write_back import UnplaceableError, WriteOutcome, at_server
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.fhir.writing.frame.terms import IDENTIFIER_SYSTEM
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
KIDNEYS = "04-aki-nephrotoxics"


def _ward(name: str) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((WARD / f"{name}.json").read_text())
    return content


def _results(record: dict[str, Any], detail: Detail = Detail.FULL) -> ResultFolder:
    return results_in(review(json.dumps(record).encode()).collection(stamp(), detail=detail))


def _deliver(store: LittleStore, folder: ResultFolder, *, dry_run: bool = False) -> Report:
    async def work() -> Report:
        async with Pretend(store).transport() as transport:
            return await Delivery(transport, dry_run=dry_run).deliver(folder)

    return run(work())


def _outcomes(report: Report) -> dict[str, int]:
    return {outcome.value: report.total(outcome) for outcome in WriteOutcome if report.total(outcome)}


def _synthetic(*resources: Resource, as_of: str = "2026-03-12T07:30:00Z") -> ResultFolder:
    """Results of a whole review of one patient: a summary, and what a test adds."""
    summary: Resource = {
        "resourceType": "Observation",
        "identifier": [{"system": IDENTIFIER_SYSTEM, "value": f"summary {as_of}"}],
        "status": "final",
        "code": {"coding": [{"system": "urn:weatherglass:codes:score", "code": "review-urgency"}]},
        "subject": {"reference": "Patient/p1"},
        "effectiveDateTime": as_of,
    }
    entries = []
    for resource in (summary, *resources):
        named = copy.deepcopy(resource)
        name = named.pop("name", None) or named["identifier"][0]["value"]
        named["identifier"] = [{"system": IDENTIFIER_SYSTEM, "value": name}]
        entries.append({"fullUrl": f"urn:uuid:{name}", "resource": named})
    return results_in(json.dumps({"resourceType": "Bundle", "type": "collection", "entry": entries}).encode())


def _issue(name: str, **more: Any) -> Resource:
    return {
        "name": name,
        "resourceType": "DetectedIssue",
        "status": "preliminary",
        "patient": {"reference": "Patient/p1"},
        **more,
    }


def _task(name: str, **more: Any) -> Resource:
    return {
        "name": name,
        "resourceType": "Task",
        "status": "requested",
        "intent": "proposal",
        "for": {"reference": "Patient/p1"},
        **more,
    }


def _score(name: str, at: str, *inputs: str) -> Resource:
    return {
        "name": name,
        "resourceType": "Observation",
        "status": "final",
        "code": {"coding": [{"system": "urn:weatherglass:codes:score", "code": "news2"}]},
        "subject": {"reference": "Patient/p1"},
        "effectiveDateTime": at,
        "derivedFrom": [{"reference": one} for one in inputs],
    }


def _by_name(store: LittleStore, name: str) -> Resource:
    found = [r for r in store.held.values() if any(t["code"] == name for t in r["meta"].get("tag", []))]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize("name", sorted(path.stem for path in WARD.glob("*.json")))
@pytest.mark.parametrize(
    "searchable",
    [
        pytest.param(("Observation", "DetectedIssue", "Task", "CommunicationRequest", "Device"), id="all"),
        pytest.param((), id="tags only"),
    ],
)
def test_delivering_twice_changes_nothing(name: str, searchable: tuple[str, ...]) -> None:
    """The first time everything is created, the second time not one write reaches the store."""
    store = LittleStore(by_identifier=searchable)
    folder = _results(_ward(name))
    first = _deliver(store, folder)
    assert not first.refused
    assert _outcomes(first) == {"created": sum(len(results.results) for results in folder)}
    before, writes = copy.deepcopy(store.held), store.writes
    assert _outcomes(_deliver(store, folder)) == {"unchanged": first.total(WriteOutcome.CREATED)}
    assert (store.held, store.writes) == (before, writes)
    assert len(store.of("Device")) == 1


def test_references_lead_to_what_is_at_the_server() -> None:
    store = LittleStore()
    _deliver(store, _results(_ward(KIDNEYS)))
    device = f"Device/{store.of('Device')[0]['id']}"
    for kind in ("Observation", "DetectedIssue", "Task"):
        for resource in store.of(kind):
            who = resource.get("device") or resource.get("author") or resource.get("requester")
            assert who == {"reference": device}
    provenance = store.of("Provenance")[0]
    assert all(target["reference"] in store.held for target in provenance["target"])


def test_a_new_observation_adds_results_and_closes_what_no_longer_holds() -> None:
    """Potassium falls from 6.2: the critical result is closed, and not one score is."""
    store = LittleStore()
    record = _ward(KIDNEYS)
    _deliver(store, _results(record))
    potassium = next(
        e["resource"]
        for e in reversed(record["entry"])
        if any(c["code"] in ("2823-3", "6298-4") for c in e["resource"].get("code", {}).get("coding", []))
    )
    newer = copy.deepcopy(potassium)
    newer["id"] = "potassium-again"
    newer["effectiveDateTime"] = "2026-03-12T09:00:00+00:00"
    newer.pop("issued", None)
    newer["valueQuantity"]["value"] = 4.4
    record["entry"].append({"fullUrl": "https://ward.example/fhir/Observation/pa", "resource": newer})
    scores = {r["id"]: r["status"] for r in store.of("Observation")}
    report = _deliver(store, _results(record))
    assert not report.refused
    assert report.total(WriteOutcome.CLOSED) >= 1
    assert any(i["status"] == "cancelled" for i in store.of("DetectedIssue"))
    assert {r["id"]: r["status"] for r in store.of("Observation") if r["id"] in scores} == scores


def test_a_dry_run_says_the_same_and_writes_nothing() -> None:
    store = LittleStore()
    folder = _results(_ward(KIDNEYS))
    dry = _deliver(store, folder, dry_run=True)
    assert not store.held
    assert _outcomes(dry) == _outcomes(_deliver(store, folder))


def test_what_no_longer_holds_is_closed_in_the_words_of_each_type() -> None:
    store = LittleStore()
    call = {
        "name": "call",
        "resourceType": "CommunicationRequest",
        "status": "active",
        "subject": {"reference": "Patient/p1"},
    }
    _deliver(store, _synthetic(_issue("issue"), _task("task"), call))
    report = _deliver(store, _synthetic(as_of="2026-03-12T08:00:00Z"))
    assert _outcomes(report) == {"created": 1, "closed": 3}
    assert _by_name(store, "issue")["status"] == "cancelled"
    assert _by_name(store, "task")["status"] == "cancelled"
    assert _by_name(store, "task")["statusReason"]["text"]
    assert _by_name(store, "call")["status"] == "revoked"
    again = _deliver(store, _synthetic(as_of="2026-03-12T08:00:00Z"))
    assert _outcomes(again) == {"unchanged": 1}


def test_a_finding_that_comes_back_is_opened_again() -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_issue("issue")))
    _deliver(store, _synthetic(as_of="2026-03-12T08:00:00Z"))
    report = _deliver(store, _synthetic(_issue("issue"), as_of="2026-03-12T09:00:00Z"))
    assert report.total(WriteOutcome.UPDATED) == 1
    assert _by_name(store, "issue")["status"] == "preliminary"


def test_what_somebody_took_up_is_theirs() -> None:
    """A Task that a pharmacist accepted is neither updated nor closed."""
    store = LittleStore()
    _deliver(store, _synthetic(_task("task"), _task("other")))
    taken = _by_name(store, "task")
    store.keep({**taken, "status": "accepted", "owner": {"reference": "Practitioner/x"}})
    changed = _deliver(store, _synthetic(_task("task", priority="stat"), as_of="2026-03-12T08:00:00Z"))
    assert changed.total(WriteOutcome.TAKEN_UP) == 1
    _deliver(store, _synthetic(as_of="2026-03-12T09:00:00Z"))
    assert _by_name(store, "task")["status"] == "accepted"
    assert _by_name(store, "other")["status"] == "cancelled"


def test_what_others_add_to_a_result_survives_its_update() -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_issue("issue", severity="low")))
    mitigation = [{"action": {"text": "dose given with food"}}]
    store.keep({**_by_name(store, "issue"), "mitigation": mitigation})
    report = _deliver(store, _synthetic(_issue("issue", severity="high"), as_of="2026-03-12T08:00:00Z"))
    assert report.total(WriteOutcome.UPDATED) == 1
    assert _by_name(store, "issue")["mitigation"] == mitigation
    assert _by_name(store, "issue")["severity"] == "high"


def test_nothing_of_anybody_else_is_touched() -> None:
    """The same patient, the same types, no identifier of ours: untouched by a closing pass."""
    store = LittleStore()
    others: list[Resource] = [
        {"resourceType": "DetectedIssue", "status": "preliminary", "patient": {"reference": "Patient/p1"}},
        {
            "resourceType": "Task",
            "status": "requested",
            "intent": "order",
            "for": {"reference": "Patient/p1"},
            "identifier": [{"system": "https://ward.example/tasks", "value": "1"}],
        },
    ]
    references = [store.keep(other) for other in others]
    before = {reference: copy.deepcopy(store.held[reference]) for reference in references}
    _deliver(store, _synthetic(_issue("issue")))
    _deliver(store, _synthetic(as_of="2026-03-12T08:00:00Z"))
    assert {reference: store.held[reference] for reference in references} == before


def test_part_of_a_review_closes_nothing() -> None:
    """A brief or narrowed review is silent about the rest; silence is not an all-clear."""
    store = LittleStore()
    _deliver(store, _synthetic(_issue("issue")))
    part = [
        {"url": "urn:weatherglass:extension:part-of-a-review", "valueBoolean": True},
    ]
    folder = _synthetic(_issue("another"), as_of="2026-03-12T08:00:00Z")
    content = next(iter(folder))
    summary = {**content.results[0].resource, "extension": part}
    entries = [
        {"fullUrl": "urn:uuid:x", "resource": summary},
        {"fullUrl": "urn:uuid:another", "resource": content.results[1].resource},
    ]
    body = json.dumps({"resourceType": "Bundle", "entry": entries}).encode()
    report = _deliver(store, results_in(body))
    assert report.total(WriteOutcome.CLOSED) == 0
    assert _by_name(store, "issue")["status"] == "preliminary"


@pytest.mark.parametrize("name", ["04-aki-nephrotoxics", "08-well-going-home"])
def test_brief_results_and_whole_ones_of_the_same_moment(name: str) -> None:
    """Brief ones become whole; whole ones lose nothing to brief ones, in whichever order they come."""
    record = _ward(name)
    whole, brief = _results(record), _results(record, Detail.BRIEF)
    store = LittleStore()
    first = _deliver(store, brief)
    assert first.total(WriteOutcome.CREATED) == len({r.name for each in brief for r in each.results})
    assert _outcomes(_deliver(store, brief)) == {"unchanged": first.total(WriteOutcome.CREATED)}
    _deliver(store, whole)
    before = copy.deepcopy(store.held)
    again = _deliver(store, brief)
    assert store.held == before
    assert set(_outcomes(again)) == {"unchanged"}


def test_results_older_than_what_is_there_are_not_written() -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_issue("new"), as_of="2026-03-12T09:00:00Z"))
    before = copy.deepcopy(store.held)
    report = _deliver(store, _synthetic(_issue("old"), as_of="2026-03-12T08:00:00Z"))
    assert _outcomes(report) == {"outdated": 2}
    assert store.held == before


@pytest.mark.parametrize("asked_for", ["DetectedIssue", "Task", "CommunicationRequest", "Observation"])
def test_a_later_review_that_is_written_while_we_look_is_not_undone(asked_for: str) -> None:
    """A night's older results meet a follower's newer ones between two searches: the newer stand."""
    store = LittleStore()
    _deliver(store, _synthetic(_task("first"), as_of="2026-03-12T08:00:00Z"))
    newer = _synthetic(_task("newer"), as_of="2026-03-12T09:00:00Z")
    waiting = [newer]

    def answer(request: httpx.Request) -> httpx.Response:
        answered = store(request)
        if waiting and request.method == "GET" and request.url.path.endswith(f"/{asked_for}"):
            held = waiting.pop()
            with ThreadPoolExecutor(1) as apart:
                apart.submit(_deliver, store, held).result()
        return answered

    async def work() -> Report:
        async with Pretend(answer).transport() as transport:
            return await Delivery(transport).deliver(_synthetic(_task("first"), as_of="2026-03-12T08:00:00Z"))

    run(work())
    assert not waiting
    assert _by_name(store, "newer")["status"] == "requested"
    assert _by_name(store, "first")["status"] == "cancelled"


@pytest.mark.parametrize(
    ("new", "status"),
    [
        pytest.param(
            _score("b", "2026-03-12T07:05:00Z", "Observation/1", "Observation/2", "Observation/3"),
            "entered-in-error",
            id="the round was completed",
        ),
        pytest.param(
            _score("b", "2026-03-12T07:00:00Z", "Observation/1", "Observation/9"),
            "entered-in-error",
            id="the same moment from other inputs",
        ),
        pytest.param(
            _score("b", "2026-03-12T07:20:00Z", "Observation/2", "Observation/3"),
            "final",
            id="the next round, with one answer carried over",
        ),
    ],
)
def test_a_score_is_history_unless_it_was_worked_out_again(new: Resource, status: str) -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_score("a", "2026-03-12T07:00:00Z", "Observation/1", "Observation/2")))
    _deliver(store, _synthetic(new, as_of="2026-03-12T08:00:00Z"))
    assert _by_name(store, "a")["status"] == status


def test_a_score_from_a_withdrawn_observation_is_withdrawn() -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_score("a", "2026-03-12T07:00:00Z", "Observation/1")))
    store.keep(
        {
            "resourceType": "Observation",
            "id": "1",
            "status": "entered-in-error",
            "subject": {"reference": "Patient/p1"},
        }
    )
    _deliver(store, _synthetic(as_of="2026-03-12T07:45:00Z"))
    withdrawn = _by_name(store, "a")
    assert withdrawn["status"] == "entered-in-error"
    assert withdrawn["note"][-1]["text"]


def test_looking_again_is_no_reason_to_wait_longer() -> None:
    """Only the moment of the review moved: the Task keeps its first deadline."""
    store = LittleStore()
    end = "2026-03-13T07:30:00Z"
    _deliver(store, _synthetic(_task("task", restriction={"period": {"end": end}})))
    later = _task("task", restriction={"period": {"end": "2026-03-13T08:30:00Z"}})
    report = _deliver(store, _synthetic(later, as_of="2026-03-12T08:30:00Z"))
    assert report.total(WriteOutcome.UPDATED) == 0
    assert _by_name(store, "task")["restriction"]["period"]["end"] == end


def test_an_update_in_other_words_keeps_the_first_deadline() -> None:
    """What it asks is said otherwise; that is no reason to wait longer. Asked sooner, it is due sooner."""
    store = LittleStore()
    end = "2026-03-13T07:30:00Z"
    _deliver(store, _synthetic(_due("task", end, description="eGFR 45", priority="routine")))
    later = _due("task", "2026-03-13T08:30:00Z", description="eGFR 44", priority="routine")
    assert _deliver(store, _synthetic(later, as_of="2026-03-12T08:30:00Z")).total(WriteOutcome.UPDATED) == 1
    assert _by_name(store, "task")["description"] == "eGFR 44"
    assert _by_name(store, "task")["restriction"]["period"]["end"] == end
    calmer = _due("task", "2026-03-13T09:30:00Z", priority="urgent")
    _deliver(store, _synthetic(calmer, as_of="2026-03-12T09:30:00Z"))
    assert _by_name(store, "task")["restriction"]["period"]["end"] == "2026-03-13T09:30:00Z"


@pytest.mark.parametrize("first", ["2026-03-12T12:30:00Z", ""])
def test_a_reason_that_began_earlier_makes_it_due_sooner(first: str) -> None:
    """A value that was charted late moves the beginning back: a fresh review is due before what is held."""
    store = LittleStore()
    _deliver(store, _synthetic(_due("task", first, priority="urgent")))
    sooner = _due("task", "2026-03-12T10:30:00Z", priority="urgent")
    assert _deliver(store, _synthetic(sooner, as_of="2026-03-12T08:30:00Z")).total(WriteOutcome.UPDATED) == 1
    assert _by_name(store, "task")["restriction"]["period"]["end"] == "2026-03-12T10:30:00Z"
    assert _outcomes(_deliver(store, _synthetic(sooner, as_of="2026-03-12T08:30:00Z"))) == {"unchanged": 2}


def _due(name: str, end: str, **more: Any) -> Resource:
    return _task(name, **({"restriction": {"period": {"end": end}}} if end else {}), **more)


def test_a_server_that_leaves_out_the_search_is_noticed_before_anything_is_written() -> None:
    """Otherwise the closing pass would go through everybody's records."""
    store = LittleStore(ignores_searches=True)
    store.keep({"resourceType": "Device"})
    with pytest.raises(EhrError, match="records that are not ours"):
        _deliver(store, _results(_ward(KIDNEYS)))
    store.held.clear()
    store.keep({"resourceType": "Task", "status": "requested", "for": {"reference": "Patient/p2"}})
    writes = store.writes
    report = _deliver(store, _synthetic(_task("task")))
    assert len(report.refused) == 1
    assert store.writes == writes


def test_somebody_writing_in_between_makes_us_look_again() -> None:
    """Version-aware update: the accepted Task is not overwritten, the rest is written."""
    store = LittleStore()
    _deliver(store, _synthetic(_task("task")))

    def accept(inside: LittleStore) -> None:
        inside.keep({**_by_name(inside, "task"), "status": "accepted"})

    store.before_writing = accept
    report = _deliver(store, _synthetic(as_of="2026-03-12T08:00:00Z"))
    assert not report.refused
    assert _outcomes(report) == {"created": 1}
    assert _by_name(store, "task")["status"] == "accepted"


def test_two_writers_at_once_make_one_resource() -> None:
    """The other wrote first: a conditional create finds it, and it is reported as unchanged."""
    store = LittleStore()
    other = LittleStore()
    _deliver(other, _synthetic(_issue("issue")))

    def overtake(inside: LittleStore) -> None:
        inside.keep(_by_name(other, "issue"))

    store.before_writing = overtake
    report = _deliver(store, _synthetic(_issue("issue")))
    assert _outcomes(report) == {"created": 1, "unchanged": 1}
    assert len(store.of("DetectedIssue")) == 1


def test_what_lies_there_twice_is_left_for_somebody_to_look_at() -> None:
    store = LittleStore()
    _deliver(store, _synthetic(_issue("issue", severity="low")))
    double = {k: v for k, v in _by_name(store, "issue").items() if k != "id"}
    store.keep(double)
    report = _deliver(store, _synthetic(_issue("issue", severity="high")))
    assert report.total(WriteOutcome.TWICE) == 1
    assert {i["severity"] for i in store.of("DetectedIssue")} == {"low"}


def test_a_refused_patient_is_named_and_nothing_of_it_is_written() -> None:
    """All or nothing a patient; the others are written."""
    store = LittleStore(refuses=frozenset({"CommunicationRequest"}))
    calm = _results(_ward("08-well-going-home"))
    assert not _deliver(store, calm).refused
    before = len(store.held)
    report = _deliver(store, _results(_ward("01-sepsis")))
    assert [patient for patient, _ in report.refused] == ["Patient/tidewell"]
    assert "business-rule" in report.refused[0][1]
    assert "Ambrose" not in report.refused[0][1]
    assert report.total(WriteOutcome.REFUSED) == len(next(iter(_results(_ward("01-sepsis")))).results)
    assert len(store.held) == before


def test_a_server_without_transactions_is_told_at_once() -> None:
    with pytest.raises(EhrError, match="names no transactions"):
        _deliver(LittleStore(transactions=False), _synthetic())


@pytest.mark.parametrize(
    ("reference", "said"),
    [
        pytest.param("urn:uuid:0b7d", "no id of this server", id="urn"),
        pytest.param("https://other.example/fhir/Patient/p1", "another server", id="another server"),
        pytest.param("https://ehr.example/elsewhere/Patient/p1", "another server", id="another base"),
        pytest.param("Patient?identifier=1", "no id of this server", id="conditional"),
        pytest.param("Group/g1", "no id of this server", id="no patient"),
    ],
)
def test_results_about_somebody_the_server_does_not_know_are_refused(reference: str, said: str) -> None:
    with pytest.raises(UnplaceableError, match=said):
        at_server(reference, "https://ehr.example/fhir")


def test_a_folder_of_lines_says_the_same_as_a_bundle(tmp_path: Path) -> None:
    """NDJSON lines carry their name as id; Bundles as fullUrl."""
    from weatherglass.fhir.writing.bundle import lines_of

    body = review((WARD / f"{KIDNEYS}.json").read_bytes()).collection(stamp())
    entries = json.loads(body)["entry"]
    by_type: dict[str, bytes] = {}
    for entry, line in zip(entries, lines_of(entries), strict=True):
        kind = entry["resource"]["resourceType"]
        by_type[kind] = by_type.get(kind, b"") + line
    for kind, content in by_type.items():
        (tmp_path / f"{kind}.ndjson").write_bytes(content)
    (tmp_path / "rejected.ndjson").write_text('{"line": 1}\n')
    from_lines, from_bundle = read_results(tmp_path), results_in(body)
    (one,), (other,) = list(from_lines), list(from_bundle)
    assert (one.patient, one.as_of, one.is_whole) == (other.patient, other.as_of, other.is_whole)
    assert sorted(one.results) == sorted(other.results)
    assert from_lines.devices == from_bundle.devices
    assert from_lines.left_out == {"OperationOutcome": 1}


def test_a_folder_without_results_is_refused_with_what_it_holds(tmp_path: Path) -> None:
    with pytest.raises(ResultsError, match="no Bundle"):
        read_results(tmp_path)
    (tmp_path / "Patient.ndjson").write_text('{"resourceType":"Patient","id":"p1"}\n')
    with pytest.raises(ResultsError, match="no results of a review"):
        read_results(tmp_path)
    (tmp_path / "broken.json").write_text("{")
    with pytest.raises(ResultsError, match=r"broken\.json is not readable"):
        read_results(tmp_path)


def test_provenance_may_be_left_out() -> None:
    """For a server that does not search by `_tag`, by which alone a Provenance is found again."""
    store = LittleStore(refuses=frozenset({"Provenance"}))

    async def work() -> Report:
        async with Pretend(store).transport() as transport:
            return await Delivery(transport, with_provenance=False).deliver(_results(_ward(KIDNEYS)))

    assert not run(work()).refused
    assert store.of("Observation")
    assert not store.of("Provenance")


def test_reviews_of_records_that_were_not_whole_need_close_nothing() -> None:
    """`deliver --keep-earlier`: what was not fetched is not withdrawn."""
    store = LittleStore()
    _deliver(store, _synthetic(_issue("issue")))

    async def work() -> Report:
        async with Pretend(store).transport() as transport:
            later = _synthetic(as_of="2026-03-12T08:00:00Z")
            return await Delivery(transport, closes=False).deliver(later)

    assert run(work()).total(WriteOutcome.CLOSED) == 0
    assert _by_name(store, "issue")["status"] == "preliminary"


@pytest.mark.parametrize(
    ("left", "status"),
    [
        pytest.param([], "cancelled", id="the person only"),
        pytest.param(
            [
                {
                    "resourceType": "Observation",
                    "id": "o",
                    "status": "final",
                    "subject": {"reference": "Patient/p1"},
                    "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
                    "valueQuantity": {"value": 131, "unit": "/min"},
                }
            ],
            "preliminary",
            id="a value that nobody can use",
        ),
    ],
)
def test_a_record_that_a_merge_has_emptied_asks_nothing_any_more(
    left: list[Resource], status: str, tmp_path: Path
) -> None:
    """By a batch as by a notification; a value that cannot be used closes nothing: our choice."""
    store = LittleStore()
    _deliver(store, _synthetic(_issue("earlier")))
    other = {"resourceType": "Patient", "id": "p2"}
    timed: Resource = {
        "resourceType": "Observation",
        "id": "o2",
        "status": "final",
        "subject": {"reference": "Patient/p2"},
        "effectiveDateTime": "2026-03-12T07:30:00Z",
        "code": {"coding": [{"system": "http://loinc.org", "code": "8867-4"}]},
        "valueQuantity": {"value": 80, "unit": "/min"},
    }
    given = tmp_path / "in"
    given.mkdir()
    everything: list[Resource] = [{"resourceType": "Patient", "id": "p1"}, other, timed, *left]
    for kind in ("Patient", "Observation"):
        lines = [json.dumps(one) for one in everything if one["resourceType"] == kind]
        (given / f"{kind}.ndjson").write_text("\n".join(lines) + "\n")
    done = CliRunner().invoke(batch, [str(given), str(tmp_path / "out"), "--workers", "1"])
    assert done.exit_code == 0, done.output
    report = _deliver(store, read_results(tmp_path / "out"))
    assert report.refused == []
    assert _by_name(store, "earlier")["status"] == status
