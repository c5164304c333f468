PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin

INPUTS ?= 100000
KILLS ?= 240

.PHONY: demo test golden lint readme unit-factors detection-score coverage-of-limits rescreen-of-200 mutation portfolio-check bench bench-full bench-large nightly faults fuzz fuzz-guided audit lock wheel-check spark-there spark spark-million clean

$(VENV)/.ready: requirements.lock pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e .
	touch $@

demo: $(VENV)/.ready
	$(BIN)/screening demo out/demo

# where compiled tests may not be kept, compiling them anew takes each of the two workers ten seconds
test: $(VENV)/.ready
	PYTHONDONTWRITEBYTECODE= $(BIN)/python -m pytest -n 2 --dist worksteal

# the golden files of the demo's package; look at the difference before keeping it
golden: $(VENV)/.ready
	SCREENING_GOLDEN=write $(BIN)/python -m pytest tests/outputs/test_golden.py tests/outputs/pictures/test_golden.py

lint: $(VENV)/.ready
	$(BIN)/ruff check screening tests
	$(BIN)/ruff format --check screening tests
	$(BIN)/mypy

# the catalogue of level tables in README.md, from standards/
readme: $(VENV)/.ready
	$(BIN)/python tests/health/readme_tables.py --write

# the factors of the listed units as pint gives them, after a unit was added
unit-factors: $(VENV)/.ready
	$(BIN)/python tests/vocabulary/unit_factors.py

# how many generated deliverables of all shapes are read exactly right without help
detection-score: $(VENV)/.ready
	$(BIN)/python tests/corpus/score.py

# how often each confidence limit holds the true mean, with fixed seeds (some minutes)
coverage-of-limits: $(VENV)/.ready
	$(BIN)/python tests/statistics/coverage_of_limits.py

# mutants of the comparison and the conditions: how many the tests kill; MINUTES=n bounds the time, ONLY=PART names files
MINUTES ?= 600
mutation: $(VENV)/.ready
	nice -n 15 $(BIN)/python tests/mutation/mutation_score.py --minutes $(MINUTES) --file "$(ONLY)"

# two hundred sites on a table that changes, all rescreened, every flip worked out again (some minutes; `make test` has 8 of them)
rescreen-of-200: $(VENV)/.ready
	RESCREEN_MOVED=200 $(BIN)/python -m pytest -n 0 tests/rescreen/test_portfolio_of_200.py --durations=3

# every screen that these tests make, held against that of a portfolio of its one site
portfolio-check: $(VENV)/.ready
	SCREENING_PORTFOLIO=1 $(BIN)/python -m pytest -n 2 --dist worksteal tests/rules tests/acceptance tests/real

# what each step takes, beside bare DuckDB and a pandas script; a table and out/bench.json
bench: $(VENV)/.ready
	$(BIN)/python tests/benchmarks/bench.py

# the same up to a million rows of one site and a portfolio ten times that (about half an hour)
bench-full: $(VENV)/.ready
	$(BIN)/python tests/benchmarks/bench.py --full --to out/bench-full.json

# one csv of ten million rows, ten thousand sites, and a hundred million amounts out of core, as copies of generated sites
# (ROWS, AMOUNTS; 5 GB of disk and of memory, about half an hour)
ROWS ?= 10000000
AMOUNTS ?= 100000000
bench-large: $(VENV)/.ready
	$(BIN)/python tests/benchmarks/bench.py --rows $(ROWS) --sites 10000 --amounts $(AMOUNTS) --to out/bench-large.json

# random workbooks and files, many more than in `make test`
nightly: $(VENV)/.ready
	SCREENING_EXAMPLES=10000 $(BIN)/python -m pytest -n 2 --dist worksteal tests/corpus/test_any_workbook.py

# the program killed at 240 random instants (KILLS), disks filled, files cut, clocks set back, many at once; prints a table (about half an hour)
faults: $(VENV)/.ready
	SCREENING_KILLS=$(KILLS) $(BIN)/python -m pytest -n 0 tests/faults

# hostile files for every reader (INPUTS of them, 100,000 unless said otherwise: some hours); prints a table; FUZZ="--workers 1 --minutes 60 --seed x"
fuzz: $(VENV)/.ready
	$(BIN)/python tests/hostile/fuzz.py --inputs $(INPUTS) $(FUZZ)

# the same readers, the inputs chosen by what they reach in the code; wants atheris, which is not in the lock file
fuzz-guided: $(VENV)/.ready
	$(BIN)/python tests/hostile/guided.py $(FUZZ)

# known advisories against the versions of the lock file; wants pip-audit, which is not in the lock file
audit: $(VENV)/.ready
	$(BIN)/python tests/health/audit.py

# a wheel, installed alone in an empty environment outside the checkout, runs the demo
wheel-check: $(VENV)/.ready
	rm -rf dist build/wheel-check
	$(BIN)/python -m build --wheel --no-isolation
	$(PYTHON) -m venv build/wheel-check/venv
	build/wheel-check/venv/bin/python -m pip install --quiet --disable-pip-version-check -c requirements.lock dist/*.whl
	cd build/wheel-check && venv/bin/screening demo wheel-demo

# the extra spark (half a gigabyte)
spark-there: $(VENV)/.ready
	$(BIN)/python -m pip install --quiet --disable-pip-version-check $$(sed -n 's/^# spark: //p' requirements.lock)

# the same screens by Spark as by DuckDB; wants Java
spark: spark-there
	SCREENING_SPARK=1 $(BIN)/python -m pytest -n 0 tests/portfolio -k by_spark

# a million generated amounts of a thousand sites by Spark as by DuckDB, every column of every row; wants Java (some minutes)
spark-million: spark-there
	$(BIN)/python tests/benchmarks/both_engines.py

# versions only; run in an environment that holds the newest allowed versions, with the extra spark
lock: $(VENV)/.ready
	$(BIN)/python -m pip freeze --exclude-editable --disable-pip-version-check > out-of-pip.txt
	{ grep -vE '^(pyspark|py4j)==' out-of-pip.txt; echo "# spark: $$(grep -E '^(pyspark|py4j)==' out-of-pip.txt | xargs)"; } > requirements.lock
	rm out-of-pip.txt

clean:
	rm -rf $(VENV) out dist build
