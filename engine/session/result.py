"""What a session came to."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from engine.errors import NudgelineError
from engine.events import PointEarned
from engine.session.latency import Latency


@dataclass(frozen=True)
class SessionResult:
    """The end of a session.

    Attributes
    ----------
    recordings : the files, one a part; empty when no sample came.
    seconds : samples fed, in seconds.
    latency : from the arrival of a tick's last sample to its being told to the windows; of live
        samples only, while every needed window was open.
    latency_from_stamp : the same from the amplifier's own time stamp.
    summary : what `nudgeline score` says of the same samples; empty when none came.
    ended : how it ended, a few words; error : what went wrong, None when nothing did.
    """

    recordings: tuple[Path, ...]
    points: tuple[PointEarned, ...]
    seconds: float
    latency: Latency
    latency_from_stamp: Latency
    ended: str
    error: NudgelineError | None = None
    summary: dict[str, Any] = field(default_factory=dict)

    @property
    def recording(self) -> Path | None:
        """The file of the last part."""
        return self.recordings[-1] if self.recordings else None

    @property
    def exit_status(self) -> int:
        return 0 if self.error is None else self.error.exit_status
