"""Where the patient comes from and what changes the reading: context, never a trigger.

Klepstad 2019 for scores after critical care; NICE NG51 1.11.4 for comorbidities. How long
each counts is our choice.
"""

from decimal import Decimal
from typing import Any

import pytest

from tests.charts import ago, chart, condition, findings, measures_of, order
from weatherglass.knowledge.comorbidity_notes import NOTES
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.record.care import Directive, DirectiveKind, Procedure, ProcedureKind, Stay
from weatherglass.model.record.medicines import OrderStatus, Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.sources import Origin


def _context(record: Record) -> dict[str, Finding]:
    found = findings(record, Kind.CONTEXT)
    assert all(f.urgency is Urgency.ROUTINE for f in found.values())
    return found


def _stay(starts: float, ends: float | None, *, critical_care: bool = True) -> Stay:
    return Stay(
        origin=Origin(f"Encounter/{starts}"),
        starts=ago(starts),
        ends=ago(ends) if ends is not None else None,
        place="Tern Unit",
        critical_care=critical_care,
    )


class TestStepDown:
    """The first 72 hours out of critical care."""

    @pytest.mark.parametrize(
        ("stays", "state"),
        [
            pytest.param((_stay(100, 10),), State.NEW, id="10-hours-ago"),
            pytest.param((_stay(100, 72),), State.CONTINUING, id="72-hours-ago"),
            pytest.param((_stay(200, 72.1),), None, id="longer-ago"),
            pytest.param((_stay(300, 200), _stay(100, 10)), State.NEW, id="the-last-of-two"),
            pytest.param((_stay(100, None),), None, id="still-there"),
            pytest.param((_stay(100, 50), _stay(20, None)), None, id="there-again"),
            pytest.param((_stay(100, 10, critical_care=False),), None, id="another-ward"),
        ],
    )
    def test_step_down(self, stays: tuple[Stay, ...], state: State | None) -> None:
        """Both ends of the time, and being there again."""
        found = _context(chart(stays=stays)).get("step-down")
        assert (found.state if found else None) == state
        if found is not None:
            assert measures_of(found)["left-critical-care"] == "Tern Unit"


class TestOperation:
    """The day of the operation is day 0."""

    @staticmethod
    def _record(hours: float, **rest: Any) -> Record:
        operation = Procedure(
            origin=Origin("Procedure/1"),
            text="Hip replacement",
            kinds=rest.pop("kinds", frozenset({ProcedureKind.SURGERY})),
            at=ago(hours),
            **rest,
        )
        return chart(procedures=(operation,))

    @pytest.mark.parametrize(
        ("hours", "day"),
        [
            pytest.param(7, 0, id="this-morning"),
            pytest.param(8.5, 1, id="before-midnight"),
            pytest.param(32, 1, id="yesterday-at-midnight"),
            pytest.param(32.1, 2, id="the-day-before"),
            pytest.param(336, 14, id="14-days"),
            pytest.param(337, None, id="longer"),
        ],
    )
    def test_day(self, hours: float, day: int | None) -> None:
        """Counted in calendar days of the record's own zone."""
        found = _context(self._record(hours)).get("post-operative-day")
        assert (measures_of(found)["post-operative-day"] if found else None) == day

    @pytest.mark.parametrize(
        "rest",
        [
            pytest.param({"requested": True}, id="only-asked-for"),
            pytest.param({"kinds": frozenset({ProcedureKind.CONTRAST_IMAGING})}, id="no-operation"),
        ],
    )
    def test_not_an_operation(self, rest: dict[str, Any]) -> None:
        """A request and other procedures are no operation done."""
        assert "post-operative-day" not in _context(self._record(20, **rest))


class TestComorbidities:
    """Each note by its condition or its medicine."""

    @pytest.mark.parametrize(
        ("kind", "key"),
        [
            (ConditionKind.HYPERCAPNIA, "hypercapnia"),
            (ConditionKind.COPD, "copd"),
            (ConditionKind.CHRONIC_KIDNEY_DISEASE, "chronic-kidney-disease"),
            (ConditionKind.DIALYSIS, "chronic-kidney-disease"),
            (ConditionKind.HEART_FAILURE, "heart-failure"),
            (ConditionKind.DIABETES, "diabetes"),
            (ConditionKind.DIABETES_TYPE_1, "diabetes"),
            (ConditionKind.DIABETES_TYPE_2, "diabetes"),
            (ConditionKind.HYPERTENSION, "hypertension"),
            (ConditionKind.PACEMAKER, "pacemaker"),
            (ConditionKind.TRANSPLANT, "immunosuppression"),
            (ConditionKind.SPINAL_CORD_INJURY, "spinal-cord-injury"),
            (ConditionKind.CHRONIC_CONFUSION, "usual-confusion"),
            (ConditionKind.DEMENTIA, "usual-confusion"),
        ],
    )
    def test_condition(self, kind: ConditionKind, key: str) -> None:
        """One active problem, its sentence and where it is recorded."""
        found = _context(chart(conditions=(condition(kind),)))["comorbidities"]
        assert set(measures_of(found)) == {key}
        assert next(note.text for note in NOTES if note.key == key) in found.sentence
        assert found.evidence == (f"Condition/{kind.value}",)

    def test_documented_hypercapnia_says_it_all(self) -> None:
        """COPD with documented hypercapnia is one note."""
        both = (condition(ConditionKind.COPD), condition(ConditionKind.HYPERCAPNIA))
        assert set(measures_of(_context(chart(conditions=both))["comorbidities"])) == {"hypercapnia"}

    def test_a_decision_for_scale_2_is_not_contradicted(self) -> None:
        """Ours: the note that scale 1 holds in COPD is for those without a recorded decision."""
        target = Directive(
            origin=Origin("ServiceRequest/target"),
            kind=DirectiveKind.OXYGEN_TARGET,
            at=ago(20),
            target_low=Decimal(88),
            target_high=Decimal(92),
        )
        record = chart(conditions=(condition(ConditionKind.COPD),), directives=(target,))
        assert "comorbidities" not in _context(record)

    @pytest.mark.parametrize(
        ("chart_line", "told"),
        [
            pytest.param(order("Bisoprolol", "beta-blocker"), True, id="active"),
            pytest.param(order("Bisoprolol", "beta-blocker", status=OrderStatus.ON_HOLD), False, id="held"),
            pytest.param(order("Timolol", "beta-blocker", route=Route.OPHTHALMIC), False, id="eye-drops"),
        ],
    )
    def test_beta_blocker(self, chart_line: Any, told: bool) -> None:
        """On the chart, active, and reaching the blood."""
        assert ("comorbidities" in _context(chart(orders=(chart_line,)))) == told

    def test_immunosuppression(self) -> None:
        """A steroid by mouth can hide a fever."""
        found = _context(chart(orders=(order("Prednisolone", "glucocorticoid"),)))["comorbidities"]
        assert set(measures_of(found)) == {"immunosuppression"}

    def test_resolved_and_none(self) -> None:
        """A resolved problem and an empty record change nothing."""
        resolved = condition(ConditionKind.DIABETES, active=False)
        assert "comorbidities" not in _context(chart(conditions=(resolved,)))
        assert not _context(chart())
