#!/usr/bin/env bash
# Kills the bench at random moments while clients change and tick over HTTP, and looks for what it had acknowledged:
# scripts/kill-bench.sh [kills, default 60] [seed, default 1]
set -euo pipefail
cd "$(dirname "$0")/.."
temp=$(mktemp -d)
trap 'rm -rf "$temp"' EXIT
go build -o "$temp/" ./cmd/panelwright ./scripts/killbench
TMPDIR=$temp "$temp/killbench" -bench "$temp/panelwright" -kills "${1:-60}" -seed "${2:-1}"
