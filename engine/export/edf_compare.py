"""An EDF+ or BDF+ file read back, and held against what was to be written."""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from edfio import Bdf, BdfSignal, Edf, EdfSignal, read_bdf, read_edf
from numpy.typing import NDArray

from engine.errors import RecordError

_Signal = EdfSignal | BdfSignal


def compare(path: Path, aside: Path, made: Edf | Bdf) -> None:
    """Read a file back; RecordError unless it holds what it should."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            read = (read_edf if isinstance(made, Edf) else read_bdf)(aside)
            wrong = _first_difference(made, read)
        except (ValueError, Warning, IndexError) as error:
            wrong = str(error)
    if wrong:
        raise RecordError(
            f"The export {path} does not read back as it was written ({wrong}), and was not kept; "
            "export the session again: its recording is whole."
        )


def _first_difference(made: Edf | Bdf, read: Edf | Bdf) -> str:
    if made.labels != read.labels or made.num_data_records != read.num_data_records:
        return "other channels or another length"
    pairs: Iterable[tuple[_Signal, _Signal]] = zip(made.signals, read.signals, strict=True)
    for ours, theirs in pairs:
        same: NDArray[np.bool_] = np.asarray(ours.digital == theirs.digital)
        if not same.all() or ours.physical_range != theirs.physical_range:
            return f"the samples of {ours.label}"
        if not math.isclose(ours.sampling_frequency, theirs.sampling_frequency, rel_tol=1e-9):
            return f"the rate of {ours.label}"
    if made.annotations != read.annotations:
        return "the annotations"
    if made.local_patient_identification != read.local_patient_identification:
        return "the header"
    return ""
