"""Counting flashes as the standard defines them.

Source: WCAG 2.x, success criterion 2.3.1 (three flashes or below threshold), with its
definitions of general flash, red flash and relative luminance; the same limits as ITU-R BT.1702.
A general flash is a pair of opposing changes of relative luminance, each of 10 % of the maximum
or more, where the darker image is below 0.80. The allowance for small areas is not used here:
every single pixel is held to the rule.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

CHANGE = 0.10
DARK = 0.80
SATURATED = 0.80


class FlashCounter:
    """Takes relative luminances, one array a frame, and notes every opposing change a pixel."""

    def __init__(self, first: NDArray[np.float64]) -> None:
        self._low, self._high = first.copy(), first.copy()
        self._direction = np.zeros(first.shape, np.int8)
        self.changes: list[NDArray[np.bool_]] = []

    def add(self, luminance: NDArray[np.float64]) -> None:
        """Follow each pixel to its next turning point; a change counts when it is large enough."""
        np.minimum(self._low, luminance, out=self._low)
        np.maximum(self._high, luminance, out=self._high)
        up = (luminance - self._low >= CHANGE) & (self._low < DARK) & (self._direction <= 0)
        down = (self._high - luminance >= CHANGE) & (luminance < DARK) & (self._direction >= 0)
        down &= ~up
        self._direction[up], self._direction[down] = 1, -1
        turned = up | down
        self._low[up | down] = luminance[up | down]
        self._high[up | down] = luminance[up | down]
        rising, falling = self._direction > 0, self._direction < 0
        self._low[rising] = np.maximum(self._low, luminance)[rising]
        self._high[falling] = np.minimum(self._high, luminance)[falling]
        self.changes.append(turned)

    def most_flashes(self, frames: int) -> float:
        """Return the largest number of flashes (pairs of changes) a pixel, in so many frames."""
        total = np.cumsum(np.array(self.changes, np.int16), axis=0)
        later = total[frames:] - total[:-frames] if len(total) > frames else total[-1:]
        return float(max(later.max(), total[min(frames, len(total)) - 1].max()) / 2)

    def most_changes(self) -> int:
        """Return the largest number of changes a pixel."""
        return int(np.sum(np.array(self.changes, np.int16), axis=0).max())


def saturated_red(pixels: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Tell which pixels are a saturated red: R / (R + G + B) of 0.8 or more, linearised."""
    share = pixels.astype(np.float64) / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    red: NDArray[np.bool_] = linear[..., 0] >= SATURATED * np.maximum(linear.sum(axis=-1), 1e-9)
    return red
