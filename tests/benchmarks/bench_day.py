"""A day at the desk: sessions of simulated clients one after another, in one process.

``python -m tests.benchmarks.bench_day [sessions] [minutes] [windows]``. Each is recorded, verified
and exported; with ``windows`` a desk that nudges and a client display that only listens run as
processes beside each, and time is stretched so that they are heard. Printed are memory, threads,
open files and processes after each; the bound is 5 MB of growth from the second to the last.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.engine.session.day import After, one_session
from tests.engine.session.endless_host import WINDOWS

PAUSE_S = 0.002
GROWTH_MB = 5.0


def measure(sessions: int, minutes: float, windows: bool) -> dict[str, Any]:
    """Run the day."""
    day: list[After] = []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(sessions):
            day.append(
                one_session(
                    Path(folder),
                    number + 1,
                    60 * minutes,
                    windows=WINDOWS if windows else (),
                    pause_s=PAUSE_S if windows else 0.0,
                )
            )
            print(f"session {number + 1}: {day[-1]}", file=sys.stderr)
        recordings = len(list(Path(folder).glob("*.sqlite")))
    return {
        "sessions": sessions,
        "recordings": recordings,
        "minutes_simulated": round(sum(after.seconds for after in day) / 60, 1),
        "minutes_taken": round(sum(after.took_s for after in day) / 60, 1),
        "points": [after.points for after in day],
        "faults": [f"session {i}: {f}" for i, after in enumerate(day, 1) for f in after.faults],
        "rss_mb": [round(after.rss_mb, 1) for after in day],
        "growth_mb": round(day[-1].rss_mb - day[1].rss_mb, 1),
        "threads": [after.n_threads for after in day],
        "files": [after.n_files for after in day],
        "processes_left": [after.n_processes for after in day],
    }


if __name__ == "__main__":
    words = sys.argv[1:]
    numbers = [float(word) for word in words if word != "windows"]
    sessions, minutes = [*numbers, *(8.0, 5.0)[len(numbers) :]]
    result = measure(int(sessions), minutes, "windows" in words)
    print(json.dumps(result, indent=1))
    sys.exit(bool(result["faults"]) or result["growth_mb"] > GROWTH_MB)
