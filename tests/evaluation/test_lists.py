"""Lists of a site's own: outcomes, and calls of its present practice."""

from datetime import datetime
from pathlib import Path

import pytest

from weatherglass.evaluation.inputs.lists import ListError, read_list


def _list(folder: Path, text: str, name: str = "a.csv") -> Path:
    (folder / name).write_text(text, "utf-8")
    return folder / name


def test_csv_and_ndjson_are_the_same(tmp_path: Path) -> None:
    one = read_list(
        _list(
            tmp_path,
            "\ufeffpatient,at,kind\np1,2026-03-04T05:06:07Z,arrest\nPatient/p1,2026-03-05T05:06:07Z,\n",
        )
    )
    other = read_list(
        _list(
            tmp_path,
            '{"patient":"https://ward.example/fhir/Patient/p1","at":"2026-03-04T05:06:07Z","kind":"arrest"}\n'
            '{"patient":"p1","at":"2026-03-05T05:06:07Z"}\n',
            "a.ndjson",
        )
    )
    assert one == other
    assert [(o.at.day, o.kind) for o in one["Patient/p1"]] == [(4, "arrest"), (5, "outcome")]


@pytest.mark.parametrize(
    ("rows", "place", "said"),
    [
        ("p1,2026-03-04\n", ":2, column 'at'", "not a full time"),
        ("p1,2026-03-04T05:06:07\n", ":2, column 'at'", "not a full time"),
        (",2026-03-04T05:06:07Z\n", ":2, column 'patient'", "empty"),
        ("p1,2026-03-04T05:06:07Z\np1\n", ":3, column 'at'", "empty"),
        ("p1,2026-03-04T05:06:07Z,a,b\n", ":2", "more cells"),
        (f"p1,2026-03-04T05:06:07Z,{'x' * 41}\n", ":2, column 'kind'", "longer than 40"),
        ('"p\n1",2026-03-04T05:06:07Z\np1,noon\n', ":4, column 'at'", "not a full time"),
    ],
)
def test_a_fault_is_said_with_file_line_and_column(tmp_path: Path, rows: str, place: str, said: str) -> None:
    path = _list(tmp_path, "patient,at,kind\n" + rows)
    with pytest.raises(ListError) as refused:
        read_list(path)
    assert f"{path}{place}" in str(refused.value)
    assert said in str(refused.value)


def test_all_faults_are_said_at_once_up_to_ten(tmp_path: Path) -> None:
    with pytest.raises(ListError) as refused:
        read_list(_list(tmp_path, "patient,at\n" + "p,soon\n" * 12))
    assert str(refused.value).count("not a full time") == 10
    assert "and 2 more" in str(refused.value)


@pytest.mark.parametrize(
    "text",
    ["", "name,when\nJane Doe,2026\n", "patient;at\np;2026\n", "patient,at\n", '{"patient": 5}', "{\n"],
)
def test_a_list_that_is_none_is_refused_without_its_values(tmp_path: Path, text: str) -> None:
    with pytest.raises(ListError) as refused:
        read_list(_list(tmp_path, text))
    assert "Jane" not in str(refused.value)
    with pytest.raises(ListError):
        read_list(tmp_path / "nothing.csv")


def test_times_are_compared_as_instants(tmp_path: Path) -> None:
    found = read_list(_list(tmp_path, "patient,at\np,2026-03-04T05:00:00+04:00\n"))["Patient/p"][0].at
    assert found == datetime.fromisoformat("2026-03-04T01:00:00+00:00")
