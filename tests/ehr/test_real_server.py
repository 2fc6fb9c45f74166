"""The whole way round with a real server on this machine, loaded with the demo ward.

`sekmet serve` answers, PyPI `smart-fetch` is the second opinion on the export; neither
is ours.
"""

import json
import os
import subprocess
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from joserfc.jwk import ECKey

from tests.ehr.real_server import RealServer, serving
from weatherglass.cli.main import run
from weatherglass.model.latest import LatestResults
from weatherglass.model.plain import replace
from weatherglass.model.review import Handover, Review
from weatherglass.pipeline import review_lines
from weatherglass.stamp import stamp

KEPT = ("Observation", "DetectedIssue", "Task", "CommunicationRequest", "Provenance", "Device")


@pytest.fixture(scope="module")
def ward(tools: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[RealServer]:
    """The server with the demo ward in it."""
    with serving(tools, tmp_path_factory.mktemp("ward")) as server:
        server.load_ward()
        yield server


def _run(*arguments: str, env: dict[str, str] | None = None) -> tuple[int, str, str]:
    """Run a command in this process; return its exit code and what it said on either output."""
    out, err = StringIO(), StringIO()
    with patch.dict(os.environ, env or {}), redirect_stdout(out), redirect_stderr(err):
        code = run(arguments)
    return code, out.getvalue(), err.getvalue()


def _done(*arguments: str) -> str:
    code, said, faults = _run(*arguments)
    assert code == 0, faults
    return said


def _counts(server: RealServer) -> dict[str, int]:
    return {kind: server.get(f"{kind}?_summary=count")["total"] for kind in KEPT}


def _versions(server: RealServer) -> dict[str, str]:
    found = {}
    for kind in KEPT:
        for resource in server.resources(kind):
            found[f"{kind}/{resource['id']}"] = resource["meta"]["versionId"]
    return found


def test_pull_review_deliver_and_deliver_again(ward: RealServer, tmp_path: Path) -> None:
    """Twice round: the second delivery and the second round change no resource at the server."""
    before = _counts(ward)
    for turn in (1, 2):
        said = _done("pull", ward.base, str(tmp_path / f"in{turn}"))
        assert "13 Patient" in said
        _done("batch", str(tmp_path / f"in{turn}"), str(tmp_path / f"out{turn}"))
        said = _done("deliver", str(tmp_path / f"out{turn}"), ward.base)
        if turn == 1:
            assert "created" in said
            after = _versions(ward)
            assert _counts(ward)["Observation"] > before["Observation"]
            assert _counts(ward)["Device"] == before["Device"] + 1
        else:
            assert "created" not in said
        said = _done("deliver", str(tmp_path / f"out{turn}"), ward.base)
        assert "created" not in said
        assert "updated" not in said
        assert _versions(ward) == after
    urgencies = ward.resources("Observation?code=urn:weatherglass:codes:score|review-urgency")
    assert len(urgencies) == 13


def test_export_by_us_and_by_smart_fetch_review_to_the_same_answer(
    ward: RealServer, tools: Path, tmp_path: Path
) -> None:
    """Two clients, one server, the same bytes in the review."""
    kinds = (
        "Patient,Encounter,Condition,Observation,MedicationRequest,Procedure,ServiceRequest,"
        "AllergyIntolerance"
    )
    _done("pull", ward.base, str(tmp_path / "ours"), "--types", kinds)
    fetched = subprocess.run(
        [
            str(tools / "smart-fetch"),
            "bulk",
            "--fhir-url",
            ward.base,
            "--type",
            kinds,
            "--no-default-filters",
            "--no-compression",
            str(tmp_path / "theirs"),
        ],
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert fetched.returncode == 0, fetched.stdout + fetched.stderr
    theirs = _lines(tmp_path / "theirs")
    ours = _lines(tmp_path / "ours")
    assert len(ours) > 2000
    assert _ids(ours) == _ids(theirs)
    assert review_lines(ours).collection(stamp()) == review_lines(theirs).collection(stamp())


def _lines(folder: Path) -> list[bytes]:
    # Files are named after types; a log of the client is none. The order of an export means nothing.
    files = [path for path in folder.glob("*.ndjson") if path.name[0].isupper()]
    return sorted(line for file in files for line in file.read_bytes().splitlines())


def _ids(lines: list[bytes]) -> set[tuple[str, str]]:
    parsed = [json.loads(line) for line in lines]
    return {(one["resourceType"], one["id"]) for one in parsed}


def test_a_pull_by_search_reviews_as_the_export_does(ward: RealServer, tmp_path: Path) -> None:
    """`$everything` of one patient gives the same review of that patient."""
    _done("pull", ward.base, str(tmp_path / "one"), "--patient", "saltmere")
    _done("pull", ward.base, str(tmp_path / "all"))
    one = review_lines(_lines(tmp_path / "one")).reviews
    everyone = review_lines(_lines(tmp_path / "all")).reviews
    assert [r.subject.origin for r in one] == ["Patient/saltmere"]
    assert _whole(one[0]) in map(_whole, everyone)


def _whole(review: Review) -> tuple[Review, Handover, LatestResults]:
    """Return a review apart from what works its handover and results out, new each time, and these."""
    kept = replace(review, compose=_composed, look_up=LatestResults)
    return kept, review.handover, review.latest


def _composed() -> Handover:
    raise AssertionError("nobody asks for it")


def _signed_in(key: ECKey, scopes: str) -> str:
    client: dict[str, Any] = {
        "client_id": "weatherglass",
        "jwks": {"keys": [key.as_dict(private=False)]},
        "scopes": scopes,
    }
    return json.dumps({"types": ["smart"], "smart_clients": [client], "token_lifetime": 300})


def test_backend_services_sign_in_at_a_server_that_wants_it(tools: Path, tmp_path: Path) -> None:
    """SMART Backend Services against an authorization server that is not ours: pull, and be refused."""
    key = ECKey.generate_key("P-384", auto_kid=True)
    (tmp_path / "key.json").write_text(json.dumps(key.as_dict(private=True)))
    (tmp_path / "wrong.pem").write_bytes(ECKey.generate_key("P-384").as_pem(private=True))
    settings = f"server_auth: {_signed_in(key, 'system/*.rs')}\n"
    with serving(tools, tmp_path / "server", settings) as server:
        out = str(tmp_path / "in")
        code, _, said = _run("pull", server.base, out)
        assert code == 1
        assert "not signed in" in said
        code, _, said = _run(
            "pull", server.base, out, "--client-id", "weatherglass", "--key", str(tmp_path / "wrong.pem")
        )
        assert code == 1
        assert "check client id, key and scopes" in said
        code, _, said = _run(
            "pull",
            server.base,
            out,
            # This server wants the scope of every type for an export of several.
            "--scope",
            "system/*.rs",
            env={
                "WEATHERGLASS_EHR_CLIENT_ID": "weatherglass",
                "WEATHERGLASS_EHR_KEY_FILE": str(tmp_path / "key.json"),
            },
        )
        assert code == 0, said
