"""Alert rules and dashboard: judged by promtool and Grafana's own models, fed by our real numbers."""

import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest
import yaml
from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from tests.deploy.manifests import DEPLOY, ROOT, pods
from weatherglass.api.app import create_app
from weatherglass.fhir.issues import IssueKey
from weatherglass.model.findings import Kind

MONITORING = DEPLOY / "monitoring"
_MODEL = """
import json, sys
from grafana_foundation_sdk.models.dashboard import Dashboard
read = Dashboard.from_json(json.load(sys.stdin))
print(len(read.panels), sum(len(panel.targets) for panel in read.panels))
"""
#: What Grafana puts into an expression before it asks.
_INTERVAL = "$__rate_interval"


def _dashboard_expressions() -> list[str]:
    dashboard = json.loads((MONITORING / "dashboard.json").read_text("utf-8"))
    return [target["expr"] for panel in dashboard["panels"] for target in panel["targets"]]


def _rule_expressions() -> list[str]:
    rules = yaml.safe_load((MONITORING / "rules.yaml").read_text("utf-8"))
    return [rule["expr"] for group in rules["groups"] for rule in group["rules"]]


@pytest.fixture(scope="module")
def published(sepsis_bundle: bytes) -> dict[str, set[str]]:
    """The numbers of a running application after a review and a refusal: name to label names."""
    headers = {"Content-Type": "application/fhir+json"}
    with TestClient(create_app(), headers=headers) as client:
        client.post("/fhir/$review-deterioration", content=sepsis_bundle)
        client.post("/fhir/$review-deterioration", content=b"hello")
        text = client.get("/metrics").text
    found: dict[str, set[str]] = {}
    for family in text_string_to_metric_families(text):
        for sample in family.samples:
            found.setdefault(sample.name, set()).update(sample.labels)
    return found


@pytest.fixture(scope="module")
def sepsis_bundle() -> bytes:
    """One record of the demo ward."""
    return (ROOT / "fixtures" / "bundles" / "01-sepsis.json").read_bytes()


@pytest.fixture(scope="session")
def promtool() -> str:
    """The checker that comes with Prometheus; `make outside` fetches it from Debian."""
    found = shutil.which("promtool") or str(ROOT / ".outside" / "promtool")
    if not Path(found).exists():
        pytest.skip("promtool is not there; `make outside` fetches it")
    return found


class TestRules:
    def test_they_can_be_read(self, promtool: str) -> None:
        done = _promtool(promtool, "check", "rules", MONITORING / "rules.yaml")
        assert done.returncode == 0, done.stderr

    def test_each_fires_and_each_stays_quiet(self, promtool: str) -> None:
        done = _promtool(promtool, "test", "rules", MONITORING / "rules-test.yaml")
        assert done.returncode == 0, done.stderr

    def test_a_wrong_rule_fails_its_test(self, promtool: str, tmp_path: Path) -> None:
        """The tests of the rules can fail: a threshold moved out of reach."""
        for name in ("rules.yaml", "rules-test.yaml"):
            text = (MONITORING / name).read_text("utf-8")
            (tmp_path / name).write_text(text.replace("[5m])) > 0.01", "[5m])) > 0.9"), "utf-8")
        assert _promtool(promtool, "test", "rules", tmp_path / "rules-test.yaml").returncode != 0

    def test_every_alert_has_a_case(self) -> None:
        cases = (MONITORING / "rules-test.yaml").read_text("utf-8")
        rules = yaml.safe_load((MONITORING / "rules.yaml").read_text("utf-8"))
        for group in rules["groups"]:
            for rule in group["rules"]:
                assert rule["alert"] in cases
                assert set(rule["annotations"]) == {"summary", "impact", "action"}


class TestConfiguration:
    @pytest.fixture
    def job(self) -> dict[str, Any]:
        """The one job of the configuration."""
        (only,) = yaml.safe_load((MONITORING / "prometheus.yaml").read_text("utf-8"))["scrape_configs"]
        return dict(only)

    def test_prometheus_reads_it_with_its_rules(self, promtool: str, tmp_path: Path) -> None:
        """Debian builds promtool without the discovery of pods; what is left out is looked at below."""
        written = yaml.safe_load((MONITORING / "prometheus.yaml").read_text("utf-8"))
        del written["scrape_configs"][0]["kubernetes_sd_configs"]
        shutil.copy(MONITORING / "rules.yaml", tmp_path)
        text = yaml.safe_dump(written)
        for name, content, code in (("right", text, 0), ("wrong", text.replace("keep", "kept"), 1)):
            (tmp_path / name).write_text(content, "utf-8")
            done = _promtool(promtool, "check", "config", tmp_path / name)
            assert done.returncode == code, done.stdout + done.stderr
            assert code or "12 rules found" in done.stdout

    def test_it_finds_our_pods_and_only_those_that_serve(self, job: dict[str, Any]) -> None:
        """Its words are those of the manifests: a batch pod has no numbers to give."""
        kept = {
            tuple(each["source_labels"]): each["regex"]
            for each in job["relabel_configs"]
            if each.get("action") == "keep"
        }
        label = ("__meta_kubernetes_pod_label_app_kubernetes_io_component",)
        port = ("__meta_kubernetes_pod_container_port_name",)
        found = [
            name
            for name, template in pods()
            if template["metadata"]["labels"]["app.kubernetes.io/component"] == kept[label]
            and any(
                each["name"] == kept[port]
                for container in template["spec"]["containers"]
                for each in container.get("ports", [])
            )
        ]
        assert found == ["weatherglass"]
        assert set(kept) == {label, port}
        assert job["kubernetes_sd_configs"] == [{"role": "pod", "namespaces": {"names": ["weatherglass"]}}]

    def test_it_asks_where_the_numbers_are(self, job: dict[str, Any]) -> None:
        with TestClient(create_app()) as client:
            assert "weatherglass_build" in client.get(job["metrics_path"]).text
        for expression in [*_rule_expressions(), *_dashboard_expressions()]:
            for name in re.findall(r'\bjob="([^"]*)"', expression):
                assert name == job["job_name"]
            assert expression.count("weatherglass_") <= expression.count('job="weatherglass"')


class TestDashboard:
    def test_grafana_reads_it(self, tools: Path) -> None:
        done = subprocess.run(
            [tools / "python", "-c", _MODEL],
            input=(MONITORING / "dashboard.json").read_text("utf-8"),
            capture_output=True,
            text=True,
            check=True,
        )
        panels, targets = map(int, done.stdout.split())
        assert panels == 15
        assert targets == len(_dashboard_expressions())

    def test_every_expression_is_promql(self, promtool: str, tmp_path: Path) -> None:
        rules = [
            {"record": f"panel:{number}", "expr": expression.replace(_INTERVAL, "5m")}
            for number, expression in enumerate(_dashboard_expressions())
        ]
        file = tmp_path / "rules.yaml"
        file.write_text(yaml.safe_dump({"groups": [{"name": "dashboard", "rules": rules}]}), "utf-8")
        done = _promtool(promtool, "check", "rules", file)
        assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("expression", [*_rule_expressions(), *_dashboard_expressions()])
def test_only_numbers_that_are_published_are_asked_for(
    expression: str, published: dict[str, set[str]]
) -> None:
    """A renamed number fails here and not in silence on a wall."""
    names = set(re.findall(r"\b(?:weatherglass|process)_\w+", expression))
    assert names <= set(published) | {"weatherglass_audit_events_unstored_total"}
    for name, labels in re.findall(r"\b((?:weatherglass|process)_\w+)\{([^}]*)\}", expression):
        used = set(re.findall(r"(\w+)=~?\"", labels)) - {"job", "instance"}
        assert used <= published[name]


def test_the_words_that_are_matched_exist() -> None:
    """Issue codes and kinds in the rules are ours, spelt as they are counted."""
    text = "\n".join([*_rule_expressions(), *_dashboard_expressions()])
    reasons, kinds = (
        {word for words in re.findall(rf'{label}=~?"([^"]+)"', text) for word in words.split("|")}
        for label in ("reason", "kind")
    )
    assert reasons
    assert reasons <= {key.value for key in IssueKey}
    assert kinds
    assert kinds <= {kind.value for kind in Kind}


def _promtool(program: str, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run([program, *arguments], capture_output=True, text=True, check=False)
