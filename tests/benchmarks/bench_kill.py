"""Kills hosts with windows at random moments of a running session, and looks at what is left.

``python -m tests.benchmarks.bench_kill [times] [first seed]``. A kill comes up to 4 s after the
first point. Of every one: each point, each other event and each sample that was a second old is
there, the samples are those that were delivered, the database is whole, `verify` proves what is
there, the session is offered to be gone on with, and no window outlives its host by long.
``lost_s`` is how old the oldest sample was that a kill took.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path
from typing import Any

import numpy as np

from tests.engine.session.killing_host import killed_host


def measure(times: int, first_seed: int) -> dict[str, Any]:
    """Kill so many hosts, one after another."""
    kills = []
    for seed in range(first_seed, first_seed + times):
        with tempfile.TemporaryDirectory() as folder:
            kills.append(killed_host(Path(folder), seed, since="PointEarned", windows=True))
    lost_s = [killed.lost_s for killed in kills]
    return {
        "kills": times,
        "faults": [f"seed {first_seed + i}: {f}" for i, k in enumerate(kills) for f in k.faults],
        "points_due": sum(killed.n_due for killed in kills),
        "points_saved": sum(killed.n_points for killed in kills),
        "seconds_saved": round(sum(killed.n_samples for killed in kills) / 250),
        "lost_s": {"median": round(float(np.median(lost_s)), 3), "most": round(max(lost_s), 3)},
    }


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    times, first_seed, *_ = [*numbers, *(50, 1000)[len(numbers) :]]
    result = measure(times, first_seed)
    print(json.dumps(result, indent=1))
    sys.exit(bool(result["faults"]))
