#!/bin/sh
# Films a suite on a Slurm cluster: an array of N tasks, each a shard of it, then a job that merges what they filmed.
#   sh bench/slurm/submit.sh SUITE OUT N [options for sbatch, such as --partition=night --cpus-per-task=8]
# OUT must be on a file system that all nodes share. The whole is in OUT/whole, each task's words in OUT/logs. Submitted again with
# the same OUT it films only what is missing. Prints the merging job's id; `squeue` tells how far all is. DRYRIG names the program
# where it is not on the PATH of the nodes.
set -eu
if [ $# -lt 3 ]; then sed -n '2,6s/^# \{0,1\}//p' "$0" >&2; exit 2; fi
suite=$1 out=$2 shards=$3
shift 3
here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$out/logs"
array=$(sbatch --parsable --job-name=dryrig --array="1-$shards" --requeue --open-mode=append --output="$out/logs/shard-%a.txt" "$@" \
  "$here/shard.sh" "$suite" "$out" "$shards")
sbatch --parsable --job-name=dryrig-merge --dependency="afterok:${array%%;*}" --kill-on-invalid-dep=yes --output="$out/logs/merge.txt" "$@" \
  "$here/merge.sh" "$out" "$shards"
