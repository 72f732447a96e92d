"""Labels for a stream that names its channels only partly, or not at all."""

from __future__ import annotations

from engine.errors import bad_value
from engine.stream.messages import Question
from engine.stream.metadata import Description


def ask_labels(stream: Description) -> Question:
    """Return the question for the labels that are missing."""
    n_channels = len(stream.labels)
    unnamed = sum(not label for label in stream.labels)
    how = (
        "write its label, such as C4"
        if n_channels == 1
        else "write every label, in order, with commas between, or C4=3 for the third alone"
    )
    return Question(
        "channel",
        f"{stream.title} names no label for {unnamed} of its {n_channels} channels, but the sites "
        f"must be known; {how}.",
        (),
    )


def read_labels(text: str, given: tuple[str, ...]) -> tuple[str, ...]:
    """Return every label from an answer; ConfigError where it does not fit.

    ``C3, C4`` names all in order; ``C4=3`` names some by their place, counted from 1. What
    stays without a label keeps the one that the stream gave, or its place.
    """
    n_channels = len(given)
    parts = [part.strip() for part in text.split(",")]
    labels = [label or str(i + 1) for i, label in enumerate(given)]
    placed = ["=" in part for part in parts]
    sound = all(parts)
    if all(placed):
        for part in parts:
            label, _, place = (piece.strip() for piece in part.rpartition("="))
            sound = sound and bool(label) and place.isdecimal() and 1 <= int(place) <= n_channels
            if sound:
                labels[int(place) - 1] = label
    else:
        sound = sound and not any(placed) and len(parts) == n_channels
        labels = parts
    if not sound or len(set(labels)) != len(labels):
        accepted = f"{n_channels} different labels with commas between, or C4=1 to C4={n_channels},"
        raise bad_value("channel", text, accepted, "write it anew with --channel")
    return tuple(labels)


def wanted_label(text: str) -> str | None:
    """Return the label that ``--channel`` asks to train on: ``C4`` from ``C4`` and ``C4=3``.

    None where it names several channels: then the protocol's own site is meant.
    """
    if "," in text:
        return None
    return text.rpartition("=")[0].strip() or text.strip()
