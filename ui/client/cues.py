"""What should be heard as client frames arrive: pure decisions, no audio device.

A chime marks every point; soft cues mark start, rest and end. With the tone on (eyes closed)
the tone follows closeness, falls silent while the signal is hidden, and a cue says so.
"""

from __future__ import annotations

from engine.session.messages import ClientControl, ClientFrame
from ui.client.mixer import Mixer
from ui.client.words import WAITING

HIDDEN_AFTER_S = 0.5
"""A blink brings no cue: the signal must have been hidden for so long."""
HIDDEN_AGAIN_S = 8.0
"""Least time between two such cues."""


class Cues:
    """Drives a mixer from frames and from what the operator decides."""

    def __init__(self, mixer: Mixer) -> None:
        self._mixer = mixer
        self._control = ClientControl()
        self._frame: ClientFrame | None = None
        self._hidden_s = 0.0
        self._since_cue_s = HIDDEN_AGAIN_S

    def control(self, control: ClientControl) -> None:
        """Take over volume, mute and whether the tone sounds."""
        self._control = control
        self._mixer.set_volume(control.volume, control.muted)
        self._set_tone()

    def frame(self, frame: ClientFrame) -> None:
        """Hear one frame: at most one chime for it, whatever number of points it brings."""
        last, self._frame = self._frame, frame
        if last is not None and last.phase != WAITING:
            if frame.points > last.points:
                self._mixer.play("chime")
            if frame.phase != last.phase:
                self._mark_phase(last.phase, frame.phase)
        self._set_tone()

    def passed(self, dt_s: float) -> None:
        """Let ``dt_s`` pass: a signal that stays hidden is said once."""
        frame = self._frame
        self._since_cue_s += dt_s
        hidden = frame is not None and frame.phase == "training" and not frame.clear
        self._hidden_s = self._hidden_s + dt_s if hidden else 0.0
        due = self._hidden_s > HIDDEN_AFTER_S and self._since_cue_s >= HIDDEN_AGAIN_S
        if self._control.tone and due:
            self._mixer.play("hidden")
            self._since_cue_s = 0.0

    def _mark_phase(self, last: str, phase: str) -> None:
        name = {"training": "start", "baseline": "start", "rest": "rest", "ended": "ended"}.get(
            phase,
            "rest" if last == "baseline" else None,  # eyes that are closed cannot read
        )
        if name is not None:
            self._mixer.play(name)

    def _set_tone(self) -> None:
        frame = self._frame
        sounding = (
            self._control.tone and frame is not None and frame.phase == "training" and frame.clear
        )
        self._mixer.set_tone(frame.closeness if frame is not None and sounding else None)
