import pytest
from PyQt6.QtWidgets import QApplication


@pytest.fixture(autouse=True)
def _application(qapp: QApplication) -> None:
    """Fonts and windows want an application."""
