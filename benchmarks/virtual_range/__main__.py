"""``python -m benchmarks.virtual_range``: plays a campaign, writes docs/proof.md and its pictures, prints the goals."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from benchmarks.virtual_range.adviser import THOROUGH
from benchmarks.virtual_range.campaign import on_cluster, on_cores, run, with_hand_rule
from benchmarks.virtual_range.glance import glance
from benchmarks.virtual_range.playing import ADVISER, HAND, jobs_for
from benchmarks.virtual_range.proof import write_proof
from benchmarks.virtual_range.tables import goal_table
from benchmarks.virtual_range.world import WorldKind
from spinewright.belief import BeliefSettings

__all__ = ["main"]

_PLAYERS = {"both": (HAND, ADVISER), "adviser": (ADVISER,), "hand": (HAND,)}
_KINDS = tuple(kind.name.lower() for kind in WorldKind)
ROOT = Path(__file__).resolve().parents[2]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a campaign as the command line asks; 0 when every world was played and the page, if asked for, written."""
    asked = _parser().parse_args(arguments)
    settings = BeliefSettings(asked.bows, asked.particles, asked.seed)
    players = _PLAYERS[asked.players]
    worlds = jobs_for(asked.worlds, asked.first_seed, min(asked.ablated, asked.worlds), settings)
    jobs = [replace(job, players=players) for job in worlds]
    if asked.kind:
        jobs = [job for job in jobs if job.kind.name.lower() in asked.kind]
    runner = on_cluster(asked.dask) if asked.dask else on_cores(asked.jobs)
    records = with_hand_rule(run(jobs, asked.results, runner, _tell), jobs, asked.results)
    print(glance(records))
    if all(HAND in r["scores"] and ADVISER in r["scores"] for r in records):
        print(goal_table(records))
        if asked.page is not None:
            command = (
                f"python -m benchmarks.virtual_range --worlds {asked.worlds} --first-seed {asked.first_seed} "
                f"--ablated {asked.ablated}"
            )
            write_proof(records, asked.page, command, (asked.bows, asked.particles))
    elif asked.page is not None:
        print("the page needs both players in every world: leave --players out once", file=sys.stderr)
        return 1
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.virtual_range", description=__doc__)
    parser.add_argument(
        "--players", choices=tuple(_PLAYERS), default="both", help="the other's kept hunts are shown too"
    )
    parser.add_argument("--kind", nargs="+", metavar="KIND", help=f"only these: {', '.join(_KINDS)}", choices=_KINDS)
    parser.add_argument("--worlds", type=int, default=300)
    parser.add_argument("--ablated", type=int, default=60, help="how many of them every ablation plays too")
    parser.add_argument("--first-seed", type=int, default=1000)
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes on this machine")
    parser.add_argument("--dask", metavar="ADDRESS", help="address of a Dask scheduler, instead of processes here")
    parser.add_argument("--bows", type=int, default=THOROUGH.bows)
    parser.add_argument("--particles", type=int, default=THOROUGH.particles)
    parser.add_argument("--seed", type=int, default=20, help="of the adviser's own draws")
    parser.add_argument("--results", type=Path, default=ROOT / "out" / "range.jsonl", help="taken up again when there")
    parser.add_argument("--page", type=Path, default=None, help="write the proof there (docs/proof.md)")
    return parser


def _tell(done: int, of: int) -> None:
    print(f"\r{done} of {of} hunts", end="" if done < of else "\n", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
