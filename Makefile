# make run    the coach on a bundled brief; the first time it sets up .venv
# make test   style, types, imports, tests; stops at the first that fails
# make test-all   what takes longer: terminals, browsers, many examples, other Pythons
#
# Another brief: make run BRIEF=shared/briefs/orchard-radio-tag.toml
# Another Python: make run PYTHON=python3.12

PYTHON ?= python3
BRIEF ?= shared/briefs/usb-bench-meter.toml
# Five sprints of different quality: name, brief, and how the simulated engineer is.
define SAMPLES
usb-bench-meter usb-bench-meter --seed 1
orchard-radio-tag orchard-radio-tag --seed 2 --pace 1.0 --forget 0
pump-driver-24v pump-driver-24v --seed 3 --pace 1.3 --forget 0.12 --bench 2
usb-bench-meter-hurried usb-bench-meter --seed 4 --pace 1.5 --forget 0.2
pump-driver-24v-given-up pump-driver-24v --seed 5 --pace 1.8 --forget 0.08
endef
export SAMPLES

# Where the packages go; test-all gives each other Python a place of its own.
VENV ?= .venv
WORKERS ?= 2
PYTHONS := 3.11 3.12 3.13

BIN := $(VENV)/bin
PIP := $(BIN)/python -m pip --quiet --disable-pip-version-check install
PINNED := $(PIP) --no-build-isolation --require-hashes
COMPILE := CUSTOM_COMPILE_COMMAND="make pins" build/pins/bin/pip-compile --quiet \
	--generate-hashes --strip-extras --allow-unsafe --no-annotate \
	--no-emit-index-url --no-emit-find-links --no-emit-trusted-host

# What could notice an older package: text and numbers read and written, journals, screens, pages.
WITH_LOWEST := tests/phases/kit tests/sprint/brief tests/sprint/journal tests/cli/test_calc.py \
	tests/cli/test_debrief.py tests/terminal/test_calculator.py tests/terminal/test_debrief.py \
	tests/bringup/test_printing.py tests/report/test_html.py tests/journeys/test_a_new_board.py

# Empty where PYTHON will do, else the one sentence that says what is missing (make puts the
# full stop). The module venv can be there without ensurepip, and is of no use then.
FAULT = $(shell \
	version=$$($(PYTHON) -c 'import sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null); \
	if [ -z "$$version" ]; then \
		echo "There is no $(PYTHON) here. Install Python 3.11 or newer, then make again"; \
	elif ! $(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then \
		echo "Python 3.11 or newer is needed, $(PYTHON) is $$version. Name a newer one: make PYTHON=python3.12"; \
	elif ! $(PYTHON) -c 'import ensurepip, venv' 2>/dev/null; then \
		echo "This Python has no venv module. Debian and Ubuntu: apt install python3-venv, then make again"; \
	fi)
UNFETCHED := { echo "The packages could not be installed, see above. Is the network there? Then make again." >&2; exit 2; }

.PHONY: run test test-all pytest bench calibrate samples picture wheel pins lowest clean

run: $(VENV)/ready-to-run
	@$(BIN)/coach sprint $(BRIEF)

test: $(VENV)/ready-to-test
	@$(BIN)/python -m tests.checks $(WORKERS)

# Nothing of what make test runs is run again here, but deeper, or on another Python.
test-all: $(VENV)/ready-to-test
	$(BIN)/pytest -n $(WORKERS) --dist worksteal --hypothesis-profile=long -m "long or deeper"
	@for version in $(PYTHONS); do \
		if $(BIN)/python -V | grep -q "^Python $$version\."; then \
			echo "Python $$version is the one of $(VENV): make test is its run."; \
		elif python$$version -c "" 2>/dev/null; then \
			$(MAKE) pytest PYTHON=python$$version VENV=build/python$$version || exit; \
		else \
			echo "There is no python$$version here: nothing was run on it."; \
		fi; \
	done
	@$(MAKE) lowest

# The tests alone.
pytest: $(VENV)/ready-to-test
	$(BIN)/pytest -n $(WORKERS) --dist worksteal

# Times measured on this machine, each against its floor: a table, and build/bench.json.
bench: $(VENV)/ready-to-test
	$(BIN)/pytest -m benchmark tests/benchmarks

# How good the forecasts are, over a thousand rehearsed sprints: a quarter of an hour.
calibrate: $(VENV)/ready-to-test
	$(BIN)/python -m tests.calibrate

# The pictures in README.md, drawn anew by the app.
picture: $(VENV)/ready-to-test
	$(BIN)/python -m tests.terminal.picture shared/pictures

# The sample journals in sessions/, rehearsed anew.
samples: $(VENV)/ready-to-run
	@rm -f sessions/sample-*.toml sessions/sample-*.lock
	@echo "$$SAMPLES" | while read -r name brief how; do \
		$(BIN)/python -m coach rehearse shared/briefs/$$brief.toml $$how \
			--journal sessions/sample-$$name.toml || exit; \
	done

wheel: $(VENV)/ready-to-test
	$(BIN)/python -m build --wheel --no-isolation

# Brings requirements/ in line with pyproject.toml; what is pinned there stays where it fits.
pins: $(VENV)/python-found
	$(BIN)/python -m venv build/pins
	build/pins/bin/pip --quiet install pip-tools==7.6.2
	$(COMPILE) --output-file requirements/build.txt requirements/build.in
	$(COMPILE) --extra report --output-file requirements/run.txt pyproject.toml
	$(COMPILE) --extra report --output-file requirements/dev.txt pyproject.toml requirements/dev.in

# A part of the tests with the lowest versions that pyproject.toml allows: some five minutes.
lowest: $(VENV)/ready-to-build
	rm -rf build/lowest
	$(BIN)/python -m venv build/lowest
	$(BIN)/python -m tests.shipped.lowest > build/lowest.txt
	build/lowest/bin/pip --quiet install --constraint build/lowest.txt \
		--requirement requirements/dev.in --editable '.[report]'
	build/lowest/bin/pytest -n $(WORKERS) -m "not benchmark" $(WITH_LOWEST)

# Everything made here goes; briefs, cards and journals stay.
clean:
	rm -rf .venv build dist .mypy_cache .pytest_cache .ruff_cache .import_linter_cache .hypothesis
	find coach phases tests -name __pycache__ -type d -prune -exec rm -rf {} +

# Each stamp says that a step was finished: a half-made .venv has none.

$(VENV)/python-found:
	$(if $(FAULT),$(error $(FAULT)))
	@echo "Setting up $(VENV), this once: about a minute."
	@$(PYTHON) -m venv $(VENV)
	@touch $@

$(VENV)/ready-to-build: $(VENV)/python-found requirements/build.txt
	@$(PINNED) -r requirements/build.txt || $(UNFETCHED)
	@touch $@

$(VENV)/ready-to-run: $(VENV)/ready-to-build requirements/run.txt pyproject.toml
	@$(PINNED) -r requirements/run.txt || $(UNFETCHED)
	@$(PIP) --no-build-isolation --no-deps --editable .
	@touch $@

$(VENV)/ready-to-test: $(VENV)/ready-to-run requirements/dev.txt
	@$(PINNED) -r requirements/dev.txt || $(UNFETCHED)
	@touch $@
