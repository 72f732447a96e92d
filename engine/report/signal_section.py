"""The part of the full report that stands on the samples: spectra, relative power, histograms."""

from __future__ import annotations

from engine.lookback.relative import WHOLE_HZ, Share
from engine.report.facts import Facts
from engine.report.html import figure, heading, paragraph, table
from engine.report.signal_figures import histogram_figure, spectrum_figure
from engine.report.words import band, minutes, number

LOW = 150
"""Height of a histogram."""


def signal_section(facts: Facts) -> list[str]:
    """Return figures and numbers; nothing where the samples were not read or nothing was clear."""
    signal = facts.signal
    if signal is None or not signal.periods:
        return []
    return [*_spectra(facts), *_relative(facts), *_histograms(facts)]


def _spectra(facts: Facts) -> list[str]:
    signal = facts.signal
    assert signal is not None
    clear = ", ".join(f"{p.name} {minutes(p.spectrum.clear_s)}" for p in signal.periods)
    return [
        heading("Power spectrum"),
        *(
            figure(
                spectrum_figure(facts.course, signal, place),
                f"{name}. Solid: training; dashed, squares: baseline before; dotted, rings: "
                "baseline after. Grey and bars: 95 % interval at each frequency by itself. "
                f"Clear signal: {clear}.",
            )
            for place, name in enumerate(signal.signals)
        ),
    ]


def _relative(facts: Facts) -> list[str]:
    signal = facts.signal
    assert signal is not None
    rows = [
        [band(condition), *(_share(period.relative[place]) for period in signal.periods)]
        for place, condition in enumerate(facts.course.conditions)
    ]
    return [
        table(["share of power", *(period.name for period in signal.periods)], rows),
        paragraph(
            f"Share of the power between {WHOLE_HZ[0]:g} and {WHOLE_HZ[1]:g} Hz, with its 95 % "
            "interval. It also rises where other power falls, and stands beside the amplitude, "
            "never in its place.",
            "under",
        ),
    ]


def _share(found: Share) -> str:
    middle, low, high = (number(value * 100) for value in (found.value, found.low, found.high))
    return f"{middle} %" if low == high else f"{middle} % ({low} to {high})"


def _histograms(facts: Facts) -> list[str]:
    signal = facts.signal
    assert signal is not None
    drawn = [
        figure(
            histogram_figure(facts.course, place, found, LOW),
            f"{band(condition)}, averaged as rewarded, clear time in rounds: median "
            f"{number(found.median_uv, 2)} µV. Dotted: thresholds, the first and the last named.",
        )
        for place, (condition, found) in enumerate(
            zip(facts.course.conditions, signal.histograms, strict=True)
        )
        if found.n
    ]
    return [heading("How often each amplitude was there"), *drawn] if drawn else []
