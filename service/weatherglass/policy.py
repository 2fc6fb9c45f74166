"""Local policy: what a site may choose, read from a TOML file and the environment.

Every choice has a default and a reason (see `LocalChoices`). An unknown key or a value
out of range is refused with its name, so that a slip of the pen does not go unnoticed.
"""

import tomllib
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from weatherglass.clinical.local_choices import LocalChoices, Roles


class PolicyError(ValueError):
    """The policy file cannot be used; the message names the key."""


_Minutes = Annotated[int, Field(ge=1, le=60)]
_Hours = Annotated[int, Field(ge=1, le=168)]


class RolesFile(BaseModel):
    """Whom to call."""

    model_config = ConfigDict(extra="forbid")

    ward_nurse: str = Roles().ward_nurse
    ward_doctor: str = Roles().ward_doctor
    senior: str = Roles().senior
    critical_care: str = Roles().critical_care
    paediatric_senior: str = Roles().paediatric_senior
    maternity_senior: str = Roles().maternity_senior
    pharmacist: str = Roles().pharmacist
    renal: str = Roles().renal


class Policy(BaseModel):
    """A site's policy file."""

    model_config = ConfigDict(extra="forbid")

    observation_set_window_minutes: _Minutes = 15
    carry_forward_minutes: _Minutes = 60
    look_back_hours: _Hours = 24
    new_within_hours: _Hours = 12
    settled_within_hours: _Hours = 24
    stale_after_hours: _Hours = 12
    medicine_review_within_hours: _Hours = 24
    use_estimated_baseline: bool = False
    nhs_calendar_days: bool = False
    egfr_equation: Annotated[str, Field(pattern="^ckd-epi-(2021|2009)$")] = "ckd-epi-2021"
    upper_creatinine_limit: Annotated[Decimal | None, Field(gt=0, lt=1000)] = None
    lower_creatinine_limit: Annotated[Decimal | None, Field(gt=0, lt=1000)] = None
    roles: RolesFile = RolesFile()

    @property
    def choices(self) -> LocalChoices:
        """The policy as the core's own value."""
        return LocalChoices(
            observation_set_window=timedelta(minutes=self.observation_set_window_minutes),
            carry_forward=timedelta(minutes=self.carry_forward_minutes),
            look_back=timedelta(hours=self.look_back_hours),
            new_within=timedelta(hours=self.new_within_hours),
            settled_within=timedelta(hours=self.settled_within_hours),
            stale_after=timedelta(hours=self.stale_after_hours),
            medicine_review_within=timedelta(hours=self.medicine_review_within_hours),
            use_estimated_baseline=self.use_estimated_baseline,
            nhs_calendar_days=self.nhs_calendar_days,
            egfr_equation=self.egfr_equation,
            upper_creatinine_limit=self.upper_creatinine_limit,
            lower_creatinine_limit=self.lower_creatinine_limit,
            roles=Roles(**self.roles.model_dump()),
        )


def load_policy(path: str | None) -> Policy:
    """Read a policy file; the defaults when there is none.

    Raises:
        PolicyError: No such file, not TOML, an unknown key, or a value out of range.
    """
    if path is None:
        return Policy()
    try:
        content: dict[str, Any] = tomllib.loads(Path(path).read_text("utf-8"))
    except OSError as error:
        raise PolicyError(f"policy file {path}: {error.strerror}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise PolicyError(f"policy file {path} is not TOML: {error}") from None
    try:
        return Policy.model_validate(content)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise PolicyError(f"policy file {path}: {where}: {first['msg']}") from None
