#!/bin/sh
# Writes the values that the cases and the tables of units hold into a directory, one a file: where a search may begin.
set -eu
{
    grep -ho '"[^"]*"' cases/*.toml tests/bad_cases/*.toml
    cut -d, -f1 tests/reference/units.csv
} | tr -d '"' | sort -u | {
    number=0
    while IFS= read -r value; do
        printf %s "$value" >"$1/value-$number"
        number=$((number + 1))
    done
}
