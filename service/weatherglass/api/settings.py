"""Settings of the service: from the environment (WEATHERGLASS_...) or as arguments."""

import os

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """What an operator may set.

    Attributes:
        policy_file: Local clinical policy (TOML); defaults when None.
        code_base: Base address of the local code systems.
        base_url: Address that the service is reached at, as the published resources name it.
        max_body_bytes: Largest request body, after decompression.
        max_in_flight: How many requests may be held in memory at once; more are told to wait.
        threads: How many requests are worked on at once.
        inline_below_bytes: Bodies smaller than this are worked on without a change of thread.
    """

    model_config = SettingsConfigDict(env_prefix="WEATHERGLASS_", extra="ignore", frozen=True)

    policy_file: str | None = None
    code_base: str = "urn:weatherglass:codes:"
    base_url: str = "http://127.0.0.1:8080"
    max_body_bytes: int = Field(default=32 * 1024 * 1024, ge=1024)
    max_in_flight: int = Field(default=64, ge=1)
    threads: int = Field(default_factory=lambda: os.cpu_count() or 1, ge=1)
    inline_below_bytes: int = Field(default=64 * 1024, ge=0)
