"""The scene "shore": dusk at a calm estuary.

The water at the near shore rises as the hold runs and sinks slowly; the sky clears and warms
with the closeness of the conditions; every point lights one more window across the water. A
`ShoreView` is one moment of it, `step_shore` the next moment after a client frame and some
elapsed time, and `paint_shore` draws it at any size.
"""

from ui.client.shore.picture import paint_shore
from ui.client.shore.view import ShoreView, step_shore

__all__ = ["ShoreView", "paint_shore", "step_shore"]
