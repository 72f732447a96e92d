"""Records without end and says on standard output what is saved; the tests kill it.

Sample n holds the number n, event n the text n, so that whatever is found can be checked.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from engine.chunk import chunk_of
from engine.events import Note
from engine.session.recording import Recording
from tests.engine.session.examples import INFO, PROTOCOL


def main(folder: Path, seed: int) -> None:
    """Commit after every few chunks, and acknowledge each commit with one line."""
    rng = np.random.default_rng(seed)
    recording = Recording(folder, "session")
    recording.begin(PROTOCOL, INFO, "0.1.0", {})
    sample = event = 0
    while True:
        for _ in range(rng.integers(1, 5)):
            n = int(rng.integers(1, 200))
            raw = np.repeat(np.arange(sample, sample + n, dtype="<i4")[:, None], 2, axis=1)
            recording.samples(sample, chunk_of(raw, INFO.to_uv))
            sample += n
            recording.event(Note(sample, sample / INFO.sfreq, str(event)))
            event += 1
        if not recording.flush():
            sys.exit("the disk does not answer")
        saved_samples, saved_events = recording.saved
        print(saved_samples, saved_events, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]))
