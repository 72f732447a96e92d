"""How strongly each rhythm and each artifact shows at each 10-20 site.

Weights are relative: 1 at the site where the thing is strongest (for muscle: at C4, so that a
clench keeps its stated size there). Textbook topography, common practice: alpha strongest over
the occipital and parietal sites, SMR over the sensorimotor strip, theta along the frontal
midline, blinks falling off steeply from Fp1 and Fp2, jaw muscle strongest at the temples.
"""

from __future__ import annotations

import re
from typing import NamedTuple


class Weights(NamedTuple):
    """Relative strength of everything at one group of sites."""

    background: float
    theta: float
    alpha: float
    smr: float
    high_beta: float
    blink: float
    muscle: float


_GROUPS: dict[tuple[str, ...], Weights] = {
    ("FP1", "FP2", "FPZ"): Weights(1.00, 0.70, 0.25, 0.20, 0.80, 1.00, 1.20),
    ("F7", "F8"): Weights(0.95, 0.60, 0.25, 0.20, 0.90, 0.50, 1.50),
    ("F3", "F4"): Weights(1.00, 0.90, 0.30, 0.40, 0.90, 0.40, 0.90),
    ("FZ",): Weights(1.00, 1.00, 0.30, 0.40, 0.90, 0.40, 0.60),
    ("T3", "T4"): Weights(0.90, 0.50, 0.35, 0.40, 1.00, 0.10, 1.80),
    ("C3", "C4"): Weights(1.00, 0.90, 0.40, 1.00, 1.00, 0.12, 1.00),
    ("CZ",): Weights(1.00, 0.95, 0.45, 0.90, 0.90, 0.14, 0.60),
    ("T5", "T6"): Weights(0.90, 0.50, 0.70, 0.30, 0.80, 0.05, 1.30),
    ("P3", "P4"): Weights(1.00, 0.70, 0.90, 0.40, 0.70, 0.06, 0.70),
    ("PZ",): Weights(1.00, 0.75, 1.00, 0.40, 0.70, 0.06, 0.50),
    ("O1", "O2", "OZ"): Weights(1.00, 0.50, 1.00, 0.25, 0.60, 0.03, 0.80),
    ("A1", "A2"): Weights(0.35, 0.15, 0.15, 0.10, 0.20, 0.05, 0.80),
}
_ELSEWHERE = Weights(1.00, 0.70, 0.50, 0.40, 0.80, 0.10, 1.00)
_BY_SITE = {site: weights for sites, weights in _GROUPS.items() for site in sites}
_ALSO = {"T7": "T3", "T8": "T4", "P7": "T5", "P8": "T6", "M1": "A1", "M2": "A2"}


def site_of(label: str) -> str:
    """Return the site behind a label, in capitals: ``"EEG C4-A1"`` and ``"C4.."`` give C4."""
    name = re.sub(r"^EEG\s+", "", label.strip().upper())
    name = re.split(r"[\s\-.:/]", name, maxsplit=1)[0]
    return _ALSO.get(name, name)


def weights_at(label: str) -> Weights:
    """Return the weights at the site that ``label`` names; middling ones for any other place."""
    return _BY_SITE.get(site_of(label), _ELSEWHERE)
