# The verbs a person and CI type. Everything is set up in .venv on first use.
PYTHON ?= python3
VENV := .venv
# Some machines forbid Python to keep what it compiled; then every one of the many short processes compiles all anew.
unexport PYTHONDONTWRITEBYTECODE
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: setup demo test linted tested endurance browser database kernels quick lint bench trial soak audit materials clean

setup: $(STAMP)

$(STAMP): pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check uv
	$(BIN)/uv pip install --quiet --python $(BIN)/python --editable '.[dev]'
	touch $(STAMP)

demo: $(STAMP)
	$(BIN)/python -m demo

lint: $(STAMP)
	$(BIN)/ruff check src tests benchmarks soak materials demo
	$(BIN)/ruff format --check src tests benchmarks soak materials demo
	$(BIN)/mypy
	$(BIN)/lint-imports

# Linters and tests need nothing of each other; the linters give way, so that they fill what the tests leave of the cores.
test: $(STAMP)
	@$(MAKE) --no-print-directory --jobs 3 linted tested

linted:
	@nice -n 4 $(MAKE) --no-print-directory lint

# Two workers that met the kernels cold would each compile them all.
tested: kernels browser
	$(BIN)/python -m pytest -n 2 -m "not endurance"

kernels: $(STAMP)
	$(BIN)/python -m tests.compile_kernels

# Long runs by nature: the virtual range, many kills, a real database server, load.
endurance: browser database
	$(BIN)/python -m tests.compile_kernels range
	$(BIN)/python -m pytest -n 2 -m endurance

# The page's own tests drive Debian's Chromium; where it may not be installed they are left out, and say so.
browser: $(STAMP)
	@sh tests/web/get-browser.sh

# The tests of benches on a server start Debian's PostgreSQL; where it may not be installed they are left out, and say so.
database:
	@sh tests/web/get-database.sh

quick: browser
	$(BIN)/python -m pytest -n 2 -m "not slow and not endurance"

bench: $(STAMP)
	$(BIN)/python -m benchmarks

trial: $(STAMP)
	$(BIN)/python -m benchmarks.virtual_range --page docs/proof.md

soak: $(STAMP)
	$(BIN)/python -m soak --page docs/reliability.md

# Needs the network; without it, it says so and goes on.
audit: $(STAMP)
	$(BIN)/python -m materials.audit

materials: $(STAMP)
	$(BIN)/python -m materials.bill

clean:
	rm -rf $(VENV) out build dist .mypy_cache .ruff_cache .pytest_cache
