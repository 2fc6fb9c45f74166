"""What stands out on a terminal is said where a line is made; words in a sentence never do."""

import io
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.records import answer_of, measured, observation, ordered, patient, problem, quantity
from weatherglass.cli.printing.screen import head, marked, show, wrapped
from weatherglass.cli.printing.text import review_text
from weatherglass.model.findings import Urgency
from weatherglass.pipeline import review

#: A sentence that, where it is broken, goes on as a head begins.
_SENTENCE = (
    "Potassium rose to 7.1 mmol/L within two hours of the last dose, as was told to the team on "
    "EMERGENCY call"
)


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    def show_on_it(*lines: str, no_colour: str = "") -> str:
        terminal = _Terminal()
        with monkeypatch.context() as patched:
            patched.setattr(sys, "stdout", terminal)
            patched.setenv("NO_COLOR", no_colour)
            patched.setenv("TERM", "xterm")
            show(lines)
        return terminal.getvalue()

    return show_on_it


def test_a_mark_and_a_head_stand_out_and_nothing_else(shown: Callable[..., str]) -> None:
    said = shown(
        head("Latest results"), marked(Urgency.EMERGENCY, _SENTENCE), wrapped(f"Urgent. {_SENTENCE}", "")
    )
    assert said.startswith("\x1b[1mLatest results\x1b[0m\n\x1b[31m\x1b[1m  !!! \x1b[0mPotassium")
    assert said.count("\x1b[0m") == 2
    assert "\nEMERGENCY call" in said


def test_a_record_cannot_colour_anything(shown: Callable[..., str]) -> None:
    assert "\x1b[31m" not in shown(marked(Urgency.ROUTINE, "Bea\x1b[31m Quill"))


def test_no_colour_where_it_is_not_wanted(shown: Callable[..., str]) -> None:
    """`NO_COLOR` set to anything (common practice, no source)."""
    lines = (head("Handover"), marked(Urgency.URGENT, "Call."))
    assert shown(*lines, no_colour="1") == "Handover\n  !!  Call.\n"


def test_a_caution_is_said_once() -> None:
    """Both results of a child carry it."""
    sodium = observation("n", "2951-2", valueQuantity=quantity("119", "mmol/L"))
    potassium = measured("k", "potassium", "6.7", "mmol/L")
    (one,) = answer_of(patient("2019-01-01"), potassium, sodium).reviews
    both = [f for f in one.findings if any("limits are for adults" in caution for caution in f.cautions)]
    assert len(both) > 1
    assert review_text(one, ()).count("limits are for adults") == 1


_RECORDS = sorted((Path(__file__).parents[2] / "fixtures" / "bundles").glob("*.json"))


@pytest.mark.parametrize("path", _RECORDS, ids=lambda path: path.stem)
def test_the_handover_below_repeats_no_line_of_the_head_and_no_call(path: Path) -> None:
    """Ours: one print tells each thing once; the page and the document have the whole handover."""
    (one,) = review(path.read_bytes()).reviews
    printed = " ".join(review_text(one, ()).split())
    head, _, below = printed.partition(" Handover Situation ")
    for line in filter(None, (*one.ceiling, one.until_then)):
        assert line in head
        assert line not in below
    assert below.startswith("The call above. Background") is bool(one.handover.spoken)
    assert not one.handover.spoken or one.handover.situation[0] not in printed
    for line in one.handover.recommendation:  # Nothing of it is lost.
        assert set(line.split()) <= set(printed.split())


def test_a_caution_of_several_lines_of_the_chart_is_said_once() -> None:
    """Heart failure is one caution of the ramipril and of the spironolactone that are held."""
    (one,) = answer_of(
        patient("1947-03-01"),
        problem("Heart failure"),
        measured("k", "potassium", "6.6", "mmol/L"),
        ordered("ramipril 10 mg capsule", "C09AA05", id="m1"),
        ordered("spironolactone 25 mg tablet", "C03DA01", id="m2"),
    ).reviews
    shared = "Heart failure is recorded: decide with the team"
    assert sum(any(shared in said for said in each.cautions) for each in one.findings) > 1
    assert " ".join(review_text(one, ()).split()).count(shared) == 1
