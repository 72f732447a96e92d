"""`nudgeline export`: a recorded session as EDF+ and as tables."""

from __future__ import annotations

from argparse import Namespace

from engine.clinic import load_clinic
from engine.export.session import export_all
from engine.session.shelf import find_recording
from ui.verbs.files import folder_for, print_files
from ui.verbs.passphrase import passphrase_for
from ui.verbs.speech import say

FOLDER = "exports"
"""Where exports go unless another place is named: a folder beside the recording."""


def run(options: Namespace) -> int:
    """Export one recording: both kinds, unless one of them is named."""
    path = find_recording(load_clinic().recordings, options.id)
    folder = folder_for(path, options.folder, FOLDER)
    both = options.edf == options.csv
    exported = export_all(
        path,
        folder,
        passphrase_for(path),
        edf=both or options.edf,
        tables=both or options.csv,
    )
    for remark in exported.remarks:
        say(remark)
    print_files(path, exported.paths, options.json)
    return 0
