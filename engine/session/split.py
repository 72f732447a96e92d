"""Cutting a chunk in two, so that a round ends at its sample and not at a chunk's edge."""

from __future__ import annotations

from engine.chunk import Chunk


def split(chunk: Chunk, n_samples: int) -> tuple[Chunk, Chunk]:
    """Return the first ``n_samples`` and the rest; either may be empty."""
    return (
        Chunk(
            chunk.raw[:n_samples],
            chunk.samples_uv[:n_samples],
            chunk.stamps_s[:n_samples],
            chunk.arrival_s,
        ),
        Chunk(
            chunk.raw[n_samples:],
            chunk.samples_uv[n_samples:],
            chunk.stamps_s[n_samples:],
            chunk.arrival_s,
        ),
    )
