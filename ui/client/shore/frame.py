"""The measures of the picture at one size: units, horizon and shore, in device pixels."""

from __future__ import annotations

import math
from dataclasses import dataclass

from ui.client.shore.lights import WIDTH, Light

HORIZON = 0.50
"""Height of the far shore's water line, as a share from the top."""
WATER_END = 0.97
"""The mirror image reaches so far down."""
TIDE_LOW, TIDE_HIGH = 0.795, 0.925
"""Where the near water ends at level 0 and 1, as a share from the top."""


@dataclass(frozen=True)
class Frame:
    """A picture of ``width`` by ``height`` device pixels."""

    width: int
    height: int

    @property
    def across(self) -> float:
        """Pixels of one unit, sideways."""
        return self.width / WIDTH

    @property
    def up(self) -> float:
        """Pixels of one unit, upwards; a little less than sideways on very wide screens."""
        return min(self.width / WIDTH, self.height / 9 * 1.2)

    @property
    def horizon(self) -> int:
        return round(self.height * HORIZON)

    def light_box(self, light: Light) -> tuple[float, float, float, float]:
        """Return left, top, width and height of a light in pixels; never thinner than one."""
        size = max(self.up, 1.0)
        width, height = max(light.width * size, 1.0), max(light.height * size, 1.0)
        if light.kind == "star":
            top = self.horizon * (1 - light.y / 4.5)
        else:
            top = self.horizon - light.y * self.up - height
        return light.x * self.across, top, width, height

    def tide_line(self, x: float, level: float, time_s: float) -> float:
        """Return how far down the water reaches at ``x`` (0-1 across), in pixels."""
        bay = 0.010 * math.sin(5.2 * x + 0.6) + 0.006 * math.sin(11.3 * x + 2.0)
        swell = 0.0016 * math.sin(9.0 * x + 0.7 * time_s) + 0.0012 * math.sin(
            17.0 * x - 0.5 * time_s
        )
        slope = 0.036 * (0.5 - x)
        reach = TIDE_LOW + (TIDE_HIGH - TIDE_LOW) * level
        return self.height * (reach + slope + bay + swell)
