"""A new Observation at a real server: notified, reviewed, and its score there within seconds."""

import copy
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.ehr.real_server import WARD, RealServer, serving
from tests.running import PLAIN, free_port
from weatherglass.ehr.events.subscribing import CRITERIA

NAME = "08-well-going-home"
PATIENT = "Patient/oxbow-dunn"
NEWS2 = "urn:weatherglass:codes:score|news2"
#: A topic of our own for this server, in the R5 cross-version form that it reads.
TOPIC = "https://ward.example/topics/observation-changed"
_ST = "http://hl7.org/fhir/5.0/StructureDefinition/extension-SubscriptionTopic"
BASIC = {
    "resourceType": "Basic",
    "id": "topic-observation-changed",
    "modifierExtension": [{"url": f"{_ST}.status", "valueCode": "active"}],
    "extension": [
        {"url": f"{_ST}.url", "valueUri": TOPIC},
        {"url": f"{_ST}.title", "valueString": "An observation changed"},
        {
            "url": f"{_ST}.resourceTrigger",
            "extension": [
                {"url": "description", "valueMarkdown": "Any change"},
                {"url": "resource", "valueUri": "http://hl7.org/fhir/StructureDefinition/Observation"},
                {"url": "supportedInteraction", "valueCode": "create"},
                {"url": "supportedInteraction", "valueCode": "update"},
            ],
        },
        {
            "url": f"{_ST}.canFilterBy",
            "extension": [
                {"url": "description", "valueMarkdown": "Category"},
                {"url": "resource", "valueUri": "Observation"},
                {"url": "filterParameter", "valueString": "category"},
            ],
        },
    ],
    "code": {"coding": [{"system": "http://hl7.org/fhir/fhir-types", "code": "SubscriptionTopic"}]},
}


@contextmanager
def _subscribed(server: RealServer, *arguments: str) -> Iterator["subprocess.Popen[str]"]:
    listen = f"127.0.0.1:{free_port()}"
    following = ["subscribe", server.base, "--listen", listen, "--settle", "0.2", *arguments]
    process = subprocess.Popen(
        [sys.executable, "-m", "weatherglass", *following],
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    try:
        assert process.stderr is not None
        assert "listening at" in process.stderr.readline()
        yield process
    finally:
        process.send_signal(signal.SIGINT)
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait(10)
        if process.stderr is not None:
            process.stderr.close()


def _patient() -> str:
    for entry in json.loads((WARD / f"{NAME}.json").read_text())["entry"]:
        if entry["resource"]["resourceType"] == "Patient":
            return f"Patient/{entry['resource']['id']}"
    raise AssertionError


def _newest_round(hour: int) -> list[dict[str, Any]]:
    """The patient's newest observations again, at another hour, and breathing fast."""
    observations = [
        e["resource"]
        for e in json.loads((WARD / f"{NAME}.json").read_text())["entry"]
        if e["resource"]["resourceType"] == "Observation"
        and any(
            c["code"] in ("vital-signs", "exam")
            for g in e["resource"].get("category", [])
            for c in g["coding"]
        )
    ]
    last = max(o["effectiveDateTime"] for o in observations)
    found = []
    for old in observations:
        if old["effectiveDateTime"][:13] != last[:13]:
            continue
        new = copy.deepcopy(old)
        new["id"] = f"{old['id'][:40]}-at-{hour}"
        new["effectiveDateTime"] = last.replace("T07:", f"T{hour:02}:")
        new.pop("issued", None)
        if any(c["code"] in ("9279-1", "86290005") for c in new["code"]["coding"]):
            new["valueQuantity"]["value"] = 26
        found.append(new)
    return found


def _wait_for_score(server: RealServer, at: str) -> dict[str, Any]:
    end = time.monotonic() + 30
    while time.monotonic() < end:
        for score in server.resources(f"Observation?code={NEWS2}&patient={_patient()}"):
            if score["effectiveDateTime"][:16] == at[:16] and "valueQuantity" in score:
                return score
        time.sleep(0.1)
    raise AssertionError(f"no score within 30 seconds: {(server.folder / 'server.log').read_text()[-1500:]}")


def _post_round(server: RealServer, hour: int) -> tuple[dict[str, Any], float]:
    round_ = _newest_round(hour)
    assert len(round_) >= 6
    for observation in round_:
        server.put(observation)
    began = time.monotonic()
    score = _wait_for_score(server, round_[-1]["effectiveDateTime"])
    return score, time.monotonic() - began


@pytest.fixture(scope="module")
def loaded(tools: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RealServer]:
    """The server with one patient of the ward."""
    with serving(tools, tmp_path_factory.mktemp("server")) as running:
        running.load_ward(NAME)
        running.put(BASIC)
        yield running


@pytest.fixture
def server(loaded: RealServer) -> RealServer:
    """The same, with nobody who wants to be told."""
    loaded.forget("Subscription")
    return loaded


@pytest.fixture
def hour(loaded: RealServer) -> int:
    """The hour of the next round: the last was at seven, and nobody has scored this one yet."""
    scored = loaded.resources(f"Observation?code={NEWS2}")
    return max([7, *(int(each["effectiveDateTime"][11:13]) for each in scored)]) + 1


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param((), id="rest-hook with the resource"),
        pytest.param(("--content", "empty"), id="empty rest-hook"),
        pytest.param(
            ("--criteria", TOPIC, "--content", "id-only", "--filter", "Observation?category=vital-signs"),
            id="topic, ids only",
        ),
        pytest.param(("--criteria", TOPIC, "--content", "full-resource"), id="topic, whole resources"),
    ],
)
def test_a_new_round_is_scored_at_the_server_within_seconds(
    server: RealServer, hour: int, arguments: tuple[str, ...]
) -> None:
    """Breathing at 26 a minute scores 3: more than the round before, and it is there within seconds."""
    with _subscribed(server, *arguments) as process:
        subscriptions = server.resources("Subscription")
        _wait_until_active(server, len(subscriptions))
        score, seconds = _post_round(server, hour)
        assert score["valueQuantity"]["value"] >= 3
        assert seconds < 15
        # The results that were written come round as notifications, and lead to nothing more.
        _wait_until_settled(server)
        assert process.poll() is None
    assert {s["status"] for s in server.resources("Subscription")} == {"off"}


def _wait_until_settled(server: RealServer) -> None:
    """Wait until no result has been written for longer than one takes to come round."""
    seen, still, end = -1, time.monotonic(), time.monotonic() + 60
    while time.monotonic() - still < 3.5:
        assert time.monotonic() < end, "results lead to results"
        if (count := server.get("Observation?_summary=count")["total"]) != seen:
            seen, still = count, time.monotonic()
        time.sleep(0.25)


def _wait_until_active(server: RealServer, count: int) -> None:
    end = time.monotonic() + 15
    while time.monotonic() < end:
        if [s["status"] for s in server.resources("Subscription")] == ["active"] * count:
            return
        time.sleep(0.1)
    raise AssertionError(server.resources("Subscription"))


def test_starting_twice_makes_no_second_subscription(server: RealServer) -> None:
    port = free_port()
    for _ in range(2):
        with _subscribed(server, "--endpoint", f"http://127.0.0.1:{port}"):
            pass
    assert len(server.resources("Subscription")) == len(CRITERIA)


def test_the_route_of_the_service_follows_as_well(server: RealServer, hour: int) -> None:
    """`weatherglass serve` with a server in its settings: the same, at /notifications."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "weatherglass", "serve", "--port", str(port)],
        env={
            **os.environ,
            "WEATHERGLASS_NOTIFY_FHIR_SERVER": server.base,
            "WEATHERGLASS_NOTIFY_SECRET": "of-the-ward",
            "WEATHERGLASS_NOTIFY_SETTLE_SECONDS": "0.2",
        },
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_until_up(port)
        subscription = {
            "resourceType": "Subscription",
            "status": "requested",
            "reason": "test",
            "criteria": "Observation?category=vital-signs",
            "channel": {
                "type": "rest-hook",
                "endpoint": f"http://127.0.0.1:{port}/notifications",
                "payload": "application/fhir+json",
                "header": ["Authorization: Bearer of-the-ward"],
            },
        }
        assert httpx.post(f"{server.base}/Subscription", json=subscription, verify=PLAIN).status_code == 201
        _wait_until_active(server, 1)
        score, seconds = _post_round(server, hour)
        assert score["valueQuantity"]["value"] >= 3
        assert seconds < 15
    finally:
        process.send_signal(signal.SIGINT)
        process.wait(40)


def _wait_until_up(port: int) -> None:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        try:
            if httpx.get(f"http://127.0.0.1:{port}/health/ready", verify=PLAIN).status_code == 200:
                return
        except httpx.TransportError:
            time.sleep(0.1)
    raise AssertionError("the service does not start")
