"""The scenes by name, as a protocol's ``client.scene`` chooses them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QPainter

from engine.session.messages import ClientFrame
from ui.client.shore import ShoreView, paint_shore, step_shore


@dataclass(frozen=True)
class Scene:
    """How a scene begins, moves on and is drawn; its views are frozen and have a ``sign``.

    ``step(view, frame, dt_s, closeness)`` returns the next view; ``paint(painter, rect, view)``.
    """

    first: Callable[[], Any]
    step: Callable[[Any, ClientFrame, float, bool], Any]
    paint: Callable[[QPainter, QRectF, Any], None]


SCENES = {"shore": Scene(ShoreView, step_shore, paint_shore)}


def scene_called(name: str) -> Scene:
    """Return the scene; the shore for a name that only a newer desk knows."""
    return SCENES.get(name, SCENES["shore"])
