"""Settings of the service: from the environment (WEATHERGLASS_...) or as arguments."""

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """What an operator may set.

    Attributes:
        policy_file: Local clinical policy (TOML); defaults when None.
        code_base: Base address of the local code systems.
        max_body_bytes: Largest request body, after decompression.
    """

    model_config = SettingsConfigDict(env_prefix="WEATHERGLASS_", extra="ignore", frozen=True)

    policy_file: str | None = None
    code_base: str = "urn:weatherglass:codes:"
    max_body_bytes: int = Field(default=32 * 1024 * 1024, ge=1024)
