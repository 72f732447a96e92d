"""What a session came to, in sentences: exact ones for the practitioner, plain ones for the client.

Both say the same; neither claims more than the numbers do. The client's name no number of
microvolts and no statistics, praise the work that was done, and promise nothing.
"""

from __future__ import annotations

import math

from engine.lookback.blocks import BandChange
from engine.lookback.change import FALL, FEWEST_BLOCKS, FEWEST_PER_SIDE, RISE, TOO_FEW, Change
from engine.lookback.review import Review
from engine.protocol import Condition

FEWEST_MIN = FEWEST_BLOCKS // 6
"""Clear minutes below which nothing is said of a trend: blocks are of ten seconds."""

BASELINE_MIN = FEWEST_PER_SIDE // 6
MOSTLY = 0.75
"""With less of the training clear than this share it is said that it was."""

MUSCLE_SHARE = 0.5
"""From this share of a rise that goes along with high beta on, muscle is named."""


def practitioner(seen: Review) -> tuple[str, ...]:
    """Return one sentence a band, in the protocol's order, and what else has to be known."""
    bands = tuple(zip(seen.course.conditions, seen.changes, strict=True))
    said = [_band(condition, found) for condition, found in bands]
    after = [_baselines(condition, found.baselines) for condition, found in bands]
    found = (*said, *after, _rates(seen), _clear(seen))
    return tuple(sentence[0].upper() + sentence[1:] for sentence in found if sentence)


def _band(condition: Condition, found: BandChange) -> str:
    name, change = condition.label, found.within
    if not math.isfinite(change.change):
        return f"{name}: too little clear training to say anything."
    moved = f"{name} {moved_by(change)} from the first to the last minute"
    if change.verdict == TOO_FEW:
        return f"{moved}; no verdict on less than {FEWEST_MIN} clear minutes."
    if change.verdict not in (RISE, FALL):
        return f"{moved}, no more than chance would give ({interval(change)})."
    said = f"{moved}, more than chance would give ({interval(change)})"
    if found.muscle_share >= MUSCLE_SHARE:
        return f"{said}; {found.muscle_share:.0%} of it goes along with high beta: suspect muscle."
    return f"{said}."


def _baselines(condition: Condition, change: Change | None) -> str:
    if change is None or not math.isfinite(change.change):
        return ""
    moved = (
        f"{condition.label} at rest {moved_by(change)} from the baseline before to the one after"
    )
    if change.verdict == TOO_FEW:
        return f"{moved}; no verdict on less than {BASELINE_MIN} clear minutes each."
    clear = change.verdict in (RISE, FALL)
    return f"{moved}, {'' if clear else 'no '}more than chance would give."


def moved_by(change: Change) -> str:
    """Return how far an amplitude moved, and which way."""
    size = f"{abs(change.change):.1f}"
    if float(size) == 0:
        return "stayed within 0.05 µV"
    return f"{'rose' if change.change > 0 else 'fell'} {size} µV"


def interval(change: Change) -> str:
    """Return the interval of a change."""
    low, high = (f"{value:+.2f}".replace("-", "−") for value in (change.low, change.high))
    return f"95 %: {low} to {high}"


def _rates(seen: Review) -> str:
    whole = seen.whole
    if whole.rate is None:
        return ""
    said = f"{whole.points} points, {whole.rate:.1f} a clear minute"
    if seen.effects and whole.fixed_rate is not None:
        said += (
            f"; at the first round's settings throughout it would have been {whole.fixed_rate:.1f}"
        )
    return f"{said}."


def _clear(seen: Review) -> str:
    share = seen.whole.clear_share
    if not math.isfinite(share) or share >= MOSTLY:
        return ""
    return f"Only {share:.0%} of the training was clear: every number here stands on that part."


def client(seen: Review) -> tuple[str, ...]:
    """Return what is said to the client: what they did, and how the wanted rhythm fared."""
    whole = seen.whole
    if not seen.rounds:
        return ("There was no training yet today.",)
    rounds = "one round" if len(seen.rounds) == 1 else f"{len(seen.rounds)} rounds"
    minutes = max(1, round(whole.total_s / 60))
    long = "a minute" if minutes == 1 else f"{minutes} minutes"
    points = "1 point" if whole.points == 1 else f"{whole.points} points"
    said = [f"You trained for {long}, in {rounds}, and earned {points}."]
    for condition, found in zip(seen.course.conditions, seen.changes, strict=True):
        if condition.direction == "above":
            said.append(_for_client(found.within, found.muscle_share))
    if math.isfinite(whole.clear_share) and whole.clear_share < MOSTLY:
        said.append(
            "Blinking, moving or tension covered the signal at times; that happens to everybody."
        )
    return tuple(said)


def _for_client(change: Change, muscle_share: float) -> str:
    if change.verdict == RISE and not muscle_share >= MUSCLE_SHARE:
        return "What you practised became stronger while you trained."
    if change.verdict == RISE:
        return "The signal became stronger, and a good part of that looks like muscle tension."
    if change.verdict == FALL:
        return "What you practised became weaker towards the end, as happens when one gets tired."
    if change.verdict == TOO_FEW:
        return "It was too short to tell whether anything changed; it takes some more minutes."
    return "What you practised stayed about the same, as it does in most single sessions."
