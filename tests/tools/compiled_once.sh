#!/bin/sh
# Fails when the tests, or the module for Python, would have packages of the program compiled a second time, with other features.
set -eu
cd "$(dirname "$0")/../.."

features() {
    cargo tree --locked --prefix none --format '{p} {f}' "$@" | sed 's/ (\*)$//' | sort -u
}
here=$(mktemp -d)
trap 'rm -r "$here"' EXIT
features --package quenchway-cli --edges normal,build >"$here/program"
wrong=0
features --workspace --exclude quenchway-benches --exclude quenchway-python --edges normal,build,dev >"$here/tests"
comm -23 "$here/program" "$here/tests" >"$here/twice"
if [ -s "$here/twice" ]; then
    wrong=1
    echo "tests ask for more features of these packages than the program does, so that all above them is compiled twice:"
    cat "$here/twice"
    echo "see [dev-dependencies]; 'cargo tree --workspace --edges features,normal,dev --invert NAME' says who asks"
fi
# Of the module what it shares with the program: the engine and the words, and all that they stand on.
features --package quenchway-python --edges normal,build >"$here/module"
features --package quenchway-words --edges normal,build | cut -d ' ' -f 1,2 | sort -u >"$here/shared"
comm -13 "$here/program" "$here/module" | while read -r name version features; do
    if grep -qxF "$name $version" "$here/shared"; then echo "$name $version $features"; fi
done >"$here/twice"
if [ -s "$here/twice" ]; then
    wrong=1
    echo "the program has other features of these packages than the module for Python, so that all above them is compiled twice:"
    cat "$here/twice"
    echo "see the notes in solver/python/Cargo.toml and cli/Cargo.toml; 'cargo tree --package quenchway-python --edges features,normal,build --invert NAME' says who asks"
fi
exit $wrong
