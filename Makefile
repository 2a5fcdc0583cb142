# Quenchway: `make help` lists what there is. Each target sets up what it needs and says what it installs.

VENV := .venv
TARGET := $(or $(CARGO_TARGET_DIR),target)
# The HDF5 set-up decides the flags of every cargo command.
CARGO := . ./.tools/env && MAKEFLAGS= cargo
FLAGS := --locked $$CARGO_FLAGS
# The engine of the page of `quenchway try`, which the program takes in.
export QUENCHWAY_PAGE_ENGINE := $(abspath $(TARGET))/wasm32-unknown-unknown/page/quenchway_page.wasm

.PHONY: help demo build quick docs bench peers fuzz validation mutants test test-validation check test-rust test-python test-pages test-files test-all clean
.PHONY: checked compiled check-engine fetched test-programs test-units page-engine portable test-portable cluster-test python wheel test-wheel test-module module-rate setup-hdf5 crates setup-python setup-browser

help: ## list the targets
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/\1|\2/p' Makefile | awk -F'|' '{ printf "make %-12s %s\n", $$1, $$2 }'

demo: build ## run the house wire case; results go to out/
	$(TARGET)/release/quenchway run cases/house-wire.toml --out out

build: setup-hdf5 page-engine ## build the program in release: target/release/quenchway
	$(CARGO) build --release $(FLAGS) -p quenchway-cli

# Without the compiler's target the program is built without the page's engine, and `quenchway try` says so.
page-engine:
	@if tests/tools/setup.sh wasm; then \
		cargo rustc --locked -p quenchway-page --lib --crate-type cdylib --target wasm32-unknown-unknown --profile page; fi

# The development build: after an edit only what changed is compiled anew. Fits and maps, most of the time of these tests, wait.
quick: setup-hdf5 ## after an edit: formatting, the engine's unit tests, one case
	cargo fmt --all --check
	$(CARGO) test --quiet $(FLAGS) -p quenchway --lib -- --skip study::fit --skip study::map
	$(CARGO) run --quiet $(FLAGS) -p quenchway-cli -- run cases/house-wire.toml

# Linux with glibc; everything is linked in, so that it runs where nothing is installed.
HOST = $(shell rustc -vV | sed -n 's/^host: //p')
PORTABLE = $(TARGET)/$(HOST)/release/quenchway
portable: page-engine ## build a program that needs no library at all, HDF5 included: some minutes
	CMAKE=$$(tests/tools/setup.sh cmake) RUSTFLAGS="-C target-feature=+crt-static -C strip=debuginfo" \
		cargo build --release --locked --target $(HOST) -p quenchway-cli --features static
	@echo "portable program: $(PORTABLE)"

# As root: the program runs in a bare Debian 12 that debootstrap makes in $(TARGET).
test-portable: portable
	tests/portable/bare_root.sh $(PORTABLE) $(TARGET)/bare-root

# The engine as a Python module, in the project's own environment; needs no HDF5.
python: setup-python ## build the module quenchway for Python into .venv
	VIRTUAL_ENV=$(abspath $(VENV)) $(VENV)/bin/maturin develop --quiet --release --locked -m solver/python/Cargo.toml

# A wheel for every Linux with glibc 2.17 or later, and the sources with their licences; zig links against the old C library.
WHEEL = .tools/wheel
wheel: ## build the module as wheel and source package: target/wheels
	@tests/tools/setup.sh wheel $(WHEEL)
	cd solver/python && PATH="$(abspath $(WHEEL))/bin:$$PATH" maturin build --release --locked --zig --compatibility manylinux2014 \
		--out $(abspath $(TARGET))/wheels
	cd solver/python && PATH="$(abspath $(WHEEL))/bin:$$PATH" maturin sdist --out $(abspath $(TARGET))/wheels

# As root: the wheel is installed without a network and without a compiler in a bare Debian 12 and in Debian 13, whose Pythons are 3.11
# and 3.13, and the tests of the module run there. Then pip builds the module in a fresh clone and from the source package.
test-wheel: wheel build setup-python
	tests/portable/bare_python.sh $(TARGET)/wheels $(TARGET)/release/quenchway $(TARGET)
	tests/portable/from_source.sh $(TARGET)/wheels $(TARGET)/release/quenchway

# Compiling keeps all cores busy; then the tests run three at a time: those of pages and of the cluster wait for browsers and nodes.
test: checked compiled demo ## all tests that a change must pass: some minutes
	@$(MAKE) --no-print-directory -j3 --output-sync=target TESTED=yes \
		test-pages test-programs test-units test-module test-files cluster-test docs

# What is fetched keeps no core busy, and half of either of the others keeps one.
checked:
	@$(MAKE) --no-print-directory -j4 crates page-engine check-engine fetched

# The development build notices arithmetic that overflows.
test-all: ARRAYS =
test-all: SLOW =
test-all: module-rate test check test-validation ## `test`, and the slow tests; all Rust tests in the development build, too
	$(CARGO) test --workspace --exclude quenchway-benches --exclude quenchway-python $(FLAGS) -- --include-ignored

docs: ## build the book into target/book/index.html and check its links
	@tests/tools/setup.sh book
	.tools/book/bin/mdbook build docs --dest-dir $(abspath $(TARGET))/book
	python3 tests/tools/links.py $(TARGET)/book README.md DEVELOPERS.md cases/README.md

bench: ## time the engine on the benchmark problems (needs no HDF5)
	cargo bench --locked -p quenchway-benches --bench problems --bench lanes --bench studies --bench questions

# SUNDIALS is built in .tools/sundials from the sources that the crate sundials-sys carries; Python packages go into .tools/peers.
SUNDIALS = .tools/sundials
peers: ## time the engine beside general integrators; writes docs/peers.md anew: some minutes
	@tests/tools/setup.sh sundials
	@tests/tools/setup.sh peers .tools/peers
	cargo build --release --locked -p quenchway --example work_precision
	cc -O3 -march=native -ffast-math -fno-finite-math-only -std=c11 -Wall -Wextra -I$(SUNDIALS)/include validation/peers/rings.c \
		-o .tools/peers/rings -L$(SUNDIALS)/lib -lsundials_cvode -lsundials_nvecserial -lsundials_sunmatrixband \
		-lsundials_sunlinsolband -lsundials_core -lm
	.tools/peers/bin/python validation/peers/run.py .tools/peers/rings $(TARGET)/release/examples/work_precision

validation: ## run every check and write docs/validation.md anew (needs no HDF5)
	cargo run --release --locked -p quenchway-validation

# Hours for all of them; ONLY='view.rs.*View::inside' takes those whose name matches. Reads .cargo/mutants.toml.
mutants: setup-hdf5 ## change the physics in 3000 small ways and see which tests notice: hours
	@tests/tools/setup.sh mutants
	. ./.tools/env && PATH="$$PWD/.tools/bin:$$PATH" cargo mutants -F "$(or $(ONLY),.)" -- $$CARGO_FLAGS

# The sanitizers' flags belong to the nightly compiler, which the one variable makes the stable one accept. What was found
# is kept in tests/fuzz/found; the corpus grows in $(TARGET)/fuzz-corpus from one run to the next.
SECONDS_EACH = 600
FUZZ = RUSTC_BOOTSTRAP=1 PATH="$$PWD/.tools/bin:$$PATH" cargo fuzz run --fuzz-dir tests/fuzz --target-dir $(TARGET)/fuzz
fuzz: ## read made-up case files and values with units, ten minutes each; SECONDS_EACH=60 for one
	@tests/tools/setup.sh fuzz
	@mkdir -p $(TARGET)/fuzz-corpus/case_text $(TARGET)/fuzz-corpus/unit_text
	@cp cases/*.toml tests/bad_cases/*.toml validation/benchmarks/*.toml $(TARGET)/fuzz-corpus/case_text
	@sh tests/fuzz/values.sh $(TARGET)/fuzz-corpus/unit_text
	$(FUZZ) unit_text $(abspath $(TARGET))/fuzz-corpus/unit_text -- -max_total_time=$(SECONDS_EACH) -max_len=64 -timeout=5 -rss_limit_mb=1024
	$(FUZZ) case_text $(abspath $(TARGET))/fuzz-corpus/case_text -- -max_total_time=$(SECONDS_EACH) -max_len=20000 -timeout=10 -rss_limit_mb=2048

# Fails when a bound is broken or the committed page is not what would be written now.
test-validation:
	cargo run --release --locked -p quenchway-validation -- --check

# In release like the program: what other packages need is compiled once.
check: setup-hdf5 ## formatting and all lints
	cargo fmt --all --check
	tests/tools/compiled_once.sh
	$(CARGO) clippy --release --workspace --all-targets $(FLAGS) -- -D warnings
	if tests/tools/setup.sh wasm; then \
		cargo clippy --release --locked -p quenchway-page --target wasm32-unknown-unknown -- -D warnings; fi

# Of the lints those of the engine, on which every answer stands: for the others every library is looked through once more. What the
# compiler itself warns of fails test-rust, in every package.
check-engine: setup-hdf5
	cargo fmt --all --check
	tests/tools/compiled_once.sh
	cargo clippy --release --locked -p quenchway -- -D warnings

# All is compiled at once, which keeps all cores busy to the end. Cargo starts threads of its own, whatever `make -j` has left.
OF_RUST = test --release --workspace --exclude quenchway-benches --exclude quenchway-python $(FLAGS)
RUST_TESTS = . ./.tools/env && MAKEFLAGS= RUSTC_WRAPPER=$(abspath tests/tools/compiler.sh) cargo $(OF_RUST)
compiled: setup-hdf5 page-engine
	@. ./.tools/env && RUSTC_WRAPPER=$(abspath tests/tools/compiler.sh) tests/tools/unwarned.sh cargo $(OF_RUST) --no-run

test-rust: compiled
	@$(MAKE) --no-print-directory -j2 --output-sync=target test-programs test-units

test-programs:
	$(RUST_TESTS) --test main

test-units:
	$(RUST_TESTS) --lib --bins --examples --test drive --test rooms --test scalar
	$(RUST_TESTS) --doc

SLOW = -m 'not slow'
BUILT = $(if $(TESTED),,build)
test-python: test-pages test-files

# Looks at pages in a browser.
PAGES = $(addprefix tests/python/test_,page_to_try.py report_page.py card.py)
test-pages: setup-python setup-browser $(BUILT)
	QUENCHWAY_BIN=$(TARGET)/release/quenchway $(VENV)/bin/python -m pytest -q -rs $(PAGES) $(SLOW)

# Reads the demo's file and those that the Rust tests leave behind with the readers that users have.
test-files: setup-python $(if $(TESTED),test-programs,test-rust demo)
	QUENCHWAY_BIN=$(TARGET)/release/quenchway QUENCHWAY_H5="out/house-wire.h5:$(TARGET)/tmp/store/sample.h5:$(TARGET)/tmp/store/bare.h5" \
		$(VENV)/bin/python -m pytest -q -rs tests/python $(addprefix --ignore=,$(PAGES)) $(SLOW)

# What a batch of the engine alone does, for the test that compares; beside the program, whose engine it takes.
module-rate: setup-hdf5
	$(CARGO) build --release $(FLAGS) -p quenchway -p quenchway-cli --example batch_rate

# The numbers of the module are those of the program; `make test-module SLOW=` takes what is slow as well.
test-module: python $(BUILT)
	QUENCHWAY_BIN=$(abspath $(TARGET))/release/quenchway QUENCHWAY_RATE=$(abspath $(TARGET))/release/examples/batch_rate \
		$(VENV)/bin/python -m pytest -q -rs solver/python/tests $(SLOW)

# As root on Debian: installs slurmctld, slurmd and munge, and runs them on loopback as long as the test lasts.
# `make cluster-test ARRAYS=` takes the nodes that break down as well: minutes.
ARRAYS = -k 'not breaks_down'
cluster-test: setup-python $(BUILT) ## a sweep on a real Slurm of three nodes, one task requeued; elsewhere it is skipped and says so
	QUENCHWAY_BIN=$(TARGET)/release/quenchway $(VENV)/bin/python -m pytest -q -rs tests/cluster $(ARRAYS)

clean: ## remove what was built and installed here
	rm -rf $(TARGET) out $(VENV) .tools

setup-hdf5:
	@tests/tools/setup.sh hdf5

# Without a network what is there serves.
crates:
	@cargo fetch --quiet --locked || true

setup-python:
	@tests/tools/setup.sh python $(VENV)

setup-browser:
	@tests/tools/setup.sh browser

# One after the other: two installations at a time would wait for each other's lock, or not.
fetched: setup-hdf5
	@tests/tools/setup.sh python $(VENV)
	@tests/tools/setup.sh browser
	@tests/tools/setup.sh book
	@$(VENV)/bin/python tests/cluster/cluster.py
