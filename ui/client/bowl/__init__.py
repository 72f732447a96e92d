"""The scene "bowl", for children: a glass bowl on a table in the afternoon sun.

The water rises with the hold and carries a paper boat; a flower beside it opens with closeness;
every point drops one bead into the bowl, and with every tenth a fish comes to stay. While the
signal is hidden the glass is steamed up. It moves slowly: what darts would draw the eyes.
"""

from ui.client.bowl.picture import paint_bowl
from ui.client.bowl.view import BowlView, step_bowl

__all__ = ["BowlView", "paint_bowl", "step_bowl"]
