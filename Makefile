# Everything a person does here. `make` alone lists it; each target works alone on a fresh clone.
.DEFAULT_GOAL := help
.NOTPARALLEL:
.DELETE_ON_ERROR:

VENV := .venv
PY := $(VENV)/bin/python
CONSTRAINTS := docker/constraints.txt
PIP := $(PY) -m pip --disable-pip-version-check --quiet --no-input
# The first of these that is new enough; `make PYTHON=/some/python3 ...` overrules it.
PYTHON ?= $(firstword $(foreach p,python3.11 python3,$(shell $(p) -c \
	'import sys; sys.version_info >= (3, 11) and print("$(p)")' 2>/dev/null)))
NEW_ENOUGH = $(or $(PYTHON),false) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || { echo \
	"make: Python 3.11 or newer is needed$(if $(PYTHON), and $(PYTHON) is not); name one: make PYTHON=/path/to/python3" >&2; exit 1; }

# Tests run on every core; who is done takes over what others have not begun.
QUICK := not slow and not live and not nginx and not fuzz and not office and not browser and not stock
PARALLEL := -n auto --dist worksteal
# Processes that tests start, and the tests themselves as pytest rewrites them, are compiled once.
unexport PYTHONDONTWRITEBYTECODE

# What some targets take from the command line.
T ?= tests
SHOP ?=
LOG ?=
AGAINST ?= HEAD
SEED ?= 1
COUNT ?= 4000
MARKDOWN ?=

# One stamp file per set of packages: `run` needs fewer than `test`. All are renewed when a pin changes.
HAVE_RUN := $(VENV)/.have-run
HAVE_TEST := $(VENV)/.have-test
HAVE_LINT := $(VENV)/.have-lint
HAVE_FUZZ := $(VENV)/.have-fuzz
HAVE_BROWSER := $(VENV)/.have-browser

$(HAVE_RUN): pyproject.toml $(CONSTRAINTS)
	@$(NEW_ENOUGH)
	@echo "make: preparing $(VENV) with $(PYTHON)"
	@test -x $(PY) || $(PYTHON) -m venv $(VENV)
	@$(PIP) install -c $(CONSTRAINTS) setuptools
	@$(PIP) install -c $(CONSTRAINTS) --no-build-isolation -e .
	@touch $@

$(VENV)/.have-%: $(HAVE_RUN)
	@echo "make: adding the packages for '$*'"
	@$(PIP) install -c $(CONSTRAINTS) --no-build-isolation -e '.[$*]'
	@touch $@

##@ Run
.PHONY: help install run quote check-shop bench

help: ## this list
	@awk 'BEGIN {FS = ":.*## "} /^##@ / {printf "\n%s\n", substr($$0, 5)} \
		/^[a-z-]+:.*## / {printf "  make %-14s %s\n", $$1, $$2}' Makefile

install: $(HAVE_RUN) $(HAVE_TEST) $(HAVE_LINT) $(HAVE_FUZZ) $(HAVE_BROWSER) ## put every pinned package into .venv

run: $(HAVE_RUN) ## serve on http://127.0.0.1:8000 (HOST, PORT, WEB_CONCURRENCY, CHEQUERWORK_SHOPS)
	@$(PY) -m chequerwork serve

quote: $(HAVE_RUN) ## print a readable quote of the example order, without a server
	@$(PY) -m chequerwork quote

check-shop: $(HAVE_RUN) ## check a shop file, all its mistakes at once: make check-shop SHOP=my_shop.toml (LOG=hours.csv)
	@test -n "$(SHOP)" || { echo "make: name the file: make check-shop SHOP=my_shop.toml" >&2; exit 2; }
	@$(PY) -m chequerwork check-shop "$(SHOP)" $(if $(LOG),--log "$(LOG)")

bench: $(HAVE_RUN) ## cost of each endpoint as a ratio to a plain route, on this machine
	@$(PY) tests/bench/bench.py

##@ Check
.PHONY: check quick test live fuzz stock-check compare lint format types image-check proxy-check office-check
.PHONY: browser-check

check: lint types test openapi-check ## what must be green before a commit: lint, types, tests, contract

quick: $(HAVE_TEST) ## tests without the slow ones and the server, in less than a minute; narrow with T=tests/domain
	@$(PY) -m pytest $(PARALLEL) -m "$(QUICK)" $(T)

test: $(HAVE_TEST) ## all tests that need only Python; narrow with T=tests/domain
	@$(PY) -m pytest $(PARALLEL) $(T)

live: $(HAVE_TEST) ## tests against the real server alone (CHEQUERWORK_URL=... for one that runs already)
	@$(PY) -m pytest -m live tests/live

fuzz: $(HAVE_TEST) $(HAVE_FUZZ) ## generated requests from the contract against the real server
	@$(PY) -m pytest -m fuzz -s tests/live

stock-check: $(HAVE_TEST) ## stock plans against a second solver, everything tried, and published cases: the long part
	@$(PY) -m pytest $(PARALLEL) -m stock tests/reference

compare: $(HAVE_RUN) ## random requests to an old commit and to this tree, every difference: make compare AGAINST=v1.0 (SEED, COUNT, MARKDOWN=1)
	@PYTHONPATH=tests $(PY) -m compare.main "$(AGAINST)" --seed "$(SEED)" --count "$(COUNT)" $(if $(MARKDOWN),--markdown)

lint: $(HAVE_LINT) ## style of code, YAML, Dockerfile and compose file
	@$(PY) -m ruff check .
	@$(PY) -m ruff format --check .
	@$(PY) -m yamllint --strict -c docker/yamllint.yaml docker openapi
	@$(VENV)/bin/hadolint docker/Dockerfile
	@$(PY) docker/compose_check.py > $(VENV)/compose.yaml
	@$(VENV)/bin/compose-lint check --config docker/compose-lint.yaml --strict-config --fail-on low \
		--skip-suppressed $(VENV)/compose.yaml

format: $(HAVE_LINT) ## write the code in the house style
	@$(PY) -m ruff check --fix .
	@$(PY) -m ruff format .

types: $(HAVE_LINT) $(HAVE_TEST) ## static types, strict
	@$(PY) -m mypy

image-check: ## replay the image's steps without a container engine, then ask it for a quote
	@$(NEW_ENOUGH)
	@$(PYTHON) docker/image_check.py

proxy-check: $(HAVE_TEST) ## two instances behind the real proxy (needs the nginx program)
	@$(PY) -m pytest -m nginx tests/live

office-check: $(HAVE_TEST) ## price lists and files of cells in a real spreadsheet program (needs LibreOffice Calc)
	@$(PY) -m pytest -m office tests/live

browser-check: $(HAVE_TEST) $(HAVE_BROWSER) ## the reference and a shop's page in a real browser (needs Chromium and its driver)
	@$(PY) -m pytest -m browser tests/live

##@ Contract
.PHONY: openapi openapi-check validity

validity: $(HAVE_TEST) ## write service/VALIDITY.md: how well every formula agrees with what is printed
	@PYTHONPATH=tests $(PY) -m reference.validity

openapi: $(HAVE_RUN) ## write openapi/openapi.yaml and its examples from the code
	@$(PY) -m chequerwork openapi

openapi-check: $(HAVE_TEST) ## fail if the committed contract differs from the code or is not valid
	@$(PY) -m pytest $(PARALLEL) tests/contract

##@ Care
.PHONY: lock clean

lock: ## renew docker/constraints.txt from pyproject.toml in a clean environment
	@$(NEW_ENOUGH)
	@PYTHON="$(PYTHON)" sh docker/lock.sh

clean: ## remove what these commands made
	@rm -rf $(VENV) build dist service/*.egg-info .pytest_cache .mypy_cache .ruff_cache .hypothesis .schemathesis
	@find . -name __pycache__ -type d -prune -exec rm -rf {} +
