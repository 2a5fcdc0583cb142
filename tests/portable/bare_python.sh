#!/bin/sh
# Installs the wheel of the module in bare Debian roots that have no compiler and no network, and runs its tests there; needs root.
#
#   bare_python.sh WHEELS PROGRAM ROOTS     the roots are made with debootstrap in ROOTS when they are not there yet
set -eu
wheels=$1 program=$2 roots=$3
here=$(cd "$(dirname "$0")/../.." && pwd)

say() { echo "wheel: $*" >&2; }
fail() { say "$*"; exit 1; }

[ "$(id -u)" = 0 ] || fail "making a root directory and entering it needs root"
wheel=$(ls "$wheels"/quenchway-*manylinux*.whl) || fail "there is no wheel in $wheels"
[ "$(echo "$wheel" | wc -l)" = 1 ] || fail "there are several wheels in $wheels: remove the old ones"
case $wheel in *-cp311-abi3-*manylinux2014_x86_64*.whl) ;; *) fail "$wheel is not for CPython 3.11 and later on manylinux2014" ;; esac
command -v debootstrap >/dev/null || DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends debootstrap >&2
held=$(python3 -m zipfile -l "$wheel")
for name in LICENSE-MIT LICENSE-APACHE; do
    case $held in *"licenses/$name"*) ;; *) fail "the wheel has no $name" ;; esac
done

while read -r suite python; do
    root=$roots/bare-$suite
    if [ ! -x "$root/bin/sh" ]; then
        say "making a bare Debian $suite in $root"
        debootstrap --variant=minbase --include=python3,python3-venv "$suite" "$root.new" >"$root.log" 2>&1 ||
            { tail -5 "$root.log" >&2; fail "debootstrap failed"; }
        mv "$root.new" "$root"
    fi
    for compiler in cc gcc rustc; do
        [ ! -e "$root/usr/bin/$compiler" ] || fail "there is a $compiler in $root: it is not bare"
    done
    work=$root/tmp/wheel
    rm -rf "$work" && mkdir -p "$work/packages" "$work/tests" "$work/solver/python"
    grep -E '^(numpy|tomli_w|pytest|xarray|h5netcdf|h5py|joblib|pandas)==' "$here/tests/python/requirements.txt" >"$work/wanted.txt"
    "$here/.venv/bin/pip" download --quiet --disable-pip-version-check --only-binary=:all: --python-version "$python" \
        --platform manylinux_2_28_x86_64 --platform manylinux_2_27_x86_64 --platform manylinux2014_x86_64 \
        --dest "$work/packages" -r "$work/wanted.txt"
    cp "$wheel" "$work/packages/"
    cp -r "$here/cases" "$work/"
    cp -r "$here/tests/bad_cases" "$work/tests/"
    cp -r "$here/solver/python/tests" "$here/solver/python/pyproject.toml" "$work/solver/python/"
    # The tests look at the stubs' mark where the project has it.
    mkdir "$work/solver/python/quenchway" && cp "$here/solver/python/quenchway/py.typed" "$work/solver/python/quenchway/"
    chroot "$root" /usr/bin/env -i PATH=/usr/bin:/bin HOME=/root /bin/sh -ec 'cd /tmp/wheel && python3 -m venv own &&
        own/bin/pip install --quiet --no-index --find-links packages quenchway -r wanted.txt'
    mkdir -p "$root/proc" && mount -t proc proc "$root/proc"
    trap 'umount "$root/proc"' EXIT
    chroot "$root" /usr/bin/env -i PATH=/usr/bin:/bin HOME=/root /bin/sh -ec 'cd /tmp/wheel/solver/python && ../../own/bin/python -m pytest -q -p no:cacheprovider -m "not slow" tests/test_batch.py \
        tests/test_errors.py tests/test_wrong_input.py && ../../own/bin/python -c "
import quenchway as qw
print(qw.march(qw.Case.from_toml(\"../../cases/house-wire.toml\"), band=True).to_json(), end=\"\")" >/tmp/wheel/there.json'
    umount "$root/proc"
    trap - EXIT
    # What is computed there is what the program computes here, but for wall time and who computed it.
    "$program" run "$here/cases/house-wire.toml" --json | grep -v -e '"wall_s"' -e '"program"' >"$work/here.json"
    grep -v -e '"wall_s"' -e '"program"' "$work/there.json" | cmp - "$work/here.json" || fail "the numbers differ from those of the program"
    say "installed and ran in Debian $suite with Python $python"
done <<ROOTS
bookworm 3.11
trixie 3.13
ROOTS
say "1 passed, 0 failed"
