"""`nudgeline client`: the client display on another computer in the same room."""

from __future__ import annotations

import os
from argparse import Namespace

from engine.clinic import load_clinic
from engine.errors import ConfigError
from engine.session.messages import ClientControl
from engine.session.qt_probe import qt_available
from engine.stream import network
from ui.verbs.choices import checked_scene
from ui.verbs.speech import say


def run(options: Namespace) -> int:
    """Show the client frames that a desk with ``publish = true`` sends."""
    scene = checked_scene(options.scene)
    clinic = load_clinic()
    probe = qt_available()
    if not probe.available:
        raise ConfigError(
            f"The client display needs a window, but {probe.why}; to have one: {probe.install}."
        )
    for warning in clinic.warnings:
        say(warning)
    network.configure(network.text_for(clinic.network, os.environ))
    from ui.client.remote import show

    return show(options.full_screen, options.source_id, scene or ClientControl().scene)
