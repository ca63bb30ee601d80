# Long trials: not part of the tests, which run ten of each. Use the tests' environment.
PYTHON ?= .venv/bin/python
KILLS ?= 200
HOURS ?= 1

.PHONY: crash fuzz slow

# Kill each kind of work at its writes and at random, repeat it, compare (docs/figures/trust.md).
crash:
	PYTHONPATH=.:tests $(PYTHON) tests/crashing.py --kills $(KILLS)

# Search for files and texts that a reader does not survive; needs the extra "fuzz".
fuzz:
	PYTHONPATH=.:tests $(PYTHON) tests/fuzzing.py --hours $(HOURS)

# Search for texts that a reader takes long over.
slow:
	PYTHONPATH=.:tests $(PYTHON) tests/slow_texts.py --hours $(HOURS)
