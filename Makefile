# Each target sets up what it needs; on a bare Debian or Ubuntu only Python 3.11 and make must be there.
PYTHON ?= python3
BIN := .venv/bin

# Settings under which the open internet is checked; the key is thrown away.
AS_IN_PRODUCTION = env DJANGO_SETTINGS_MODULE=foraywright.settings.production SECRET_KEY=$$(head -c 60 /dev/urandom | base64 -w0) \
	ALLOWED_HOSTS=walks.example.org SITE_ADDRESS=https://walks.example.org EMAIL_URL=smtp://localhost:25 \
	DATABASE_URL=postgres://foraywright@127.0.0.1/foraywright SEALING_KEYS=$$(head -c 32 /dev/urandom | base64 | tr +/ -_)

.PHONY: help setup run test test-postgres lint slow bench facts-report pictures locks clean

help:
	@echo "make run            the site with a demo season, on http://127.0.0.1:8000"
	@echo "make test           all tests but the long ones; make slow runs those"
	@echo "make test-postgres  the tests that hang on the database, on PostgreSQL"
	@echo "make lint           style, types, import directions, migrations, deployment"
	@echo "make facts-report   how much of the accounts is recorded, and what stands without a source"
	@echo "make bench          how long the heavy parts take, as ratios within one run"
	@echo "make pictures       the pictures of the README"
	@echo "make setup | locks | clean"

# The checks of the system are said once, by the command that serves.
setup:
	@$(PYTHON) tools/setup.py run
	@install -d -m 700 "$${VAR_DIR:-var}"  # bookings and the key that opens them
	@$(BIN)/python manage.py migrate -v 0 --skip-checks
	@$(BIN)/python manage.py load_demo --skip-checks

run: setup
	@exec $(BIN)/python manage.py serve

test:
	@$(PYTHON) tools/setup.py test
	@$(PYTHON) tools/suite.py -n auto -q

slow:
	@$(PYTHON) tools/setup.py test
	@$(PYTHON) tools/suite.py -n auto -q -m slow

test-postgres:
	@$(PYTHON) tools/setup.py test
	@$(PYTHON) tools/on_postgres.py $(PYTHON) tools/suite.py -n auto -q -m "database and not slow"

lint:
	@$(PYTHON) tools/setup.py lint
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	find templates -name '*.html' -print0 | xargs -0 -r $(BIN)/djade --target-version 5.2 --check
	$(BIN)/mypy
	$(BIN)/lint-imports
	env DJANGO_SETTINGS_MODULE=foraywright.settings.test $(BIN)/python manage.py makemigrations --check --dry-run
	$(AS_IN_PRODUCTION) $(BIN)/python manage.py check --deploy --fail-level WARNING

facts-report: setup
	@$(BIN)/python manage.py facts_report --skip-checks

bench:
	@$(PYTHON) tools/setup.py test
	@$(BIN)/python -m tests.bench

pictures:
	@$(PYTHON) tools/setup.py test
	@$(BIN)/python tools/pictures.py

# Renews all locks. Each keeps the versions of the smaller one, so that what is tested is what runs.
COMPILE = $(BIN)/uv pip compile -q --universal --generate-hashes --python-version 3.11 --no-header --upgrade
locks:
	@$(PYTHON) tools/setup.py run
	@test -x $(BIN)/uv || $(BIN)/python -m pip install -q --require-hashes -r requirements/uv.txt
	$(COMPILE) requirements/uv.in -o requirements/uv.txt > /dev/null
	$(COMPILE) requirements/run.in -o requirements/run.txt > /dev/null
	$(COMPILE) requirements/test.in -c requirements/run.txt -o requirements/test.txt > /dev/null
	$(COMPILE) requirements/lint.in -c requirements/test.txt -o requirements/lint.txt > /dev/null

# Leaves var/ alone: bookings and the key that opens them are in there.
clean:
	rm -rf .venv staticfiles .pytest_cache .mypy_cache .ruff_cache .import_linter_cache .hypothesis
	find . -name __pycache__ -type d -prune -exec rm -rf {} +
