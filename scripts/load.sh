#!/usr/bin/env bash
# Opens the built bench on a fresh book with the three examples and lets 50 clients work on it at once; every answer is checked.
# Prints how long each kind of request took, in Markdown, and whether the server's memory stayed flat:
# scripts/load.sh [minutes, default 10] [clients, default 50] [seed, default 1]
set -euo pipefail
cd "$(dirname "$0")/.."
temp=$(mktemp -d)
trap 'rm -rf "$temp"' EXIT
go build -o "$temp/" ./cmd/panelwright ./scripts/load
TMPDIR=$temp "$temp/load" -bench "$temp/panelwright" -time "${1:-10}m" -clients "${2:-50}" -seed "${3:-1}"
