"""A little FHIR store in memory: search, conditional create, versioned update, transactions.

FHIR R4 3.1.0.8.1 (conditional create), 3.1.0.5 (version-aware update), 3.1.0.11
(transactions: all or nothing, references by fullUrl). A test may switch parts of it off,
or write between a client's look and its letter.
"""

import copy
import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from urllib.parse import parse_qsl

import httpx

from tests.ehr.pretend import BASE, json_answer, outcome, searchset

Resource = dict[str, Any]
ALL = ("Observation", "DetectedIssue", "Task", "CommunicationRequest", "Provenance", "Device")


#: What a record is made of beside observations.
OTHERS = ("Patient", "Encounter", "Condition", "MedicationRequest", "MedicationAdministration", "Flag")


class _RefusedError(Exception):
    def __init__(self, status: int, code: str) -> None:
        self.status, self.code = status, code


@dataclass
class LittleStore:
    """The store; callable as the handler of a pretended server."""

    by_identifier: tuple[str, ...] = (
        "Observation",
        "Task",
        "CommunicationRequest",
        "Device",
        "DetectedIssue",
    )
    ignores_searches: bool = False
    transactions: bool = True
    refuses: frozenset[str] = frozenset()
    before_writing: Callable[["LittleStore"], None] | None = None
    held: dict[str, Resource] = field(default_factory=dict)
    number: int = 0
    writes: int = 0

    def __call__(self, request: httpx.Request) -> httpx.Response:
        """Answer one request."""
        path = request.url.path.removeprefix("/fhir").strip("/")
        try:
            if path == "metadata":
                return json_answer(self._statement())
            if request.method == "GET" and "/" in path:
                found = self.held.get(path)
                return json_answer(found) if found else json_answer(outcome("not-found"), 404)
            if request.method == "GET":
                return json_answer(searchset(*self._search(path, list(request.url.params.multi_items()))))
            body = json.loads(request.content)
            if not path:
                return self._transaction(body)
            condition = request.headers.get("if-none-exist", "")
            created = self._create(path, body, condition)
            return json_answer(created[0], created[1])
        except _RefusedError as refused:
            return json_answer(outcome(refused.code), refused.status)

    def of(self, kind: str) -> list[Resource]:
        """Return everything of a type."""
        return [r for r in self.held.values() if r["resourceType"] == kind]

    def keep(self, resource: Resource) -> str:
        """Write a resource as its id or a new one; return its reference."""
        kept = copy.deepcopy(resource)
        if "id" not in kept:
            self.number += 1
            kept["id"] = f"r{self.number}"
        reference = f"{kept['resourceType']}/{kept['id']}"
        version = int(self.held.get(reference, {}).get("meta", {}).get("versionId", 0)) + 1
        kept["meta"] = {**kept.get("meta", {}), "versionId": str(version)}
        self.held[reference] = kept
        self.writes += 1
        return reference

    def _statement(self) -> Resource:
        kinds = [
            {
                "type": kind,
                "searchParam": [{"name": n} for n in ("identifier", "patient", "status")]
                if kind in self.by_identifier
                else [{"name": "_tag"}],
            }
            for kind in (*ALL, *OTHERS)
        ]
        rest = {"resource": kinds, "interaction": [{"code": "transaction"}] if self.transactions else []}
        return {"resourceType": "CapabilityStatement", "fhirVersion": "4.0.1", "rest": [rest]}

    def _search(self, kind: str, query: list[tuple[str, str]]) -> list[Resource]:
        found = self.of(kind)
        for name, value in query:
            if name in ("_count", "_lastUpdated", "_include") or self.ignores_searches:
                continue
            if name == "identifier" and kind not in self.by_identifier:
                raise _RefusedError(400, "not-supported")
            found = [r for r in found if _matches(r, name, value)]
        return found

    def _create(self, kind: str, body: Resource, condition: str) -> tuple[Resource, int]:
        if kind in self.refuses:
            raise _RefusedError(422, "business-rule")
        if condition:
            found = self._search(kind, parse_qsl(condition))
            if len(found) > 1:
                raise _RefusedError(412, "multiple-matches")
            if found:
                return found[0], 200
        return self.held[self.keep({k: v for k, v in body.items() if k != "id"})], 201

    def _transaction(self, bundle: Resource) -> httpx.Response:
        if self.before_writing is not None:
            interfere, self.before_writing = self.before_writing, None
            interfere(self)
        before, writes = copy.deepcopy(self.held), self.writes
        try:
            places: dict[str, str] = {}
            answers = [self._entry(entry, places) for entry in bundle["entry"]]
            for reference in {a[0] for a in answers}:
                self.held[reference] = _with_places(self.held[reference], places)
            assert "urn:uuid:" not in json.dumps(list(self.held.values()))
        except _RefusedError:
            self.held, self.writes = before, writes
            raise
        entries = [{"response": {"status": status}} for _, status in answers]
        return json_answer({"resourceType": "Bundle", "type": "transaction-response", "entry": entries})

    def _entry(self, entry: Resource, places: dict[str, str]) -> tuple[str, str]:
        request, resource = entry["request"], entry["resource"]
        if request["method"] == "POST":
            kept, status = self._create(request["url"], resource, request.get("ifNoneExist", ""))
            reference = f"{kept['resourceType']}/{kept['id']}"
            places[entry["fullUrl"]] = reference
            return reference, "201 Created" if status == 201 else "200 OK"
        assert request["method"] == "PUT"
        known = self.held[request["url"]]
        if request.get("ifMatch") != f'W/"{known["meta"]["versionId"]}"':
            raise _RefusedError(412, "conflict")
        return self.keep(resource), "200 OK"


def _with_places(node: Any, places: dict[str, str]) -> Any:
    if isinstance(node, dict):
        return {
            k: places.get(v, v) if k == "reference" and isinstance(v, str) else _with_places(v, places)
            for k, v in node.items()
        }
    return [_with_places(one, places) for one in node] if isinstance(node, list) else node


def _matches(resource: Resource, name: str, value: str) -> bool:
    if name == "identifier":
        tokens = {(i["system"], i["value"]) for i in resource.get("identifier", [])}
        return _token(tokens, value)
    if name == "_tag":
        return _token({(t["system"], t["code"]) for t in resource.get("meta", {}).get("tag", [])}, value)
    if name == "patient":
        about = resource.get("subject") or resource.get("patient") or resource.get("for") or {}
        return str(about.get("reference", "")).removeprefix("Patient/") == value.removeprefix("Patient/")
    if name == "status":
        return str(resource.get("status")) in value.split(",")
    if name == "date":
        assert value.startswith("ge")
        return str(resource.get("effectiveDateTime", "")) >= value[2:]
    raise AssertionError(f"the little store does not know the search parameter {name}")


def _token(tokens: set[tuple[str, str]], value: str) -> bool:
    for wanted in value.split(","):
        system, _, code = wanted.partition("|")
        if any(s == system and code in ("", c) for s, c in tokens):
            return True
    return False


__all__ = ["ALL", "BASE", "LittleStore", "Resource"]
