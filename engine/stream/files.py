"""Opening a recording: EDF, EDF+, BDF or XDF, told apart by how the file begins.

What cannot be used is one clear sentence; what was left out or is damaged stands in
``Recorded.remarks``. Sources: edfplus.info for EDF and EDF+, the XDF specification 1.0.
"""

from __future__ import annotations

from pathlib import Path

from engine.errors import ConfigError, NudgelineError, SourceError
from engine.stream.edf_file import read_edf_file
from engine.stream.recorded import Recorded, RecordedSegment, iter_chunks
from engine.stream.xdf_file import read_xdf_file

__all__ = ["Recorded", "RecordedSegment", "iter_chunks", "open_recording"]

_EDF = (b"0       ", b"\xffBIOSEMI")
_XDF = (b"XDF:", b"\x1f\x8b")


def open_recording(path: Path, unit: str | None = None, stream: str | None = None) -> Recorded:
    """Read a whole recording.

    ``unit`` answers for channels without a unit that is known (``--unit``); ``stream`` chooses
    the stream of an XDF file by its name or number (``--stream``). ConfigError where the
    operator must choose or the file does not exist, SourceError where it cannot be used.
    """
    try:
        with path.open("rb") as file:
            begins = file.read(8)
        if begins.startswith(_EDF):
            return read_edf_file(path, unit)
        if begins.startswith(_XDF):
            return read_xdf_file(path, unit, stream)
    except NudgelineError:
        raise
    except FileNotFoundError:
        raise ConfigError(
            f"The recording {path} does not exist, but an EDF, BDF or XDF file is needed; "
            "check the name."
        ) from None
    except OSError as error:
        raise SourceError(
            f"The recording {path} cannot be read ({error.strerror or error}); "
            "check the file and its permissions."
        ) from None
    except Exception as error:  # whatever a damaged file makes of a parser
        raise SourceError(
            f"{path.name} is damaged and cannot be read ({str(error) or type(error).__name__}); "
            "choose another recording."
        ) from error
    what = "is empty" if not begins else "is neither EDF, BDF nor XDF"
    raise ConfigError(f"{path.name} {what}, but one of these is needed; choose a recording.")
