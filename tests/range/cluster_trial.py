"""A campaign on a real local cluster of two worker processes, one of them killed in the middle: a program of its own.

``python -m tests.range.cluster_trial RESULTS MARK`` writes the records as JSON; MARK is made by the worker that dies.
"""

from __future__ import annotations

import json
import os
import signal
import sys
from pathlib import Path
from typing import Any
from unittest.mock import patch

from benchmarks.virtual_range import campaign
from benchmarks.virtual_range.playing import Job, play
from benchmarks.virtual_range.world import WorldKind

from spinewright.belief import BeliefSettings

FEW = BeliefSettings(bows=20, particles=30, seed=3)
JOBS = [Job(5000 + k, WorldKind.WIDE, settings=FEW, most_steps=4, best=k == 0) for k in range(3)]
MARK = "RANGE_DIED"


def dies_once(job: Job) -> dict[str, Any]:
    """Play a job; whoever is first at the second one is killed before it is done."""
    mark = Path(os.environ[MARK])
    if job.seed == JOBS[1].seed and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return play(job)


def main(results: Path, mark: Path) -> None:
    """Run the campaign on the cluster."""
    from distributed import LocalCluster

    os.environ[MARK] = str(mark)
    cluster_of_two = LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None)
    with cluster_of_two as cluster, patch("benchmarks.virtual_range.campaign.play", dies_once):
        records = campaign.run(
            JOBS, results.with_suffix(".jsonl"), campaign.on_cluster(cluster.scheduler_address), lambda *_: None
        )
    results.write_text(json.dumps(records), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
