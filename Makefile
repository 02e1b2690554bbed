# Two commands set everything up by themselves on a fresh machine with Python 3.11 or newer, git,
# make and apt-get:
#   make demo   run the main job on Alder Bench, and say where the report is
#   make test   run every check that CI runs
.DEFAULT_GOAL := help
.PHONY: help demo test check browser bench docs lock clean

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
APT := $(shell [ "$$(id -u)" = 0 ] || echo sudo) env DEBIAN_FRONTEND=noninteractive apt-get
LOCK := requirements/lock.txt
PIP_INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint $(LOCK)

help:
	@sed -n '2,4p' Makefile | sed 's/^# *//'

# A virtual environment with pip new enough for dependency groups.
$(BIN)/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' \
	  || { echo "Roofspring needs Python 3.11 or newer; name one with: make PYTHON=python3.12 demo"; exit 1; }
	@$(PYTHON) -c 'import ensurepip, venv' 2>/dev/null \
	  || { $(APT) update && $(APT) install -y python3-venv; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade 'pip>=25.1'

$(VENV)/installed: $(BIN)/python pyproject.toml $(LOCK)
	$(PIP_INSTALL) --editable .
	@touch $@

$(VENV)/installed-test: $(VENV)/installed
	$(PIP_INSTALL) --group test
	@touch $@

demo: $(VENV)/installed
	$(BIN)/roofspring demo alder-bench

# The browser that looks at the pages, a font for it, and a library that its driver is linked to.
BROWSER := chromium fonts-dejavu-core libatomic1
browser:
	@if [ "$$(dpkg-query -W -f '$${db:Status-Status}\n' $(BROWSER) 2>/dev/null | grep -cx installed)" \
	  -lt $(words $(BROWSER)) ]; then \
	  $(APT) update && $(APT) install -y --no-install-recommends $(BROWSER); \
	fi

test: $(VENV)/installed-test browser check
	CI=true $(BIN)/python -m pytest --numprocesses 2

check: $(VENV)/installed-test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports
	$(BIN)/mypy
	$(BIN)/deptry src

bench: $(VENV)/installed-test
	$(BIN)/python -m benchmarks

# Pages that are made from the code; a test compares them.
docs: $(VENV)/installed-test
	$(BIN)/python -m tests.docs.write

# The exact versions that CI uses, resolved anew from the ranges in pyproject.toml.
lock:
	rm -rf build/lock && $(PYTHON) -m venv build/lock
	build/lock/bin/python -m pip install --quiet --upgrade 'pip>=25.1'
	build/lock/bin/python -m pip install --quiet --group test --editable .
	build/lock/bin/python -m pip freeze --exclude-editable > $(LOCK)

clean:
	rm -rf $(VENV) build alder-bench .mypy_cache .ruff_cache .pytest_cache .hypothesis
