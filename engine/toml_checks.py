"""Reading TOML so that every mistake becomes one sentence: file, key, value, range, next action.

A `Table` hands out checked values and collects what is wrong instead of stopping at the first
mistake, so that a practitioner who edits a protocol sees all of them at once.
"""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

from engine.errors import ConfigError

_MISSING = object()


class Table:
    """One table of a TOML file; ``where`` is its dotted place, for messages."""

    def __init__(self, values: dict[str, Any], file: str, mistakes: list[str], where: str = ""):
        self._values = values
        self._file = file
        self._where = where
        self._seen: set[str] = set()
        self.mistakes = mistakes

    def _name(self, key: str) -> str:
        return f"{self._where}.{key}" if self._where else key

    def complain(self, key: str, value: object, accepted: str, action: str) -> None:
        """Add one mistake, in the house's form."""
        got = "is missing" if value is _MISSING else f"is {value!r}"
        self.mistakes.append(
            f"{self._file}: {self._name(key)} {got}, but {accepted} is accepted; {action}."
        )

    def _get(self, key: str, default: object, accepted: str) -> Any:
        self._seen.add(key)
        value = self._values.get(key, default)
        if value is _MISSING:
            self.complain(key, _MISSING, accepted, f"add a line `{key} = ...`")
        return value

    def number(
        self, key: str, low: float, high: float, unit: str = "", default: object = _MISSING
    ) -> float:
        """Return a finite number within [low, high]; on a mistake, complain, and return NaN."""
        accepted = f"a number from {low:g} to {high:g}{' ' + unit if unit else ''}"
        value = self._get(key, default, accepted)
        if value is _MISSING:
            return math.nan
        plain = isinstance(value, int | float) and not isinstance(value, bool)
        if not plain or not math.isfinite(value) or not low <= value <= high:
            self.complain(key, value, accepted, "correct the number")
            return math.nan
        return float(value)

    def number_or_none(self, key: str, low: float, high: float, unit: str = "") -> float | None:
        """Return a number within [low, high], or None where the key is not there."""
        if self._values.get(key) is None:
            self._seen.add(key)
            return None
        return self.number(key, low, high, unit)

    def count(self, key: str, low: int, high: int, default: object = _MISSING) -> int:
        """Return a whole number within [low, high]."""
        accepted = f"a whole number from {low} to {high}"
        value = self._get(key, default, accepted)
        if value is _MISSING:
            return low
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            self.complain(key, value, accepted, "correct the number")
            return low
        return value

    def text(self, key: str, default: object = _MISSING, most: int = 400) -> str:
        """Return a text of 1 to ``most`` characters (an empty one where the default is empty)."""
        accepted = f"a text of 1 to {most} characters"
        value = self._get(key, default, accepted)
        if value is _MISSING:
            return ""
        short = isinstance(value, str) and value.strip() == ""
        if not isinstance(value, str) or len(value) > most or (short and default != ""):
            self.complain(key, value, accepted, "write it between quotes")
            return ""
        return value

    def texts(self, key: str, default: object = _MISSING) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self._get(key, default, "a list of texts")
        if value is _MISSING:
            return ()
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            self.complain(key, value, "a list of texts", 'write it as ["one", "two"]')
            return ()
        return tuple(value)

    def choice(self, key: str, among: tuple[str, ...], default: object = _MISSING) -> str:
        """Return one of ``among``."""
        accepted = "one of " + ", ".join(repr(name) for name in among)
        value = self._get(key, default, accepted)
        if value is _MISSING:
            return among[0]
        if value not in among:
            self.complain(key, value, accepted, "choose one of them")
            return among[0]
        return str(value)

    def flag(self, key: str, default: object = _MISSING) -> bool:
        """Return true or false."""
        value = self._get(key, default, "true or false")
        if value is _MISSING:
            return False
        if not isinstance(value, bool):
            self.complain(key, value, "true or false", "write it without quotes")
            return False
        return value

    def table(self, key: str) -> Table:
        """Return a table below this one; an absent one reads as empty."""
        self._seen.add(key)
        value = self._values.get(key, {})
        if not isinstance(value, dict):
            self.complain(key, value, "a table", f"write it as a section [{self._name(key)}]")
            value = {}
        return Table(value, self._file, self.mistakes, self._name(key))

    def tables(self, key: str) -> list[Table]:
        """Return the list of tables under ``key`` (``[[key]]`` in the file)."""
        self._seen.add(key)
        value = self._values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(v, dict) for v in value):
            self.complain(key, value, "a list of tables", f"write each as a section [[{key}]]")
            value = []
        return [
            Table(v, self._file, self.mistakes, f"{self._name(key)}[{i + 1}]")
            for i, v in enumerate(value)
        ]

    def close(self) -> None:
        """Complain of every key that nobody asked for: a misspelt key is never passed over."""
        for key in self._values:
            if key not in self._seen:
                known = ", ".join(sorted(self._seen))
                self.mistakes.append(
                    f"{self._file}: {self._name(key)} is not a known key, but only {known} "
                    "are accepted; correct the spelling or take the line out."
                )


def read_toml(path: Path) -> dict[str, Any]:
    """Read a TOML file; every way in which that fails is a `ConfigError`."""
    try:
        return tomllib.loads(path.read_bytes().decode("utf-8-sig"))
    except FileNotFoundError:
        raise ConfigError(
            f"The file {path} does not exist, but a TOML file is needed; check the name."
        ) from None
    except OSError as error:
        raise ConfigError(
            f"The file {path} cannot be read ({error.strerror}), but a TOML file is needed; "
            "check its permissions."
        ) from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ConfigError(
            f"{path.name} is not valid TOML ({error}), but UTF-8 TOML is accepted; "
            "correct that line."
        ) from None


def raise_mistakes(mistakes: list[str]) -> None:
    """Raise one `ConfigError` that holds every collected sentence, one a line."""
    if mistakes:
        raise ConfigError("\n".join(mistakes))
