"""Sets up the environment in ``.venv`` and starts a command there, with the standard library alone.

This runs before anything is installed and on any Python 3, so that an old one is told what to
do: no syntax here is newer than Python 3.6. The checkout is installed editable, so that no copy
of the code can go stale, and again whenever ``pyproject.toml`` changes.
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

OLDEST = (3, 11)
WINDOWS = os.name == "nt"

NO_CONNECTION = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeoutError",
    "ReadTimeoutError",
    "ProxyError",
    "Failed to establish a new connection",
    "Network is unreachable",
    "(from versions: none)",
)
"""How pip's log names a computer that cannot reach a package index."""


class SetupError(Exception):
    """The environment cannot be made; the message says what to do next."""


class Environment:
    """The ``.venv`` of one checkout, and what is known of it without starting its Python."""

    def __init__(self, root: Path):
        self.root = root
        self.folder = root / ".venv"
        self.python = self.folder / ("Scripts/python.exe" if WINDOWS else "bin/python")
        self.log = self.folder / "setup.log"

    @property
    def is_running(self) -> bool:
        """Whether this very process runs in the environment."""
        return self.folder.exists() and self.folder.resolve() == Path(sys.prefix).resolve()

    def key(self) -> str:
        """Return a digest of all that an installation depends on."""
        parts = (
            (self.root / "pyproject.toml").read_bytes(),
            str(self.root).encode(),
            str(self.python.resolve()).encode(),
        )
        return hashlib.sha256(b"\0".join(parts)).hexdigest()

    def is_ready(self, extra: str) -> bool:
        """Whether everything stands as it was last set up, with ``extra`` ("" or "test")."""
        if not self.python.exists():
            return False
        stamps = [self._stamp(name) for name in {extra, "test"}]
        return any(stamp.exists() and stamp.read_text() == self.key() for stamp in stamps)

    def mark_ready(self, extra: str) -> None:
        """Remember that the environment was set up with ``extra``."""
        self._stamp(extra).write_text(self.key())

    def _stamp(self, extra: str) -> Path:
        return self.folder / ("set-up-" + (extra or "run"))

    def is_usable(self) -> bool:
        """Whether its Python starts, is new enough, and is still the one it was made with.

        One without a pip of its own was made here, and needs this Python's pip, which works on
        the same version only.
        """
        python = str(self.python)
        try:
            made_with = (self.folder / "pyvenv.cfg").read_text()
            version = _output([python, "-c", "import sys; print('%d.%d' % sys.version_info[:2])"])
        except (OSError, subprocess.CalledProcessError):
            return False
        unchanged = any(
            line.startswith("version") and line.split("=")[1].strip().startswith(version + ".")
            for line in made_with.splitlines()
        )
        alike = version == "{}.{}".format(*sys.version_info)
        new_enough = tuple(int(part) for part in version.split(".")) >= OLDEST
        return unchanged and new_enough and (alike or _works([python, "-m", "pip", "--version"]))


def enter(module: str, extra: str = "") -> None:
    """Return when this process runs in an environment that is ready; else start it there.

    Sets the environment up first where needed. ``module`` is what ``python -m`` is to run, with
    the arguments of this process. An installed copy, without a checkout around it, stays where
    it is.
    """
    environment = Environment(Path(__file__).resolve().parent.parent)
    if not (environment.root / "pyproject.toml").exists():
        return
    try:
        if not environment.is_ready(extra):
            set_up(environment, extra)
        elif environment.is_running:
            return
    except SetupError as error:
        say(str(error))
        sys.exit(1)
    except KeyboardInterrupt:
        say("Stopped. The same command takes the set-up on from here.")
        sys.exit(130)
    _run([str(environment.python), "-m", module, *sys.argv[1:]])


def set_up(environment: Environment, extra: str) -> None:
    """Make the environment and install the project into it; raises SetupError."""
    refuse_old_python(sys.version_info[:3])
    try:
        if not environment.is_usable():
            say(f"Making a Python environment in {environment.folder} ...")
            _make(environment)
        _install(environment, pip_command(environment), extra)
        environment.mark_ready(extra)
    except OSError as error:
        raise SetupError(
            f"The folder {environment.folder} cannot be written ({error.strerror}): make room "
            "or set its permissions, then run the command again."
        ) from None
    say("Ready.")


def refuse_old_python(version: "tuple[int, ...]") -> None:
    """Raise SetupError when ``version`` is older than the project needs."""
    if tuple(version[:2]) < OLDEST:
        raise SetupError(
            "This is Python {}, but Nudgeline needs 3.11 or newer: install one (python.org, or "
            "your system's packages), then give the same command to it, python3.13 for "
            "example.".format(".".join(str(part) for part in version))
        )


def _make(environment: Environment) -> None:
    try:
        import venv
    except ImportError:
        raise SetupError(
            "This Python lacks its venv module: install it (on Debian and Ubuntu: "
            "sudo apt install python3-venv), then run the command again."
        ) from None
    # Without pip: on Debian the wheels that venv would copy it from are a package of their own.
    venv.EnvBuilder(clear=True, symlinks=not WINDOWS, with_pip=False).create(environment.folder)


def pip_command(environment: Environment) -> "list[str]":
    """Return the command that runs pip on the environment, whoever's pip it is."""
    python = str(environment.python)
    own = [python, "-m", "pip"]
    outside = [
        [starter, "-m", "pip", "--python", python]
        for starter in (sys.executable, getattr(sys, "_base_executable", sys.executable))
    ]
    for command in [own, *outside]:
        if _works([*command, "--version"]):
            return command
    if _works([python, "-m", "ensurepip"]):
        return own
    raise SetupError(
        "No pip of version 22.3 or newer was found: install it (on Debian and Ubuntu: "
        "sudo apt install python3-pip), then run the command again."
    )


def _install(environment: Environment, pip: "list[str]", extra: str) -> None:
    who = "Nudgeline and its tests need" if extra else "Nudgeline needs"
    say(f"Installing what {who}: about 200 megabytes the first time, a few minutes ...")
    command = [
        *pip,
        "install",
        "--disable-pip-version-check",
        "--no-input",
        "--prefer-binary",
        "--progress-bar=off",
        "--editable",
        f".[{extra}]" if extra else ".",
    ]
    with open(str(environment.log), "w", encoding="utf-8") as log:
        process = subprocess.Popen(
            command,
            cwd=str(environment.root),
            env=dict(os.environ, PIP_USER="0", PYTHONUNBUFFERED="1", PYTHONIOENCODING="utf-8"),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            encoding="utf-8",
            errors="replace",
        )
        assert process.stdout is not None
        for line in process.stdout:
            log.write(line)
            progress = package_of(line)
            if progress:
                say("  " + progress)
    if process.wait() != 0:
        reason = explain(environment.log.read_text(encoding="utf-8"))
        raise SetupError(f"{reason} All that pip said is in {environment.log}.")


def package_of(line: str) -> str:
    """Return "scipy 1.17.1 (35 MB)" for the line in which pip fetches that package, else ""."""
    words = line.split(None, 1)
    if not words or not line.lstrip().startswith(("Downloading ", "Using cached ")):
        return ""
    file, _, size = line.strip().rpartition(" (")
    name, _, rest = file.split(" ")[-1].rpartition("/")[2].partition("-")
    if not file.endswith((".whl", ".tar.gz")):
        return ""
    return "{} {} ({}".format(name, rest.split("-")[0], size)


def explain(log: str) -> str:
    """Return one sentence on why pip failed, with the next action."""
    if any(sign in log for sign in NO_CONNECTION):
        return (
            "The packages could not be fetched, since this computer did not reach the package "
            "index: check its connection to the internet, then run the command again."
        )
    if "No space left on device" in log:
        return "The disk is full: free about one gigabyte, then run the command again."
    errors = [line.strip() for line in log.splitlines() if line.strip().startswith("ERROR: ")]
    said = errors[-1][len("ERROR: ") :].rstrip(".") if errors else "its log says why"
    return (
        f"The packages could not be installed ({said}): try a 64-bit Python from 3.11 to 3.13, for "
        "which Windows, macOS and Linux have them ready-made."
    )


def say(message: str) -> None:
    """Tell the person at the terminal; standard output is left to the command itself."""
    print(message, file=sys.stderr, flush=True)


def _output(command: "list[str]") -> str:
    return subprocess.check_output(
        command, stdin=subprocess.DEVNULL, stderr=subprocess.DEVNULL, universal_newlines=True
    ).strip()


def _works(command: "list[str]") -> bool:
    try:
        _output(command)
    except (OSError, subprocess.CalledProcessError):
        return False
    return True


def _run(command: "list[str]") -> NoReturn:
    """Become ``command``; on Windows, which cannot, wait for it and pass its status on."""
    if not WINDOWS:
        os.execv(command[0], command)
    process = subprocess.Popen(command)
    while True:
        try:
            sys.exit(process.wait())
        except KeyboardInterrupt:  # the child hears it too, and ends in order
            continue
