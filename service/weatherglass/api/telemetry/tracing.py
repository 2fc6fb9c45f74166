"""Traces to an OpenTelemetry collector: an extra, off unless it is switched on.

A span holds the method, the route template, the status, counts and the request id.
Only the `traceparent` of a caller is taken up; baggage and trace state may hold
anything and are left. No exception is recorded: its message may quote the input.
"""

from collections.abc import Callable
from time import time_ns
from typing import TYPE_CHECKING

from opentelemetry.trace import (
    NoOpTracerProvider,
    Span,
    SpanKind,
    Status,
    StatusCode,
    Tracer,
    TracerProvider,
    set_span_in_context,
)
from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator
from starlette.types import Scope

from weatherglass import __version__
from weatherglass.api.telemetry.request_facts import RequestFacts

if TYPE_CHECKING:
    from opentelemetry.sdk.trace.export import SpanExporter

_NANOSECONDS = 1_000_000_000
_parent_of = TraceContextTextMapPropagator().extract


class TracingNotInstalledError(RuntimeError):
    """Traces are switched on and the extra is not installed."""

    def __init__(self) -> None:
        """Say what to install."""
        super().__init__("tracing needs the extra: install weatherglass[otel]")


class RequestSpan:
    """The trace of one request."""

    def __init__(self, tracer: Tracer, span: Span, began_ns: int) -> None:
        """Take a span that has begun."""
        self._tracer = tracer
        self._span = span
        self._began_ns = began_ns

    def end(self, *, method: str, route: str, status: int, request_id: str, facts: RequestFacts) -> None:
        """Finish it with what came of the request."""
        span = self._span
        span.update_name(f"{method} {route}")
        span.set_attributes(
            {
                "http.request.method": method,
                "http.route": route,
                "http.response.status_code": status,
                "weatherglass.request_id": request_id,
                "weatherglass.patients": facts.records,
                "weatherglass.findings": sum(facts.findings.values()),
                "weatherglass.unusable": sum(facts.unusable.values()),
            }
        )
        if status >= 500:
            span.set_status(Status(StatusCode.ERROR))
        within = set_span_in_context(span)
        for name, begin, end in facts.phases:
            part = self._tracer.start_span(name, context=within, start_time=self._at(begin))
            part.end(self._at(end))
        span.end(self._at(facts.seconds))

    def _at(self, seconds: float) -> int:
        return self._began_ns + int(seconds * _NANOSECONDS)


class Tracing:
    """Where spans come from; without a provider they go nowhere."""

    def __init__(
        self, provider: TracerProvider | None = None, *, close: Callable[[], None] = lambda: None
    ) -> None:
        """Take a provider, and what sends what still waits."""
        self._tracer = (provider or NoOpTracerProvider()).get_tracer("weatherglass", __version__)
        self.close = close

    def request(self, scope: Scope) -> RequestSpan:
        """Start the span of a request."""
        began_ns = time_ns()
        parent = next((value for name, value in scope["headers"] if name == b"traceparent"), b"")
        context = _parent_of({"traceparent": parent.decode("latin-1")}) if parent else None
        span = self._tracer.start_span("request", context, SpanKind.SERVER, start_time=began_ns)
        return RequestSpan(self._tracer, span, began_ns)


def exported(exporter: "SpanExporter | None" = None) -> Tracing:
    """Return tracing by the OpenTelemetry SDK, set up by its own OTEL_... variables.

    Args:
        exporter: Where spans go; OTLP over HTTP when None.

    Raises:
        TracingNotInstalledError: The extra is not there.
    """
    try:
        from opentelemetry.sdk import trace as sdk
        from opentelemetry.sdk.resources import Resource
        from opentelemetry.sdk.trace.export import BatchSpanProcessor

        if exporter is None:
            from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter

            exporter = OTLPSpanExporter()
    except ImportError:
        raise TracingNotInstalledError from None
    resource = Resource.create({"service.name": "weatherglass", "service.version": __version__})
    provider = sdk.TracerProvider(resource=resource)
    provider.add_span_processor(BatchSpanProcessor(exporter))
    return Tracing(provider, close=provider.shutdown)
