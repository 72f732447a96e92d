"""Clear training time in blocks of ten seconds or more, and what changed of each band."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from engine.chunk import Floats
from engine.lookback.change import BLOCK_S, MOST_BLOCKS, Change, compare, trend
from engine.lookback.course import Bools, Course, Ints

LEAST_CLEAR = 0.5
"""A block of which less than this share is clear is left out."""


@dataclass(frozen=True, eq=False)
class Blocks:
    """Means over clear time.

    Attributes
    ----------
    block_s : length. index : (n_blocks,), whole blocks since the first sample, ascending.
    mean_uv, met_share : (n_blocks, n_conditions). clear_share : (n_blocks,).
    """

    block_s: float
    index: Ints
    mean_uv: Floats
    met_share: Floats
    clear_share: Floats

    def __len__(self) -> int:
        return int(self.index.shape[0])


@dataclass(frozen=True)
class BandChange:
    """What changed of one band.

    Attributes
    ----------
    within : over the training. met : of its share of time met, 0-1, at the settings as they were.
    without_muscle : ``within`` with what goes along with high beta taken out of it; None for
        high beta itself and where it is not recorded.
    baselines : after minus before, None where one of the two was not recorded.
    """

    band: str
    within: Change
    met: Change
    without_muscle: Change | None
    baselines: Change | None

    @property
    def muscle_share(self) -> float:
        """The share of a clear change that goes with high beta, 0-1; NaN where there is none."""
        if self.without_muscle is None or self.within.verdict not in ("rise", "fall"):
            return float("nan")
        return float(np.clip(1 - self.without_muscle.change / self.within.change, 0.0, 1.0))


def training_blocks(course: Course) -> Blocks:
    """Return the blocks of all rounds, at most `MOST_BLOCKS`."""
    inside = course.rows.round > 0
    total_s = float(course.rows.n_ticks[inside].sum()) * course.tick_s
    times = max(1, int(np.ceil(total_s / BLOCK_S / MOST_BLOCKS)))
    return _blocks(course, inside, BLOCK_S * times)


def stretch_blocks(course: Course, what: str, block_s: float = BLOCK_S) -> Blocks:
    """Return the blocks of a baseline; none where there was none."""
    rows = course.stretch_rows(what)
    place = int(rows.stretch[0]) if len(rows) else -1
    return _blocks(course, course.rows.stretch == place, block_s)


def _blocks(course: Course, chosen: Bools, block_s: float) -> Blocks:
    rows = course.rows.where(chosen)
    index = (rows.time_s // block_s).astype(np.int64)
    found = np.unique(index)
    place = np.searchsorted(found, index)
    n = found.shape[0]
    ticks = np.bincount(place, rows.n_ticks, n)
    clear = np.bincount(place, rows.n_clear, n)
    whole = block_s / course.tick_s
    kept = (clear >= LEAST_CLEAR * whole) & (clear > 0)

    def means(values: Floats) -> Floats:
        sums = [
            np.bincount(place, np.nan_to_num(column) * rows.n_clear, n)[kept] / clear[kept]
            for column in values.T
        ]
        return np.stack(sums, axis=1)

    return Blocks(
        block_s, found[kept], means(rows.mean_uv), means(rows.met_share), clear[kept] / ticks[kept]
    )


def band_changes(course: Course) -> tuple[BandChange, ...]:
    """Return what changed of every band, in the protocol's order."""
    blocks = training_blocks(course)
    before = stretch_blocks(course, "baseline before")
    after = stretch_blocks(course, "baseline after")
    muscle = muscle_column(course)
    found = []
    for i, condition in enumerate(course.conditions):
        values = blocks.mean_uv[:, i]
        alone = muscle is None or muscle == i
        found.append(
            BandChange(
                band=condition.band,
                within=trend(values, blocks.index, blocks.block_s),
                met=trend(blocks.met_share[:, i], blocks.index, blocks.block_s),
                without_muscle=None
                if alone
                else trend(values, blocks.index, blocks.block_s, blocks.mean_uv[:, muscle]),
                baselines=compare(before.mean_uv[:, i], after.mean_uv[:, i])
                if len(before) and len(after)
                else None,
            )
        )
    return tuple(found)


def muscle_column(course: Course) -> int | None:
    """Return which condition tells most of muscle: the one that lies wholly above 18 Hz."""
    high = [i for i, c in enumerate(course.conditions) if c.low_hz >= 18 and c.direction == "below"]
    return high[0] if high else None
