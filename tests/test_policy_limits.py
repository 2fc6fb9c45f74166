"""A site's own limits of critical results, from its policy file to the review."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from tests.charts import chart, findings
from weatherglass.clinical.findings import Kind, Urgency
from weatherglass.clinical.signals import Signal
from weatherglass.policy import PolicyError, load_policy


def _file(folder: Path, text: str) -> str:
    path = folder / "policy.toml"
    path.write_text(text, "utf-8")
    return str(path)


def test_limits_reach_the_review(tmp_path: Path) -> None:
    """What the file says takes the place of the published limits of that analyte and side."""
    path = _file(
        tmp_path,
        "laboratory_counts_for_hours = 48\n"
        "observation_grace_minutes = 0\n"
        "[critical_limits.potassium-high]\nemergency = 7.0\nurgent = 6.2\n"
        "[critical_limits.sodium-low]\nurgent = 118\nprompt = 122\n",
    )
    choices = load_policy(path).choices
    assert choices.laboratory_counts_for == timedelta(hours=48)
    assert choices.observation_grace == timedelta(0)
    assert choices.critical_limits["potassium-high"] == {
        "emergency": Decimal("7.0"),
        "urgent": Decimal("6.2"),
    }
    record = chart({Signal.POTASSIUM: [(1, "6.2")], Signal.SODIUM: [(1, "122")]})
    found = findings(record, Kind.CRITICAL_RESULT, choices=choices)
    assert {key: f.urgency for key, f in found.items()} == {
        "potassium-high": Urgency.URGENT,
        "sodium-low": Urgency.PROMPT,
    }


@pytest.mark.parametrize(
    ("text", "says"),
    [
        pytest.param("[critical_limits.potasium-high]\nurgent = 6\n", "potasium-high", id="unknown-analyte"),
        pytest.param("[critical_limits.potassium-high]\nsoon = 6\n", "soon", id="unknown-urgency"),
        pytest.param("[critical_limits.potassium-high]\n", "at least one limit", id="empty"),
        pytest.param(
            "[critical_limits.potassium-high]\nemergency = 6.0\nurgent = 6.5\n",
            "further out",
            id="wrong-way-high",
        ),
        pytest.param(
            "[critical_limits.sodium-low]\nemergency = 125\nurgent = 120\n", "further out", id="wrong-way-low"
        ),
        pytest.param(
            "[critical_limits.sodium-low]\nurgent = 120\nprompt = 120\n", "further out", id="the-same-twice"
        ),
        pytest.param("[critical_limits.sodium-low]\nurgent = 'low'\n", "urgent", id="no-number"),
        pytest.param("gas_counts_for_hours = 0\n", "gas_counts_for_hours", id="no-time"),
    ],
)
def test_slips_are_named(tmp_path: Path, text: str, says: str) -> None:
    """A slip of the pen is refused with the name of the key."""
    with pytest.raises(PolicyError, match=says):
        load_policy(_file(tmp_path, text))
