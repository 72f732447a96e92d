"""Arrays of colour for painted layers: gradients, soft noise, and the way into an image."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PyQt6.QtGui import QImage

Pixels = NDArray[np.float32]
"""(height, width, 3) red, green, blue, 0-255; or (height, width) of one value."""

Stop = tuple[float, tuple[int, int, int]]


def gradient(positions: Pixels, stops: tuple[Stop, ...]) -> Pixels:
    """Return the colours at ``positions`` (0-1, any shape) between ``stops``."""
    steps = np.linspace(0, 1, 2048)
    places = [place for place, _ in stops]
    table = np.stack(
        [np.interp(steps, places, [colour[part] for _, colour in stops]) for part in range(3)], -1
    ).astype(np.float32)
    colours: Pixels = table[(np.clip(positions, 0, 1) * 2047).astype(np.int16)]
    return colours


def noise(
    seed: int,
    height: int,
    width: int,
    rows: int,
    columns: int,
    octaves: int = 3,
    joins: bool = False,
) -> Pixels:
    """Return smooth noise, 0-1, (height, width): ``rows`` by ``columns`` bumps and finer ones.

    With ``joins`` the right edge continues at the left one.
    """
    rng = np.random.default_rng(seed)
    total = np.zeros((height, width), np.float32)
    weight, weights = 1.0, 0.0
    for octave in range(octaves):
        grid = rng.random((rows * 2**octave + 2, columns * 2**octave + 1)).astype(np.float32)
        if joins:
            grid[:, -1] = grid[:, 0]
        total += weight * _spread(grid, height, width)
        weights += weight
        weight *= 0.5
    return total / weights


def _spread(grid: Pixels, height: int, width: int) -> Pixels:
    down = np.linspace(0, grid.shape[0] - 1.001, height, dtype=np.float32)
    across = np.linspace(0, grid.shape[1] - 1.001, width, dtype=np.float32)
    top, left = down.astype(int), across.astype(int)
    v, u = _smooth(down - top)[:, None], _smooth(across - left)[None, :]
    lines = grid[top] * (1 - v) + grid[top + 1] * v
    spread: Pixels = lines[:, left] * (1 - u) + lines[:, left + 1] * u
    return spread


def _smooth(share: Pixels) -> Pixels:
    return share * share * (3 - 2 * share)


def step_between(values: Pixels, low: float, high: float) -> Pixels:
    """Return 0 below ``low``, 1 above ``high`` and a soft step between."""
    return _smooth(np.clip((values - low) / (high - low), 0, 1))


def to_image(colours: Pixels, alpha: Pixels | None = None) -> QImage:
    """Return an image of ``colours``, dithered so that slow gradients show no bands.

    With ``alpha`` (0-1) the image is transparent where it is 0.
    """
    height, width = colours.shape[:2]
    grain = np.random.default_rng(5).random((height, width, 1), np.float32)
    pixels = np.empty((height, width, 4), np.uint8)
    if alpha is None:
        pixels[..., 2::-1] = np.clip(colours + grain, 0, 255)
        pixels[..., 3] = 255
        form = QImage.Format.Format_RGB32
    else:
        pixels[..., 2::-1] = np.clip(
            colours * alpha[..., None] + grain * (alpha[..., None] > 0), 0, 255
        )
        pixels[..., 3] = np.clip(alpha * 255 + grain[..., 0], 0, 255)
        pixels[..., :3] = np.minimum(pixels[..., :3], pixels[..., 3:])
        form = QImage.Format.Format_ARGB32_Premultiplied
    return QImage(pixels.tobytes(), width, height, 4 * width, form).copy()


def to_pixels(image: QImage) -> Pixels:
    """Return the colours of an image, (height, width, 3)."""
    image = image.convertToFormat(QImage.Format.Format_RGB32)
    bits = image.constBits()
    assert bits is not None
    lines = np.frombuffer(bits.asstring(image.sizeInBytes()), np.uint8)
    lines = lines.reshape(image.height(), image.bytesPerLine())[:, : 4 * image.width()]
    return lines.reshape(image.height(), image.width(), 4)[..., 2::-1].astype(np.float32)
