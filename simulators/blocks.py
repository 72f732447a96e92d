"""Endless signals made in blocks, read in any pieces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from engine.chunk import Floats


class Signal(Protocol):
    """Anything that can be read from sample 0 for ever, in any order, with the same bits."""

    @property
    def sfreq(self) -> float: ...

    @property
    def ch_names(self) -> tuple[str, ...]: ...

    def read(self, start: int, n_samples: int) -> Floats:
        """Return samples ``start`` to ``start + n_samples``, (n_samples, n_channels), µV."""
        ...


class Blocks:
    """Reads from blocks of (n_block, n_channels) that ``make`` returns for a block's number."""

    def __init__(self, n_block: int, n_channels: int, make: Callable[[int], Floats]):
        self._n_block = n_block
        self._n_channels = n_channels
        self._make = make
        self._kept: dict[int, Floats] = {}

    def read(self, start: int, n_samples: int) -> Floats:
        """Return (n_samples, n_channels) from sample ``start`` on."""
        if n_samples <= 0:
            return np.empty((0, self._n_channels))
        first, last = start // self._n_block, (start + n_samples - 1) // self._n_block
        whole = np.concatenate([self._block(i) for i in range(first, last + 1)])
        skip = start - first * self._n_block
        return whole[skip : skip + n_samples]

    def _block(self, index: int) -> Floats:
        if index not in self._kept:
            if len(self._kept) >= 2:
                self._kept.pop(next(iter(self._kept)))
            self._kept[index] = self._make(index)
        return self._kept[index]


def generator(seed: int, what: str, index: int) -> np.random.Generator:
    """Return the generator of one thing at one place, the same in every process."""
    return np.random.default_rng([seed, *what.encode(), index + 1])
