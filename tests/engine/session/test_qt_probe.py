"""The words of a trial are those of Qt 6.11 on Debian 12, as it wrote them."""

import os
import sys
from pathlib import Path

import pytest

from engine.session.qt_probe import QtProbe, qt_available, verdict

NO_DISPLAY = """qt.qpa.xcb: could not connect to display 
qt.qpa.plugin: From 6.5.0, xcb-cursor0 or libxcb-cursor0 is needed to load the Qt xcb platform plugin.
"""  # noqa: E501, W291
NO_CURSOR = """qt.qpa.plugin: From 6.5.0, xcb-cursor0 or libxcb-cursor0 is needed to load the Qt xcb platform plugin.
qt.qpa.plugin: Could not load the Qt platform plugin "xcb" in "" even though it was found.
"""  # noqa: E501
NO_EGL = "ImportError: libEGL.so.1: cannot open shared object file: No such file or directory\n"


def test_a_trial_that_went_well_opens_windows() -> None:
    assert verdict(0, "") == QtProbe(True)


def test_a_missing_library_is_named_with_what_to_install() -> None:
    available, why, install = verdict(1, NO_EGL)
    assert not available
    assert why == "libEGL.so.1 is missing"
    assert install.startswith("sudo apt-get install libegl1 ")


def test_an_abort_of_the_platform_plugin_names_what_to_install() -> None:
    available, why, install = verdict(-6, NO_CURSOR)
    assert not available
    assert why == "Qt cannot open a window"
    assert "libxcb-cursor0 libxcb-icccm4" in install


def test_no_display_is_not_taken_for_a_missing_library() -> None:
    available, why, install = verdict(-6, NO_DISPLAY)
    assert (available, why) == (False, "there is no display")
    assert "apt-get" not in install


@pytest.mark.skipif(os.name == "nt", reason="a script stands in for Python")
def test_a_python_without_qt_says_what_to_install(tmp_path: Path) -> None:
    python = tmp_path / "python"
    python.write_text(f'#!/bin/sh\nexec "{sys.executable}" -I -S "$@"\n')
    python.chmod(0o755)
    available, why, install = qt_available(str(python))
    assert not available
    assert "is not installed" in why
    assert "pip install" in install


def test_a_python_that_cannot_be_started_is_said(tmp_path: Path) -> None:
    available, why, _ = qt_available(str(tmp_path / "none"))
    assert not available
    assert "could not be tried" in why
