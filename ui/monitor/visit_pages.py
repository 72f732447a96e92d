"""The pages of a visit beside the training: made when they are first gone to, told what is said."""

from __future__ import annotations

from collections.abc import Callable

from engine.session.asks import Ask
from ui.monitor.link import Incoming
from ui.monitor.parts import Part


class VisitPages:
    """Knows every page of `ui.monitor.steps` but the training's."""

    def __init__(self, send: Callable[[Ask], object], go: Callable[[str], object]):
        self._send, self._go = send, go
        self._pages: dict[str, Part] = {}

    @property
    def parts(self) -> tuple[Part, ...]:
        """The pages that were made."""
        return tuple(self._pages.values())

    def page(self, step: str) -> Part | None:
        """Return the page of a step; None while it has nothing to stand on."""
        return self._pages.get(step)

    def receive(self, message: Incoming) -> None:
        """Take up what the host says."""

    def arrived(self, step: str) -> None:
        """A page was gone to."""

    def frame(self, step: str) -> None:
        """Draw what is due on the page that is on screen."""
