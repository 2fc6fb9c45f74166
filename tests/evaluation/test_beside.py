"""Two sets of rules on one past: by hand on a toy ward, then through the command on records of our invention.

Our choices throughout; what counts as said otherwise is that of `weatherglass compare`.
"""

import gzip
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.comparison.rows import high, row
from tests.evaluation.exported import MARKER
from tests.evaluation.wards import at
from weatherglass.cli.main import run
from weatherglass.comparison.differences import Course, Turn
from weatherglass.evaluation.beside.comparing import compare
from weatherglass.evaluation.beside.counting import Beside
from weatherglass.evaluation.beside.said import About, Kept, Look, Said, kept, line_of, write
from weatherglass.evaluation.beside.spans import spans_of
from weatherglass.evaluation.beside.told import DiscordantCase, text_of
from weatherglass.evaluation.trace import REVIEW, Outcome, Spell, Stretch, Trace

Json = dict[str, Any]
_DAY = timedelta(hours=24)
_STRICTER = "[single_signs.respiration-high]\nemergency = 24\n"


def looks(*said: tuple[float, str]) -> list[Look]:
    """Looks by hour, each with an urgency and, above routine, one finding of it."""
    rows = [(hour, row(word, *([] if word == "routine" else [high(word)]))) for hour, word in said]
    return [Look(at(hour), one.rank, one) for hour, one in rows]


def trace(name: str, ends: float, *outcomes: Outcome, has_stay: bool = True) -> Trace:
    return Trace(
        patient=name,
        stretches=[Stretch(at(0), at(ends))],
        spells=[Spell(at(0), at(ends))],
        ladders={},
        onsets=[],
        outcomes=list(outcomes),
        has_stay=has_stay,
    )


#: Four stays of 48 hours. A: the old rules say urgent from 10 to 20 h, the new ones not; then intensive care
#: at 30 h, of which both warn at 24 h. B: the new rules alone say urgent, at 30 h, and B dies at 48 h. C:
#: both say the same throughout, and C has an arrest that neither warns of. D: quiet by both.
TRACES = [
    trace("Patient/a", 48, Outcome(at(30), "intensive care")),
    trace("Patient/b", 48, Outcome(at(48), "death")),
    trace("Patient/c", 48, Outcome(at(40), "cardiac arrest")),
    trace("Patient/d", 48),
]
OLD = {
    "Patient/a": looks((2, "routine"), (10, "urgent"), (20, "routine"), (24, "urgent")),
    "Patient/b": looks((4, "routine"), (30, "prompt"), (40, "prompt")),
    "Patient/c": looks((4, "prompt"), (20, "routine")),
    "Patient/d": looks((4, "routine")),
}
NEW = {
    **OLD,
    "Patient/a": looks((2, "routine"), (10, "prompt"), (20, "routine"), (24, "urgent")),
    "Patient/b": looks((4, "routine"), (30, "urgent"), (40, "urgent")),
}


def put(path: Path, said: dict[str, list[Look]], *, lines: int = 7, news2: str = "1") -> Kept:
    """Write and open what one side said."""
    part = path.with_suffix(".part")
    part.write_bytes(b"".join(line_of(Said(name, own)) for name, own in sorted(said.items())))
    write(
        path, About(software="0", rules={"mews": "1", "news2": news2}, policy=path.stem, lines=lines), [part]
    )
    return kept(path.stem, path)


@pytest.fixture(scope="module")
def toy(tmp_path_factory: pytest.TempPathFactory) -> tuple[Beside, list[DiscordantCase]]:
    folder = tmp_path_factory.mktemp("toy")
    sides = put(folder / "old.gz", OLD), put(folder / "new.gz", NEW)
    return compare(*sides, TRACES, horizon=_DAY, rearm=timedelta(hours=8))


class TestByHand:
    def test_who_and_how(self, toy: tuple[Beside, list[DiscordantCase]]) -> None:
        """A is less urgent for 10 hours, B more urgent for 18; eight patient-days."""
        found, _ = toy
        assert (found.compared, found.different) == (4, 2)
        assert {course: n for course, n in found.courses.items() if n} == {Course.LESS: 1, Course.MORE: 1}
        assert found.hours[Course.LESS] == pytest.approx(1000 / 8)
        assert found.hours[Course.MORE] == pytest.approx(1800 / 8)
        assert found.criteria == {("critical-result", "potassium-high"): {Turn.LESS: 1, Turn.MORE: 1}}

    def test_outcomes_at_urgent(self, toy: tuple[Beside, list[DiscordantCase]]) -> None:
        """A by both (old 20 h, new 6 h before), B by the new alone (18 h before), C by neither."""
        urgent = toy[0].urgencies[1]
        assert (urgent.both, urgent.only_old.number, urgent.only_new.number, urgent.neither) == (1, 0, 1, 1)
        assert (urgent.old.warned[:2], urgent.new.warned[:2]) == ((1, 3), (2, 3))
        assert urgent.old.lead is not None
        assert urgent.new.lead is not None
        assert urgent.old.lead.median == 20
        assert urgent.new.lead.median == (6 + 18) / 2

    def test_load_at_urgent(self, toy: tuple[Beside, list[DiscordantCase]]) -> None:
        """Old: A at 10 and 24 h, 10 + 24 hours. New: A at 24 h, B at 30 and 40 h, 24 + 18 hours."""
        urgent = toy[0].urgencies[1]
        assert urgent.old.armed_per_100_days == pytest.approx(200 / 8)
        assert urgent.new.armed_per_100_days == pytest.approx(300 / 8)
        assert urgent.old.hours_per_100_days == pytest.approx(3400 / 8)
        assert urgent.new.hours_per_100_days == pytest.approx(4200 / 8)

    def test_prompt_is_the_same_for_both(self, toy: tuple[Beside, list[DiscordantCase]]) -> None:
        prompt = toy[0].urgencies[0]
        assert prompt.old == prompt.new

    def test_patient_by_patient_who_can_be_hurt_first(self, toy: tuple[Beside, list[DiscordantCase]]) -> None:
        found, told = toy
        assert [one.values["patient"] for one in told] == ["Patient/a", "Patient/b"]
        (span,) = told[0].values["spans"]
        assert (span["from"], span["to"], span["looks"]) == (at(10).isoformat(), at(20).isoformat(), 1)
        assert (span["old"]["urgency"], span["new"]["urgency"]) == ("urgent", "prompt")
        (death,) = told[1].values["outcomes"]
        assert death["hoursUrgentBefore"] == {"old": None, "new": 18}
        text = text_of(found, told)
        assert text.index("LESS URGENT BY NEW (1)") < text.index("Patient/a") < text.index("Patient/b")
        assert "THEN death 2026-03-03 00:00; urgent before it: not by OLD, 18.0 h by NEW" in text
        assert "2026-03-01 10:00 to 2026-03-01 20:00 (10.0 h, 1 look)" in text

    def test_whose_outcome_is_lost_comes_first_of_the_less_urgent(self, tmp_path: Path) -> None:
        """Before a fall from a higher urgency that no outcome followed."""
        old = {"Patient/a": looks((10, "emergency")), "Patient/b": looks((10, "urgent"))}
        new = {"Patient/a": looks((10, "routine")), "Patient/b": looks((10, "prompt"))}
        stays = [trace("Patient/a", 48), trace("Patient/b", 48, Outcome(at(20), "death"))]
        sides = put(tmp_path / "old.gz", old), put(tmp_path / "new.gz", new)
        found, told = compare(*sides, stays, horizon=_DAY, rearm=_DAY)
        assert [one.values["patient"] for one in told] == ["Patient/b", "Patient/a"]
        assert "Of 1 outcome, urgent in time by both: 0; by OLD alone: 1;" in text_of(found, told)

    def test_a_stay_that_is_not_recorded_is_told_and_in_no_rate(self, tmp_path: Path) -> None:
        one = trace("Patient/a", 48, Outcome(at(30), "death"), has_stay=False)
        sides = put(tmp_path / "old.gz", OLD), put(tmp_path / "new.gz", NEW)
        found, told = compare(*sides, [one], horizon=_DAY, rearm=_DAY)
        assert (found.different, len(told)) == (1, 1)
        assert found.hours[Course.LESS] is None
        assert found.urgencies[1].new.warned.of == 0


class TestSpans:
    def test_what_was_said_last_stands_where_moments_differ(self) -> None:
        """The old rules look at 2, 6 and 10 h, the new ones at 2 and 8 h: different from 6 to 8 h."""
        old = Said("a", looks((2, "routine"), (6, "urgent"), (10, "urgent")))
        new = Said("a", looks((2, "routine"), (8, "urgent")))
        (span,) = spans_of(old, new, [Stretch(at(0), at(20))])
        assert (span.starts, span.ends, span.first.course) == (at(6), at(8), Course.LESS)

    def test_the_time_until_both_have_spoken_is_not_compared(self) -> None:
        old, new = Said("a", looks((2, "urgent"))), Said("a", looks((3, "urgent")))
        assert spans_of(old, new, [Stretch(at(0), at(20))]) == []

    def test_rules_that_saw_nothing_in_a_stay_are_told(self) -> None:
        """As when a code of the site is not known to one side: silence is no all-clear."""
        old, new = Said("a", looks((2, "urgent"), (30, "routine"))), Said("a", looks((30, "routine")))
        (span,) = spans_of(old, new, [Stretch(at(0), at(20)), Stretch(at(25), at(40))])
        assert (span.starts, span.ends, span.first.course) == (at(2), at(20), Course.REFUSED)

    def test_a_stay_does_not_go_on_in_the_next(self) -> None:
        old, new = (
            Said("a", looks((2, "urgent"), (30, "urgent"))),
            Said("a", looks((2, "prompt"), (30, "prompt"))),
        )
        found = spans_of(old, new, [Stretch(at(0), at(20)), Stretch(at(25), at(40))])
        assert [(span.starts, span.ends) for span in found] == [(at(2), at(20)), (at(30), at(40))]

    def test_the_same_row_is_kept_once_and_stands(self) -> None:
        """A look without a row says what the look before said."""
        first, second = looks((2, "urgent"), (8, "urgent"))
        old = Said("a", [first, Look(second.at, second.rank)])
        (span,) = spans_of(old, Said("a", looks((2, "prompt"), (8, "prompt"))), [Stretch(at(0), at(20))])
        assert (span.looks, span.starts, span.ends) == (2, at(2), at(20))


def asked(export: Path, out: Path, *options: str) -> list[str]:
    return ["evaluate", str(export), str(out), "--workers", "1", "--repeats", "0", *options]


@pytest.fixture(scope="module")
def stricter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("policy") / "stricter.toml"
    path.write_text(_STRICTER, "utf-8")
    return path


@pytest.fixture(scope="module")
def found(export: Path, stricter: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Stricter rules held beside the published ones."""
    out = tmp_path_factory.mktemp("out")
    assert run(asked(export, out, "--policy", str(stricter), "--against", "default", "--remember")) == 0
    return out


def told(out: Path) -> Json:
    read: Json = json.loads((out / "evaluation.json").read_text("utf-8"))
    return read


def patients(out: Path) -> list[Json]:
    return [json.loads(line) for line in (out / "differences.ndjson").read_text("utf-8").splitlines()]


class TestCommand:
    def test_two_policies(self, found: Path) -> None:
        """25 breaths are an emergency by the new limit: `a` from 26 h until it leaves at 40 h, `b` at 2 h."""
        beside = told(found)["besideOtherRules"]
        assert (beside["old"]["policy"], beside["new"]["policy"][-13:]) == ("default", "stricter.toml")
        assert (beside["patients"]["compared"], beside["patients"]["different"]) == (3, 2)
        assert beside["patients"]["byCourse"]["more urgent"] == 2
        spans = {one["patient"]: one["spans"] for one in patients(found)}
        assert set(spans) == {"Patient/a", "Patient/b"}
        assert spans["Patient/a"][0]["from"] == at(26).isoformat()
        assert spans["Patient/a"][-1]["to"] == at(40).isoformat()
        assert spans["Patient/b"][0]["from"] == at(2).isoformat()
        assert spans["Patient/a"][0]["new"]["urgency"] == "emergency"

    def test_the_new_side_is_what_the_rest_of_the_report_measures(self, found: Path) -> None:
        """Two ways to the same figures: from what was kept, and from the ladder of the review."""
        report = told(found)
        review = next(one for one in report["ladders"] if one["key"] == REVIEW)["thresholds"]
        assert report["besideOtherRules"]["atLeast"]
        for one in report["besideOtherRules"]["atLeast"]:
            (same,) = (row for row in review if row["name"] == one["urgency"])
            for name in (
                "rearmedAlertsPer100PatientDays",
                "hoursPer100PatientDays",
                "outcomesWarned",
                "leadHours",
            ):
                assert one["new"][name] == same[name]

    def test_the_old_side_is_what_an_evaluation_of_its_own_measures(
        self, export: Path, found: Path, tmp_path: Path
    ) -> None:
        assert run(asked(export, tmp_path)) == 0
        review = next(one for one in told(tmp_path)["ladders"] if one["key"] == REVIEW)["thresholds"]
        for one in told(found)["besideOtherRules"]["atLeast"]:
            same = [row for row in review if row["name"] == one["urgency"]]
            if same:
                assert one["old"]["outcomesWarned"] == same[0]["outcomesWarned"]
                assert one["old"]["hoursPer100PatientDays"] == same[0]["hoursPer100PatientDays"]

    def test_against_itself_nothing_is_said_otherwise(self, export: Path, tmp_path: Path) -> None:
        assert run(asked(export, tmp_path, "--against", "default")) == 0
        assert told(tmp_path)["besideOtherRules"]["patients"]["different"] == 0
        assert patients(tmp_path) == []
        assert (tmp_path / "differences.txt").read_text("utf-8").count("otherwise of 0") == 1

    def test_against_what_an_earlier_evaluation_kept(self, export: Path, found: Path, tmp_path: Path) -> None:
        """As after an update: the way back is the same with the sides exchanged; workers change nothing."""
        for name, workers in (("one", "1"), ("two", "2")):
            call = asked(export, tmp_path / name, "--against", str(found), "--workers", workers)
            assert run(call) == 0
        beside = told(tmp_path / "one")["besideOtherRules"]
        assert beside["patients"]["byCourse"]["less urgent"] == 2
        there = {one["urgency"]: one for one in told(found)["besideOtherRules"]["atLeast"]}
        for one in beside["atLeast"]:
            assert (one["old"], one["new"]) == (there[one["urgency"]]["new"], there[one["urgency"]]["old"])
        for file in ("evaluation.json", "differences.txt", "differences.ndjson"):
            assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()

    def test_what_names_patients_is_for_own_eyes_and_names_no_person(self, found: Path) -> None:
        for file in ("differences.txt", "differences.ndjson", "said.ndjson.gz", "evaluation.json"):
            assert (found / file).stat().st_mode & 0o077 == 0, file
        texts = [(found / file).read_text("utf-8") for file in ("differences.txt", "differences.ndjson")]
        texts.append(gzip.decompress((found / "said.ndjson.gz").read_bytes()).decode())
        assert all(MARKER not in text for text in texts)
        for file in ("evaluation.json", "evaluation.html"):
            assert "Patient/" not in (found / file).read_text("utf-8")
        assert "Other rules on the same past" in (found / "evaluation.html").read_text("utf-8")

    def test_a_later_evaluation_leaves_nothing_that_contradicts_it(
        self, export: Path, tmp_path: Path
    ) -> None:
        assert run(asked(export, tmp_path, "--against", "default", "--remember")) == 0
        assert run(asked(export, tmp_path, "--replace")) == 0
        assert {path.name for path in tmp_path.iterdir()} == {"evaluation.json", "evaluation.html"}

    @pytest.mark.parametrize(
        "content",
        [None, b"", b"no gzip", gzip.compress(b'{"patient": 7}\n')],
        ids=["none", "empty", "unpacked", "odd"],
    )
    def test_a_folder_that_kept_nothing_is_refused_before_the_replay(
        self, content: bytes | None, export: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
    ) -> None:
        (tmp_path / "old").mkdir()
        if content is not None:
            (tmp_path / "old" / "said.ndjson.gz").write_bytes(content)
        assert run(asked(export, tmp_path / "out", "--against", str(tmp_path / "old"))) == 2
        told = capsys.readouterr().err
        assert "--remember" in told or "damaged" in told
        assert list((tmp_path / "out").iterdir()) == []

    def test_a_damaged_end_is_found(self, export: Path, found: Path, tmp_path: Path) -> None:
        """Cut in the middle, as by a full disk: never a comparison of half of the patients."""
        whole = (found / "said.ndjson.gz").read_bytes()
        (tmp_path / "said.ndjson.gz").write_bytes(whole[: len(whole) * 3 // 4])
        assert run(asked(export, tmp_path / "out", "--against", str(tmp_path))) == 2

    def test_one_wrong_byte_is_found(self, export: Path, found: Path, tmp_path: Path) -> None:
        whole = bytearray((found / "said.ndjson.gz").read_bytes())
        whole[len(whole) // 2] ^= 0xFF
        (tmp_path / "said.ndjson.gz").write_bytes(whole)
        assert run(asked(export, tmp_path / "out", "--against", str(tmp_path))) == 2

    def test_a_policy_that_is_none(self, export: Path, tmp_path: Path) -> None:
        assert run(asked(export, tmp_path / "out", "--against", str(tmp_path / "no.toml"))) == 2

    def test_rule_sets_of_another_version_are_named(self, tmp_path: Path) -> None:
        sides = put(tmp_path / "old.gz", OLD), put(tmp_path / "new.gz", OLD, news2="2")
        found, told = compare(*sides, TRACES, horizon=_DAY, rearm=_DAY)
        assert (found.rule_sets, told) == (("news2",), [])
        assert "Rule sets that differ: news2." in text_of(found, told)

    def test_other_records_are_said(self, tmp_path: Path) -> None:
        sides = put(tmp_path / "old.gz", OLD, lines=7), put(tmp_path / "new.gz", NEW, lines=8)
        assert (
            "did not read the same records"
            in compare(*sides, TRACES, horizon=_DAY, rearm=_DAY)[0].warnings[0]
        )
