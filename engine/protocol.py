"""A training protocol: what is rewarded, how, and within which limits. One TOML file each.

Every key, its unit and its range are written in the comments of ``configs/protocols``.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from engine.errors import bad_value
from engine.settings import AVERAGING_S, HOLD_S, QUIET_S, THRESHOLD_UV, Settings
from engine.toml_checks import Table, raise_mistakes, read_toml

SCALES = {"peak": 1.0, "rms": 2.0**-0.5, "peak-to-peak": 2.0}
"""Factor from the amplitude of a sine, in microvolts peak, to each scale."""

SCENES = ("shore", "bowl", "still")
"""What a client may look at: a shore at dusk, a bowl for children, and least of all."""
ESTIMATORS = ("analytic-fir", "tuned", "butterworth")
DELAY_S = (0.04, 1.0)
DIRECTIONS = ("above", "below")

LIMITS = {"clearness.muscle": (0.5, 200.0), "clearness.blink": (20.0, 1000.0)}
"""The limits that a running session may set for its client, with their ranges, µV."""

_SLUG = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True)
class Condition:
    """A band on a channel, kept above (reward) or below (inhibit) a threshold.

    ``channel`` is a label, or ``"C4 - A1"``, the difference of two; empty: the protocol's site.
    ``step_uv`` is one nudge of the threshold. ``delay_s`` is its filter's own delay, None for the
    protocol's: conditions that do not share one speak of different moments.
    """

    band: str
    label: str
    low_hz: float
    high_hz: float
    direction: str
    threshold_uv: float
    averaging_s: float
    step_uv: float
    channel: str = ""
    delay_s: float | None = None


@dataclass(frozen=True)
class ClearnessLimits:
    """What hides a signal. Microvolts peak on a copy high-passed at 0.5 Hz, and seconds.

    ``muscle_uv`` is the amplitude (peak scale) of the muscle band. ``blink_channels`` are frontal
    channels that are watched too, where the stream has them, with ``blink_uv`` as their limit.
    """

    limit_uv: float = 100.0
    step_uv: float = 40.0
    muscle_uv: float = 5.0
    blink_uv: float = 150.0
    flat_uv: float = 0.2
    guard_s: float = 0.3
    blink_channels: tuple[str, ...] = ()

    def value(self, key: str) -> float:
        """Return the limit under ``key`` of `LIMITS`; ConfigError on an unknown key."""
        return float(getattr(self, _field(key)))

    def changed(self, key: str, value: float) -> ClearnessLimits:
        """Return limits with ``key`` at ``value`` µV; ConfigError if out of range."""
        field = _field(key)
        low, high = LIMITS[key]
        if not math.isfinite(value) or not low <= value <= high:
            raise bad_value(key, value, f"{low:g} to {high:g} µV", "choose a value in between")
        changed: dict[str, Any] = {field: float(value)}
        return replace(self, **changed)


def _field(key: str) -> str:
    if key not in LIMITS:
        raise bad_value("limit", key, "one of " + ", ".join(LIMITS), "correct the name")
    return key.removeprefix("clearness.") + "_uv"


@dataclass(frozen=True)
class Steps:
    """One nudge of each time."""

    hold_s: float = 0.05
    quiet_s: float = 0.1
    averaging_s: float = 0.02


@dataclass(frozen=True)
class Rounds:
    count: int = 6
    length_s: float = 180.0
    rest_s: float = 30.0


@dataclass(frozen=True)
class ClientScene:
    """What the client sees and hears; ``closeness`` lets the scene follow the conditions."""

    scene: str = "shore"
    closeness: bool = True
    tone: bool = False
    volume: float = 0.4


@dataclass(frozen=True)
class Protocol:
    """Everything a session needs to know before the first sample.

    With ``agreement`` a round begins at the least delay at which this share of the points agrees
    with what a look from both sides would give; ``delay_s`` serves until then.
    """

    slug: str
    name: str
    site: str
    reference: str
    ground: str
    eyes: str
    scale: str
    estimator: str
    delay_s: float
    hold_s: float
    quiet_s: float
    zone: tuple[float, float]
    conditions: tuple[Condition, ...]
    cautions: tuple[str, ...] = ()
    clearness: ClearnessLimits = ClearnessLimits()
    steps: Steps = Steps()
    rounds: Rounds = Rounds()
    client: ClientScene = ClientScene()
    agreement: float | None = None

    @property
    def settings(self) -> Settings:
        """The nudgeable settings as the protocol starts them."""
        return Settings(
            bands=tuple(c.band for c in self.conditions),
            thresholds_uv=tuple(c.threshold_uv for c in self.conditions),
            averaging_s=tuple(c.averaging_s for c in self.conditions),
            hold_s=self.hold_s,
            quiet_s=self.quiet_s,
        )

    @property
    def above(self) -> tuple[bool, ...]:
        """For each condition, whether it is a reward band, kept above its threshold."""
        return tuple(c.direction == "above" for c in self.conditions)

    def label(self, band: str) -> str:
        """Return a band as it is written on screen; the name itself where there is none."""
        return next((c.label for c in self.conditions if c.band == band), band)

    def step(self, key: str) -> float:
        """Return one nudge of the setting under ``key``."""
        if key == "hold":
            return self.steps.hold_s
        if key == "quiet":
            return self.steps.quiet_s
        band, _, kind = key.partition(".")
        if kind == "averaging":
            return self.steps.averaging_s
        return next(c.step_uv for c in self.conditions if c.band == band)


def load_protocol(path: Path) -> Protocol:
    """Read and check a protocol file; ConfigError holds one sentence a mistake."""
    return protocol_from(read_toml(path), slug=path.stem, file=path.name)


def protocol_from(values: dict[str, Any], slug: str, file: str) -> Protocol:
    """Check the values of a protocol and freeze them; ``file`` is named in every message."""
    mistakes: list[str] = []
    top = Table(values, file, mistakes)
    protocol = Protocol(
        slug=slug,
        name=top.text("name"),
        site=top.text("site"),
        reference=top.text("reference", ""),
        ground=top.text("ground", ""),
        eyes=top.choice("eyes", ("open", "closed"), "open"),
        scale=top.choice("scale", tuple(SCALES), "peak"),
        estimator=top.choice("estimator", ESTIMATORS, "analytic-fir"),
        delay_s=top.number("delay_s", *DELAY_S, "s", 0.2),
        agreement=top.number_or_none("agreement", 0.3, 0.95),
        hold_s=top.number("hold_s", *HOLD_S, "s", 0.5),
        quiet_s=top.number("quiet_s", *QUIET_S, "s", 1.0),
        zone=_zone(top.table("zone")),
        conditions=_conditions(top),
        cautions=top.texts("cautions", []),
        clearness=_clearness(top.table("clearness")),
        steps=_steps(top.table("steps")),
        rounds=_rounds(top.table("rounds")),
        client=_client(top.table("client")),
    )
    top.close()
    if protocol.eyes == "closed" and not protocol.client.tone:
        mistakes.append(
            f'{file}: client.tone is false, but true is needed where eyes is "closed", since '
            "sound alone carries the session; set client.tone = true."
        )
    if protocol.estimator == "butterworth" and protocol.agreement is not None:
        top.complain(
            "agreement",
            protocol.agreement,
            'no share where estimator is "butterworth", whose delay is what it is',
            "take the line out or choose another estimator",
        )
    raise_mistakes(mistakes)
    return protocol


def _zone(table: Table) -> tuple[float, float]:
    n_before = len(table.mistakes)
    low = table.number("low", 0.1, 120, "points a minute", 10.0)
    high = table.number("high", 0.1, 120, "points a minute", 15.0)
    if high <= low and len(table.mistakes) == n_before:
        table.complain("high", high, f"a number above low ({low:g})", "raise it")
    table.close()
    return low, high


def _conditions(top: Table) -> tuple[Condition, ...]:
    n_before = len(top.mistakes)
    tables = top.tables("condition")
    if not 1 <= len(tables) <= 12 and len(top.mistakes) == n_before:
        top.complain(
            "condition",
            len(tables),
            "a list of 1 to 12 conditions",
            "add or take out [[condition]]",
        )
    conditions: list[Condition] = []
    for table in tables:
        band = table.text("band", most=24)
        if band and not _SLUG.fullmatch(band):
            table.complain("band", band, "a name of a-z, 0-9 and _", 'write it like "high_beta"')
        if band and band in {c.band for c in conditions}:
            table.complain("band", band, "a name that no other condition has", "rename one")
        n_before = len(table.mistakes)
        low = table.number("low_hz", 0.5, 95, "Hz")
        high = table.number("high_hz", 1, 100, "Hz")
        if high - low < 1 and len(table.mistakes) == n_before:
            table.complain(
                "high_hz", high, f"a number at least 1 Hz above {low:g}", "widen the band"
            )
        conditions.append(
            Condition(
                band=band,
                label=table.text("label", band.replace("_", " "), most=24),
                low_hz=low,
                high_hz=high,
                direction=table.choice("direction", DIRECTIONS),
                threshold_uv=table.number("threshold_uv", *THRESHOLD_UV, "µV"),
                averaging_s=table.number("averaging_s", *AVERAGING_S, "s", 0.24),
                step_uv=table.number("step_uv", 0.01, 50, "µV", 0.2),
                channel=table.text("channel", ""),
                delay_s=table.number_or_none("delay_s", *DELAY_S, "s"),
            )
        )
        table.close()
    return tuple(conditions)


def _clearness(table: Table) -> ClearnessLimits:
    default = ClearnessLimits()
    limits = ClearnessLimits(
        limit_uv=table.number("limit_uv", 20, 1000, "µV", default.limit_uv),
        step_uv=table.number("step_uv", 10, 1000, "µV", default.step_uv),
        muscle_uv=table.number("muscle_uv", *LIMITS["clearness.muscle"], "µV", default.muscle_uv),
        blink_uv=table.number("blink_uv", *LIMITS["clearness.blink"], "µV", default.blink_uv),
        flat_uv=table.number("flat_uv", 0.001, 5, "µV", default.flat_uv),
        guard_s=table.number("guard_s", 0.3, 5, "s", default.guard_s),
        blink_channels=table.texts("blink_channels", []),
    )
    table.close()
    return limits


def _steps(table: Table) -> Steps:
    default = Steps()
    steps = Steps(
        hold_s=table.number("hold_s", 0.01, 0.05, "s", default.hold_s),
        quiet_s=table.number("quiet_s", 0.01, 1, "s", default.quiet_s),
        averaging_s=table.number("averaging_s", 0.01, 0.5, "s", default.averaging_s),
    )
    table.close()
    return steps


def _rounds(table: Table) -> Rounds:
    default = Rounds()
    rounds = Rounds(
        count=table.count("count", 1, 60, default.count),
        length_s=table.number("length_s", 10, 3600, "s", default.length_s),
        rest_s=table.number("rest_s", 0, 1800, "s", default.rest_s),
    )
    table.close()
    return rounds


def _client(table: Table) -> ClientScene:
    default = ClientScene()
    scene = ClientScene(
        scene=table.choice("scene", SCENES, default.scene),
        closeness=table.flag("closeness", default.closeness),
        tone=table.flag("tone", default.tone),
        volume=table.number("volume", 0, 1, "", default.volume),
    )
    table.close()
    return scene


def with_settings(protocol: Protocol, changes: dict[str, float]) -> Protocol:
    """Return the protocol starting at other settings (``{"theta.threshold": 7.5}``)."""
    settings = protocol.settings
    for key, value in changes.items():
        settings = settings.changed(key, value)
    conditions = tuple(
        replace(c, threshold_uv=threshold, averaging_s=averaging)
        for c, threshold, averaging in zip(
            protocol.conditions, settings.thresholds_uv, settings.averaging_s, strict=True
        )
    )
    return replace(
        protocol, conditions=conditions, hold_s=settings.hold_s, quiet_s=settings.quiet_s
    )
