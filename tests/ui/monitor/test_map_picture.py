import numpy as np
from PyQt6.QtCore import QRectF
from PyQt6.QtGui import QTransform

from engine.reward.rate_map import RateMap
from ui.monitor.map_picture import edges, outline, widest
from ui.plots import Plane

FOUND = RateMap("smr", "theta", np.arange(4.0), np.arange(3.0), np.zeros((3, 4)))
PLANE = Plane(QTransform.fromScale(10, 10), QRectF(-0.5, -0.5, 4.0, 3.0))


def test_cells_lie_around_their_values() -> None:
    assert edges(np.array([1.0, 2.0, 3.0])) == (0.5, 3.5)


def test_a_single_cell_is_outlined_on_its_four_sides() -> None:
    region = np.zeros((3, 4), dtype=bool)
    region[1, 2] = True
    lines = outline(region, FOUND, PLANE)
    ends = {((line.x1(), line.y1()), (line.x2(), line.y2())) for line in lines}
    left, right, low, high = 15.5, 25.5, 5.5, 15.5
    assert ends == {
        ((left, low), (left, high)),
        ((right, low), (right, high)),
        ((left, low), (right, low)),
        ((left, high), (right, high)),
    }


def test_a_region_that_is_all_or_nothing_has_no_outline() -> None:
    for region in (np.zeros((3, 4), dtype=bool), np.ones((3, 4), dtype=bool)):
        assert outline(region, FOUND, PLANE) == []


def test_a_name_stands_in_the_middle_of_the_longest_run() -> None:
    region = np.array([[1, 0, 0, 1], [0, 1, 1, 1], [0, 0, 0, 0]], dtype=bool)
    assert widest(region) == (1, 2, 3)
    assert widest(np.zeros((3, 4), dtype=bool))[2] == 0
