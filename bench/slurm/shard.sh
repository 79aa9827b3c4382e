#!/bin/sh
# One task of the array that submit.sh submits: films shard number SLURM_ARRAY_TASK_ID. A run that is killed (memory, preemption, a lost
# node) is put back into the queue, three times at most, and goes on where it stopped: every finished take is kept.
set -u
suite=$1 out=$2 shards=$3
code=0
"${DRYRIG:-dryrig}" compare "$suite" --shard "$SLURM_ARRAY_TASK_ID/$shards" --jobs "${SLURM_CPUS_PER_TASK:-1}" --quiet \
  --out "$out/shard-$SLURM_ARRAY_TASK_ID" || code=$?
if [ "$code" -gt 128 ] && [ "${SLURM_RESTART_COUNT:-0}" -lt 3 ]; then
  echo "shard $SLURM_ARRAY_TASK_ID was killed (exit $code): into the queue again"
  scontrol requeue "${SLURM_ARRAY_JOB_ID}_$SLURM_ARRAY_TASK_ID"
fi
exit "$code"
