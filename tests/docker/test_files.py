"""The image, the cluster and the load balancer, as far as files can be checked without an engine or a network."""

from __future__ import annotations

import importlib
import json
import re
import runpy
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any
from urllib.request import urlopen

import pytest
import yaml

from rimpoise_service import __version__
from rimpoise_service.api.endpoints import plan_batch
from rimpoise_service.api.endpoints.document import ENDPOINTS
from rimpoise_service.api.http import endpoint
from rimpoise_service.api.http.problems import KINDS
from rimpoise_service.api.ops import arrival
from rimpoise_service.api.ops.settings import Settings, read_settings
from rimpoise_service.gunicorn_app import GunicornApp, Quiet, from_environment
from rimpoise_service.gunicorn_worker import PatientWorker
from tests.load.service import PATIENCE_S, running

FOLDER = Path(__file__).parents[2] / "docker"
DOCKERFILE = (FOLDER / "Dockerfile").read_text(encoding="utf-8")
COMPOSE = yaml.safe_load((FOLDER / "compose.yaml").read_text(encoding="utf-8"))
HAPROXY = (FOLDER / "haproxy.cfg").read_text(encoding="utf-8")
MANIFESTS = {
    each["kind"]: each
    for file in (FOLDER / "kubernetes").glob("*.yaml")
    for each in yaml.safe_load_all(file.read_text(encoding="utf-8"))
}
POD: dict[str, Any] = MANIFESTS["Deployment"]["spec"]["template"]["spec"]
(CONTAINER,) = POD["containers"]
USER = 10001


def tool(name: str) -> str:
    beside = Path(sys.executable).with_name(name)
    return str(beside) if beside.exists() else name


def test_the_dockerfile_passes_the_linter() -> None:
    """hadolint, whose rules are at its project's wiki (DL) and ShellCheck's (SC)."""
    found = subprocess.run([tool("hadolint"), str(FOLDER / "Dockerfile")], capture_output=True, text=True)
    assert (found.stdout, found.returncode) == ("", 0)


def test_the_last_stage_builds_nothing() -> None:
    last = DOCKERFILE[DOCKERFILE.rindex("FROM ") :]
    assert not re.search(r"pip|apt|gcc|build-essential", last)
    assert f"USER {USER}:{USER}" in last
    assert "HEALTHCHECK" in last


def test_what_the_balancer_says_itself_is_in_the_catalogue() -> None:
    """A type's title is the same whoever says it (RFC 9457, section 3.1.4)."""
    said = [json.loads(text) for text in re.findall(r"http-error status .* lf-string '(.*?)'", HAPROXY)]
    assert len(said) == HAPROXY.count("http-error status")
    known = {(kind.status, kind.type, kind.title) for kind in KINDS}
    assert {(each["status"], each["type"], each["title"]) for each in said} <= known


def normal(name: str) -> str:
    """A distribution's name as the packaging specification on names normalises it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_the_image_installs_exactly_what_is_pinned() -> None:
    """Every run-time dependency of the project file is pinned to a version."""
    pinned = {
        normal(line.partition("==")[0])
        for line in (FOLDER / "constraints.txt").read_text(encoding="utf-8").splitlines()
        if not line.startswith("#")
    }
    project = (FOLDER.parent / "pyproject.toml").read_text(encoding="utf-8")
    named = re.search(r"^dependencies = \[(.*?)^\]", project, re.DOTALL | re.MULTILINE)
    assert named
    assert {normal(name) for name in (*re.findall(r'"([a-z0-9.-]+)', named[1]), "redis")} <= pinned


def test_gunicorn_is_told_what_the_environment_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("RIMPOISE_WORKERS", "3")
    from_environment.cache_clear()
    reported = runpy.run_path(str(FOLDER / "gunicorn.conf.py"))
    assert (reported["workers"], reported["preload_app"]) == (3, True)
    assert reported["worker_class"] == f"{PatientWorker.__module__}.{PatientWorker.__name__}"
    assert reported["logger_class"] == f"{Quiet.__module__}.{Quiet.__name__}"
    monkeypatch.setenv("RIMPOISE_WORKERS", "none")
    from_environment.cache_clear()
    with pytest.raises(SystemExit, match="RIMPOISE_WORKERS must be"):
        runpy.run_path(str(FOLDER / "gunicorn.conf.py"))


def test_no_worker_is_replaced_for_how_much_it_has_answered() -> None:
    """Each replacement would be a stop."""
    cfg = GunicornApp(Settings()).cfg
    assert (cfg.max_requests, cfg.max_requests_jitter) == (0, 0)


def test_every_kind_of_manifest_is_there() -> None:
    kinds = {"Deployment", "Service", "HorizontalPodAutoscaler", "PodDisruptionBudget", "NetworkPolicy", "Ingress"}
    assert set(MANIFESTS) == kinds


@pytest.fixture(scope="module")
def validator() -> Any:
    """What holds a manifest against Kubernetes' schemas; it takes over a second to load."""
    return importlib.import_module("kubernetes_validate")


@pytest.mark.parametrize("kind", sorted(MANIFESTS))
def test_manifests_match_the_published_schemas(kind: str, validator: Any) -> None:
    """Kubernetes' own OpenAPI schemas, as the package ships them; strict: unknown fields are refused."""
    validator.validate(MANIFESTS[kind], "1.31", strict=True)


def test_the_checker_of_manifests_has_teeth(validator: Any) -> None:
    wrong = yaml.safe_load(yaml.safe_dump(MANIFESTS["Deployment"]))
    wrong["spec"]["replica"] = 2
    with pytest.raises(validator.ValidationError):
        validator.validate(wrong, "1.31", strict=True)


def test_the_selectors_meet_the_pods() -> None:
    labels = MANIFESTS["Deployment"]["spec"]["template"]["metadata"]["labels"].items()
    for kind, path in {
        "Deployment": ("selector", "matchLabels"),
        "Service": ("selector",),
        "PodDisruptionBudget": ("selector", "matchLabels"),
        "NetworkPolicy": ("podSelector", "matchLabels"),
    }.items():
        node = MANIFESTS[kind]["spec"]
        for step in path:
            node = node[step]
        assert node.items() <= labels, kind
    target = MANIFESTS["HorizontalPodAutoscaler"]["spec"]["scaleTargetRef"]
    assert "replicas" not in MANIFESTS["Deployment"]["spec"], "else a roll-out under load takes the others away"
    assert (target["kind"], target["name"]) == ("Deployment", MANIFESTS["Deployment"]["metadata"]["name"])


def test_the_pods_are_locked_down() -> None:
    """Kubernetes documentation, Pod Security Standards, profile "Restricted"; and a root that can't be written."""
    pod, container = POD["securityContext"], CONTAINER["securityContext"]
    assert pod["runAsNonRoot"] is True
    assert pod["seccompProfile"] == {"type": "RuntimeDefault"}
    assert pod["runAsUser"] == USER
    assert container["allowPrivilegeEscalation"] is False
    assert container["capabilities"] == {"drop": ["ALL"]}
    assert container["readOnlyRootFilesystem"] is True
    assert POD["automountServiceAccountToken"] is False


def test_the_probes_ask_what_is_there() -> None:
    requested = {
        CONTAINER[probe]["httpGet"]["path"] for probe in ("startupProbe", "readinessProbe", "livenessProbe")
    }
    annotations = MANIFESTS["Deployment"]["spec"]["template"]["metadata"]["annotations"]
    ports = {port["name"]: port["containerPort"] for port in CONTAINER["ports"]}
    assert annotations["prometheus.io/port"] == str(ports["operator"])
    with running(workers="1") as service:
        service.await_report()
        for path in (*requested, annotations["prometheus.io/path"]):
            urlopen(f"http://127.0.0.1:{service.operator}{path}", timeout=PATIENCE_S).close()
        for path in re.findall(r"option httpchk GET (\S+)", HAPROXY):
            urlopen(f"http://127.0.0.1:{service.port}{path}", timeout=PATIENCE_S).close()


def test_every_setting_in_the_files_is_one() -> None:
    of_image = dict(re.findall(r"(RIMPOISE_\w+)=(\S+)", DOCKERFILE))
    of_image["RIMPOISE_DRAIN_FILE"] = "/tmp/drain"  # noqa: S108 - a folder that is here too
    of_compose = COMPOSE["services"]["rimpoise"]["environment"]
    of_pod = {each["name"]: each["value"] for each in CONTAINER["env"]}
    for environ in (of_image, of_image | of_compose, of_image | of_pod):
        assert read_settings(environ).bind == "0.0.0.0:8080"


def test_there_is_time_to_leave() -> None:
    """Out of the balancers first, then gunicorn's grace, and only then the cluster's patience ends."""
    reported = CONTAINER["lifecycle"]["preStop"]["exec"]["command"][-1]
    drain = re.fullmatch(r"touch (\S+) && sleep (\d+)", reported)
    assert drain
    assert f"RIMPOISE_DRAIN_FILE={drain[1]}" in DOCKERFILE
    probe = CONTAINER["readinessProbe"]
    assert int(drain[2]) > probe["periodSeconds"] * probe["failureThreshold"] + probe["timeoutSeconds"]
    assert POD["terminationGracePeriodSeconds"] > int(drain[2]) + Settings().graceful_s
    patience = COMPOSE["services"]["rimpoise"]["stop_grace_period"]
    assert int(patience.removesuffix("s")) > Settings().graceful_s


def test_names_versions_and_ports_agree() -> None:
    image = f"rimpoise:{__version__}"
    assert COMPOSE["services"]["rimpoise"]["image"] == image
    assert re.fullmatch(r"\S+/rimpoise@sha256:[0-9a-f]{64}", CONTAINER["image"])  # what was tested is what runs
    assert [port["containerPort"] for port in CONTAINER["ports"]] == [8080, 8081]
    assert "EXPOSE 8080 8081" in DOCKERFILE
    assert "rimpoise:8080" in HAPROXY
    assert "rimpoise" in COMPOSE["services"]


def test_the_balancer_queues_what_the_workers_cannot_take() -> None:
    each = [Settings().threads, Settings().heavy, 1]
    found = [int(n) for n in re.findall(r"default-server .* maxconn (\d+)", HAPROXY)]
    assert found == [Settings().workers * n for n in each]
    connections = int(COMPOSE["services"]["rimpoise"]["environment"]["RIMPOISE_CONNECTIONS"])
    assert sum(found) <= Settings().workers * connections


def test_the_balancer_lets_through_what_the_service_takes_and_waits_for_what_it_can() -> None:
    buffer, *bounds = map(
        int, re.findall(r"(?:tune.bufsize|Length\),add\(0\) gt|req.body_size gt) (\d+)", HAPROXY)
    )
    assert bounds == [arrival.MAX_BODY, endpoint.MAX_BODY, endpoint.MAX_BODY, endpoint.MAX_BODY]
    assert buffer >= endpoint.MAX_BODY + arrival.MAX_HEAD


def test_the_worker_lets_through_what_any_operation_takes_and_the_balancer_knows_which_take_more() -> None:
    taken = {o.path: o.most_bytes for o in ENDPOINTS} | {"/v1/plans/batch": plan_batch.MAX_BODY}
    assert max(taken.values()) == arrival.MAX_BODY
    large = re.findall(r"acl large path,url_dec -m beg (.*)", HAPROXY)[0].split()
    assert {path for path, most in taken.items() if most > endpoint.MAX_BODY} <= set(large)
    assert all(o.heavy for o in ENDPOINTS if o.path in large)


def test_the_pods_may_ask_for_the_store_and_its_name_and_nobody_else() -> None:
    """A name server answers by UDP, and by TCP what is longer (RFC 7766, section 5)."""
    policy = MANIFESTS["NetworkPolicy"]["spec"]
    assert "Egress" in policy["policyTypes"]
    allowed = {
        (*rule["to"][0]["podSelector"]["matchLabels"].values(), port["protocol"], port["port"])
        for rule in policy["egress"]
        for port in rule["ports"]
    }
    assert allowed == {("kube-dns", "UDP", 53), ("kube-dns", "TCP", 53), ("rimpoise-store", "TCP", 6379)}
    assert all(len(rule["to"]) == 1 for rule in policy["egress"])


def test_the_image_says_what_is_in_it() -> None:
    """The bill of materials is made from what is installed, once all is, and goes into the image with it."""
    build, last = DOCKERFILE.split("\nFROM ")[-2:]
    made = re.search(r"cyclonedx-py environment .*?--output-file (/opt/rimpoise/\S+) (\S+)", build, re.DOTALL)
    assert made
    assert made.start() > build.rindex("/opt/rimpoise/bin/pip ")
    assert made[2] == "/opt/rimpoise/bin/python"
    assert "COPY --from=build /opt/rimpoise /opt/rimpoise" in last


def test_the_ingress_has_the_same_bound() -> None:
    annotations = MANIFESTS["Ingress"]["metadata"]["annotations"]
    bound = annotations["nginx.ingress.kubernetes.io/proxy-body-size"]
    assert int(bound.removesuffix("m")) * 1024 * 1024 == arrival.MAX_BODY


@pytest.mark.skipif(shutil.which("promtool") is None, reason="the machine has no promtool")
@pytest.mark.parametrize("check", [("check", "rules", "alerts.yaml"), ("test", "rules", "alerts.test.yaml")])
def test_the_alerts_fire_when_they_should(check: tuple[str, ...]) -> None:
    checked = subprocess.run(["promtool", *check], cwd=FOLDER, capture_output=True, text=True)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_the_alerts_look_at_what_there_is() -> None:
    rules = (FOLDER / "alerts.yaml").read_text(encoding="utf-8")
    with running(workers="1") as service:
        service.await_report()
        with urlopen(f"http://127.0.0.1:{service.operator}/metrics", timeout=PATIENCE_S) as answer:
            reported = set(re.findall(r"^# TYPE (\w+)", answer.read().decode(), re.MULTILINE))
    named = {re.sub("_(bucket|count)$", "", name) for name in re.findall(r"\brimpoise_\w+", rules)}
    assert named <= reported
    operations = {name for names in re.findall(r"operation[!=~]+\"([^\"]+)", rules) for name in names.split("|")}
    assert {"planFitting", "getReadiness"} <= operations <= {o.operation_id for o in ENDPOINTS}


@pytest.mark.skipif(shutil.which("haproxy") is None, reason="the machine has no HAProxy")
def test_the_balancer_understands_its_configuration() -> None:
    checked = subprocess.run(["haproxy", "-c", "-f", str(FOLDER / "haproxy.cfg")], capture_output=True, text=True)
    assert checked.returncode == 0
    assert "WARNING" not in checked.stderr
