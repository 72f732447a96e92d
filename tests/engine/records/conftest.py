from pathlib import Path
from typing import Any

import pytest

from engine.records.opening import Records, open_records
from tests.engine.records.visits import EFFECT, FIRST, LATER, SECOND, VISIT, recorded_visit

CARE: tuple[str, dict[str, Any]] = (
    "care",
    {"done": ["lift"], "left": [], "sensors": "gold A", "new_sensors": ""},
)


@pytest.fixture
def records(tmp_path: Path) -> Records:
    return open_records(tmp_path / "records.sqlite")


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two visits of one client, the first on the peak scale, the second on rms."""
    folder = tmp_path_factory.mktemp("shelf")
    plan = ("plan", {"next": "same again, a longer hold"})
    head = {"nasion_inion_cm": 36.0, "preauricular_cm": 34.0, "circumference_cm": 56.0}
    entries: list[tuple[str, dict[str, Any]]] = [CARE, ("adverse", EFFECT), plan, ("head", head)]
    recorded_visit(folder, VISIT, FIRST, entries=entries)
    recorded_visit(folder, LATER, SECOND, scale="rms", entries=[CARE])
    return folder
