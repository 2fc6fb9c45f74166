"""What is counted of CDS Hooks: calls, cards, and what became of them. Nothing else is kept."""

from prometheus_client import CollectorRegistry, Counter

from weatherglass.cds_hooks.feedback import Outcome


class CdsCounts:
    """Counters of one application; every label is one of our own words."""

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
