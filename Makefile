# Two commands do all the set-up on a fresh machine: `make demo` and `make test`. Both build .venv/ first.
PYTHON ?= python3
BIN := .venv/bin

.PHONY: demo test lint published bench clean

.venv/.documents: pyproject.toml
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[documents]'
	touch $@

.venv/.test: pyproject.toml
	test -x $(BIN)/python || $(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	touch $@ .venv/.documents

test: lint
	$(BIN)/python -m pytest

lint: .venv/.test
	$(BIN)/ruff check src tests

published: .venv/.test
	$(BIN)/python -m stillbore published

clean:
	rm -rf .venv out build dist
