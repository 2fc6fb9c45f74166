"""Local policy: what a site may choose, read from a TOML file and the environment.

Every choice has a default and a reason (see `LocalChoices`). An unknown key or a value
out of range is refused with its name, so that a slip of the pen does not go unnoticed.
"""

import tomllib
from collections.abc import Iterable, Mapping
from datetime import timedelta
from decimal import Decimal
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator
from pydantic_core import ErrorDetails

from weatherglass.facts.results.result_levels import PUBLISHED_BANDS
from weatherglass.facts.rounds.signs.sign_limits import PUBLISHED_SIGNS
from weatherglass.model.local_choices import (
    Deadlines,
    LocalChoices,
    LocalCode,
    LocalMedicine,
    Roles,
    ScoreName,
)
from weatherglass.terminology.local_medicines import is_known
from weatherglass.terminology.observations import MEANING_BY_SIGNAL


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
    surgical_senior: str = Roles().surgical_senior
    critical_care: str = Roles().critical_care
    intensive_care: str = Roles().intensive_care
    anaesthetist: str = Roles().anaesthetist
    emergency_department: str = Roles().emergency_department
    paediatric_critical_care: str = Roles().paediatric_critical_care
    paediatric_senior: str = Roles().paediatric_senior
    maternity_senior: str = Roles().maternity_senior
    pharmacist: str = Roles().pharmacist
    renal: str = Roles().renal
    arrest: str = Roles().arrest
    #: Who reads the answers, by one of the names above: never told to call themselves.
    reader: str = ""


class DeadlinesFile(BaseModel):
    """How soon somebody should have looked, in minutes."""

    model_config = ConfigDict(extra="forbid")

    emergency_minutes: Annotated[int, Field(ge=1, le=240)] = 30
    urgent_minutes: Annotated[int, Field(ge=5, le=1440)] = 60
    prompt_minutes: Annotated[int, Field(ge=15, le=2880)] = 240


class CodeFile(BaseModel):
    """A code of the site's own: its system, and what it means."""

    model_config = ConfigDict(extra="forbid")

    system: Annotated[str, Field(min_length=1)]
    code: Annotated[str, Field(min_length=1)]
    means: str

    @field_validator("means")
    @classmethod
    def _is_known(cls, means: str) -> str:
        if means not in MEANING_BY_SIGNAL:
            raise ValueError(_none_of(means, sorted(MEANING_BY_SIGNAL)))
        return means


class MedicineFile(BaseModel):
    """A name of the site's own for a medicine: its code, or words of the chart, and the ingredients."""

    model_config = ConfigDict(extra="forbid")

    system: str = ""
    code: str = ""
    words: str = ""
    ingredients: Annotated[tuple[str, ...], Field(min_length=1)]

    @field_validator("ingredients")
    @classmethod
    def _are_known(cls, ingredients: tuple[str, ...]) -> tuple[str, ...]:
        unknown = [name for name in ingredients if not is_known(name)]
        if unknown:
            raise ValueError(f"{', '.join(unknown)}: no ingredient that is known here")
        return tuple(name.casefold() for name in ingredients)

    @model_validator(mode="after")
    def _says_how_it_is_written(self) -> Self:
        if bool(self.system) != bool(self.code):
            raise ValueError("give system and code together")
        if not (self.code or any(map(str.isalnum, self.words))):
            raise ValueError("give a code with its system, or words")
        return self


class SignLimitsFile(BaseModel):
    """A site's own limits of one single sign on one side; they take the place of ours as a whole."""

    model_config = ConfigDict(extra="forbid")
    of: ClassVar[str] = "sign"

    emergency: Decimal | None = None
    urgent: Decimal | None = None

    @property
    def given(self) -> dict[str, Decimal]:
        """The limits that are given, the most urgent first."""
        return self.model_dump(exclude_none=True)

    @model_validator(mode="after")
    def _is_not_empty(self) -> Self:
        if not self.given:
            raise ValueError(f"give at least one limit, or leave the {self.of} out")
        return self


class LimitsFile(SignLimitsFile):
    """A site's own limits of one analyte and side, in the core's unit of the analyte.

    They take the place of the published ones as a whole: an urgency that is left out has
    no limit.
    """

    of: ClassVar[str] = "analyte"

    prompt: Decimal | None = None
    routine: Decimal | None = None


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
    egfr_equation: Literal["ckd-epi-2021", "ckd-epi-2009"] = "ckd-epi-2021"
    upper_creatinine_limit: Annotated[Decimal | None, Field(gt=0, lt=1000)] = None
    lower_creatinine_limit: Annotated[Decimal | None, Field(gt=0, lt=1000)] = None
    laboratory_counts_for_hours: Annotated[int, Field(ge=1, le=720)] = 168
    gas_counts_for_hours: _Hours = 24
    observation_grace_minutes: Annotated[int, Field(ge=0, le=120)] = 15
    #: By analyte and side: `[critical_limits.potassium-high]`, then `urgent = 6.2`.
    critical_limits: dict[str, LimitsFile] = {}
    #: By sign and side: `[single_signs.respiration-low]`, then `emergency = 8`.
    single_signs: dict[str, SignLimitsFile] = {}
    scores: tuple[ScoreName, ...] = LocalChoices().scores
    deadlines: DeadlinesFile = DeadlinesFile()
    #: `[[local_codes]]` with `system`, `code` and `means`.
    local_codes: tuple[CodeFile, ...] = ()
    #: `[[local_medicines]]` with `system` and `code`, or `words`, and `ingredients`.
    local_medicines: tuple[MedicineFile, ...] = ()
    roles: RolesFile = RolesFile()

    @field_validator("critical_limits")
    @classmethod
    def _limits_make_sense(cls, limits: dict[str, LimitsFile]) -> dict[str, LimitsFile]:
        for key, own in limits.items():
            if key not in PUBLISHED_BANDS:
                raise ValueError(_none_of(key, PUBLISHED_BANDS))
            _lie_further_out(key, own.given)
        return limits

    @field_validator("single_signs")
    @classmethod
    def _signs_make_sense(cls, signs: dict[str, SignLimitsFile]) -> dict[str, SignLimitsFile]:
        for key, own in signs.items():
            if key not in PUBLISHED_SIGNS:
                raise ValueError(_none_of(key, PUBLISHED_SIGNS))
            if any(limit <= 0 for limit in own.given.values()):
                raise ValueError(f"{key}: a limit must be above 0")
            _lie_further_out(key, own.given)
        return signs

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
            laboratory_counts_for=timedelta(hours=self.laboratory_counts_for_hours),
            gas_counts_for=timedelta(hours=self.gas_counts_for_hours),
            observation_grace=timedelta(minutes=self.observation_grace_minutes),
            critical_limits={key: own.given for key, own in self.critical_limits.items()},
            single_signs={key: own.given for key, own in self.single_signs.items()},
            scores=self.scores,
            deadlines=Deadlines(
                emergency=timedelta(minutes=self.deadlines.emergency_minutes),
                urgent=timedelta(minutes=self.deadlines.urgent_minutes),
                prompt=timedelta(minutes=self.deadlines.prompt_minutes),
            ),
            local_codes=tuple(LocalCode(**code.model_dump()) for code in self.local_codes),
            local_medicines=tuple(LocalMedicine(**one.model_dump()) for one in self.local_medicines),
            roles=Roles(**self.roles.model_dump()),
        )


def _lie_further_out(key: str, limits: dict[str, Decimal]) -> None:
    """Refuse limits of which the more urgent one does not lie further out."""
    values = list(limits.values())
    if values != sorted(set(values), reverse=not key.endswith("-low")):
        raise ValueError(f"{key}: a more urgent limit must lie further out")


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
    return policy_of(content, f"policy file {path}")


def policy_of(content: Mapping[str, Any], called: str) -> Policy:
    """Read the content of a policy.

    Args:
        content: Keys and values as a policy file has them.
        called: What it is called in a message.

    Raises:
        PolicyError: An unknown key, or a value out of range.
    """
    try:
        return Policy.model_validate(dict(content))
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        raise PolicyError(f"{called}: {where}: {_why(first)}") from None


#: What a value has to be, by the beginning of the kind of the error.
_WANTED = {
    "int": "a whole number is wanted",
    "decimal": "a number is wanted",
    "float": "a number is wanted",
    "bool": "true or false is wanted",
    "string_type": "words in quotes are wanted",
    "tuple": "a list in square brackets is wanted",
    "list": "a list in square brackets is wanted",
    "model": "a table is wanted",
    "dict": "a table is wanted",
}


def _why(error: ErrorDetails) -> str:
    """Say what is wrong with a key in the words of whoever wrote it, not of a library."""
    if error["type"] == "extra_forbidden":
        return _unknown(error["loc"])
    said = next((words for kind, words in _WANTED.items() if error["type"].startswith(kind)), "")
    return said or error["msg"].removeprefix("Value error, ").replace("Input should", "it should")


def _none_of(name: str, known: Iterable[str]) -> str:
    """Say that a name is none of those that there are, and which one may have been meant."""
    names = list(known)
    near = get_close_matches(name, names, n=1)
    meant = f"; did you mean {near[0]}?" if near else ""
    return f"{name} is not one of {', '.join(names)}{meant}"


def _unknown(where: tuple[int | str, ...]) -> str:
    """Say that a key is not known, and which one may have been meant."""
    tables: dict[int | str, type[BaseModel]] = {"roles": RolesFile, "deadlines": DeadlinesFile}
    known = (tables.get(where[0], Policy) if len(where) > 1 else Policy).model_fields
    near = get_close_matches(str(where[-1]), known, n=1)
    return "not a key of the policy" + (f"; did you mean {near[0]}?" if near else "")
