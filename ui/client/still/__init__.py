"""The scene "still": one round stone in the dusk, for people whom little is already much.

The stone grows slowly as the hold runs and shrinks slowly; the glow around it widens with
closeness; every point leaves one small dot on rings like those of a tree. While the signal is
hidden the stone is hollow. Nothing moves unless something happens, nothing has a digit, and no
change of brightness is large enough to count towards a flash (WCAG 2.x 2.3.1).
"""

from ui.client.still.picture import paint_still
from ui.client.still.view import step_still

__all__ = ["paint_still", "step_still"]
