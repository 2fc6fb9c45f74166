"""Every door reads the newest version: an order that was taken back is as if it had never been sent.

Each answer to a record with both versions is compared with the answer to the record
without the order; only what says so itself (the issues, and who computed from what) differs.
"""

import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from tests.api.answers import HANDOVER, REVIEW, code_of, parameters, resources
from weatherglass.cli.commands.review import command

Json = dict[str, Any]
_WARD = Path(__file__).parents[2] / "fixtures" / "bundles"
_STRICT = {"Prefer": "handling=strict"}
_ABOUT_THE_INPUT = {"OperationOutcome", "Provenance"}


@pytest.fixture(scope="module")
def record() -> Json:
    """A patient whose kidneys make the ibuprofen on the chart matter."""
    read: Json = json.loads((_WARD / "04-aki-nephrotoxics.json").read_text("utf-8"))
    return read


def _order(record: Json) -> Json:
    return next(
        entry
        for entry in record["entry"]
        if entry["resource"]["resourceType"] == "MedicationRequest"
        and "buprofen" in json.dumps(entry["resource"])
    )


def _without(record: Json) -> Json:
    order = _order(record)
    return {**record, "entry": [entry for entry in record["entry"] if entry is not order]}


def _taken_back(record: Json, *, shuffled: bool) -> Json:
    order = _order(record)
    resource = order["resource"]
    older = {**resource, "meta": {"versionId": "9", "lastUpdated": "2026-03-11T10:00:00+02:00"}}
    newer = {**resource, "meta": {"versionId": "10", "lastUpdated": "2026-03-11T08:30:00Z"}}
    newer["status"] = "entered-in-error"
    entries = [
        *_without(record)["entry"],
        {**order, "resource": newer},
        {**order, "resource": older},
        {**order, "resource": older},
    ]
    if shuffled:
        random.Random(7).shuffle(entries)
    # Without addresses: three entries of one would be no valid Bundle.
    bare = [{name: value for name, value in entry.items() if name != "fullUrl"} for entry in entries]
    return {**record, "entry": bare}


def _bundle(client: TestClient, record: Json) -> Any:
    return resources(client.post(REVIEW, content=json.dumps(record)))


def _strict(client: TestClient, record: Json) -> Any:
    return resources(client.post(REVIEW, content=json.dumps(record), headers=_STRICT))


def _parameters(client: TestClient, record: Json) -> Any:
    return resources(client.post(REVIEW, json=parameters(json.dumps(record).encode())))


def _lines(client: TestClient, record: Json) -> Any:
    lines = b"\n".join(json.dumps(entry["resource"]).encode() for entry in record["entry"])
    answer = client.post(REVIEW, content=lines, headers={"Content-Type": "application/fhir+ndjson"})
    return [json.loads(line) for line in answer.content.splitlines()]


_DOORS: list[Callable[[TestClient, Json], Any]] = [_bundle, _strict, _parameters, _lines]


def _results(found: list[Json]) -> list[str]:
    return [json.dumps(one) for one in found if one["resourceType"] not in _ABOUT_THE_INPUT]


def _said(found: list[Json]) -> list[tuple[str, str]]:
    (outcome,) = (one for one in found if one["resourceType"] == "OperationOutcome")
    about = [(issue["severity"], code_of(issue)) for issue in outcome["issue"]]
    return [one for one in about if one[1] in ("duplicate", "conflict")]


@pytest.mark.parametrize("shuffled", [False, True], ids=["in-order", "shuffled"])
@pytest.mark.parametrize("door", _DOORS, ids=lambda door: door.__name__.strip("_"))
def test_an_operation(
    client: TestClient, record: Json, door: Callable[[TestClient, Json], Any], shuffled: bool
) -> None:
    before, without = door(client, record), door(client, _without(record))
    assert _results(before) != _results(without)
    found = door(client, _taken_back(record, shuffled=shuffled))
    assert _results(found) == _results(without)
    # One older version by its path, and one copy of it in the count.
    assert sorted(_said(found)) == sorted([*_said(without), *[("information", "duplicate")] * 2])


def test_a_handover(client: TestClient, record: Json) -> None:
    def told(given: Json) -> list[str]:
        (composition,) = resources(client.post(HANDOVER, content=json.dumps(given)), "Composition")
        return [section["text"]["div"] for section in composition["section"]]

    assert told(record) != told(_without(record))
    assert told(_taken_back(record, shuffled=True)) == told(_without(record))


def test_the_page(client: TestClient, record: Json) -> None:
    def times_named(given: Json) -> int:
        page: str = client.post("/view", content=json.dumps(given)).text
        return page.count("buprofen")

    assert times_named(record) > times_named(_without(record))
    assert times_named(_taken_back(record, shuffled=True)) == times_named(_without(record))


def test_the_command_line(record: Json, tmp_path: Path) -> None:
    def chart(given: Json, name: str) -> list[str]:
        (tmp_path / name).write_text(json.dumps(given), "utf-8")
        result = CliRunner().invoke(command, [str(tmp_path / name)])
        assert result.exit_code == 0, result.output
        return [line for line in result.output.splitlines() if "buprofen" in line]

    assert len(chart(record, "both.json")) > len(chart(_without(record), "without.json"))
    assert chart(_taken_back(record, shuffled=True), "back.json") == chart(_without(record), "w.json")
