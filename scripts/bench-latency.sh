#!/usr/bin/env bash
# How long a moved station's figures take to come on the screen, in headless Chromium on this machine: some runs, as a table.
#   scripts/bench-latency.sh [RUNS]
set -euo pipefail
cd "$(dirname "$0")/../peer"
rows=$(mktemp)
trap 'rm -f "$rows"' EXIT
for _ in $(seq "${1:-3}"); do
  load=$(cut -d ' ' -f 1 /proc/loadavg 2>/dev/null || echo unknown)
  : > "$rows.one"
  BENCH_LATENCY="$rows.one" go test -count=1 -run '^TestBenchLatency$' . >&2
  sed "s/\$/ $load |/" "$rows.one" >> "$rows"
  rm -f "$rows.one"
done
grep -m1 'model name' /proc/cpuinfo 2>/dev/null | cut -d: -f2 || true
echo
echo "| moved by | station | moves | median, ms | 95th percentile, ms | longest, ms | load before |"
echo "| --- | --- | --- | --- | --- | --- | --- |"
cat "$rows"
