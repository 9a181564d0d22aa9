#!/usr/bin/env bash
# Kills programs that write to a book at random moments, and looks for what they had acknowledged; then fills a small disk:
# scripts/kill-book.sh [rounds, default 300] [seed, default 1]. The full disk needs the right to mount.
set -euo pipefail
cd "$(dirname "$0")/.."
temp=$(mktemp -d)
mounted=
trap '[ -z "$mounted" ] || umount "$temp/small"; rm -rf "$temp"' EXIT
go build -o "$temp/killbook" ./scripts/killbook
TMPDIR=$temp "$temp/killbook" -kills "${1:-300}" -seed "${2:-1}"
mkdir "$temp/small"
if mount -t tmpfs -o size=3m tmpfs "$temp/small" 2>/dev/null; then
  mounted=1
  "$temp/killbook" -fill "$temp/small/bench.book"
else
  echo "no full disk tried: mounting is not allowed here"
fi
