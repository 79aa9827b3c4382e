#!/bin/sh
# What submit.sh runs once every shard is filmed.
set -eu
out=$1 shards=$2
rm -rf "$out/merging"
set --
for shard in $(seq "$shards"); do set -- "$@" "$out/shard-$shard"; done
# A folder is put in place whole, so that a report never reads half of it.
"${DRYRIG:-dryrig}" merge "$@" --into "$out/merging"
rm -rf "$out/whole"
mv "$out/merging" "$out/whole"
echo "They are in $out/whole now."
