#!/bin/sh
# Fails when the tests would have packages of the program compiled a second time, with other features.
set -eu
cd "$(dirname "$0")/../.."

features() {
    cargo tree --locked --prefix none --format '{p} {f}' "$@" | sed 's/ (\*)$//' | sort -u
}
here=$(mktemp -d)
trap 'rm -r "$here"' EXIT
features --package quenchway-cli --edges normal,build >"$here/program"
features --workspace --exclude quenchway-benches --exclude quenchway-python --edges normal,build,dev >"$here/tests"
comm -23 "$here/program" "$here/tests" >"$here/twice"
[ -s "$here/twice" ] || exit 0
echo "tests ask for more features of these packages than the program does, so that all above them is compiled twice:"
cat "$here/twice"
echo "see [dev-dependencies]; 'cargo tree --workspace --edges features,normal,dev --invert NAME' says who asks"
exit 1
