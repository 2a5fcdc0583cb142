#!/bin/sh
# Runs the portable program in a bare Debian 12 root that has no HDF5 and checks what it writes; needs root.
#
#   bare_root.sh PROGRAM ROOT     ROOT is made with debootstrap (its minimal variant) when it is not there yet
set -eu
program=$1 root=$2
here=$(cd "$(dirname "$0")/../.." && pwd)

say() { echo "portable: $*" >&2; }
fail() { say "$*"; exit 1; }

[ "$(id -u)" = 0 ] || fail "making a root directory and entering it needs root"
if [ ! -x "$root/bin/sh" ]; then
    command -v debootstrap >/dev/null || DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends debootstrap >&2 ||
        { apt-get update >&2 && DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends debootstrap >&2; }
    say "making a bare Debian 12 in $root"
    debootstrap --variant=minbase bookworm "$root.new" >"$root.log" 2>&1 || { tail -5 "$root.log" >&2; fail "debootstrap failed"; }
    mv "$root.new" "$root"
fi

# No library but the C library's own may be asked for.
needed=$(LC_ALL=C readelf -d "$program" | sed -n 's/.*(NEEDED).*\[\(.*\)\]/\1/p')
for library in $needed; do
    case $library in
        libc.so.6 | libm.so.6 | ld-linux*) ;;
        *) fail "the program needs $library" ;;
    esac
done
find "$root" -name 'libhdf5*' | grep -q . && fail "there is an HDF5 library in $root: it is not bare"

work=$root/tmp/portable
rm -rf "$work" && mkdir -p "$work"
cp "$program" "$work/quenchway"
cp "$here/cases/house-wire.toml" "$work/"
# The study of a project's case, beside the case.
sed 's|"../house-wire.toml"|"house-wire.toml"|' "$here/cases/studies/four-inputs.toml" >"$work/study.toml"
chroot "$root" /bin/sh -ec 'cd /tmp/portable && ./quenchway run house-wire.toml --out out --json >out.json && ./quenchway verify >verify.txt'
chroot "$root" /bin/sh -ec 'cd /tmp/portable && ./quenchway sweep study.toml --out whole -q &&
    for part in 1/2 2/2; do ./quenchway sweep study.toml --out parts --part $part -q; done && ./quenchway join study.toml --out parts -q &&
    ./quenchway same whole/study.h5 parts/study.h5'
for file in house-wire.h5 house-wire-temperature.png house-wire-field.png house-wire-diameter.png house-wire-profiles.png \
    ../whole/study.png ../parts/study.h5; do
    [ -s "$work/out/$file" ] || fail "$file was not written"
done
# The results file is HDF5, by the format's own signature.
[ "$(head -c 8 "$work/out/house-wire.h5" | od -An -c | tr -d ' ')" = '211HDF\r\n032\n' ] || fail "house-wire.h5 is no HDF5 file"
# What is computed there is what is computed here, but for wall time.
"$program" run "$here/cases/house-wire.toml" --json | grep -v '"wall_s"' >"$work/here.json"
grep -v '"wall_s"' "$work/out.json" | cmp - "$work/here.json" || fail "the numbers differ from those computed outside"
# A sweep too is the same bits, there and here, in one piece and joined.
"$program" sweep "$work/study.toml" --out "$work/outside" -q
"$program" same "$work/outside/study.h5" "$work/parts/study.h5" || fail "the sweep differs from that computed outside"
say "1 passed, 0 failed"
