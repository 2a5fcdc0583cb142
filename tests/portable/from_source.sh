#!/bin/sh
# Builds the module as users do who have no wheel, outside the project: with pip in a fresh clone, and as a wheel of the unpacked source
# package; what either computes is what the program computes here.
#
#   from_source.sh WHEELS PROGRAM
set -eu
wheels=$1 program=$2
here=$(cd "$(dirname "$0")/../.." && pwd)

say() { echo "from source: $*" >&2; }
fail() { say "$*"; exit 1; }

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
# Nothing that the project sets up is there, but what both fetch is compiled once.
bare() { env -i HOME="$HOME" PATH="$PATH" ${CARGO_HOME:+CARGO_HOME="$CARGO_HOME"} ${RUSTUP_HOME:+RUSTUP_HOME="$RUSTUP_HOME"} \
    ${CARGO_BUILD_JOBS:+CARGO_BUILD_JOBS="$CARGO_BUILD_JOBS"} CARGO_TARGET_DIR="$work/target" "$@"; }

# A case solved by the module in a virtual environment.
solved() {
    (cd "$work" && bare "$1/bin/python" -c "
import quenchway as qw
print(qw.march(qw.Case.from_toml('$here/cases/house-wire.toml'), band=True).to_json(), end='')") |
        grep -v -e '"wall_s"' -e '"program"' | cmp - "$work/here.json" || fail "the numbers of $1 differ from those of the program"
}
"$program" run "$here/cases/house-wire.toml" --json | grep -v -e '"wall_s"' -e '"program"' >"$work/here.json"

package=$(ls "$wheels"/quenchway-*.tar.gz) || fail "there is no source package in $wheels"
mkdir "$work/package" && tar -xzf "$package" --strip-components=1 -C "$work/package"
for name in LICENSE-MIT LICENSE-APACHE Cargo.lock $(cd "$here" && ls solver/materials/*.toml) \
    $(cd "$here/solver/python" && ls quenchway/*.py quenchway/*.pyi quenchway/py.typed); do
    [ -f "$work/package/$name" ] && [ ! -L "$work/package/$name" ] || fail "the source package has no $name"
done
(cd "$work/package" && find . ! -type d | sed 's|^\./||' | sort) >"$work/files.txt"
while read -r name; do
    # The files of Python's own package stand at the top, where pip looks for them.
    { [ "$name" = PKG-INFO ] || git -C "$here" ls-files --error-unmatch "$name" || git -C "$here" ls-files --error-unmatch "solver/python/$name"; } \
        >/dev/null 2>&1 || fail "the source package has $name, which the project has not"
done <"$work/files.txt"

say "a fresh clone: pip install ./solver/python"
git clone --quiet "$here" "$work/clone"
python3 -m venv "$work/cloned"
(cd "$work/clone" && bare "$work/cloned/bin/pip" install --quiet --disable-pip-version-check ./solver/python)
solved "$work/cloned"

say "the source package: a wheel, outside the project"
python3 -m venv "$work/packed"
bare "$work/packed/bin/pip" wheel --quiet --disable-pip-version-check --no-deps --wheel-dir "$work/made" "$work/package"
bare "$work/packed/bin/pip" install --quiet --disable-pip-version-check "$work"/made/quenchway-*.whl
held=$(python3 -m zipfile -l "$work"/made/quenchway-*.whl)
for name in LICENSE-MIT LICENSE-APACHE; do
    case $held in *"licenses/$name"*) ;; *) fail "the wheel of the source package has no $name" ;; esac
done
solved "$work/packed"
say "2 passed, 0 failed"
