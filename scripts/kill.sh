#!/usr/bin/env bash
# Kills the pack writer many times at random moments, both ways of exchanging: scripts/kill.sh [kills, default 2000].
set -euo pipefail
cd "$(dirname "$0")/.."
PANELWRIGHT_KILLS=${1:-2000} go test -count=1 -v -run 'TestWritePackKilled' .
