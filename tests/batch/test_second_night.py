"""The same command every night into the same place: whatever became of last night, tonight's run is whole."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.batch.exports import files_of, pulse, report_of, run_batch, write_lines
from weatherglass.batch.output.work_folder import NAME, OutputError, WorkFolder
from weatherglass.batch.spark.storage import MOVING, WORK, File, Stored, There, check_there, store_there
from weatherglass.cli.errors import RunError, UsageError


@pytest.fixture(scope="module")
def nights(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[Path, dict[str, bytes]]]:
    """Three nights' exports, each with what a run into an empty folder makes of it.

    On the first night there are more patients and more kinds of results than on the others.
    """
    folder = tmp_path_factory.mktemp("nights")
    found = []
    for night, patients in enumerate((5, 1, 2)):
        given = folder / f"in-{night}"
        write_lines(given, [pulse(f"Patient/p{n % patients}", n + 20 * night) for n in range(12)])
        if night == 0:
            chart = (Path(__file__).parents[2] / "fixtures/ndjson/MedicationRequest.ndjson").read_bytes()
            (given / "chart.ndjson").write_bytes(chart)
        assert run_batch(given, folder / f"out-{night}").exception is None
        found.append((given, files_of(folder / f"out-{night}")))
    assert set(found[0][1]) > set(found[1][1])
    return found


@pytest.fixture
def break_down(monkeypatch: pytest.MonkeyPatch) -> Callable[[type, str, int], None]:
    """Make a method fail when it is called for the n-th time."""

    def planted(owner: type, method: str, calls: int) -> None:
        done, left = getattr(owner, method), iter(range(calls))

        def broken(*arguments: Any, **named: Any) -> Any:
            if next(left, None) is None:
                raise OSError(5, "Input/output error")
            return done(*arguments, **named)

        monkeypatch.setattr(owner, method, broken)

    return planted


Nights = list[tuple[Path, dict[str, bytes]]]


class TestOneMachine:
    def test_the_second_night_replaces_the_first(self, nights: Nights, tmp_path: Path) -> None:
        """Also the files that tonight's run has nothing for."""
        for given, expected in nights:
            assert run_batch(given, tmp_path / "out", "--replace").exception is None
            assert files_of(tmp_path / "out") == expected
            report_of(tmp_path / "out")

    @pytest.mark.parametrize("calls", range(8))
    def test_a_night_that_broke_down_while_publishing(
        self,
        calls: int,
        nights: Nights,
        tmp_path: Path,
        break_down: Callable[[type, str, int], None],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        """The second night ends after so many files; the third one knows nothing of it."""
        out = tmp_path / "out"
        assert run_batch(nights[0][0], out, "--replace").exception is None
        break_down(Path, "rename", calls)
        assert isinstance(run_batch(nights[1][0], out, "--replace").exception, RunError)
        monkeypatch.undo()
        whole = (out / "run.json").exists()
        assert not whole or files_of(out) in (nights[0][1], nights[1][1]), "a report means a whole run"
        assert isinstance(run_batch(nights[2][0], out).exception, UsageError)
        assert run_batch(nights[2][0], out, "--replace").exception is None
        assert files_of(out) == nights[2][1]
        report_of(out)


@pytest.fixture(scope="module")
def spark() -> Iterator[Any]:
    """A session of Spark's on one core."""
    from weatherglass.batch.spark.session import session

    started = session("local[1]")
    yield started
    started.stop()


def _stored(nights: Nights, night: int, folder: Path) -> Path:
    """Write a night's files as the driver has them before it stores them."""
    here = folder / f"driver-{night}"
    here.mkdir(exist_ok=True)
    for name, text in nights[night][1].items():
        (here / name).write_bytes(text)
    return here


def _shown(folder: Path) -> dict[str, bytes]:
    """What there is, without the checksums that Hadoop's file system keeps beside a local file."""
    return {name: text for name, text in files_of(folder).items() if not name.endswith(".crc")}


@pytest.mark.spark
class TestAnAddress:
    def test_the_second_night_replaces_the_first(self, spark: Any, nights: Nights, tmp_path: Path) -> None:
        there = tmp_path / "there"
        for night, (_, expected) in enumerate(nights):
            check_there(spark, f"file://{there}", replace=True)
            store_there(spark, _stored(nights, night, tmp_path), f"file://{there}")
            assert _shown(there) == expected
            with pytest.raises(OutputError, match="a finished run"):
                check_there(spark, f"file://{there}", replace=False)

    @pytest.mark.parametrize("calls", range(6))
    @pytest.mark.parametrize("step", ["copy", "rename", "delete"])
    def test_a_night_that_broke_down_while_storing(
        self,
        step: str,
        calls: int,
        spark: Any,
        nights: Nights,
        tmp_path: Path,
        break_down: Callable[[type, str, int], None],
        monkeypatch: pytest.MonkeyPatch,
    ) -> None:
        there, address = tmp_path / "there", f"file://{tmp_path}/there"
        store_there(spark, _stored(nights, 0, tmp_path), address)
        break_down(There, step, calls)
        with pytest.raises(OSError, match="Input/output"):
            store_there(spark, _stored(nights, 1, tmp_path), address)
        monkeypatch.undo()
        left = _shown(there)
        assert "run.json" not in left or left == nights[0][1] or set(nights[1][1]) <= set(left)
        with pytest.raises(OutputError, match="--replace"):
            check_there(spark, address, replace=False)
        check_there(spark, address, replace=True)
        store_there(spark, _stored(nights, 2, tmp_path), address)
        assert _shown(there) == nights[2][1]

    def test_an_unfinished_run_is_continued_or_replaced(self, spark: Any, tmp_path: Path) -> None:
        (tmp_path / WORK).mkdir()
        with pytest.raises(OutputError, match="add --resume"):
            check_there(spark, f"file://{tmp_path}", replace=False)
        assert not check_there(spark, f"file://{tmp_path}", replace=False, resume=True)
        assert not check_there(spark, f"file://{tmp_path}", replace=True)

    def test_naming_the_parts_goes_on(self, spark: Any, nights: Nights, tmp_path: Path) -> None:
        """A run that ended while its parts got their names: those that have one already keep it."""
        there = tmp_path / "there"
        address, parts = f"file://{there}", there / WORK / "parts"
        store_there(spark, _stored(nights, 1, tmp_path), address)
        parts.mkdir(parents=True)
        moved = {f"Observation-0000{n}.ndjson": File(f"parts/{n}", 1) for n in range(2)}
        (parts / "1").write_text("b")
        (there / "Observation-00000.ndjson").write_text("a")
        (there / WORK / MOVING).write_text(json.dumps({name: [*file] for name, file in moved.items()}))
        store_there(spark, _stored(nights, 2, tmp_path), address, Stored(moved=moved))
        shown = _shown(there)
        assert [shown.pop(name) for name in sorted(moved)] == [b"a", b"b"]
        assert shown == nights[2][1]
        assert not (there / WORK).exists()

    def test_files_of_somebody_else_are_left_alone(self, spark: Any, tmp_path: Path) -> None:
        (tmp_path / "notes.txt").write_text("not ours")
        for replace, said in ((True, "does not touch"), (False, "an empty folder")):
            with pytest.raises(OutputError, match=said):
                check_there(spark, f"file://{tmp_path}", replace=replace)

    def test_a_report_that_names_a_file_elsewhere(self, spark: Any, nights: Nights, tmp_path: Path) -> None:
        """Nothing outside the folder is taken away, whatever a report says."""
        there = tmp_path / "there"
        there.mkdir()
        (tmp_path / "kept.ndjson").write_text("{}")
        (there / "run.json").write_text(json.dumps({"files": {"../kept.ndjson": {}}}))
        store_there(spark, _stored(nights, 1, tmp_path), f"file://{there}")
        assert (tmp_path / "kept.ndjson").exists()
        assert _shown(there) == nights[1][1]


@pytest.mark.spark
class TestSparkHere:
    def test_last_nights_whole_files_are_not_published_tonight(
        self, nights: Nights, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A run that ended between assembling and publishing is continued only when that is asked for."""

        def ended(_: WorkFolder) -> None:
            raise OSError(5, "Input/output error")

        out, engine = tmp_path / "out", ("--engine", "spark")
        with monkeypatch.context() as broken:
            broken.setattr(WorkFolder, "publish", ended)
            assert isinstance(run_batch(nights[0][0], out, *engine).exception, RunError)
        assert (out / NAME / "final" / "run.json").exists()
        assert "changed" in str(run_batch(nights[1][0], out, *engine, "--resume").exception)
        assert run_batch(nights[1][0], out, *engine, "--replace").exception is None
        assert files_of(out) == nights[1][1]

    def test_what_an_address_cannot_be(self, nights: Nights, tmp_path: Path) -> None:
        """A file system has to be there to be used; a folder on this machine has no parts to join."""
        given = nights[1][0]
        joined = run_batch(given, tmp_path / "out", "--engine", "spark", "--one-file").exception
        assert isinstance(joined, UsageError)
        unknown = run_batch(given, "records://ward/out", "--engine", "spark").exception
        assert isinstance(unknown, RunError)
        assert "no file system for records://" in str(unknown)
        assert "nothing was published" in str(unknown)
