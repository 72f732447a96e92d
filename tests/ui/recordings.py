"""A simulated client's minutes as an EDF file, for the verbs that read one."""

from __future__ import annotations

from pathlib import Path

import edfio
import numpy as np

from simulators.person import Person, PersonSettings

SFREQ = 250.0


def write_edf(path: Path, seconds: int, seed: int = 5) -> Path:
    """Write C4 and Cz as an amplifier's program would label them, µV, 16 bits."""
    client = Person(PersonSettings(seed=seed, sfreq=SFREQ, ch_names=("C4", "Cz")))
    samples = np.clip(client.read(0, round(seconds * SFREQ)), -799, 799)
    signals = [
        edfio.EdfSignal(
            samples[:, i],
            SFREQ,
            label=f"EEG {name}",
            physical_dimension="uV",
            physical_range=(-800, 800),
        )
        for i, name in enumerate(("C4", "Cz"))
    ]
    edfio.Edf(signals).write(path)
    return path
