"""Stays with their wards and beds. Physical types bd, wa, ro: HL7 location-physical-type."""

import json
from typing import Any

import pytest

from tests.fhir.reading.taken import PATIENT
from weatherglass.fhir import r4
from weatherglass.fhir.decoding import decode
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.collector import Collector, keep_by_name
from weatherglass.fhir.reading.patient_data import SentEntry
from weatherglass.fhir.reading.people.encounter import read_encounter, settle_stays
from weatherglass.model.record.care import Stay
from weatherglass.model.sources import Origin

START = "2026-03-01T10:00:00+00:00"


def place(name: str, level: str = "", part_of: str = "", **more: Any) -> dict[str, Any]:
    """A location of our own invention."""
    located: dict[str, Any] = {"name": name, **more}
    if level:
        located["physicalType"] = {"coding": [{"code": level}]}
    if part_of:
        located["partOf"] = {"reference": f"Location/{part_of}"}
    return located


def stays(
    encounter: dict[str, Any], locations: dict[str, dict[str, Any]] | None = None, *, after: bool = False
) -> tuple[list[Stay], Collector]:
    """Take in one Encounter and its locations, which may arrive after it."""
    collector = Collector()
    base = {"status": "in-progress", "class": {"code": "IMP"}, "subject": {"reference": PATIENT}}
    whole = {**base, "period": {"start": START}, **encounter}

    def shelve() -> None:
        for name, location in (locations or {}).items():
            decoded = decode(json.dumps(location).encode(), r4.Location)
            keep_by_name(collector.referenced.locations, decoded, [f"Location/{name}"])

    if not after:
        shelve()
    decoded = decode(json.dumps(whole).encode(), r4.Encounter)
    read_encounter(collector, decoded, SentEntry("Bundle", 0), Origin("Encounter/1"))
    if after:
        shelve()
    settle_stays(collector)
    found = collector.patients[PATIENT].stays if PATIENT in collector.patients else []
    return found, collector


def at(*names: str, **more: Any) -> list[dict[str, Any]]:
    """Locations of an encounter."""
    return [{"location": {"reference": f"Location/{name}"}, "status": "active", **more} for name in names]


WARD = {"larch": place("Larch Ward", "wa")}
BED = {"larch-4": place("Larch Ward, bed 4", "bd", "larch"), **WARD}


class TestPresence:
    """Who is in hospital: an inpatient's or an emergency's stay that has not ended."""

    @pytest.mark.parametrize(
        ("code", "inpatient", "emergency"),
        [
            ("IMP", True, False),
            ("EMER", False, True),
            ("AMB", False, False),
            ("HH", False, False),
            # Earlier releases of FHIR (encounter-class), HL7 v2 table 0004, and a public generator.
            ("inpatient", True, False),
            ("emergency", False, True),
            ("ambulatory", False, False),
            ("outpatient", False, False),
            ("WELLNESS", False, False),
            ("I", True, False),
            ("E", False, True),
            ("O", False, False),
        ],
    )
    def test_classes(self, code: str, inpatient: bool, emergency: bool) -> None:
        """v3-ActCode: IMP, EMER, AMB, HH; the same in other words is no reservation."""
        (stay,), _ = stays({"class": {"code": code}})
        assert (stay.inpatient, stay.emergency) == (inpatient, emergency)
        assert stay.in_hospital is (inpatient or emergency)

    def test_the_stay_goes_on_when_every_location_has_ended(self) -> None:
        """A patient who has left the only place that was sent has not left hospital."""
        left = "2026-03-02T10:00:00+00:00"
        located = at("larch", period={"start": START, "end": left})
        found, _ = stays({"location": located}, WARD)
        assert [(stay.place, stay.ends is None) for stay in found] == [("Larch Ward", False), ("", True)]
        assert found[1].starts == found[0].ends

    def test_not_when_the_stay_has_ended(self) -> None:
        """Then nothing is left over."""
        period = {"start": START, "end": "2026-03-03T10:00:00+00:00"}
        located = at("larch", period={"start": START, "end": "2026-03-02T10:00:00+00:00"})
        found, _ = stays({"location": located, "period": period}, WARD)
        assert len(found) == 1


class TestPlaces:
    """Ward and bed, however they are sent."""

    @pytest.mark.parametrize("after", [False, True])
    def test_a_bed_in_a_ward(self, after: bool) -> None:
        """The Location may arrive after the Encounter; the ward is not said twice."""
        (stay,), collector = stays({"location": at("larch-4")}, BED, after=after)
        assert (stay.place, stay.bed) == ("Larch Ward", "bed 4")
        assert collector.issues == []

    def test_a_ward_and_its_bed_are_one_stay(self) -> None:
        """Two locations of one time, one inside the other."""
        (stay,), _ = stays({"location": at("larch", "larch-4")}, BED)
        assert (stay.place, stay.bed) == ("Larch Ward", "bed 4")

    def test_a_ward_and_a_bed_without_a_link_are_one_stay(self) -> None:
        """The bed does not say what it is part of."""
        (stay,), _ = stays({"location": at("larch", "b")}, {**WARD, "b": place("Bed 7", "bd")})
        assert (stay.place, stay.bed) == ("Larch Ward", "Bed 7")

    def test_a_bed_in_a_room_in_a_ward(self) -> None:
        """The bed's name wins over the room's."""
        chain = {"b": place("Bed 2", "bd", "r"), "r": place("Bay C", "ro", "larch"), **WARD}
        (stay,), _ = stays({"location": at("b")}, chain)
        assert (stay.place, stay.bed) == ("Larch Ward", "Bed 2")

    def test_a_place_without_a_level(self) -> None:
        """Its name is the place."""
        (stay,), _ = stays({"location": at("x")}, {"x": place("Day unit")})
        assert (stay.place, stay.bed) == ("Day unit", "")

    def test_two_places_in_turn_are_two_stays(self) -> None:
        """Each with its own times."""
        first = at("icu", period={"start": START, "end": "2026-03-03T10:00:00Z"})
        second = at("larch-4", period={"start": "2026-03-03T10:00:00Z"})
        found, _ = stays(
            {"location": first + second}, {**BED, "icu": place("Tern Intensive Care Unit", "wa")}
        )
        assert [(s.place, s.critical_care, s.ends is None) for s in found] == [
            ("Tern Intensive Care Unit", True, False),
            ("Larch Ward", False, True),
        ]

    def test_a_planned_place_is_not_a_stay(self) -> None:
        """Neither is a reserved bed."""
        (stay,), _ = stays({"location": at("larch", status="reserved")}, WARD)
        assert stay.place == ""

    def test_a_missing_location_is_said_and_its_display_shown(self) -> None:
        """The text beside the reference is all there is."""
        location = {"location": {"reference": "Location/none", "display": "Heron Ward"}}
        (stay,), collector = stays({"location": [location]})
        assert stay.place == "Heron Ward"
        assert [i.key for i in collector.issues] == [IssueKey.REFERENCE_NOT_FOUND]

    def test_a_location_inside_itself_ends(self) -> None:
        """A circle of references does not hang."""
        (stay,), _ = stays({"location": at("a")}, {"a": place("A", "wa", "b"), "b": place("B", "", "a")})
        assert stay.place == "A"


class TestCriticalCare:
    """Intensive, critical, coronary and high-dependency care."""

    @pytest.mark.parametrize(
        "name", ["Intensive Care Unit", "ICU", "Tern ITU", "High Dependency Unit", "HDU", "CCU"]
    )
    def test_by_the_name_of_the_ward(self, name: str) -> None:
        """As wards are really named."""
        (stay,), _ = stays({"location": at("x")}, {"x": place(name, "wa")})
        assert stay.critical_care

    @pytest.mark.parametrize(
        "name",
        [
            "Larch Ward",
            "ICU follow-up clinic",
            "ICU step-down ward",
            "Critical care outreach",
            "Post-ICU bay",
        ],
    )
    def test_not_by_what_surrounds_it(self, name: str) -> None:
        """A clinic or a step-down ward is no critical care."""
        (stay,), _ = stays({"location": at("x")}, {"x": place(name, "wa")})
        assert not stay.critical_care

    def test_by_the_type_of_the_location(self) -> None:
        """HL7 v3-RoleCode ICU, on the ward that the bed is part of."""
        ward = place("Tern", "wa", type=[{"coding": [{"code": "ICU"}]}])
        (stay,), _ = stays({"location": at("b")}, {"b": place("Bed 1", "bd", "w"), "w": ward})
        assert stay.critical_care

    def test_by_the_type_of_service(self) -> None:
        """Without any location."""
        (stay,), _ = stays({"serviceType": {"text": "Critical care"}})
        assert stay.critical_care


class TestStatusAndClass:
    """Every status of an Encounter, and its class."""

    @pytest.mark.parametrize("status", ["arrived", "triaged", "in-progress", "onleave"])
    def test_a_present_stay(self, status: str) -> None:
        """In force, with no end."""
        (stay,), _ = stays({"status": status, "reasonCode": [{"text": "Breathlessness"}]})
        assert stay.ends is None
        assert stay.inpatient
        assert stay.reason == "Breathlessness"

    @pytest.mark.parametrize("status", ["planned", "cancelled", "entered-in-error", "unknown"])
    def test_other_statuses_are_said(self, status: str) -> None:
        """Not used."""
        found, collector = stays({"status": status})
        assert found == []
        assert [i.key for i in collector.issues] == [IssueKey.NOT_FINAL]

    def test_an_unknown_status_is_an_error(self) -> None:
        """Not a status of an Encounter."""
        found, collector = stays({"status": "open"})
        assert found == []
        assert [i.key for i in collector.issues] == [IssueKey.WRONG_TYPE]

    def test_a_finished_stay_is_past_even_without_an_end(self) -> None:
        """Otherwise an old stay would look like the present one."""
        (stay,), collector = stays({"status": "finished"})
        assert stay.ends == stay.starts
        assert [i.key for i in collector.issues] == [IssueKey.MISSING_ELEMENT]

    @pytest.mark.parametrize(
        ("code", "inpatient"),
        [("IMP", True), ("ACUTE", True), ("OBSENC", True), ("AMB", False), ("EMER", False)],
    )
    def test_class(self, code: str, inpatient: bool) -> None:
        """HL7 v3-ActCode classes."""
        (stay,), _ = stays({"class": {"code": code}})
        assert stay.inpatient is inpatient

    def test_an_unknown_class_is_said(self) -> None:
        """Read as an inpatient stay, with a warning."""
        (stay,), collector = stays({"class": {"code": "X"}})
        assert stay.inpatient
        assert [i.key for i in collector.issues] == [IssueKey.VALUE_UNKNOWN]

    def test_a_bad_time_is_said(self) -> None:
        """The stay is kept without it."""
        (stay,), collector = stays({"period": {"start": "yesterday"}})
        assert stay.starts is None
        assert [i.key for i in collector.issues] == [IssueKey.BAD_TIME]
