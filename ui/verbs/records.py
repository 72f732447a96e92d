"""The records as a verb opens them: in the clinic's folder, with the passphrase that fits."""

from __future__ import annotations

from engine.clinic import Clinic
from engine.records.opening import Records, open_records, records_path
from ui.verbs.passphrase import passphrase_to_record_with


def opened_records(clinic: Clinic) -> Records:
    """Open the records of a clinic, made where there are none.

    New ones are encrypted where the environment holds a passphrase.
    """
    path = records_path(clinic)
    return open_records(path, passphrase_to_record_with(path))
