"""The Kubernetes manifests: judged by the API's own schemas, then by our own rules."""

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.deploy.command_lines import accepted, settings_in
from tests.deploy.manifests import DEPLOY, containers, documents, objects, of_kind, pods
from weatherglass.api.app import create_app

#: The oldest and the newest release whose schemas are looked at.
RELEASES = ("1.30", "1.37")


def _validate(tools: Path, release: str, *files: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [tools / "kubernetes-validate", "--strict", "--no-warn", "-k", release, *files],
        capture_output=True,
        text=True,
        check=False,
    )


class TestSchemas:
    @pytest.mark.parametrize("release", RELEASES)
    def test_every_object_is_valid(self, tools: Path, release: str) -> None:
        """`kubernetes-validate`, strictly: a misspelt field is a fault, not a silent nothing."""
        files = [p for p in (DEPLOY / "kubernetes").glob("*.yaml") if p.name != "kustomization.yaml"]
        done = _validate(tools, release, *files)
        assert done.returncode == 0, done.stdout + done.stderr

    def test_a_misspelt_field_is_found(self, tools: Path, tmp_path: Path) -> None:
        text = (DEPLOY / "kubernetes" / "service.yaml").read_text("utf-8")
        broken = tmp_path / "service.yaml"
        broken.write_text(text.replace("readOnlyRootFilesystem", "readOnlyRootFileSystem"), "utf-8")
        assert _validate(tools, RELEASES[-1], broken).returncode != 0

    def test_the_kustomization_names_every_file(self) -> None:
        named = dict(documents("kubernetes"))["kustomization.yaml"]["resources"]
        here = {p.name for p in (DEPLOY / "kubernetes").glob("*.yaml")} - {"kustomization.yaml"}
        assert set(named) == here - {"nightly-batch-spark.yaml"}


@pytest.mark.parametrize(("name", "container"), [pytest.param(n, c, id=n) for n, c in containers()])
class TestEachContainer:
    def test_it_is_locked_down(self, name: str, container: dict[str, Any]) -> None:
        """The "restricted" level of the Pod Security Standards, and a file system nobody writes to."""
        held = container["securityContext"]
        assert held["readOnlyRootFilesystem"] is True
        assert held["allowPrivilegeEscalation"] is False
        assert held["capabilities"] == {"drop": ["ALL"]}

    def test_it_has_limits(self, name: str, container: dict[str, Any]) -> None:
        for side in ("requests", "limits"):
            assert {"cpu", "memory"} <= set(container["resources"][side])

    def test_its_image_has_a_version(self, name: str, container: dict[str, Any]) -> None:
        assert container["image"].rpartition(":")[2] not in ("", "latest", container["image"])

    def test_its_command_line_exists(self, name: str, container: dict[str, Any]) -> None:
        accepted(container["args"])


@pytest.mark.parametrize(("name", "template"), [pytest.param(n, t, id=n) for n, t in pods()])
class TestEachPod:
    def test_it_runs_without_root(self, name: str, template: dict[str, Any]) -> None:
        held = template["spec"]["securityContext"]
        assert held["runAsNonRoot"] is True
        assert held["runAsUser"] > 10_000
        assert held["seccompProfile"] == {"type": "RuntimeDefault"}

    def test_a_network_policy_speaks_of_it(self, name: str, template: dict[str, Any]) -> None:
        labels = template["metadata"]["labels"].items()
        chosen = [
            p
            for p in of_kind("NetworkPolicy")
            if p["spec"]["podSelector"].get("matchLabels")
            and p["spec"]["podSelector"]["matchLabels"].items() <= labels
        ]
        assert chosen
        assert all("Egress" in policy["spec"]["policyTypes"] for policy in chosen)

    def test_every_volume_that_is_mounted_exists(self, name: str, template: dict[str, Any]) -> None:
        spec = template["spec"]
        volumes = {volume["name"] for volume in spec["volumes"]}
        for each in [*spec.get("initContainers", []), *spec["containers"]]:
            assert {mount["name"] for mount in each["volumeMounts"]} <= volumes
        maps = {each["metadata"]["name"] for each in of_kind("ConfigMap")}
        claims = {each["metadata"]["name"] for each in of_kind("PersistentVolumeClaim")}
        for volume in spec["volumes"]:
            if "configMap" in volume:
                assert volume["configMap"]["name"] in maps
            if "persistentVolumeClaim" in volume:
                assert volume["persistentVolumeClaim"]["claimName"] in claims


class TestService:
    def test_nobody_talks_to_anybody_by_default(self) -> None:
        assert any(
            policy["spec"] == {"podSelector": {}, "policyTypes": ["Ingress", "Egress"]}
            for policy in of_kind("NetworkPolicy")
        )

    def test_probes_ask_addresses_that_exist(self) -> None:
        container = of_kind("Deployment")[0]["spec"]["template"]["spec"]["containers"][0]
        with TestClient(create_app()) as client:
            for probe in ("startupProbe", "readinessProbe", "livenessProbe"):
                assert client.get(container[probe]["httpGet"]["path"]).status_code == 200
                assert container[probe]["httpGet"]["port"] in {p["name"] for p in container["ports"]}

    def test_settings_exist_and_hold_no_secret(self) -> None:
        data = next(m for m in of_kind("ConfigMap") if m["metadata"]["name"] == "weatherglass")["data"]
        settings = settings_in(data)
        assert settings.audit_required
        assert not any("SECRET" in name and not name.endswith("_FILE") for name in data)

    def test_the_policy_is_a_policy(self, tmp_path: Path) -> None:
        from weatherglass.policy import load_policy

        data = next(m for m in of_kind("ConfigMap") if m["metadata"]["name"] == "weatherglass-policy")["data"]
        file = tmp_path / "policy.toml"
        file.write_text(data["policy.toml"], "utf-8")
        assert load_policy(str(file)).choices.observation_set_window.total_seconds() == 15 * 60

    def test_selectors_find_the_pods(self) -> None:
        deployment = of_kind("Deployment")[0]
        labels = deployment["spec"]["template"]["metadata"]["labels"].items()
        assert deployment["spec"]["selector"]["matchLabels"].items() <= labels
        assert of_kind("Service")[0]["spec"]["selector"].items() <= labels
        assert of_kind("PodDisruptionBudget")[0]["spec"]["selector"]["matchLabels"].items() <= labels
        scaled = of_kind("HorizontalPodAutoscaler")[0]["spec"]["scaleTargetRef"]
        assert scaled["name"] == deployment["metadata"]["name"]

    def test_there_is_time_to_finish(self) -> None:
        """Before the cluster ends a pod: the pause for the proxies, then requests under way."""
        spec = of_kind("Deployment")[0]["spec"]["template"]["spec"]
        pause = int(
            spec["containers"][0]["lifecycle"]["preStop"]["exec"]["command"][-1].split("(")[1].rstrip(")")
        )
        assert spec["terminationGracePeriodSeconds"] > pause + settings_in({}).shutdown_seconds

    def test_bodies_fit_through_the_proxy_and_are_not_kept_there(self) -> None:
        notes = of_kind("Ingress")[0]["metadata"]["annotations"]
        size = notes["nginx.ingress.kubernetes.io/proxy-body-size"]
        assert int(size.removesuffix("m")) * 1024 * 1024 == settings_in({}).max_body_bytes
        assert notes["nginx.ingress.kubernetes.io/proxy-request-buffering"] == "off"

    def test_every_address_but_the_numbers_goes_through_the_proxy(self) -> None:
        paths = of_kind("Ingress")[0]["spec"]["rules"][0]["http"]["paths"]
        assert len({json.dumps(one["backend"]) for one in paths}) == 1

        def is_public(address: str) -> bool:
            return any(
                address == one["path"]
                or (one["pathType"] == "Prefix" and address.startswith(f"{one['path']}/"))
                for one in paths
            )

        described = create_app(settings_in({})).openapi()["paths"]
        inside = {
            "/static/page.css",
            "/demo/ward.json",
            "/view",
            "/",
            "/docs",
            "/openapi.json",
            "/health/live",
        }
        for address in {*described, *inside, "/notifications/Observation/1"} - {"/metrics"}:
            assert is_public(address), address
        assert not is_public("/metrics")

    def test_two_nights_never_run_at_once(self) -> None:
        assert of_kind("CronJob")
        for job in of_kind("CronJob"):
            assert job["spec"]["concurrencyPolicy"] == "Forbid"
            assert job["spec"]["jobTemplate"]["spec"]["activeDeadlineSeconds"]

    def test_everything_is_in_the_namespace(self) -> None:
        for each in objects():
            if each["kind"] != "Namespace":
                assert each["metadata"]["namespace"] == "weatherglass", each["metadata"]["name"]
