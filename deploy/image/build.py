"""Build the OCI image without an image registry: Debian packages, locked wheels, our wheel.

    python deploy/image/build.py [--once] [--new-lock] [--sources FILE]

Wants root and Debian's `mmdebstrap` and `umoci`. Packages come from where this machine's own apt takes
them, or from a sources file that is given, as of a dated snapshot of Debian; packages.lock names their
versions and no address. Two builds must give one digest. Writes dist/image (an OCI layout),
dist/image-bom.json (CycloneDX).
"""

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from functools import cache
from importlib.metadata import distributions
from pathlib import Path

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
LOCK = HERE / "packages.lock"
#: What the image needs beside Debian's essential packages.
INCLUDE = "python3,ca-certificates,tzdata"
SITE = "opt/weatherglass/lib/python3.11/site-packages"
_STATE = "var/cache var/log var/lib/apt etc/apt/sources.list.d etc/apt/sources.list tmp run etc/hostname"
_UNREAD = ("doc", "man", "info", "locale", "lintian", "bug")
_PIP = ("-m", "pip", "--quiet", "--no-input", "--disable-pip-version-check")


def run(*command: str | Path, **more: str) -> str:
    """Run a command; return what it printed, or end with what it complained of."""
    done = subprocess.run(command, capture_output=True, text=True, env={**os.environ, **more}, check=False)
    if done.returncode:
        sys.exit(f"{command[0]}: {done.stderr[-3000:]}")
    return done.stdout


@cache
def epoch() -> str:
    """Return the second of the last commit, read once: every time in the image is this or earlier."""
    return run("git", "-C", ROOT, "log", "-1", "--format=%ct").strip()


def debian_sources() -> Path:
    """Return this machine's own list of Debian's packages."""
    folder = Path("/etc/apt/sources.list.d")
    for file in (folder / "debian.sources", Path("/etc/apt/sources.list")):
        if file.exists() and file.read_text().strip():
            return file
    sys.exit("This machine's apt names no Debian packages.")


def root_file_system(root: Path, sources: Path) -> None:
    """Lay out Debian's essential packages and Python; leave out what nobody reads in a container."""
    unread = [f"--dpkgopt=path-exclude=/usr/share/{name}/*" for name in _UNREAD]
    kept = "--dpkgopt=path-include=/usr/share/doc/*/copyright"
    run(
        "mmdebstrap", "--variant=essential", "--mode=root", f"--include={INCLUDE}", *unread, kept,
        "bookworm", root, sources, SOURCE_DATE_EPOCH=epoch(),
    )  # fmt: skip


def packages(root: Path) -> list[str]:
    """Return 'name=version architecture' of every Debian package, sorted."""
    shown = "${Package}=${Version} ${Architecture}\\n"
    return sorted(run("dpkg-query", f"--admindir={root}/var/lib/dpkg", "-W", "-f", shown).splitlines())


def as_locked(found: list[str], renew: bool) -> None:
    """Refuse packages that are not those of the lock, by name; or write the lock anew."""
    if renew:
        LOCK.write_text("\n".join(found) + "\n")
    missing = set(LOCK.read_text().splitlines()) ^ set(found)
    if missing:
        sys.exit(f"Not as in {LOCK.name} (read the change, then --new-lock): {', '.join(sorted(missing))}")


def the_service(root: Path) -> None:
    """Lay out the locked wheels and our wheel as the Containerfile does: /opt/weatherglass."""
    home, site = root / "opt/weatherglass", root / SITE
    (home / "bin").mkdir(parents=True)
    with tempfile.TemporaryDirectory() as dist:
        run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", dist, SOURCE_DATE_EPOCH=epoch())
        install = (*_PIP, "install", "--no-deps", "--no-compile", "--target", str(site))
        run(sys.executable, *install, "--only-binary=:all:", "--require-hashes", "-r", ROOT / "locks/run.txt")
        run(sys.executable, *install, "--no-index", *Path(dist).glob("*.whl"))
    forget_the_builder(site)
    (home / "pyvenv.cfg").write_text("home = /usr/bin\ninclude-system-site-packages = false\n")
    for name in ("python", "python3"):
        (home / "bin" / name).symlink_to("/usr/bin/python3")
    command = home / "bin/weatherglass"
    command.write_text(
        "#!/opt/weatherglass/bin/python\nimport sys\nfrom weatherglass.__main__ import main\nsys.exit(main())\n"
    )
    command.chmod(0o755)
    run("chroot", root, "python3", "-m", "compileall", "-q", "--invalidation-mode=unchecked-hash", f"/{SITE}")
    (root / "data").mkdir(mode=0o700)
    os.chown(root / "data", 10001, 10001)


def forget_the_builder(site: Path) -> None:
    """Take away what names the machine that built: scripts, and where a wheel came from."""
    shutil.rmtree(site / "bin", ignore_errors=True)
    for record in site.glob("*.dist-info/RECORD"):
        lines = [line for line in record.read_text().splitlines() if "direct_url.json" not in line]
        record.write_text("\n".join(sorted(line for line in lines if "../bin/" not in line)) + "\n")
    for named in site.glob("*.dist-info/direct_url.json"):
        named.unlink()


def forget_the_day(root: Path) -> None:
    """Empty what differs from day to day and names where the packages came from."""
    for name in _STATE.split():
        path = root / name
        if path.is_dir():
            shutil.rmtree(path)
            path.mkdir()
        else:
            path.unlink(missing_ok=True)
    (root / "tmp").chmod(0o1777)
    (root / "etc/resolv.conf").unlink(missing_ok=True)
    for old in root.glob("var/lib/dpkg/*-old"):
        old.unlink()
    for compiled in root.glob("usr/**/__pycache__"):
        shutil.rmtree(compiled)
    (root / "etc/machine-id").write_text("")
    for kept in (root / "etc/apt/apt.conf.d").glob("*mmdebstrap"):
        kept.unlink()


def laid_out(root: Path, layout: Path) -> str:
    """Pack the file system as one layer of an OCI layout; return the digest of the manifest."""
    layer, image, when = layout.with_suffix(".tar"), f"{layout}:latest", _iso(epoch())
    run(
        "tar", "--create", "--file", layer, "--sort=name", f"--mtime=@{epoch()}", "--numeric-owner",
        "--format=gnu", "--one-file-system", "--directory", root, ".",
    )  # fmt: skip
    run("umoci", "init", "--layout", layout)
    run("umoci", "new", "--image", image)
    run("umoci", "raw", "add-layer", "--image", image, f"--history.created={when}", layer)
    layer.unlink()
    path = "/opt/weatherglass/bin:/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
    settings = (f"PATH={path}", "PYTHONDONTWRITEBYTECODE=1", "PYTHONUNBUFFERED=1")
    command = ("serve", "--host", "0.0.0.0", "--port", "8080")
    run(
        "umoci", "config", "--image", image, f"--created={when}", f"--history.created={when}",
        "--architecture=amd64", "--os=linux", "--author=weatherglass", "--history.author=weatherglass",
        "--config.user=10001:10001", "--config.workingdir=/tmp", "--config.exposedports=8080/tcp",
        "--config.stopsignal=SIGTERM", "--config.entrypoint=weatherglass",
        *(f"--config.env={each}" for each in settings), *(f"--config.cmd={each}" for each in command),
    )  # fmt: skip
    run("umoci", "gc", "--layout", layout)
    return str(json.loads((layout / "index.json").read_text())["manifests"][0]["digest"])


def _iso(second: str) -> str:
    return run("date", "--utc", f"--date=@{second}", "+%Y-%m-%dT%H:%M:%SZ").strip()


def bill(root: Path, debian: list[str]) -> dict[str, object]:
    """Return what the image is made of, as CycloneDX."""
    found = []
    for each in debian:
        name, _, rest = each.partition("=")
        found.append((name, rest.split()[0], f"pkg:deb/debian/{name}@{rest.split()[0]}"))
    for wheel in distributions(path=[str(root / SITE)]):
        name = wheel.metadata["Name"].lower()
        found.append((name, wheel.version, f"pkg:pypi/{name}@{wheel.version}"))
    parts = [{"type": "library", "name": n, "version": v, "purl": p} for n, v, p in sorted(found)]
    return {"bomFormat": "CycloneDX", "specVersion": "1.5", "version": 1, "components": parts}


def build(layout: Path, sources: Path, renew: bool) -> tuple[str, dict[str, object], int]:
    """Build once; return digest, bill of materials and bytes unpacked."""
    with tempfile.TemporaryDirectory(prefix="image-") as folder:
        root = Path(folder) / "root"
        root_file_system(root, sources)
        root.chmod(0o755)
        debian = packages(root)
        as_locked(debian, renew)
        the_service(root)
        forget_the_day(root)
        size = sum(f.lstat().st_size for f in root.rglob("*") if f.is_file() and not f.is_symlink())
        return laid_out(root, layout), bill(root, debian), size


def main() -> None:
    """Build, build again, compare, and say what came out."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--once", action="store_true", help="do not build a second time to compare")
    asked.add_argument("--new-lock", action="store_true", help="write the versions found here as the lock")
    asked.add_argument("--sources", type=Path, help="apt sources to take, as of a dated snapshot of Debian")
    told = asked.parse_args()
    missing = [name for name in ("mmdebstrap", "umoci") if not shutil.which(name)]
    if missing or os.getuid() != 0:
        sys.exit(f"Wants root, and from Debian: {', '.join(missing) or 'nothing more'}.")
    sources = told.sources.resolve() if told.sources else debian_sources()
    os.chdir(ROOT)
    layout = ROOT / "dist/image"
    shutil.rmtree(layout, ignore_errors=True)
    layout.parent.mkdir(exist_ok=True)
    digest, parts, size = build(layout, sources, told.new_lock)
    (ROOT / "dist/image-bom.json").write_text(json.dumps(parts, indent=1) + "\n")
    for part in parts["components"]:  # type: ignore[attr-defined]
        print(part["name"], part["version"])
    packed = sum(f.stat().st_size for f in layout.rglob("*") if f.is_file())
    print(f"{packed / 1e6:.1f} MB packed, {size / 1e6:.1f} MB unpacked; {digest}")
    if not told.once:
        with tempfile.TemporaryDirectory() as folder:
            again = build(Path(folder) / "image", sources, False)[0]
        if again != digest:
            sys.exit(f"Not reproducible: the second build is {again}.")
        print("A second build gave the same digest.")


if __name__ == "__main__":
    main()
