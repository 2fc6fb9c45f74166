"""Search with paging, `$everything`, and a record by one search a type.

Expected: FHIR R4 3.1.1.5.2 (paging by the `next` link), R4 search parameters `patient`, `_include`.
"""

import httpx
import pytest

from tests.ehr.pretend import BASE, Pretend, json_answer, outcome, run, searchset
from weatherglass.ehr.client.faults import RefusedError, UnexpectedAnswerError
from weatherglass.ehr.fetching.needed import NEEDED_TYPES
from weatherglass.ehr.fetching.search import everything, name_of, patient_ids, patient_record, search
from weatherglass.fhir.reading import dispatch as handing_over


def _obs(number: int) -> dict[str, str]:
    return {"resourceType": "Observation", "id": f"o{number}"}


def _found(pretend: Pretend, query: str) -> list[str | None]:
    async def work() -> list[str | None]:
        async with pretend.transport() as transport:
            return [name_of(raw).id async for raw in search(transport, query)]

    return run(work())


def test_every_page_is_read_in_order() -> None:
    pages = {
        "": searchset(_obs(1), _obs(2), next_page=f"{BASE}/Observation?page=2"),
        "2": searchset(_obs(3), next_page="Observation?page=3"),
        "3": searchset(_obs(4)),
    }
    pretend = Pretend(lambda r: json_answer(pages[r.url.params.get("page", "")]))
    assert _found(pretend, "Observation?patient=p1") == ["o1", "o2", "o3", "o4"]


def test_the_next_page_on_another_server_is_not_asked() -> None:
    """A page link comes from the server, but a token or a query must not follow it anywhere."""
    pretend = Pretend(lambda _: json_answer(searchset(_obs(1), next_page="https://elsewhere.example/x")))
    with pytest.raises(UnexpectedAnswerError, match="another server"):
        _found(pretend, "Observation?patient=p1")
    assert len(pretend.asked) == 1


def test_pages_that_go_in_a_circle_end() -> None:
    pretend = Pretend(lambda r: json_answer(searchset(_obs(1), next_page=str(r.url))))
    with pytest.raises(UnexpectedAnswerError, match="do not end"):
        _found(pretend, "Observation?patient=p1")


def test_the_servers_remarks_are_not_part_of_the_record() -> None:
    page = searchset(_obs(1))
    page["entry"].append({"resource": outcome("not-supported", "warning"), "search": {"mode": "outcome"}})
    assert _found(Pretend(lambda _: json_answer(page)), "Observation?x=1") == ["o1"]


@pytest.mark.parametrize("body", [b"<html>", b'{"resourceType":"Patient"}', b"[]"])
def test_an_answer_that_is_no_bundle_is_an_error(body: bytes) -> None:
    with pytest.raises(UnexpectedAnswerError, match="not a Bundle"):
        _found(Pretend(lambda _: httpx.Response(200, content=body)), "Observation?x=1")


def test_everything_asks_the_operation_of_the_patient() -> None:
    pretend = Pretend(lambda _: json_answer(searchset(_obs(1))))

    async def work() -> int:
        async with pretend.transport() as transport:
            return len([raw async for raw in everything(transport, "p1")])

    assert run(work()) == 1
    assert pretend.paths() == ["GET /fhir/Patient/p1/$everything"]


def test_an_id_cannot_leave_its_place_in_the_address() -> None:
    pretend = Pretend(lambda _: json_answer(searchset()))

    async def work() -> None:
        async with pretend.transport() as transport:
            _ = [raw async for raw in everything(transport, "../Patient?x=")]

    run(work())
    assert str(pretend.asked[0].url).startswith(f"{BASE}/Patient/..%2FPatient%3Fx%3D/$everything")


def test_a_record_is_read_by_one_search_a_type_and_named_things_come_along() -> None:
    def handle(request: httpx.Request) -> httpx.Response:
        kind = request.url.path.rpartition("/")[2]
        if kind == "p1":
            return json_answer({"resourceType": "Patient", "id": "p1"})
        if kind == "Goal":
            return json_answer(outcome("not-supported"), 404)
        if kind == "MedicationRequest":
            assert request.url.params.get("_include") == "MedicationRequest:medication"
            return json_answer(
                searchset(
                    {"resourceType": "MedicationRequest", "id": "m1"},
                    {"resourceType": "Medication", "id": "tablet"},
                )
            )
        if kind == "MedicationAdministration":
            return json_answer(searchset({"resourceType": "Medication", "id": "tablet"}))
        return json_answer(searchset())

    pretend = Pretend(handle)

    async def work() -> list[str]:
        async with pretend.transport() as transport:
            return [name_of(raw).resourceType for raw in await patient_record(transport, "p1", NEEDED_TYPES)]

    assert run(work()) == ["Patient", "MedicationRequest", "Medication"]
    searched = {path.rpartition("/")[2] for path in pretend.paths()}
    assert searched == {"p1", *NEEDED_TYPES} - {"Patient", "Location", "Medication"}


def test_a_hole_in_the_record_is_an_error_and_not_a_shorter_record() -> None:
    """A type that we may not read (403) would be reviewed as if there were nothing."""

    def handle(request: httpx.Request) -> httpx.Response:
        if request.url.path.endswith("/MedicationRequest"):
            return json_answer(outcome("forbidden"), 403)
        return json_answer(searchset({"resourceType": "Patient", "id": "p1"}))

    async def work() -> None:
        async with Pretend(handle).transport() as transport:
            await patient_record(transport, "p1", ("Patient", "MedicationRequest"))

    with pytest.raises(RefusedError, match="search MedicationRequest"):
        run(work())


def test_ids_of_the_patients_that_we_may_see() -> None:
    pretend = Pretend(
        lambda _: json_answer(searchset(*({"resourceType": "Patient", "id": f"p{n}"} for n in (1, 2))))
    )

    async def work() -> list[str]:
        async with pretend.transport() as transport:
            return await patient_ids(transport)

    assert run(work()) == ["p1", "p2"]


def test_what_is_fetched_is_what_the_reading_reads() -> None:
    """A type that the reading learns must be fetched too."""
    assert set(NEEDED_TYPES) == {*handing_over.READERS, *handing_over.REFERENCED_TYPES}
