"""Encounters and record numbers of several hospitals in one record: whose ward, which number, which "now".

HL7 FHIR R4: Encounter.serviceProvider, Location.managingOrganization, Identifier.assigner;
location-physical-type "si" is a site. Which of two open stays is the present one is our choice: the one
begun last. Records are invented.
"""

from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import run_batch
from tests.records import Json, answer_of, full_set, patient, text
from weatherglass.model.review import Review
from weatherglass.pipeline import Answer

NORTH, SOUTH = (
    {"reference": f"Organization/{name}", "display": f"{name.title()} General"} for name in ("north", "south")
)
YESTERDAY, EARLIER, TODAY, LATER = (
    f"2026-{day}+04:00" for day in ("02-28T09:00:00", "03-01T06:00:00", "03-01T08:00:00", "03-01T09:30:00")
)
MR = {"coding": [{"system": "http://terminology.hl7.org/CodeSystem/v2-0203", "code": "MR"}]}


def _stay(
    identity: str, begun: str, ended: str | None = None, at: str = "", kind: str = "IMP", **rest: Any
) -> Json:
    located = [{"location": {"display": at}}] if at else []
    return {
        "resourceType": "Encounter",
        "id": identity,
        "status": "finished" if ended else "in-progress",
        "class": {"code": kind},
        "subject": {"reference": "Patient/p"},
        "period": {"start": begun, **({"end": ended} if ended else {})},
        "location": located,
        **rest,
    }


def _review(*resources: Json) -> tuple[Review, Answer]:
    answer = answer_of(patient(), *full_set(), *resources)
    (one,) = answer.reviews
    return one, answer


def _is_said(answer: Answer) -> bool:
    return any("several hospitals are open at once" in issue.text for issue in answer.issues)


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize(
    ("stays", "place", "said"),
    [
        pytest.param(
            [_stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH)], "Larch Ward", False, id="one"
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, TODAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, at="Larch Ward", serviceProvider=SOUTH),
            ],
            "Larch Ward, South General",
            False,
            id="moved to another hospital",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, at="Heron Ward", serviceProvider=SOUTH),
            ],
            "Heron Ward, South General",
            True,
            id="the other hospital has not closed its stay",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, serviceProvider=SOUTH),
            ],
            "South General",
            True,
            id="the ward of the new hospital is not sent",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider={"reference": "Organization/1"}),
                _stay("b", TODAY, serviceProvider={"reference": "Organization/2"}),
            ],
            "hospital not named",
            True,
            id="neither is named",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, serviceProvider=NORTH),
            ],
            "Larch Ward",
            False,
            id="an episode of the same hospital without a place",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, at="Diabetes clinic", kind="AMB", serviceProvider=NORTH),
            ],
            "Larch Ward",
            False,
            id="a clinic is no ward of somebody in a bed",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", TODAY, LATER, at="Cath lab recovery", serviceProvider=SOUTH),
            ],
            "Larch Ward, North General",
            False,
            id="back from the other hospital",
        ),
        pytest.param(
            [
                _stay("a", YESTERDAY, at="Larch Ward", serviceProvider=NORTH),
                _stay("b", EARLIER, at="Heron Ward", serviceProvider={"display": "north general"}),
            ],
            "Heron Ward",
            False,
            id="one hospital in two spellings",
        ),
    ],
)
def test_the_place_is_that_of_the_stay_begun_last(
    stays: list[Json], place: str, said: bool, turn: int
) -> None:
    review, answer = _review(*stays[::turn])
    assert review.place == place
    assert _is_said(answer) is said


def test_a_hospital_may_be_told_by_its_places() -> None:
    """The organization that manages a ward, and the site that it stands on."""
    site = {"resourceType": "Location", "id": "s", "name": "South Site"}
    site["physicalType"] = {"coding": [{"code": "si"}]}  # type: ignore[assignment]
    ward = {"resourceType": "Location", "id": "w", "name": "Heron Ward", "managingOrganization": SOUTH}
    inside = {"resourceType": "Location", "id": "v", "name": "Teal Ward"}
    inside["partOf"] = {"reference": "Location/s"}  # type: ignore[assignment]
    old = _stay("a", YESTERDAY, TODAY, at="Larch Ward", serviceProvider=NORTH)
    for where, said in ((ward, "Heron Ward, South General"), (inside, "Teal Ward, South Site")):
        now = _stay("b", TODAY, location=[{"location": {"reference": f"Location/{where['id']}"}}])
        review, _ = _review(old, now, site, where)
        assert review.place == said


def _number(value: str, system: str = "", by: Json | None = None, **rest: Any) -> Json:
    named = {"system": f"https://{system}.example/mr"} if system else {}
    return {"value": value, "type": MR, **named, **({"assigner": by} if by else {}), **rest}


@pytest.mark.parametrize(
    ("numbers", "printed"),
    [
        pytest.param([_number("1", "north", NORTH), _number("2", "south", SOUTH)], "2", id="of the hospital"),
        pytest.param(
            [_number("1", "north"), _number("2", "south")], "1 / 2", id="nothing says whose: both are printed"
        ),
        pytest.param(
            [_number("1", "north", {"display": "Trust A"}), _number("2", "south", {"display": "Trust B"})],
            "1 (Trust A) / 2 (Trust B)",
            id="of neither",
        ),
        pytest.param([_number("1", "north"), _number("2", "north")], "1", id="of one system the first"),
        pytest.param([_number("1"), _number("2")], "1", id="without a system the first"),
        pytest.param(
            [_number("1", "north", use="usual"), _number("2", "south")],
            "1",
            id="the usual one before another",
        ),
        pytest.param([_number("7", "north"), _number("7", "south")], "7", id="the same in both"),
    ],
)
def test_the_number_is_that_of_the_hospital_where_the_patient_lies(numbers: list[Json], printed: str) -> None:
    now = _stay("b", TODAY, at="Heron Ward", serviceProvider=SOUTH)
    (review,) = answer_of(patient(identifier=numbers), *full_set(), now).reviews
    assert review.subject.number == printed


def _export(hospital_of: dict[str, Json], folder: Path) -> str:
    """Write people who lie on wards of one name; return the page of the ward list."""
    lines: list[Json] = []
    for name, provider in hospital_of.items():
        resources = [*full_set(), _stay("e", TODAY, at="Ward 4", serviceProvider=provider)]
        lines += [
            {**one, "id": f"{name}-{one['id']}", "subject": {"reference": f"Patient/{name}"}}
            for one in resources
        ]
        lines.append(patient(id=name))
    folder.mkdir()
    (folder / "rows.ndjson").write_bytes(b"\n".join(map(text, lines)) + b"\n")
    assert run_batch(folder, folder / "out", "--workers", "1").exception is None
    return (folder / "out" / "ward-list.html").read_text("utf-8")


def test_wards_of_one_name_in_two_hospitals_are_two_on_the_list(tmp_path: Path) -> None:
    """And in a run of one hospital its name is not repeated."""
    page = _export({"p1": NORTH, "p2": SOUTH, "p3": NORTH}, tmp_path / "both")
    assert page.index("Ward 4, North General") < page.index("Ward 4, South General")
    page = _export({"p1": NORTH, "p3": NORTH}, tmp_path / "single")
    assert "Ward 4" in page
    assert "North General" not in page
