"""The same facts give the same findings, however they are written down."""

import json
import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.records import ordered, text
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.findings import Finding
from weatherglass.pipeline import Answer, review, review_lines

pytestmark = pytest.mark.property

_BUNDLES = Path(__file__).parents[2] / "fixtures" / "bundles"
_WARD = sorted(path.stem for path in _BUNDLES.glob("*.json"))


@cache
def _bundle(stem: str) -> Any:
    return json.loads((_BUNDLES / f"{stem}.json").read_text("utf-8"), parse_float=Decimal)


def _essence(answer: Answer) -> Any:
    """Return what must not change: every finding with its numbers and its inputs."""
    return [[_bare(f) for f in one.findings] for one in answer.reviews]


def _bare(finding: Finding) -> Any:
    measures = [
        (m.key, m.value if isinstance(m.value, str) else round(m.value, 3), m.at) for m in finding.measures
    ]
    total = getattr(finding, "total", None)
    stage = getattr(finding, "stage", None)
    return (
        finding.kind,
        finding.key,
        finding.urgency,
        finding.state,
        finding.since,
        finding.at,
        total,
        stage,
        measures,
        sorted(finding.evidence),
    )


@cache
def _plain(stem: str) -> Any:
    return _essence(review(text(_bundle(stem))))


_ANY_PATIENT = st.sampled_from(_WARD)
_SLOW = settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])


@_SLOW
@given(stem=_ANY_PATIENT, random=st.randoms(use_true_random=False))
def test_order_of_entries(stem: str, random: Any) -> None:
    whole = dict(_bundle(stem))
    whole["entry"] = list(whole["entry"])
    random.shuffle(whole["entry"])
    assert _essence(review(text(whole))) == _plain(stem)


@_SLOW
@given(stem=_ANY_PATIENT, random=st.randoms(use_true_random=False))
def test_lines_instead_of_a_bundle(stem: str, random: Any) -> None:
    lines = [text(entry["resource"]) for entry in _bundle(stem)["entry"]]
    random.shuffle(lines)
    assert _essence(review_lines(lines)) == _plain(stem)


@_SLOW
@given(stem=_ANY_PATIENT, minutes=st.integers(-14 * 4, 14 * 4).map(lambda n: n * 15))
def test_offset_of_the_times(stem: str, minutes: int) -> None:
    zone = timezone(timedelta(minutes=minutes))
    moved = _essence(review(text(_moved(_bundle(stem), zone))))
    assert _without_calendar(moved) == _without_calendar(_plain(stem))


def _without_calendar(essence: Any) -> Any:
    # The post-operative day is counted in calendar days of the record's own zone.
    return [[one for one in review if one[1] != "post-operative-day"] for review in essence]


def _moved(node: Any, zone: timezone) -> Any:
    if isinstance(node, dict):
        return {key: _moved(value, zone) for key, value in node.items()}
    if isinstance(node, list):
        return [_moved(value, zone) for value in node]
    if isinstance(node, str) and len(node) >= 20 and node[10:11] == "T":
        try:
            return datetime.fromisoformat(node).astimezone(zone).isoformat()
        except ValueError:
            return node
    return node


#: Exact rewritings: unit -> (other unit, factor).
_OTHER_UNITS = {
    "g/L": ("g/dL", Decimal("0.1")),
    "mmol/L": ("mmol/l", Decimal(1)),
    "kg": ("g", Decimal(1000)),
    "cm": ("m", Decimal("0.01")),
    "L/min": ("mL/min", Decimal(1000)),
    "mL": ("L", Decimal("0.001")),
    "umol/L": ("mmol/L", Decimal("0.001")),
    "mg/dL": ("mg/L", Decimal(10)),
}


@pytest.mark.parametrize("stem", _WARD)
def test_unit_of_the_values(stem: str) -> None:
    assert _essence(review(text(_converted(_bundle(stem))))) == _plain(stem)


def _converted(node: Any) -> Any:
    if isinstance(node, dict):
        other = _OTHER_UNITS.get(node.get("code", "")) if "value" in node else None
        if other is not None and isinstance(node["value"], (int, Decimal)):
            return {**node, "code": other[0], "unit": other[0], "value": Decimal(node["value"]) * other[1]}
        return {key: _converted(value) for key, value in node.items()}
    return [_converted(value) for value in node] if isinstance(node, list) else node


#: Rewritings that leave a long fraction when they are read back: common practice in the United States.
_LONG_UNITS: dict[str, tuple[str, Callable[[Decimal], Decimal]]] = {
    "Cel": ("[degF]", lambda value: round(value * 9 / 5 + 32, 1)),
    "kPa": ("mm[Hg]", lambda value: round(value * Decimal("7.50062"), 0)),
    "kg": ("[lb_av]", lambda value: round(value * Decimal("2.20462"), 1)),
}
_LONG_FRACTION = re.compile(r"[0-9]\.0*[1-9][0-9]{4,}")
_MORE_THAN_FHIR_KEEPS = re.compile(rb"[0-9.]{20,}")


@pytest.mark.parametrize("stem", _WARD)
def test_nobody_reads_out_a_long_fraction(stem: str) -> None:
    """98.1 degF is 36.7222... Cel: said in four digits, written in the eighteen that a FHIR decimal has."""
    from weatherglass.stamp import stamp

    answer = review(text(_at_length(_bundle(stem))))
    body = answer.collection(stamp())
    assert not _MORE_THAN_FHIR_KEEPS.search(body)
    # An address may hold a long number; nobody reads it out.
    said = [re.sub(r"https://\S+", "", one) for one in _strings(json.loads(body))]
    said += [
        line for one in answer.reviews for part in msgspec.structs.astuple(one.handover) for line in part
    ]
    assert [one for one in said if _LONG_FRACTION.search(one)] == []
    assert any("°C" in one for one in said)


def _at_length(node: Any) -> Any:
    if isinstance(node, dict):
        other = _LONG_UNITS.get(node.get("code", "")) if "value" in node else None
        if other is not None and isinstance(node["value"], (int, Decimal)):
            return {**node, "code": other[0], "unit": other[0], "value": other[1](Decimal(node["value"]))}
        return {key: _at_length(value) for key, value in node.items()}
    return [_at_length(value) for value in node] if isinstance(node, list) else node


def _strings(node: Any) -> Iterator[str]:
    if isinstance(node, str):
        yield node
    elif isinstance(node, (dict, list)):
        for value in node.values() if isinstance(node, dict) else node:
            yield from _strings(value)


@_SLOW
@given(stem=_ANY_PATIENT, hours=st.integers(1, 90))
def test_what_is_later_is_never_looked_at(stem: str, hours: int) -> None:
    """A review as of a moment is the review of the record cut off at that moment."""
    newest = review(text(_bundle(stem))).reviews[0].as_of
    assert newest is not None
    moment = newest - timedelta(hours=hours)
    cut = {**_bundle(stem), "entry": [e for e in _bundle(stem)["entry"] if not _is_later(e, moment)]}
    as_of = _essence(review(text(_bundle(stem)), as_of=moment))
    assert as_of == _essence(review(text(cut), as_of=moment))


def _is_later(entry: Any, moment: datetime) -> bool:
    resource = entry["resource"]
    if resource["resourceType"] != "Observation":
        return False
    when = resource.get("effectiveDateTime") or resource.get("effectivePeriod", {}).get("end", "")
    return len(when) >= 20 and datetime.fromisoformat(when) > moment


@_SLOW
@given(stem=_ANY_PATIENT)
def test_same_bytes_in_same_bytes_out(stem: str) -> None:
    from weatherglass.stamp import stamp

    body = text(_bundle(stem))
    assert review(body).collection(stamp()) == review(body).collection(stamp())


# Versions


_OUTCOME = frozenset({IssueKey.DUPLICATE})


def _told(answer: Answer) -> Any:
    """Return what was said of the input, without the places, which follow the order of the entries."""
    return sorted((i.severity, i.key, i.text) for i in answer.issues if i.key not in _OUTCOME)


@_SLOW
@given(stem=_ANY_PATIENT, random=st.randoms(use_true_random=False), share=st.sampled_from([0.1, 1.0]))
def test_entries_sent_again(stem: str, random: Any, share: float) -> None:
    """Copies, all or some of them, change nothing but the one issue that counts them."""
    entries = list(_bundle(stem)["entry"])
    again = [entry for entry in entries if random.random() < share]
    mixed = [*entries, *again]
    random.shuffle(mixed)
    answer = review(text({**_bundle(stem), "entry": mixed}))
    assert _essence(answer) == _plain(stem)
    assert _told(answer) == _told(review(text(_bundle(stem))))
    said = [issue.text for issue in answer.issues if "sent again" in issue.text]
    assert [text_.split(" ")[0] for text_ in said] == ([str(len(again))] if again else [])


@_SLOW
@given(stem=_ANY_PATIENT, random=st.randoms(use_true_random=False))
def test_overlapping_files(stem: str, random: Any) -> None:
    """Two exports that overlap are the one that holds everything."""
    lines = [text(entry["resource"]) for entry in _bundle(stem)["entry"]]
    first, second = sorted(random.sample(range(len(lines) + 1), 2))
    assert _essence(review_lines([*lines[first:], *lines[:second]])) == _plain(stem)


_TIMES = st.sampled_from([None, "2026-03-12T08:00:00Z", "2026-03-12T10:00:00+02:00", "2026-03-12T08:00:01Z"])
_NUMBERS = st.sampled_from([None, "9", "10", "x"])
_STATUSES = st.sampled_from(["active", "on-hold", "stopped", "entered-in-error", "draft"])


@_SLOW
@given(
    stem=_ANY_PATIENT,
    versions=st.lists(st.tuples(_TIMES, _NUMBERS, _STATUSES), min_size=1, max_size=4),
    random=st.randoms(use_true_random=False),
)
def test_versions_of_an_order_in_any_order(stem: str, versions: list[Any], random: Any) -> None:
    """Whatever the versions say of themselves, the order in which they come decides nothing."""
    entries = list(_bundle(stem)["entry"])
    person = next(e["resource"]["id"] for e in entries if e["resource"]["resourceType"] == "Patient")
    for updated, number, status in versions:
        known = {"lastUpdated": updated, "versionId": number}
        order = ordered(
            "ibuprofen 400 mg tablets",
            id="of-several-versions",
            meta={name: value for name, value in known.items() if value},
            status=status,
            subject={"reference": f"Patient/{person}"},
        )
        entries.append({"resource": order})
    once = review(text({**_bundle(stem), "entry": entries}))
    random.shuffle(entries)
    other = review(text({**_bundle(stem), "entry": entries}))
    assert _essence(once) == _essence(other)
    assert _told(once) == _told(other)
