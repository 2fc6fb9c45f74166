"""The outside judges of what Weatherglass emits, behind one question: what is wrong with this?

Any test asks through the `judges` fixture::

    def test_review_is_valid(judges: Judges) -> None:
        judges.accept(answer.content)

A finding of any judge fails the test unless `false_alarms.toml` names it and
says why it is one.
"""

import json
import re
import subprocess
import tempfile
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Self

import fhirkit
import msgspec
from fhir.resources.R4B import get_fhir_model_class

from tests.conformance import house_rules, narrative_rules

HERE = Path(__file__).parent

_HOUSE_RULES = {
    "json": house_rules.nothing_is_empty,
    "units": house_rules.units_have_a_system,
    "obs-7": house_rules.components_do_not_repeat_the_code,
    "references": house_rules.references_lead_somewhere,
    "narrative": narrative_rules.narratives_are_safe,
}

#: Every judge, by the name that a problem carries.
JUDGES = ("medplum", "lantana", "ucum", "fhirkit", "r4b-models", *_HOUSE_RULES)


@dataclass(frozen=True, slots=True)
class Problem:
    """What one judge holds against one place."""

    judge: str
    severity: str
    where: str
    text: str

    def __str__(self) -> str:
        """Write the problem on one line."""
        return f"[{self.judge}] {self.severity} {self.where}: {self.text}"


@dataclass(frozen=True, slots=True)
class FalseAlarm:
    """A finding that we do not accept, with the reason."""

    judge: str
    where: re.Pattern[str]
    text: re.Pattern[str]
    reason: str

    def covers(self, problem: Problem) -> bool:
        """Say whether this is that alarm."""
        return (
            problem.judge == self.judge
            and self.where.search(problem.where) is not None
            and self.text.search(problem.text) is not None
        )


@cache
def false_alarms() -> tuple[FalseAlarm, ...]:
    """Read the written list of what is let through."""
    listed = tomllib.loads((HERE / "false_alarms.toml").read_text("utf-8"))["alarm"]
    return tuple(
        FalseAlarm(
            judge=one["judge"],
            where=re.compile(one["where"]),
            text=re.compile(one["text"]),
            reason=one["reason"],
        )
        for one in listed
    )


class NodeJudge:
    """The Node validators as one process for the whole test session."""

    def __init__(self) -> None:
        """Start the process and wait until it has read the R4 definitions."""
        if not (HERE / "node_modules").is_dir():
            raise RuntimeError(
                "The Node validators are not installed: run `make test`, or `npm ci` in tests/conformance."
            )
        self._complaints = tempfile.TemporaryFile()  # noqa: SIM115 - lives as long as the process.
        self._process = subprocess.Popen(
            ["node", str(HERE / "judge.cjs")],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._complaints,
        )
        if self._read() != b"ready\n":
            raise RuntimeError(f"The Node validators do not start: {self._stderr()}")

    def problems(self, parsed: Mapping[str, Any]) -> Iterator[Problem]:
        """Ask about one resource, on one line.

        Raises:
            RuntimeError: When the judge itself fails.
        """
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(parsed).encode() + b"\n")
        self._process.stdin.flush()
        answer = json.loads(self._read() or b'{"failure": "the process ended"}')
        if "failure" in answer:
            raise RuntimeError(f"The Node validators failed: {answer['failure']} {self._stderr()}")
        for one in answer["problems"]:
            yield Problem(**one)

    def close(self) -> None:
        """End the process that this object started."""
        self._process.communicate(timeout=10)
        self._complaints.close()

    def _read(self) -> bytes:
        assert self._process.stdout is not None
        return self._process.stdout.readline()

    def _stderr(self) -> str:
        self._complaints.seek(0)
        return self._complaints.read().decode(errors="replace")[-2000:]


class Judges:
    """All judges together."""

    def __init__(self) -> None:
        """Start what has to be started."""
        self._node = NodeJudge()
        self._known: dict[str, list[Problem]] = {}

    def __enter__(self) -> Self:
        """Return the judges."""
        return self

    def __exit__(self, *_: object) -> None:
        """Let the judges go."""
        self._node.close()

    def findings(self, emitted: bytes | str | Mapping[str, Any]) -> list[Problem]:
        """Return everything that any judge says, false alarms included; of the same text, what was said."""
        text = _as_text(emitted)
        if text not in self._known:
            self._known[text] = self._judged(text)
        return self._known[text]

    def _judged(self, text: str) -> list[Problem]:
        try:
            parsed, complaints = house_rules.parse_strictly(text)
        except ValueError as error:
            return [Problem("json", "error", "", f"not JSON: {error}")]
        found = [Problem("json", "error", "", complaint) for complaint in complaints]
        if not isinstance(parsed, dict):
            return [*found, Problem("json", "error", "", "not a JSON object")]
        for name, rule in _HOUSE_RULES.items():
            found.extend(Problem(name, "error", where, what) for where, what in rule(parsed))
        found.extend(_judged_by_fhirkit(text))
        found.extend(_judged_by_r4b_models(text))
        found.extend(self._node.problems(parsed))
        return found

    def problems(self, emitted: bytes | str | Mapping[str, Any]) -> list[Problem]:
        """Return what the judges hold against a resource, without the known false alarms."""
        return [
            problem
            for problem in self.findings(emitted)
            if not any(alarm.covers(problem) for alarm in false_alarms())
        ]

    def accept(self, *emitted: bytes | str | Mapping[str, Any]) -> None:
        """Fail the test unless no judge has anything against any of the resources."""
        for one in emitted:
            problems = self.problems(one)
            listed = "\n".join(str(problem) for problem in problems)
            assert not problems, f"{len(problems)} problems:\n{listed}\nin: {_as_text(one)[:4000]}"

    def accept_ndjson(self, emitted: bytes) -> int:
        """Fail the test unless every line is accepted; return how many there were."""
        lines = [line for line in emitted.split(b"\n") if line]
        self.accept(*lines)
        return len(lines)


def judges_in(problems: Iterable[Problem]) -> set[str]:
    """Return the names of the judges that found something."""
    return {problem.judge for problem in problems}


def _as_text(emitted: bytes | str | Mapping[str, Any]) -> str:
    if isinstance(emitted, bytes):
        return emitted.decode("utf-8")
    if isinstance(emitted, str):
        return emitted
    return msgspec.json.Encoder(decimal_format="number").encode(emitted).decode()


def _judged_by_fhirkit(text: str) -> Iterator[Problem]:
    """Structure, types and primitive formats, from the text itself, so that every digit is seen."""
    try:
        issues = fhirkit.validate(text)
    except fhirkit.ParseError as error:
        yield Problem("fhirkit", "error", "", str(error))
        return
    for issue in issues:
        if issue.severity == "error":
            yield Problem("fhirkit", "error", issue.path, issue.message)


def _judged_by_r4b_models(text: str) -> Iterator[Problem]:
    """The typed models that Python callers use; R4B, which lacks nothing of the R4 that we emit."""
    for part in _apart(text):
        if said := _said_by_r4b_models(part):
            yield Problem("r4b-models", "error", "", said)


@cache
def _said_by_r4b_models(text: bytes) -> str:
    """Return what they have against a resource: many Bundles hold the same ones."""
    try:
        get_fhir_model_class(str(json.loads(text).get("resourceType"))).model_validate_json(text)
    except ValueError as error:  # Pydantic's ValidationError is one, an unknown resource type another.
        return " ".join(str(error).split())[:600]
    return ""


def _apart(text: str) -> list[bytes]:
    """Return the resources of a Bundle, each in its own digits, and before them the Bundle without them."""
    try:
        whole = msgspec.json.decode(text, type=dict[str, msgspec.Raw])
        entries = msgspec.json.decode(whole["entry"], type=list[dict[str, msgspec.Raw]])
    except (msgspec.DecodeError, LookupError):
        return [text.encode()]
    held = [entry for entry in entries if bytes(entry.get("resource", b"")).startswith(b"{")]
    inner = [bytes(entry.pop("resource")) for entry in held]
    whole["entry"] = msgspec.Raw(msgspec.json.encode(entries))
    return [msgspec.json.encode(whole), *inner]
