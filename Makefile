# Two commands do all the set-up on a fresh machine: `make demo` and `make test`. Both build .venv/ first.
PYTHON ?= python3
BIN := .venv/bin
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check
EXAMPLE := src/stillbore/examples/service.toml
OUT := out/J-0001

.PHONY: demo test lint published bench studies schemas clean

demo: .venv/.documents  ## plan the example service; print it; write the pack
	$(BIN)/stillbore plan $(EXAMPLE) --html $(OUT)/pack.html --pdf $(OUT)/pack.pdf --sheet $(OUT)/sheet.pdf

test: lint  ## every test
	$(BIN)/python -m pytest

lint: .venv/.test
	$(BIN)/ruff check src tests bench studies

published: .venv/.test  ## what every formula is checked against
	$(BIN)/stillbore published

bench: .venv/.test  ## speed, as ratios to floors measured in the same run
	$(BIN)/python bench/bench.py

studies: .venv/.test  ## how often the judges are wrong, over many virtual rigs; writes studies/*.md
	$(BIN)/python studies/hold.py --write
	$(BIN)/python studies/hold.py --fuller --count 1000 --seed 20260505 --write
	$(BIN)/python studies/letby.py --count 2000 --write
	$(BIN)/python studies/trace.py --write
	$(BIN)/python studies/locate.py --write

schemas: .venv/.documents  ## write docs/schemas/ anew, from the loaders' and the types' own descriptions
	$(BIN)/python -m stillbore.run.json_schema docs/schemas

clean:
	rm -rf .venv out build dist

.venv/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Python 3.11 or newer is needed; say which with: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 1; }
	$(PYTHON) -m venv .venv

.venv/.documents: pyproject.toml | .venv/bin/python
	$(INSTALL) -e '.[documents]'
	touch $@

.venv/.test: pyproject.toml | .venv/bin/python
	$(INSTALL) -e '.[test]'
	touch $@ .venv/.documents
