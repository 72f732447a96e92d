"""How strongly each rhythm and each artifact shows at each 10-20 site.

Weights are relative: 1 at the site where the thing is strongest (for muscle: at C4, so that a
clench keeps its stated size there). Textbook topography, common practice: alpha strongest over
the occipital and parietal sites, SMR over the sensorimotor strip, theta along the frontal
midline, blinks falling off steeply from Fp1 and Fp2, jaw muscle strongest at the temples.
"""

from __future__ import annotations

from typing import NamedTuple

from engine.channels import read_label


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
    ("fp1", "fp2", "fpz"): Weights(1.00, 0.70, 0.25, 0.20, 0.80, 1.00, 1.20),
    ("f7", "f8"): Weights(0.95, 0.60, 0.25, 0.20, 0.90, 0.50, 1.50),
    ("f3", "f4"): Weights(1.00, 0.90, 0.30, 0.40, 0.90, 0.40, 0.90),
    ("fz",): Weights(1.00, 1.00, 0.30, 0.40, 0.90, 0.40, 0.60),
    ("t7", "t8"): Weights(0.90, 0.50, 0.35, 0.40, 1.00, 0.10, 1.80),
    ("c3", "c4"): Weights(1.00, 0.90, 0.40, 1.00, 1.00, 0.12, 1.00),
    ("cz",): Weights(1.00, 0.95, 0.45, 0.90, 0.90, 0.14, 0.60),
    ("p7", "p8"): Weights(0.90, 0.50, 0.70, 0.30, 0.80, 0.05, 1.30),
    ("p3", "p4"): Weights(1.00, 0.70, 0.90, 0.40, 0.70, 0.06, 0.70),
    ("pz",): Weights(1.00, 0.75, 1.00, 0.40, 0.70, 0.06, 0.50),
    ("o1", "o2", "oz"): Weights(1.00, 0.50, 1.00, 0.25, 0.60, 0.03, 0.80),
    ("a1", "a2", "m1", "m2"): Weights(0.35, 0.15, 0.15, 0.10, 0.20, 0.05, 0.80),
}
_ELSEWHERE = Weights(1.00, 0.70, 0.50, 0.40, 0.80, 0.10, 1.00)
_BY_SITE = {site: weights for sites, weights in _GROUPS.items() for site in sites}


def weights_at(label: str) -> Weights:
    """Return the weights at the site that ``label`` names; middling ones for any other place."""
    return _BY_SITE.get(read_label(label).site, _ELSEWHERE)
