"""The scenes by name, as a protocol's ``client.scene`` chooses them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QPainter

from engine.session.messages import ClientFrame
from ui.client.bowl import BowlView, paint_bowl, step_bowl
from ui.client.moment import Moment
from ui.client.shore import ShoreView, paint_shore, step_shore
from ui.client.still import paint_still, step_still


@dataclass(frozen=True)
class Scene:
    """How a scene begins, moves on and is drawn; its views are frozen and have a ``sign``.

    ``step(view, frame, dt_s, closeness)`` returns the next view; ``paint(painter, rect, view)``.
    """

    first: Callable[[], Any]
    step: Callable[[Any, ClientFrame, float, bool], Any]
    paint: Callable[[QPainter, QRectF, Any], None]


SCENES = {
    "shore": Scene(ShoreView, step_shore, paint_shore),
    "bowl": Scene(BowlView, step_bowl, paint_bowl),
    "still": Scene(Moment, step_still, paint_still),
}
"""As `engine.protocol.SCENES` names them."""


def scene_called(name: str) -> Scene:
    """Return the scene; the shore for a name that only a newer desk knows."""
    return SCENES.get(name, SCENES["shore"])


def begun(scene: Scene, view: Moment | None) -> Any:
    """Return the scene's first view at another scene's moment: nothing that was earned is lost."""
    first = scene.first()
    if view is None:
        return first
    return replace(first, **{part.name: getattr(view, part.name) for part in fields(Moment)})


def scene_after(name: str, step: int = 1) -> str:
    """Return the name of the next scene, round and round."""
    names = list(SCENES)
    here = names.index(name) if name in names else 0
    return names[(here + step) % len(names)]
