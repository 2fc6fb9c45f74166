"""Settings of the service: from the environment (WEATHERGLASS_...) or as arguments."""

import os
from typing import Literal

from pydantic import Field
from pydantic_settings import SettingsConfigDict

from weatherglass.api.access.settings import AccessSettings
from weatherglass.fhir.writing.frame.detail import DEFAULT_BASE


class Settings(AccessSettings):
    """What an operator may set.

    Attributes:
        policy_file: Local clinical policy (TOML); defaults when None.
        code_base: Base address of the local code systems.
        base_url: Address that the service is reached at, as the published resources name it.
        max_body_bytes: Largest request body, after decompression.
        max_held_bytes: How much of all bodies together may be held in memory at once.
        max_in_flight: How many requests may be held in memory at once; more are told to wait.
        max_receiving: How many bodies may be on their way at once.
        threads: How many requests are worked on at once.
        work_seconds: Processor time that one answer may cost, and in lines one patient's part.
        max_patients: Most patients in an answer that is one Bundle; NDJSON has no such limit.
        inline_below_bytes: Bodies smaller than this are worked on without a change of thread.
        large_from_bytes: Bodies from this size on are worked on apart, so that others never wait for them.
        max_entries: Most resources in one request.
        head_seconds: How long the head of a request may take to arrive.
        body_seconds: How long the body of a request may take to arrive.
        body_grace_seconds: How long a body may take before its pace counts.
        body_bytes_per_second: How fast a body has to arrive, on the whole.
        queue_seconds: How long a request may wait to be worked on.
        send_seconds: How long a caller may take to accept one piece of an answer.
        shutdown_seconds: How long requests under way may take to finish when the service stops.
        workers: How many processes share the work.
        log_level: The least level of our log lines: debug, info, warning or error.
        tracing: Send traces with OpenTelemetry (an extra; its own OTEL_... variables say where).
        audit_file: File that gets one AuditEvent a line.
        audit_url: Address that AuditEvents are posted to.
        audit_token_file: File with the bearer token for that address.
        audit_queue: How many events may wait to be posted.
        audit_required: Withhold an answer whose audit event cannot be kept.
    """

    model_config = SettingsConfigDict(env_prefix="WEATHERGLASS_", extra="ignore", frozen=True)

    policy_file: str | None = None
    code_base: str = DEFAULT_BASE
    base_url: str = "http://127.0.0.1:8080"
    max_body_bytes: int = Field(default=32 * 1024 * 1024, ge=1024)
    max_held_bytes: int = Field(default=256 * 1024 * 1024, ge=1024)
    max_in_flight: int = Field(default=64, ge=1)
    max_receiving: int = Field(default=1024, ge=1)
    threads: int = Field(default_factory=lambda: os.cpu_count() or 1, ge=1)
    work_seconds: float = Field(default=20.0, gt=0)
    max_patients: int = Field(default=500, ge=1)
    inline_below_bytes: int = Field(default=4 * 1024, ge=0)
    large_from_bytes: int = Field(default=1024 * 1024, ge=1)
    max_entries: int = Field(default=200_000, ge=1)
    head_seconds: float = Field(default=10.0, gt=0)
    body_seconds: float = Field(default=60.0, gt=0)
    body_grace_seconds: float = Field(default=10.0, gt=0)
    body_bytes_per_second: int = Field(default=1024, ge=1)
    queue_seconds: float = Field(default=30.0, gt=0)
    send_seconds: float = Field(default=30.0, gt=0)
    shutdown_seconds: int = Field(default=30, ge=0)
    workers: int = Field(default=1, ge=1, le=64)
    log_level: Literal["debug", "info", "warning", "error"] = "info"
    tracing: bool = False
    audit_file: str | None = None
    audit_url: str | None = None
    audit_token_file: str | None = None
    audit_queue: int = Field(default=1000, ge=1)
    audit_required: bool = False
