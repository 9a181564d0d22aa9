#!/usr/bin/env bash
# Pairs our programs with outside ones in one run: the factor with CHOLMOD on one matrix, a linear panel and a panel in contact
# with ccx on its own meshes, then the cost of growing panels. Prints medians and ratios; about 10 minutes, most of them ccx's.
#   scripts/speed.sh [-runs 5] [-only factor,linear,contact,growth]
# Wants the Debian packages calculix-ccx, libsuitesparse-dev and gcc.
set -euo pipefail
cd "$(dirname "$0")/.."
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
go build -o "$tmp/" ./scripts/speed/...
(cd peer && go run ./fem/pairs "$tmp")
gcc -O2 -o "$tmp/cholmod" scripts/speed/cholmod/cholmod.c -I/usr/include/suitesparse -lcholmod -lm
"$tmp/speed" -dir "$tmp" "$@"
