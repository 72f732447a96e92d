"""What can go wrong, said so that the person at the desk knows what to do next.

Every message is one sentence with four parts: the setting, the value received, the range
accepted, the next action. The command line prints the message alone and exits with the status
that the class carries; a window shows it in its status line.
"""

from __future__ import annotations


class NudgelineError(Exception):
    """Base of every error that is meant for the operator."""

    exit_status = 1


class ConfigError(NudgelineError):
    """The operator's input is wrong: a protocol, an option, a setting."""

    exit_status = 2


class SourceError(NudgelineError):
    """The stream or the file cannot be used, or was lost."""

    exit_status = 1


class RecordError(NudgelineError):
    """The recording cannot be written or read."""

    exit_status = 1


def bad_value(setting: str, value: object, accepted: str, action: str) -> ConfigError:
    """Return the error for one wrong setting, in the house's one-sentence form."""
    return ConfigError(f"{setting} is {value!r}, but {accepted} is accepted; {action}.")
