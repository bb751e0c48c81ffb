# Two commands: `make demo` and `make test`. Each makes its own environment first; nothing else is needed.
PYTHON ?= python3
VENV ?= .venv
EXAMPLE := examples/2026-05-03-skelby-sands

ifeq ($(OS),Windows_NT)
BIN := $(VENV)/Scripts
else
BIN := $(VENV)/bin
endif
STAMP := $(VENV)/.installed

.PHONY: demo test lint audit advisories constraints spelt clean

demo: $(STAMP)
	$(BIN)/episode make $(EXAMPLE)

test: $(STAMP) lint
	$(BIN)/python -m pytest --numprocesses auto --dist loadfile

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/episode vocab lint

$(STAMP): pyproject.toml constraints.txt
	$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11) and "Python 3.11 or newer is needed: make PYTHON=python3.11 demo")'
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --constraint constraints.txt --editable '.[weights,test]'
	$(BIN)/python -c 'import pathlib; pathlib.Path("$(STAMP)").touch()'

# Known vulnerabilities, licences, and a bill of materials (bom.json). Its tools get an environment of their own.
audit: $(STAMP)
	$(BIN)/python tests/campaign/dependencies.py licences
	$(BIN)/python tests/campaign/dependencies.py materials
	$(MAKE) advisories

advisories: $(STAMP)
	$(BIN)/python tests/campaign/dependencies.py advisories

# Today's versions, so that they can be had again.
constraints: $(STAMP)
	$(BIN)/python -m pip freeze --exclude-editable --exclude pip --exclude setuptools > constraints.txt

# Sounds of the vocabulary's words by their letters; after a change to the terms or to the tables of sounds.
spelt: $(STAMP)
	$(BIN)/python -m tests.lexicon.test_spelt > spelt.csv.new && mv spelt.csv.new vocab/sounds/spelt.csv

clean:
	rm -rf $(VENV) .venv-audit bom.json $(EXAMPLE)/out .pytest_cache .mypy_cache .ruff_cache .hypothesis dist build
