#!/bin/sh
# From a bare Debian 12 to a table that compares six policies, and a sheet of pictures a lesson: installs what is missing, builds,
# films, prints, draws.
#   sh bench/demo.sh
# Results go to out/demo. Run again: nothing is installed or built anew, takes that are there are not filmed again.
set -eu
cd "$(dirname "$0")/.."
sh bench/install.sh bench/packages.txt

# A build folder that already has the tests keeps them; a new one gets none, as they need more packages (see tests/run.sh).
[ -f build/release/CMakeCache.txt ] || cmake --preset release -DDRYRIG_TESTS=OFF >/dev/null
echo "Building (the first time takes some minutes)"
log=build/release/demo-build.log
cmake --build --preset release --target dryrig dryrig-view >"$log" 2>&1 || { cat "$log" >&2; exit 3; }

set -- booklet lamp-board seedling
if [ -f out/demo/results.db ]; then
  echo "out/demo holds takes from an earlier run; those of this same build are kept, others are filmed again"
fi
# --force: results of another build are replaced.
exec build/release/bench/dryrig compare "$@" --policy tripod --policy topdown --policy follow --policy planner --policy horizon --policy reference \
  --person avery --person casey --person ellis --sensing good --seeds 1 --jobs "$(nproc)" --out out/demo --force --sheets
