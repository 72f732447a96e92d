"""What a stream says of itself, read from its XML, and what makes it unusable as EEG.

The layout is the one that LSL programs share (XDF meta-data: ``desc/channels/channel`` with
``label``, ``unit`` and ``type``, ``desc/reference/label``). All of it may be missing: real
streams often come with an empty ``desc``.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass

from engine.errors import SourceError

NUMERIC = ("float32", "double64", "int8", "int16", "int32", "int64")
"""Channel formats that can carry EEG."""


@dataclass(frozen=True)
class Description:
    """A stream in its own words; ``""`` is what it does not say.

    ``labels``, ``units`` and ``kinds`` hold one text a channel. ``nominal_sfreq`` is 0 for a
    stream without a regular rate.
    """

    name: str
    kind: str
    source_id: str
    uid: str
    hostname: str
    n_channels: int
    nominal_sfreq: float
    channel_format: str
    labels: tuple[str, ...]
    units: tuple[str, ...]
    kinds: tuple[str, ...]
    reference: str = ""
    manufacturer: str = ""

    @property
    def title(self) -> str:
        """How messages call the stream."""
        return f"Stream {self.name!r}"


def describe(xml: str) -> Description:
    """Read a stream's XML, short (as resolved) or full; SourceError where it is no XML."""
    try:
        root = ElementTree.fromstring(xml)
    except ElementTree.ParseError as error:
        raise SourceError(
            f"The stream describes itself in XML that cannot be read ({error}), but LSL's own "
            "form is needed; restart the amplifier's program."
        ) from None
    n_channels = int(_number(root, "channel_count"))
    channels = root.findall("desc/channels/channel")[:n_channels]

    def of_channels(key: str) -> tuple[str, ...]:
        texts = [_text(channel, key) for channel in channels]
        return tuple(texts + [""] * (n_channels - len(texts)))

    return Description(
        name=_text(root, "name"),
        kind=_text(root, "type"),
        source_id=_text(root, "source_id"),
        uid=_text(root, "uid"),
        hostname=_text(root, "hostname"),
        n_channels=n_channels,
        nominal_sfreq=_number(root, "nominal_srate"),
        channel_format=_text(root, "channel_format"),
        labels=of_channels("label"),
        units=of_channels("unit"),
        kinds=of_channels("type"),
        reference=_text(root, "desc/reference/label") or _text(root, "desc/reference"),
        manufacturer=_text(root, "desc/manufacturer")
        or _text(root, "desc/acquisition/manufacturer"),
    )


def _text(node: ElementTree.Element, path: str) -> str:
    return (node.findtext(path) or "").strip()


def _number(node: ElementTree.Element, path: str) -> float:
    try:
        value = float(_text(node, path))
    except ValueError:
        return 0.0
    return value if math.isfinite(value) and value > 0 else 0.0


def require_usable(stream: Description) -> None:
    """Raise SourceError, with the reason, where no answer could make the stream usable."""
    if stream.channel_format not in NUMERIC:
        raise SourceError(
            f"{stream.title} carries {stream.channel_format or 'unknown'} values, but numbers "
            f"({', '.join(NUMERIC)}) are needed; choose the stream that carries the EEG."
        )
    if stream.n_channels < 1:
        raise SourceError(
            f"{stream.title} has no channels, but at least one is needed; check the amplifier."
        )
    if stream.nominal_sfreq <= 0:
        raise SourceError(
            f"{stream.title} states a sampling rate of 0 Hz (irregular), but amplitudes need a "
            "regular rate; set the rate in the amplifier's program, or choose another stream."
        )
    require_distinct(stream.title, stream.labels)


def require_distinct(title: str, labels: tuple[str, ...]) -> None:
    """Raise SourceError where two channels have one label (an empty one is only missing)."""
    given = [label for label in labels if label]
    twice = sorted({label for label in given if given.count(label) > 1})
    if twice:
        names = ", ".join(repr(label) for label in twice)
        raise SourceError(
            f"{title} has several channels with the label {names}, but every label may stand for "
            "one channel only; correct the labels in the amplifier's program."
        )


def difference(before: Description, now: Description) -> str:
    """Say what changed since a stream was lost, or ``""`` where it may go on.

    Everything that the filters, the labels or the units stand on counts; the uid may differ.
    The first change is named: fewer channels have other labels too.
    """
    pairs = (
        (f"{before.n_channels} channels", f"{now.n_channels} channels"),
        (f"{before.nominal_sfreq:g} Hz", f"{now.nominal_sfreq:g} Hz"),
        (f"{before.channel_format} values", f"{now.channel_format} values"),
        (f"the labels {_listed(before.labels)}", f"the labels {_listed(now.labels)}"),
        (f"the units {_listed(before.units)}", f"the units {_listed(now.units)}"),
    )
    return next((f"{new} instead of {old}" for old, new in pairs if old != new), "")


def _listed(texts: tuple[str, ...]) -> str:
    return " ".join(text or "(none)" for text in texts)
