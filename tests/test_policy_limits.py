"""A site's own limits of critical results, from its policy file to the review."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from tests.charts import NOW, bedside, chart, findings, order, reading
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.medicines.assess import assess_medicines
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.medicine_findings import MedicineFinding
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import Remark
from weatherglass.model.signals import Signal
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


def _choices(key: str, **limits: str) -> LocalChoices:
    return LocalChoices(critical_limits={key: {word: Decimal(number) for word, number in limits.items()}})


def _about(record: Record, choices: LocalChoices) -> MedicineFinding | None:
    found = assess_medicines(bedside(record, as_of=NOW, choices=choices))
    return next((f for f in found if isinstance(f, MedicineFinding)), None)


class TestOneLimitForResultsAndDrugChart:
    """Ours: a site's own limit holds for the result and for what the drug chart makes of it."""

    @pytest.mark.parametrize(
        ("key", "limits", "signal", "values", "medicine"),
        [
            (
                "potassium-high",
                {"urgent": "6.2"},
                Signal.POTASSIUM,
                ("5.8", "6.1", "6.2"),
                MedicineClass.MRA,
            ),
            (
                "potassium-low",
                {"urgent": "2.8"},
                Signal.POTASSIUM,
                ("2.9", "2.81", "2.8"),
                MedicineClass.LOOP_DIURETIC,
            ),
            # A thiazide and an SSRI have a limit of their own, 130 (STOPP 2), whatever a site calls low.
            ("sodium-low", {"prompt": "120"}, Signal.SODIUM, ("124", "121", "120"), MedicineClass.PPI),
            ("platelets-low", {"prompt": "20"}, Signal.PLATELETS, ("45", "21", "20"), MedicineClass.HEPARIN),
            (
                "glucose-low",
                {"urgent": "3.5"},
                Signal.GLUCOSE,
                ("3.9", "3.6", "3.5"),
                MedicineClass.SULFONYLUREA,
            ),
            (
                "ketones-high",
                {"urgent": "2.0"},
                Signal.KETONES,
                ("1.6", "1.9", "2.0"),
                MedicineClass.SGLT2_INHIBITOR,
            ),
            (
                "lactate-high",
                {"emergency": "5"},
                Signal.LACTATE,
                ("4.0", "4.9", "5"),
                MedicineClass.METFORMIN,
            ),
        ],
    )
    def test_both_speak_at_the_same_number(
        self,
        key: str,
        limits: dict[str, str],
        signal: Signal,
        values: tuple[str, str, str],
        medicine: MedicineClass,
    ) -> None:
        """Beyond our own limit and inside the site's both are silent; at the site's both speak."""
        choices = _choices(key, **limits)
        for value, speaks in zip(values, (False, False, True), strict=True):
            record = chart({signal: [(1, value)]}, orders=(order("it", medicine.value),))
            assert (key in findings(record, Kind.CRITICAL_RESULT, choices=choices)) is speaks
            assert (_about(record, choices) is not None) is speaks

    @pytest.mark.parametrize(
        ("key", "limits", "signal", "values", "name"),
        [
            ("sodium-high", {"prompt": "155"}, Signal.SODIUM, ("152", "154", "155"), "Sodium chloride 0.9 %"),
            (
                "paracetamol-level-high",
                {"emergency": "150"},
                Signal.PARACETAMOL_LEVEL,
                ("110", "149", "150"),
                "Paracetamol",
            ),
        ],
    )
    def test_so_it_is_for_single_medicines(
        self, key: str, limits: dict[str, str], signal: Signal, values: tuple[str, str, str], name: str
    ) -> None:
        """A row of the rules of single medicines that names a critical result takes the site's number."""
        choices = _choices(key, **limits)
        for value, speaks in zip(values, (False, False, True), strict=True):
            record = chart({signal: [(1, value)]}, orders=(order(name, route=Route.INTRAVENOUS),))
            assert (key in findings(record, Kind.CRITICAL_RESULT, choices=choices)) is speaks
            assert (_about(record, choices) is not None) is speaks

    def test_what_a_site_does_not_set_stays_published(self) -> None:
        """Ours: a site that says when a low potassium is urgent says nothing of digoxin below 3.5."""
        record = chart({Signal.POTASSIUM: [(1, "3.2")]}, orders=(order("Digoxin", "digitalis-glycoside"),))
        assert _about(record, _choices("potassium-low", urgent="2.8")) is not None

    @pytest.mark.parametrize(
        ("value", "urgency"), [("6.4", Urgency.URGENT), ("6.9", Urgency.URGENT), ("7.0", Urgency.EMERGENCY)]
    )
    def test_the_degree_is_the_sites(self, value: str, urgency: Urgency) -> None:
        """A potassium is as urgent on the chart as among the results."""
        choices = _choices("potassium-high", urgent="6.2", emergency="7.0")
        record = chart(
            {Signal.POTASSIUM: [(1, value)]}, orders=(order("it", MedicineClass.POTASSIUM_SUPPLEMENT.value),)
        )
        found = _about(record, choices)
        assert found is not None
        assert found.urgency is urgency
        result = findings(record, Kind.CRITICAL_RESULT, choices=choices)["potassium-high"]
        assert result.urgency is urgency

    def test_a_limit_that_is_stricter(self) -> None:
        """A site that calls 5.2 high has it on the chart too; a supplement is spoken of from 5.0 anyway."""
        record = chart(
            {Signal.POTASSIUM: [(1, "5.2")]}, orders=(order("it", MedicineClass.ACE_INHIBITOR.value),)
        )
        assert _about(record, LocalChoices()) is None
        assert _about(record, _choices("potassium-high", prompt="5.2")) is not None

    def test_a_haemolysed_sample_is_still_in_doubt(self) -> None:
        """Whose limit it is changes nothing about a doubtful value."""
        level = reading(Signal.POTASSIUM, 1, "7.2", remarks=[Remark.HAEMOLYSED])
        record = chart({Signal.POTASSIUM: (level,)}, orders=(order("it", MedicineClass.MRA.value),))
        found = _about(record, _choices("potassium-high", urgent="6.2", emergency="7.0"))
        assert found is not None
        assert (found.action, bool(found.doubt)) == ("review", True)
