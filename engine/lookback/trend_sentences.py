"""What sessions came to together, in sentences: exact ones for the practitioner, plain ones else.

They say what changed and what did not, and of how many sessions; never why. What moves along with
the amplitude, muscle above all, is named beside it.
"""

from __future__ import annotations

import math

from engine.lookback.change import FALL, RISE, TOO_FEW, Change
from engine.lookback.sentences import interval, moved_by
from engine.lookback.trend import FEWEST_SESSIONS, BandTrend, Trend, Trends

MUSCLE_FROM_HZ = 18.0
"""A band kept below a threshold that lies wholly above this tells of muscle, as in a session."""

NO_CAUSE = "What the client says and what the signal does stand side by side; neither is the cause."


def practitioner(found: Trends) -> tuple[str, ...]:
    """Return one sentence a band, then the rate, the rating, and who was left out."""
    n = len(found.sessions)
    if not n:
        return ("No session with a clear minute of training yet.",)
    if n < FEWEST_SESSIONS:
        few = f"{n} session{'' if n == 1 else 's'}: too few; a verdict takes {FEWEST_SESSIONS}."
        return (few, *_left_out(found))
    said = [_band(band, _muscle(found)) for band in found.bands]
    said += [_rest(band.rest) for band in found.bands]
    said += [_within(band.within) for band in found.bands]
    return tuple(s for s in (*said, _rate(found), _rating(found), *_left_out(found)) if s)


def client(found: Trends) -> str:
    """Return what may be said to the client of what is rewarded; empty with too few sessions."""
    rewarded = [b.trained.change.verdict for b in found.bands if b.band.direction == "above"]
    muscle = _muscle(found)
    n = len(found.sessions)
    if not rewarded or TOO_FEW in rewarded:
        return ""
    if RISE in rewarded and not (muscle and muscle.trained.change.verdict == RISE):
        return f"Over your {n} sessions, what you practise became stronger."
    if FALL in rewarded:
        return f"Over your {n} sessions, what you practise became weaker; we look at why together."
    return f"Over your {n} sessions, what you practise stayed about the same so far."


def verdict(change: Change) -> str:
    """Return the verdict over sessions in words."""
    if change.verdict == TOO_FEW:
        return "too few"
    return "clear change" if change.verdict in (RISE, FALL) else "no clear change"


def _muscle(found: Trends) -> BandTrend | None:
    for band in found.bands:
        if band.band.direction == "below" and band.band.low_hz >= MUSCLE_FROM_HZ:
            return band
    return None


def _amplitude(trend: Trend) -> str:
    change = trend.change
    if change.verdict == TOO_FEW:
        n = int(change.n_blocks)
        return f"{trend.what}: too few; {n} session{' has' if n == 1 else 's have'} it."
    scale = trend.unit.removeprefix("µV ")
    return (
        f"{trend.what}: {verdict(change)}; it {moved_by(change)} {scale} over {change.n_blocks} "
        f"sessions ({interval(change)})"
    )


def _band(band: BandTrend, muscle: BandTrend | None) -> str:
    said = _amplitude(band.trained)
    change = band.trained.change
    rose = muscle is not None and muscle.trained.change.verdict == RISE
    if change.verdict == RISE and band.band.direction == "above" and rose and muscle is not None:
        return f"{said}; {muscle.band.label} rose as well: suspect muscle."
    return f"{said.removesuffix('.')}."


def _rest(rest: Trend) -> str:
    """Say what became of the baselines, where there are enough of them."""
    if rest.change.verdict == TOO_FEW:
        return ""
    return f"{_amplitude(rest)}."


def _within(within: Trend) -> str:
    change = within.change
    if change.verdict not in (RISE, FALL):
        return ""
    return (
        f"{within.what}: {moved_by(change)} from the first round to the last, on average of "
        f"{change.n_blocks} sessions ({interval(change)})."
    )


def _rate(found: Trends) -> str:
    change = found.rate.change
    if not math.isfinite(change.change) or change.verdict == TOO_FEW:
        return ""
    end = change.level_at_start + change.change
    return (
        f"Points a clear minute, every session scored at the last one's settings: "
        f"{verdict(change)}, from {max(0.0, change.level_at_start):.1f} to {max(0.0, end):.1f}."
    )


def _rating(found: Trends) -> str:
    change = found.rating.change
    if change.verdict == TOO_FEW:
        return ""
    way = "rose" if change.change > 0 else "fell"
    size = f"{abs(change.change):.1f}"
    return f"Own rating: {verdict(change)}; it {way} by {size} of 10. {NO_CAUSE}"


def _left_out(found: Trends) -> tuple[str, ...]:
    n = len(found.left_out)
    if not n:
        return ()
    whys = list(dict.fromkeys(why for _, why in found.left_out))
    return (f"Left out: {n} session{'' if n == 1 else 's'} ({'; '.join(whys)}).",)
