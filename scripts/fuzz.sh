#!/usr/bin/env bash
# Fuzzes every parser for a while, one after the other: scripts/fuzz.sh [time for each, default 5m].
# New inputs that fail are kept by Go under testdata/fuzz of the package: commit them with the mend.
set -euo pipefail
cd "$(dirname "$0")/.."
each=${1:-5m}
go list ./... | while read -r pkg; do
  dir=${pkg/#panelwright/.}
  grep -ho '^func Fuzz[A-Za-z0-9_]*' "$dir"/*_test.go 2>/dev/null | sed 's/^func //' | while read -r target; do
    echo "== $pkg $target for $each"
    go test -run '^$' -fuzz "^$target\$" -fuzztime "$each" "$pkg" </dev/null
  done
done
