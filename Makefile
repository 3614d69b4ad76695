# `make demo` and `make test` on a machine that has Python 3.11.2 or newer, make, and nothing else.
# A virtual environment is made in .venv once; an existing one is used as it is. PYTHON=... picks another interpreter.

VENV := .venv
RUN := $(VENV)/bin/python -m
INSTALL := $(RUN) pip install --quiet --quiet
OUT := out
DEMO := specs/stock.loom specs/rebuild.loom

export PIP_DISABLE_PIP_VERSION_CHECK := 1
export PIP_ROOT_USER_ACTION := ignore
# Hundreds of tests start a process of their own; where Python may keep nothing, each would compile every module anew.
unexport PYTHONDONTWRITEBYTECODE

# Each stamp holds the folder that it was made in: a virtual environment does not survive being moved or copied.
DEMO_READY := $(VENV)/.demo-ready
TEST_READY := $(VENV)/.test-ready
MADE_IN := $(shell cat $(DEMO_READY) 2>/dev/null)
ifneq ($(MADE_IN),)
ifneq ($(MADE_IN),$(CURDIR))
$(DEMO_READY): anew
endif
endif

.PHONY: help demo test nightly lint clean anew

help:
	@echo 'make demo    check and draw the demonstration harnesses; drawings, sheets of paper and pages are in $(OUT)/'
	@echo 'make test    everything that a change must pass'
	@echo 'make nightly what takes hours: fresh seeds, long fuzzing, ngspice at length, every interpreter that is here'
	@echo 'make lint    its quick part: style, types and the direction of imports'
	@echo 'make clean   remove what was made here: $(OUT)/, build/ and the virtual environment $(VENV)/'

# "check" exits 1 when it finds something, which the harness as found is there for; 2 means that it could not run.
demo: $(DEMO_READY)
	@for harness in $(DEMO); do \
	    echo "== loomwright check $$harness"; \
	    $(RUN) loomwright check "$$harness"; code=$$?; \
	    [ $$code -le 1 ] || exit $$code; \
	    echo; \
	done
	@echo '== loomwright draw $(DEMO) --into $(OUT)'
	@$(RUN) loomwright draw $(DEMO) --into $(OUT)
	@echo
	@echo '== loomwright draw $(DEMO) --paper A3 --format pdf --into $(OUT)'
	@$(RUN) loomwright draw $(DEMO) --paper A3 --format pdf --into $(OUT)
	@echo
	@echo '== loomwright page $(DEMO)'
	@for harness in $(DEMO); do \
	    $(RUN) loomwright page "$$harness" -o "$(OUT)/$$(basename "$$harness" .loom).html" || exit; \
	done
	@echo
	@echo 'In $(OUT)/, of each harness: the drawing (.svg), its sheets of paper to print (-a3.pdf), and a page that works (.html).'
	@echo 'A browser opens all of them.'

test: lint
	$(RUN) pytest -n 2

# LOOMWRIGHT_SEED=... repeats a night, PARTS='walks fuzz' runs some of it; tests/nightly.py prints the seed.
nightly: $(TEST_READY)
	@$(INSTALL) --group night
	$(VENV)/bin/python tests/nightly.py $(PARTS)

lint: $(TEST_READY)
	$(RUN) ruff check .
	$(RUN) ruff format --check .
	$(RUN) mypy
	$(VENV)/bin/lint-imports

clean:
	rm -rf $(OUT) build dist loomwright.egg-info $(VENV)

anew:
	@echo 'This folder was moved or copied: making $(VENV) anew.'
	@rm -rf $(VENV)

$(DEMO_READY): pyproject.toml
	@if ! $(VENV)/bin/python -c 'import pip' 2>/dev/null; then \
	    for python in $(PYTHON) python3 python3.14 python3.13 python3.12 python3.11 python; do \
	        "$$python" -c 'import sys; sys.exit(sys.version_info < (3, 11, 2))' 2>/dev/null || continue; \
	        "$$python" -c 'import ensurepip, venv' 2>/dev/null || { lacking=$$python; continue; }; \
	        found=$$python; break; \
	    done; \
	    if [ -z "$$found" ] && [ -n "$$lacking" ]; then \
	        echo "$$lacking comes without its venv module here; on Debian and its kin install python3-venv." >&2; exit 2; \
	    elif [ -z "$$found" ]; then \
	        echo 'Python 3.11.2 or newer is needed and none was found; PYTHON=/path/to/python names one.' >&2; exit 2; \
	    fi; \
	    echo "Making $(VENV) with $$("$$found" --version); this takes a minute, once."; \
	    "$$found" -m venv --clear $(VENV) || exit 2; \
	fi
	@$(INSTALL) --upgrade 'pip>=25.1'
	@$(INSTALL) --editable '.[embedded,log]'
	@echo '$(CURDIR)' > $@

# mypy names a module after its folder, and a clone may have any name: it reads the root through a link that fits.
$(TEST_READY): $(DEMO_READY)
	@$(INSTALL) --group test --group lint --editable '.[embedded,editor,log,proof]'
	@mkdir -p $(VENV)/source && ln -sfn ../.. $(VENV)/source/loomwright
	@echo '$(CURDIR)' > $@
