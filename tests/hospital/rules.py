"""A change of rules in the evening: told before, rolled out, delivered, rolled back."""

from collections.abc import Iterable
from pathlib import Path

from tests.hospital.accounts import delivered
from tests.hospital.day import Day
from tests.hospital.doors import step
from tests.hospital.settling import ASKS, Accounts

#: A local limit that every patient with a potassium of 4.1 meets.
_POLICY = "[critical_limits.potassium-high]\nemergency = 6.5\nurgent = 4.0\n"


def changed_and_rolled_back(day: Day, made: Accounts) -> None:
    """Walk the way of the runbook: compare, roll out, deliver; then back to the rules before."""
    folder = day.folder / "evening"
    policy = day.folder / "policy.toml"
    policy.write_text(_POLICY)
    told = step(day, "compare", "default", policy, folder / "in", "--workers", "1")
    made.add(
        "A change of rules is told before",
        [] if "NEW" in told and "more urgent" in told else [told[:400]],
        next((line for line in told.splitlines() if "compared" in line), "nothing was compared"),
    )
    out = folder / "out-new"
    step(day, "batch", folder / "in", out, "--workers", "1", "--policy", policy)
    step(day, "deliver", out, day.network.base)
    made.add("Rolled out, the server asks what the new rules ask", _differing(day, out), "batch, deliver")
    step(day, "deliver", folder / "out", day.network.base)
    rest = _differing(day, folder / "out")
    made.add("Rolled back, the server asks what the rules before asked", rest, "deliver")


def _differing(day: Day, out: Path) -> Iterable[str]:
    held, fresh = delivered(day, out, ASKS)
    return [f"{name}: {'still open' if name in held else 'missing'}" for name in set(held) ^ set(fresh)]
