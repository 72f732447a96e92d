"""Finding the channel that a protocol names among the labels that a stream has.

Labels come as ``C4``, ``EEG C4``, ``C4..``, ``EEG C4-Ref`` or ``c4``, and four sites have two
names each in the 10-20 system. A site is matched to the one label that can mean it; where
several can, the operator is asked, never guessed for.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from engine.chunk import Floats
from engine.errors import ConfigError, bad_value

SAME_SITE = {"t3": "t7", "t4": "t8", "t5": "p7", "t6": "p8"}
"""Older names of the 10-20 system and the ones in use since (ACNS Guideline 2, 2016)."""

_KIND = re.compile(r"^eeg[\s:_.-]+")
_DASHES = str.maketrans({dash: "-" for dash in "‐‑‒–−"})


class Derivation(NamedTuple):
    """A label taken apart: the site, and the reference that the label itself names, or ``""``."""

    site: str
    reference: str

    @property
    def text(self) -> str:
        return f"{self.site}-{self.reference}" if self.reference else self.site


def read_label(label: str) -> Derivation:
    """Take a label apart: ``EEG C4-A1`` is (c4, a1), ``T3..`` is (t7, "")."""
    plain = _KIND.sub("", label.strip().lower().translate(_DASHES))
    site, _, reference = plain.partition("-")
    return Derivation(_site(site), _site(reference))


def _site(text: str) -> str:
    name = text.strip().rstrip(". ")
    return SAME_SITE.get(name, name)


def match_channel(wanted: str, ch_names: tuple[str, ...]) -> int:
    """Return the index of the one channel that ``wanted`` means.

    A label written exactly wins, then one that differs in case only. Otherwise every label that
    can mean the same site counts, and there must be just one: ConfigError names the candidates.
    """
    for same in (_exactly, _but_for_case):
        found = [i for i, label in enumerate(ch_names) if same(wanted, label)]
        if len(found) == 1:
            return found[0]
    asked = read_label(wanted)
    found = [
        i
        for i, label in enumerate(ch_names)
        if asked.site
        and read_label(label).site == asked.site
        and asked.reference in ("", read_label(label).reference)
    ]
    if len(found) == 1:
        return found[0]
    if found:
        several = " or ".join(repr(ch_names[i]) for i in found)
        raise bad_value("channel", wanted, f"one label of the stream ({several} all fit)", _WRITE)
    known = ", ".join(repr(label) for label in ch_names) or "none"
    raise bad_value("channel", wanted, f"a label of the stream ({known})", _WRITE)


_WRITE = "write the label in full, as with --channel C4"


def _exactly(wanted: str, label: str) -> bool:
    return wanted == label


def _but_for_case(wanted: str, label: str) -> bool:
    return wanted.strip().casefold() == label.strip().casefold()


def parse_montage(montage: str, ch_names: tuple[str, ...]) -> Floats:
    """Return the weights, (n_channels,), of a channel or of the difference of two.

    ``C4`` is 1 on that channel; ``C4 - A1`` is 1 on C4 and -1 on A1. A label that holds the
    difference itself (``EEG C4-A1`` was recorded as such) wins over taking it apart.
    ConfigError where a part is missing or ambiguous, both are one, or their references differ.
    """
    weights = np.zeros(len(ch_names))
    halves = _halves(montage, ch_names)
    if halves is None:
        weights[match_channel(montage, ch_names)] = 1.0
        return weights
    plus, minus = (match_channel(half, ch_names) for half in halves)
    if plus == minus:
        raise bad_value("channel", montage, "the difference of two channels", "name two")
    references = [read_label(ch_names[i]).reference for i in (plus, minus)]
    in_full = all(
        _but_for_case(half, ch_names[i]) for half, i in zip(halves, (plus, minus), strict=True)
    )
    if references[0] != references[1] and not in_full:
        raise ConfigError(
            f"channel is {montage!r}, but {ch_names[plus]!r} and {ch_names[minus]!r} are recorded "
            "against different references, so that their difference is another; "
            "write both labels in full if it is wanted all the same."
        )
    weights[plus], weights[minus] = 1.0, -1.0
    return weights


def _halves(montage: str, ch_names: tuple[str, ...]) -> tuple[str, str] | None:
    """Return both sides of a difference, or None where ``montage`` is one label."""
    plain = montage.translate(_DASHES)
    whole = read_label(plain)
    if any(_but_for_case(montage, label) or read_label(label) == whole for label in ch_names):
        return None
    cuts = [match.span() for match in re.finditer(r"\s-\s", plain)] or [
        match.span() for match in re.finditer(r"-", plain)
    ]
    pairs = [(plain[:start].strip(), plain[end:].strip()) for start, end in cuts]
    pairs = [pair for pair in pairs if all(pair)]
    if not pairs:
        return None
    for pair in pairs:
        if all(any(_but_for_case(half, label) for label in ch_names) for half in pair):
            return pair
    return pairs[0]
