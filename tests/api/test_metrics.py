"""`GET /metrics`: judged by the reader of the Prometheus text format that its own library has."""

import re
from collections.abc import Iterator

import httpx
import pytest
from prometheus_client.openmetrics import parser as openmetrics
from starlette.testclient import TestClient

from tests.api.answers import REVIEW, numbers, resources
from tests.running import PLAIN, Running
from weatherglass.api.app import create_app
from weatherglass.review.catalogue import rule_sets

BAD = b'{"resourceType":"Bundle","type":"collection","entry":[{"resource":{"resourceType":"Patient","id":'


@pytest.fixture
def fresh() -> Iterator[TestClient]:
    """An application that has not counted anything yet."""
    with TestClient(create_app(), headers={"Content-Type": "application/fhir+json"}) as started:
        yield started


def _count(client: TestClient, name: str, /, **labels: str) -> float:
    return numbers(client.get("/metrics").text).get((name, tuple(sorted(labels.items()))), 0)


class TestRequests:
    def test_each_is_counted_by_route_template(self, fresh: TestClient, sepsis: bytes) -> None:
        """However the address is written, it is one route; an unknown address is "none"."""
        for address in (REVIEW, f"{REVIEW}/", "/fhir/%24review-deterioration"):
            fresh.post(address, content=sepsis)
        fresh.get("/criteria/news2-2017")
        fresh.get("/fhir/Patient/jane-doe-1950")
        fresh.post(REVIEW, content=b"hello")
        route = "/fhir/$review-deterioration"
        assert _count(fresh, "weatherglass_requests_total", method="POST", route=route, status="200") == 3
        assert _count(fresh, "weatherglass_requests_total", method="POST", route=route, status="400") == 1
        assert (
            _count(fresh, "weatherglass_requests_total", method="GET", route="/criteria/{name}", status="200")
            == 1
        )
        assert _count(fresh, "weatherglass_requests_total", method="GET", route="none", status="404") == 1
        assert "jane-doe" not in fresh.get("/metrics").text

    def test_an_invented_method_does_not_become_a_label(self, fresh: TestClient) -> None:
        """Labels that callers can make up fill the memory of the monitoring system."""
        for word in ("BREW", "ZZTOP"):
            fresh.request(word, "/health/live")
        text = fresh.get("/metrics").text
        assert "BREW" not in text
        assert _count(
            fresh, "weatherglass_requests_total", method="other", route="/health/live", status="405"
        )

    def test_latency_has_one_observation_a_request(self, fresh: TestClient, sepsis: bytes) -> None:
        fresh.post(REVIEW, content=sepsis)
        route = "/fhir/$review-deterioration"
        assert _count(fresh, "weatherglass_request_seconds_count", method="POST", route=route) == 1
        assert 0 < _count(fresh, "weatherglass_request_seconds_sum", method="POST", route=route) < 30

    def test_the_request_at_hand_is_the_only_open_one(self, fresh: TestClient) -> None:
        fresh.get("/health/live")
        assert _count(fresh, "weatherglass_requests_open") == 1  # The scrape itself.


class TestWhatWasFound:
    def test_findings_are_those_of_the_answer(self, fresh: TestClient, sepsis: bytes) -> None:
        """As many AKI findings are counted as the answer has AKI Observations of its own."""
        answer = fresh.post(REVIEW, content=sepsis)
        stages = [
            o
            for o in resources(answer, "Observation")
            if any(c["code"] in ("aki-kdigo", "aki-warning-stage") for c in o["code"]["coding"])
        ]
        counted = numbers(fresh.get("/metrics").text)
        found = sum(
            value
            for (name, labels), value in counted.items()
            if name == "weatherglass_findings_total" and ("kind", "aki-stage") in labels
        )
        assert found == len(stages) > 0
        assert counted["weatherglass_patients_reviewed_total", ()] == 1

    def test_lines_count_like_a_bundle(self, fresh: TestClient, ward_lines: bytes) -> None:
        """What is streamed patient by patient is counted too."""
        fresh.post(REVIEW, content=ward_lines, headers={"Content-Type": "application/fhir+ndjson"})
        assert _count(fresh, "weatherglass_patients_reviewed_total") == 13

    def test_looking_at_the_page_is_counted_apart(
        self, fresh: TestClient, sepsis: bytes, ward_lines: bytes
    ) -> None:
        """Who looks twice has not been alerted twice: the counts of findings stay what programs were told."""
        fresh.post(REVIEW, content=sepsis)

        def told() -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
            counted = numbers(fresh.get("/metrics").text)
            names = ("weatherglass_findings_total", "weatherglass_unusable_inputs_total")
            return {key: value for key, value in counted.items() if key[0] in names}

        before = told()
        for _ in range(3):
            assert fresh.post("/view", content=sepsis).status_code == 200
        assert fresh.post("/view", content=ward_lines).status_code == 200
        assert fresh.post("/view?patient=4", content=ward_lines).status_code == 200
        assert told() == before != {}
        assert _count(fresh, "weatherglass_patients_reviewed_total") == 1
        assert _count(fresh, "weatherglass_patients_shown_total") == 3 + 13 + 1

    def test_unusable_inputs_are_counted_by_reason(self, fresh: TestClient) -> None:
        fresh.post(REVIEW, content=BAD)
        assert _count(fresh, "weatherglass_unusable_inputs_total", reason="not-json", severity="fatal") == 1


class TestWhatRuns:
    def test_the_rule_sets_and_their_versions(self, fresh: TestClient) -> None:
        """A dashboard can tell two workers with different rules apart."""
        for name, version in rule_sets().items():
            assert _count(fresh, "weatherglass_rule_set", name=name, version=version) == 1

    def test_the_memory_of_the_process(self, fresh: TestClient) -> None:
        assert _count(fresh, "process_resident_memory_bytes") > 10_000_000

    def test_openmetrics_is_spoken_when_it_is_asked_for(self, fresh: TestClient) -> None:
        answer = fresh.get("/metrics", headers={"Accept": "application/openmetrics-text; version=1.0.0"})
        assert answer.headers["content-type"].startswith("application/openmetrics-text")
        families = openmetrics.text_string_to_metric_families(answer.text)  # type: ignore[no-untyped-call]
        assert "weatherglass_build" in {family.name for family in families}


@pytest.mark.slow
def test_workers_add_up(sepsis: bytes) -> None:
    """With two processes a scrape shows the requests of both, whichever answers it."""
    with Running("--workers", "2") as service:
        with httpx.Client(base_url=service.base, verify=PLAIN) as client:
            for _ in range(20):
                # A connection of its own for each, so that both workers get some.
                answer = httpx.post(
                    f"{service.base}{REVIEW}",
                    content=sepsis,
                    headers={"Content-Type": "application/json"},
                    verify=PLAIN,
                )
                assert answer.status_code == 200
            shown = [client.get("/metrics").text for _ in range(3)]
        for text in shown:
            assert numbers(text)["weatherglass_patients_reviewed_total", ()] == 20
            assert re.search(r'weatherglass_build\{version="[^"]+"\} 1', text)
