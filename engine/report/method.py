"""How a session was made, in sentences that follow from its settings and from nothing else."""

from __future__ import annotations

from engine.lookback.change import BLOCK_S, FEWEST_BLOCKS, FEWEST_EFFECTIVE
from engine.lookback.course import Course
from engine.protocol import Protocol
from engine.report.facts import Facts
from engine.report.words import band, minutes, share

ESTIMATORS = {
    "analytic-fir": "a complex finite-impulse-response filter designed for a typical EEG",
    "tuned": "a complex finite-impulse-response filter designed for the client's own baseline",
    "butterworth": "a Butterworth band-pass with a moving root mean square",
}


def method(facts: Facts) -> tuple[str, ...]:
    """Return the method, one paragraph a string."""
    return (_signal(facts), _reward(facts.course), _clearness(facts), _statistics(facts))


def estimators_used(course: Course) -> tuple[str, ...]:
    """Return the estimators by which rounds ran, in order, each once."""
    return tuple(dict.fromkeys(chosen.name for chosen in course.estimators)) or (
        course.protocol.estimator,
    )


def _signal(facts: Facts) -> str:
    course = facts.course
    protocol = course.protocol
    sensors = ", ".join(
        f"{name} {where}"
        for name, where in (
            ("site", protocol.site),
            ("reference", protocol.reference),
            ("ground", protocol.ground),
        )
        if where
    )
    amplifier = facts.amplifier
    by = ""
    if amplifier is not None:
        maker = f" ({amplifier.manufacturer})" if amplifier.manufacturer else ""
        by = f" from the stream “{amplifier.name}”{maker}, received over Lab Streaming Layer,"
    used = " then ".join(ESTIMATORS.get(name, name) for name in estimators_used(course))
    own = [c for c in protocol.conditions if c.delay_s is not None]
    delay = f"a delay of {protocol.delay_s:g} s"
    if own:
        delay += " (" + ", ".join(f"{c.label}: {c.delay_s:g} s" for c in own) + ")"
    if protocol.agreement is not None:
        delay = (
            f"the least delay at which {share(protocol.agreement)} of the points agree with a "
            f"look from both sides, {protocol.delay_s:g} s until it was known"
        )
    if estimators_used(course) == ("butterworth",):
        delay = "the delay that the filter has"
    return (
        f"EEG ({sensors}){by} was sampled at {course.sfreq:g} Hz, eyes {protocol.eyes}. "
        f"The amplitude of each band is that of its envelope, in µV {protocol.scale}, made by "
        f"{used} with {delay}, and evaluated every {course.tick_s * 1000:.1f} ms."
    )


def _reward(course: Course) -> str:
    protocol, start = course.protocol, course.fixed
    wanted = "; ".join(
        f"{band(c)} {'at or above' if c.direction == 'above' else 'at or below'} {threshold:g} µV, "
        f"averaged over {averaging:g} s"
        for c, threshold, averaging in zip(
            protocol.conditions, start.thresholds_uv, start.averaging_s, strict=True
        )
    )
    n = len(course.changes)
    changed = (
        "No setting was changed."
        if not n
        else f"Settings were changed {n} time{'s' if n > 1 else ''}; each is listed."
    )
    low, high = protocol.zone
    lengths = sum(each.stop_s - each.start_s for each in course.rounds)
    rounds = len(course.rounds)
    return (
        f"A point was earned when all conditions were met without a break for {start.hold_s:g} s, "
        f"and none was counted in the {start.quiet_s:g} s after a point. At the first round: "
        f"{wanted}. The operator aimed at {low:g} to {high:g} points a clear minute. {changed} "
        f"{rounds} round{'' if rounds == 1 else 's'} of training took {minutes(lengths)} in all."
    )


def _clearness(facts: Facts) -> str:
    limits = facts.course.protocol.clearness
    for change in facts.course.limits:
        limits = limits.changed(change.key, change.new)
    frontal = (
        f", or more than {limits.blink_uv:g} µV at {', '.join(limits.blink_channels)} where the "
        "stream has them"
        if limits.blink_channels
        else ""
    )
    lost = ", ".join(f"{reason.value} {minutes(spent)}" for reason, spent in facts.hidden()[:4])
    return (
        "Signal was hidden from reward and from every number here while a copy of it, high-passed "
        f"at 0.5 Hz, exceeded ±{limits.limit_uv:g} µV, stepped by more than {limits.step_uv:g} µV, "
        f"was flat below {limits.flat_uv:g} µV, or held more than {limits.muscle_uv:g} µV in the "
        f"muscle band{frontal}, and for at least {limits.guard_s:g} s after. "
        f"Of the training {share(facts.review.whole.clear_share)} was clear"
        f"{f'; hidden most: {lost}' if lost else ''}."
    )


def _statistics(facts: Facts) -> str:
    blocks = max((found.within.n_blocks for found in facts.changes), default=0)
    return (
        f"Whether a band changed was asked of clear training time in blocks of {BLOCK_S:g} s or "
        f"more ({blocks} here), by a straight line fitted with generalised least squares whose "
        "errors are autocorrelated (first order, with white noise on top), averaged over what that "
        "autocorrelation may be. The intervals are 95 %. No verdict is given on fewer than "
        f"{FEWEST_BLOCKS} blocks, or on blocks worth fewer than {FEWEST_EFFECTIVE:g} independent "
        "ones. High beta stands for muscle where a change is given without it."
    )


def cautions(protocol: Protocol) -> tuple[str, ...]:
    """Return what stands under every report, the protocol's own cautions after it."""
    return tuple(dict.fromkeys((*GENERAL, *protocol.cautions)))


GENERAL = (
    "Nudgeline is not a medical device: this report makes no diagnosis and promises no effect.",
    "One session tells little: a rise can be a return to how it was, habituation, drowsiness or "
    "muscle, and nothing here shows that the training was its cause.",
    "Points are comparable only at the same settings.",
    "Training is done by or under a licensed practitioner; local codes and rules decide.",
)
