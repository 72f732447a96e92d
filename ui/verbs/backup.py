"""`nudgeline backup`: copies of the records and of every recording, and the way back."""

from __future__ import annotations

from argparse import Namespace
from datetime import UTC, datetime
from pathlib import Path

from engine.clinic import Clinic, load_clinic
from engine.errors import ConfigError, RecordError
from engine.records.backup import backup, copy_recording, restore
from engine.records.opening import open_records, records_path
from engine.records.rebuilding import recordings_in
from ui.verbs.passphrase import passphrase_for
from ui.verbs.records import opened_records
from ui.verbs.speech import print_json, say


def run(options: Namespace) -> int:
    """Back up into a folder, or put a backup of the records back; 1 where something is lacking."""
    clinic = load_clinic()
    if bool(options.folder) == bool(options.restore):
        raise ConfigError(
            "FOLDER and --restore are given together or not at all, but one of them is accepted; "
            "name a folder to back up into, or the backup to put back."
        )
    if options.restore:
        return _restore(clinic, Path(options.restore).expanduser(), options.json)
    return _backup(clinic, Path(options.folder).expanduser(), options.json)


def _backup(clinic: Clinic, folder: Path, as_json: bool) -> int:
    if folder.resolve() == clinic.recordings.resolve():
        raise ConfigError(
            f"FOLDER is {str(folder)!r}, but a place other than that of the recordings is "
            "accepted; choose another disk."
        )
    records = opened_records(clinic)
    saved = backup(records, folder / f"records-{datetime.now(UTC):%Y%m%d-%H%M%S-%f}.sqlite")
    copied: list[str] = []
    troubles: list[str] = []
    for path in recordings_in(clinic.recordings):
        try:
            if copy_recording(path, folder / "recordings" / path.name, records.passphrase):
                copied.append(path.stem)
        except RecordError as error:
            troubles.append(str(error))
    for trouble in troubles:
        say(trouble)
    if as_json:
        print_json({"records": str(saved), "recordings": copied, "troubles": troubles})
    else:
        print(f"The records are in {saved}, and {len(copied)} recordings were new beside them.")
    return 1 if troubles else 0


def _restore(clinic: Clinic, source: Path, as_json: bool) -> int:
    path = records_path(clinic)
    passphrase = passphrase_for(source)
    kept = restore(source, path, passphrase)
    open_records(path, passphrase)
    if as_json:
        print_json({"records": str(path), "from": str(source), "kept": str(kept) if kept else None})
    else:
        print(f"The records are those of {source} again.")
        if kept:
            say(f"Those that were there are kept in {kept}.")
    say("`nudgeline sessions` files the recordings that were made since.")
    return 0
