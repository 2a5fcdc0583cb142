#!/usr/bin/env bash
# Runs a command of cargo; fails where it fails, and where the compiler warns of anything in the project's own packages.
set -euo pipefail
told=$(mktemp)
trap 'rm "$told"' EXIT
{ "$@" 2>&1 >&3 | tee "$told" >&2; } 3>&1
if grep -E '^warning: .* generated [0-9]+ warning' "$told"; then
    echo "mend what the compiler warns of" >&2
    exit 1
fi
