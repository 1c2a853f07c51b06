# Two commands do all the set-up on a fresh machine: `make demo` and `make test`. Both build .venv/ first.
PYTHON ?= python3
BIN := .venv/bin
INSTALL := $(BIN)/python -m pip install --quiet --disable-pip-version-check
EXAMPLES := src/stillbore/examples
EXAMPLE := $(EXAMPLES)/service.toml
OUT := out/J-0001

.PHONY: demo app test lint published bench torture studies schemas clean
WEB := src/stillbore/app/web/service-worker.js
# What the app for the browser is made of: our own package is packed into it.
WEB_FROM := $(wildcard web/*.* web/.npmrc) $(shell find src/stillbore -type f -not -path '*/app/web/*' -not -name '*.pyc')

demo: .venv/.documents  ## plan the example service, do its job from a file, leave a sealed record, verify it
	rm -rf $(OUT)
	$(BIN)/stillbore plan $(EXAMPLE) --html $(OUT)/pack.html --pdf $(OUT)/pack.pdf --sheet $(OUT)/sheet.pdf
	for person in P1 P2; do $(BIN)/stillbore keys new $$person --secret $(OUT)/keys/$$person.secret \
	  --words-file $(EXAMPLES)/evidence/$$person.words --list $(OUT)/keys/keys.toml || exit 1; done
	$(BIN)/stillbore keys device D1 --store $(OUT)/jobs.db --list $(OUT)/keys/keys.toml
	$(BIN)/stillbore run --store $(OUT)/jobs.db replay $(EXAMPLES)/job.run --set KEYS=$(OUT)/keys --quiet
	$(BIN)/stillbore record export $(OUT)/record --store $(OUT)/jobs.db --html $(OUT)/record.html --pdf $(OUT)/record.pdf
	$(BIN)/stillbore record show $(OUT)/record
	$(BIN)/stillbore record verify $(OUT)/record --keys $(OUT)/keys/keys.toml

app: .venv/.app $(WEB)  ## open the app on this machine, and for tablets at /tablet
	mkdir -p out
	$(BIN)/stillbore serve --store out/jobs.db

test: lint $(WEB) .venv/.chromium  ## every test; those of the app in a real browser
	$(BIN)/python -m pytest -n auto --dist loadfile --no-loadscope-reorder

lint: .venv/.test
	$(BIN)/ruff check src tests bench studies

published: .venv/.test  ## what every formula is checked against
	$(BIN)/stillbore published

bench: .venv/.test $(WEB) .venv/.chromium  ## speed, as ratios to floors measured in the same run
	$(BIN)/python bench/bench.py

torture: .venv/.test  ## the store under killed writers, full disks, lost and torn tails; prints the counts (some minutes)
	$(BIN)/python tests/store/torture.py

studies: .venv/.test  ## how often the judges are wrong, over many virtual rigs; writes studies/*.md
	$(BIN)/python studies/hold.py --write
	$(BIN)/python studies/letby.py --write
	$(BIN)/python studies/trace.py --write
	$(BIN)/python studies/watch.py --write
	$(BIN)/python studies/locate.py --write

schemas: .venv/.documents  ## write docs/schemas/ anew, from the loaders' and the types' own descriptions
	$(BIN)/python -m stillbore.cli.json_schema docs/schemas

clean:
	rm -rf .venv out build dist web/node_modules src/stillbore/app/web

.venv/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Python 3.11 or newer is needed; say which with: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 1; }
	$(PYTHON) -m venv .venv

.venv/.documents: pyproject.toml | .venv/bin/python
	$(INSTALL) -e '.[documents,records]'
	touch $@

.venv/.test: pyproject.toml | .venv/bin/python
	$(INSTALL) -e '.[test]'
	touch $@ .venv/.documents .venv/.app

.venv/.app: pyproject.toml | .venv/bin/python
	$(INSTALL) -e '.[app,documents,records]'
	touch $@

$(WEB): $(WEB_FROM) | .venv/.app .venv/.node
	cd web && npm ci --ignore-scripts --no-audit --no-fund --silent
	$(BIN)/python web/build.py

# Installed where that may be done; else said, and what needs it fails.
.venv/.node: | .venv/bin/python
	command -v npm >/dev/null || { apt-get update -qq && apt-get install -qq -y nodejs npm; } || \
	  { echo "Node.js with npm is needed to build the app for the browser"; exit 1; }
	touch $@

.venv/.chromium: | .venv/bin/python
	command -v chromium >/dev/null || command -v google-chrome >/dev/null || \
	  { apt-get update -qq && apt-get install -qq -y chromium; } || \
	  { echo "A Chromium is needed to test the app"; exit 1; }
	command -v certutil >/dev/null || apt-get install -qq -y libnss3-tools || \
	  echo "Without certutil (libnss3-tools) it is not tried whether Chromium trusts the depot's authority"
	touch $@
