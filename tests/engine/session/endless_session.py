"""Runs a session without end and says on standard output how much is saved; the tests kill it."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from engine.chunk import chunk_of
from engine.session.asks import AskNudge, AskRound
from tests.engine.session.examples import INFO, rhythm
from tests.engine.session.recorded import begun_live


def main(folder: Path, seed: int) -> None:
    """Feed chunks of chance, nudge and break off now and then, acknowledge what is on the disk."""
    rng = np.random.default_rng(seed)
    live = begun_live(folder)
    live.segment(0.0, "start")
    live.round(AskRound("start"))
    minute = rhythm(60.0, seed)
    place, said = 0, (0, 0)
    while True:
        n = int(rng.integers(1, 40))
        raw = minute.take(range(place, place + n), axis=0, mode="wrap")
        place += n
        live.data(chunk_of(raw, INFO.to_uv))
        if rng.random() < 0.02:
            live.nudge(AskNudge("smr.threshold", "key", steps=int(rng.choice([-1, 1]))))
        if rng.random() < 0.005:
            live.segment(live.pipeline.time_s + 1.0, "gap")
        if (saved := live.recording.saved) != said:
            said = saved
            print(*saved, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
