"""Nothing that a sender wrote steers a terminal or hides in a path. RFC 8259 allows what ECMA-48 obeys."""

import json
import re
from pathlib import Path

import pytest

from tests.records import measured, ordered, patient
from weatherglass.cli.main import run
from weatherglass.fhir.safe_text import UNSEEN, clean
from weatherglass.fhir.writing.frame.narrative import bullets, escape
from weatherglass.pipeline import review
from weatherglass.stamp import stamp

_STEERS = "\x1b]0;x\x07\x9b2J\u202e\rwell"


def _bundle() -> bytes:
    person = patient(None, id=f"p{_STEERS}", gender="odd", name=[{"text": _STEERS}])
    order = ordered(f"Ibuprofen{_STEERS}", id="q", subject={"reference": f"Patient/p{_STEERS}"})
    pulse = {**measured("o", "pulse", "180", "/min"), "subject": order["subject"]}
    entries = [{"resource": one} for one in (person, order, pulse)]
    return json.dumps({"resourceType": "Bundle", "entry": entries}, default=float).encode()


def test_paths_of_issues_hold_nothing_unseen() -> None:
    written = json.loads(review(_bundle()).collection(stamp()))
    (outcome,) = [
        e["resource"] for e in written["entry"] if e["resource"]["resourceType"] == "OperationOutcome"
    ]
    paths = [path for issue in outcome["issue"] for path in issue.get("expression", ())]
    assert any("gender" in path for path in paths)
    assert not re.search(f"[{UNSEEN}\r\n]", "".join(paths))


def test_the_text_on_a_terminal_holds_nothing_unseen(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "b.json").write_bytes(_bundle())
    assert run(["review", str(tmp_path / "b.json"), "--format", "text"]) == 0
    said = capsys.readouterr().out
    assert "180" in said
    assert not set(said) & {"\x1b", "\x07", "\x9b", "\u202e", "\r"}


def test_what_is_printable_holds_nothing_unseen() -> None:
    """So that one quick look tells most texts apart (Python's `str.isprintable`, Unicode Cc, Cf, Cs, Cn)."""
    unseen = re.compile(f"[{UNSEEN}]")
    assert not [
        hex(point) for point in range(0x110000) if unseen.match(chr(point)) and chr(point).isprintable()
    ]


_MARKUP = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;"}


@pytest.mark.parametrize("mark", [*_MARKUP, "\x00", "\x9f", "\u202e", "\ud800", "\ufffe"])
@pytest.mark.parametrize("others", ["", "plain ", "5 \u00b5mol/L ", "a\u00a0b\n"])
def test_each_mark_is_found_among_others(mark: str, others: str) -> None:
    """Common practice, no source: what is markup is escaped, what cannot be seen is dropped."""
    assert escape(f"{others}{mark}b") == f"{others}{_MARKUP.get(mark, '')}b"
    assert bullets([others, f"{mark}b"]).endswith(f"<li>{_MARKUP.get(mark, '')}b</li></ul>")
    assert clean(f"{others}{mark}b") == f"{others}{mark if mark in _MARKUP else ''}b"
