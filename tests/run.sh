#!/bin/sh
# Installs what is missing, builds everything and runs the tests: those labelled `fast`, or all with --long.
#   sh tests/run.sh [--long]
# The exit code is that of the first step that fails, or ctest's own.
set -eu
cd "$(dirname "$0")/.."
case "${1:-}" in
  "") label=fast ;;
  --long) label=. ;;
  *) echo "usage: sh tests/run.sh [--long]" >&2; exit 2 ;;
esac
sh bench/install.sh bench/packages.txt tests/packages.txt
cmake --preset release -DDRYRIG_TESTS=ON >/dev/null
cmake --build --preset release
exec ctest --test-dir build/release --label-regex "$label" --output-on-failure --no-tests=error --parallel "$(nproc)"
