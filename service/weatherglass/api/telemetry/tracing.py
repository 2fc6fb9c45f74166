"""Traces to an OpenTelemetry collector: an extra, off unless it is switched on.

A span holds the method, the route template, the status, counts and the request id.
Only the `traceparent` of a caller is taken up; baggage and trace state may hold
anything and are left. No exception is recorded: its message may quote the input.
"""

from time import time_ns
from typing import TYPE_CHECKING, Any, Protocol

from starlette.types import Scope

from weatherglass import __version__
from weatherglass.api.telemetry.request_facts import RequestFacts

if TYPE_CHECKING:
    from opentelemetry.sdk.trace.export import SpanExporter

_NANOSECONDS = 1_000_000_000


class TracingNotInstalledError(RuntimeError):
    """Traces are switched on and the extra is not installed."""

    def __init__(self) -> None:
        """Say what to install."""
        super().__init__("tracing needs the extra: install weatherglass[otel]")


class Span(Protocol):
    """The trace of one request."""

    def end(self, *, method: str, route: str, status: int, request_id: str, facts: RequestFacts) -> None:
        """Finish it with what came of the request."""
        ...


class Tracing(Protocol):
    """Where spans come from."""

    def request(self, scope: Scope) -> Span:
        """Start the span of a request."""
        ...

    def close(self) -> None:
        """Send what still waits."""
        ...


class _NoSpan:
    def end(self, *, method: str, route: str, status: int, request_id: str, facts: RequestFacts) -> None:
        del method, route, status, request_id, facts


class _NoTraces:
    _span = _NoSpan()

    def request(self, scope: Scope) -> Span:
        del scope
        return self._span

    def close(self) -> None:
        """There is nothing to send."""


NO_TRACES: Tracing = _NoTraces()


class _OpenSpan:
    def __init__(self, tracer: Any, span: Any, began_ns: int) -> None:
        self._tracer = tracer
        self._span = span
        self._began_ns = began_ns

    def end(self, *, method: str, route: str, status: int, request_id: str, facts: RequestFacts) -> None:
        from opentelemetry.trace import Status, StatusCode, set_span_in_context

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


class OpenTelemetry:
    """Sends spans with the OpenTelemetry SDK, set up by its own OTEL_... variables."""

    def __init__(self, exporter: "SpanExporter | None" = None) -> None:
        """Set the SDK up.

        Args:
            exporter: Where spans go; OTLP over HTTP when None.

        Raises:
            TracingNotInstalledError: The extra is not there.
        """
        try:
            from opentelemetry.sdk.resources import Resource
            from opentelemetry.sdk.trace import TracerProvider
            from opentelemetry.sdk.trace.export import BatchSpanProcessor
            from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator

            if exporter is None:
                from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter

                exporter = OTLPSpanExporter()
        except ImportError:
            raise TracingNotInstalledError from None
        resource = Resource.create({"service.name": "weatherglass", "service.version": __version__})
        self._provider = TracerProvider(resource=resource)
        self._provider.add_span_processor(BatchSpanProcessor(exporter))
        self._tracer = self._provider.get_tracer("weatherglass", __version__)
        self._parent_of = TraceContextTextMapPropagator().extract

    def request(self, scope: Scope) -> Span:
        """Start the span of a request."""
        from opentelemetry.trace import SpanKind

        began_ns = time_ns()
        parent = next((value for name, value in scope["headers"] if name == b"traceparent"), b"")
        context = self._parent_of({"traceparent": parent.decode("latin-1")}) if parent else None
        span = self._tracer.start_span("request", context, SpanKind.SERVER, start_time=began_ns)
        return _OpenSpan(self._tracer, span, began_ns)

    def close(self) -> None:
        """Send what still waits."""
        self._provider.shutdown()
