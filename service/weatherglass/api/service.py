"""What every request of one application shares, made once from the settings."""

from dataclasses import dataclass, field

from weatherglass.api.requests.limiter import Limiter
from weatherglass.api.settings import Settings
from weatherglass.fhir.writing.frame.detail import Stamp
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.model.local_choices import LocalChoices
from weatherglass.policy import load_policy
from weatherglass.stamp import stamp


@dataclass(frozen=True, slots=True)
class Service:
    """The settings and what follows from them."""

    settings: Settings
    choices: LocalChoices
    stamp: Stamp
    terms: Terms
    limiter: Limiter = field(compare=False)


def make_service(settings: Settings) -> Service:
    """Make what every request shares.

    Raises:
        PolicyError: The policy file cannot be used.
    """
    return Service(
        settings=settings,
        choices=load_policy(settings.policy_file).choices,
        stamp=stamp(settings.code_base),
        terms=Terms(settings.code_base),
        limiter=Limiter(settings),
    )
