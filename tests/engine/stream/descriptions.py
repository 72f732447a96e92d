"""Streams' own words for tests: as LSL writes them, and as `describe` reads them."""

from __future__ import annotations

from xml.sax.saxutils import escape

from engine.stream.metadata import Description, describe


def xml_of(
    labels: tuple[str, ...] = ("C3", "C4"),
    units: tuple[str, ...] = ("microvolts", "microvolts"),
    kinds: tuple[str, ...] = (),
    *,
    name: str = "Amplifier",
    kind: str = "EEG",
    n_channels: int = 2,
    rate: str = "250.0000000000000",
    channel_format: str = "float32",
    source_id: str = "amp-1",
    uid: str = "uid-1",
    hostname: str = "room-1",
    desc: str = "",
) -> str:
    """Write the XML of a stream in the layout that XDF's meta-data pages give."""
    channels = "".join(
        "<channel>"
        + "".join(
            f"<{key}>{escape(texts[i])}</{key}>"
            for key, texts in (("label", labels), ("unit", units), ("type", kinds))
            if i < len(texts)
        )
        + "</channel>"
        for i in range(max(len(labels), len(units), len(kinds)))
    )
    return (
        f"<?xml version='1.0'?><info><name>{escape(name)}</name><type>{kind}</type>"
        f"<channel_count>{n_channels}</channel_count><nominal_srate>{rate}</nominal_srate>"
        f"<channel_format>{channel_format}</channel_format><source_id>{source_id}</source_id>"
        f"<uid>{uid}</uid><hostname>{hostname}</hostname>"
        f"<desc>{f'<channels>{channels}</channels>' if channels else ''}{desc}</desc></info>"
    )


def stream(**changes: object) -> Description:
    """Return a description that is complete but for what is changed."""
    return describe(xml_of(**changes))  # type: ignore[arg-type]
