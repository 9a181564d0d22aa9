#!/usr/bin/env bash
# Fuzzes every parser and kernel for a while, one after the other: scripts/fuzz.sh [time for each, default 5m] [targets, a pattern].
# Random panels with their certificate, half an hour: scripts/fuzz.sh 30m FuzzPanel.
# New inputs that fail are kept by Go under testdata/fuzz of the package: commit them with the mend.
set -euo pipefail
cd "$(dirname "$0")/.."
each=${1:-5m}
wanted=${2:-Fuzz}
for pkg in $(go list ./...); do
  dir=${pkg/#panelwright/.}
  for target in $(grep -ho '^func Fuzz[A-Za-z0-9_]*' "$dir"/*_test.go 2>/dev/null | sed 's/^func //' | grep -E "$wanted" || true); do
    echo "== $pkg $target for $each"
    go test -run '^$' -fuzz "^$target\$" -fuzztime "$each" -fuzzminimizetime 5x "$pkg" </dev/null
  done
done
