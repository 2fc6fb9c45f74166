"""Numbers for a monitoring system, in the Prometheus text format at `/metrics`.

Labels hold only words of ours: route templates, status codes, kinds, urgencies, issue
codes. No address as it was sent, no name, no reference, no value.

One application has one registry. Several worker processes share their numbers through
files when PROMETHEUS_MULTIPROC_DIR is set, as `weatherglass serve --workers` does.
"""

import os
from collections.abc import Mapping
from pathlib import Path

from fastapi import APIRouter, Request, Response
from prometheus_client import (
    CollectorRegistry,
    Counter,
    Gauge,
    Histogram,
    PlatformCollector,
    ProcessCollector,
    exposition,
)
from prometheus_client.multiprocess import MultiProcessCollector, mark_process_dead

from weatherglass.api.telemetry.request_facts import RequestFacts
from weatherglass.cds_hooks.feedback import Outcome

_SHARED = "PROMETHEUS_MULTIPROC_DIR"
#: From a health check (under a millisecond) to the largest body that is taken.
_SECONDS = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)

router = APIRouter()


class Metrics:
    """The numbers of one application."""

    def __init__(self, *, version: str, rules: Mapping[str, str]) -> None:
        """Set every number up.

        Args:
            version: Version of the software.
            rules: Version of each rule set by its public name.
        """
        self.registry = CollectorRegistry()
        self._shared = _SHARED in os.environ
        own = self.registry
        if not self._shared:
            ProcessCollector(registry=own)
            PlatformCollector(registry=own)
        self._requests = Counter(
            "weatherglass_requests", "Requests answered.", ("method", "route", "status"), registry=own
        )
        self._seconds = Histogram(
            "weatherglass_request_seconds",
            "From the head of a request to the end of its answer.",
            ("method", "route"),
            buckets=_SECONDS,
            registry=own,
        )
        self._open = Gauge(
            "weatherglass_requests_open",
            "Requests that have begun and are not answered yet.",
            registry=own,
            multiprocess_mode="livesum",
        )
        self._patients = Counter(
            "weatherglass_patients_reviewed",
            "Reviews made for programs; what is looked at on the page is apart.",
            registry=own,
        )
        self._shown = Counter(
            "weatherglass_patients_shown",
            "Patients looked at on the page, each time; their findings are not counted.",
            registry=own,
        )
        self._findings = Counter(
            "weatherglass_findings",
            "Findings in answers to programs, by kind and urgency.",
            ("kind", "urgency"),
            registry=own,
        )
        self._unusable = Counter(
            "weatherglass_unusable_inputs",
            "Inputs not used, or used with a reservation, by reason.",
            ("reason", "severity"),
            registry=own,
        )
        self._unstored = Counter(
            "weatherglass_audit_events_unstored", "Audit events that the sink did not take.", registry=own
        )
        self._say_what_runs(version, rules)

    def _say_what_runs(self, version: str, rules: Mapping[str, str]) -> None:
        build = Gauge(
            "weatherglass_build",
            "The software that runs; always 1.",
            ("version",),
            registry=self.registry,
            multiprocess_mode="max",
        )
        build.labels(version).set(1)
        rule_set = Gauge(
            "weatherglass_rule_set",
            "The rule sets in use, each with the hash of its numbers; always 1.",
            ("name", "version"),
            registry=self.registry,
            multiprocess_mode="max",
        )
        for name, hashed in rules.items():
            rule_set.labels(name, hashed).set(1)

    def begin(self) -> None:
        """Count a request that has begun."""
        self._open.inc()

    def end(self, *, method: str, route: str, status: int, facts: RequestFacts) -> None:
        """Count a request that has been answered, and what came of it."""
        self._open.dec()
        self._requests.labels(method, route, str(status)).inc()
        self._seconds.labels(method, route).observe(facts.seconds)
        if facts.patients:
            self._patients.inc(facts.patients)
        if facts.shown:
            self._shown.inc(facts.shown)
        for (kind, urgency), number in facts.findings.items():
            self._findings.labels(kind, urgency).inc(number)
        for (reason, severity), number in facts.unusable.items():
            self._unusable.labels(reason, severity).inc(number)

    def unstored(self) -> None:
        """Count an audit event that the sink did not take."""
        self._unstored.inc()

    def written(self, accept: str) -> tuple[bytes, str]:
        """Return the numbers and their media type, as the caller wants them."""
        write, media_type = exposition.choose_encoder(accept)
        registry = self.registry
        if self._shared:
            _forget_the_dead(Path(os.environ[_SHARED]))
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        return write(registry), media_type


class CdsCounts:
    """What is counted of CDS Hooks: calls, cards, and what became of them; nothing else is kept."""

    def __init__(self, registry: CollectorRegistry) -> None:
        """Register the counters."""
        self._calls = Counter(
            "weatherglass_cds_calls",
            "Calls of a CDS service that were answered.",
            ("service", "hook"),
            registry=registry,
        )
        self._cards = Counter(
            "weatherglass_cds_cards",
            "Cards that were returned.",
            ("service", "indicator"),
            registry=registry,
        )
        self._feedback = Counter(
            "weatherglass_cds_feedback",
            "What became of cards.",
            ("service", "outcome", "reason"),
            registry=registry,
        )

    def answered(self, service: str, hook: str, indicators: list[str]) -> None:
        """Count one answer."""
        self._calls.labels(service, hook).inc()
        for indicator in indicators:
            self._cards.labels(service, indicator).inc()

    def heard(self, service: str, outcomes: list[Outcome]) -> None:
        """Count feedback."""
        for outcome in outcomes:
            self._feedback.labels(service, outcome.outcome, outcome.reason).inc()


def _forget_the_dead(folder: Path) -> None:
    """Take away the present numbers of workers that are gone; what they counted stays."""
    for path in folder.glob("gauge_live*_*.db"):
        pid = int(path.stem.rpartition("_")[2])
        if not Path(f"/proc/{pid}").exists():
            mark_process_dead(pid, str(folder))  # type: ignore[no-untyped-call]


@router.get("/metrics", include_in_schema=False)
async def metrics(request: Request) -> Response:
    """Answer with the numbers."""
    held: Metrics = request.app.state.metrics
    body, media_type = held.written(request.headers.get("accept", ""))
    return Response(body, 200, {"Content-Type": media_type})
