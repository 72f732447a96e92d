"""Every verb of `nudgeline`, thin: options in, one of the engine's or a simulator's doors, out."""

from __future__ import annotations

import logging
import os
import sys
from argparse import (
    ArgumentParser,
    ArgumentTypeError,
    Namespace,
    RawDescriptionHelpFormatter,
)
from collections.abc import Callable
from typing import NoReturn

from engine.errors import ConfigError, NudgelineError
from ui.verbs.speech import say, utf8_streams

CAUTIONS = """\
Training is done by or under a licensed practitioner; local codes and rules decide. Nudgeline is
not a medical device: it does not diagnose and promises no effect. Use only isolated, medically
safe amplifiers on a person."""


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is given, but a number is accepted") from None


def _whole_number(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise ArgumentTypeError(f"{text!r} is given, but a whole number is accepted") from None


class _Parser(ArgumentParser):
    """Says what is wrong in one sentence, without a usage block in front of it."""

    def error(self, message: str) -> NoReturn:
        raise ConfigError(f"{message}; see `{self.prog} --help`.")


def parser() -> ArgumentParser:
    """Return the parser of the whole command line."""
    top = _Parser(
        prog="nudgeline",
        description="A session desk for amplitude-training neurofeedback.",
        epilog=CAUTIONS,
        formatter_class=RawDescriptionHelpFormatter,
    )
    verbs = top.add_subparsers(dest="verb", required=True, metavar="VERB")

    demo = verbs.add_parser("demo", help="the whole loop on a simulated client")
    _session_options(demo)
    demo.add_argument(
        "--seed", type=_whole_number, default=1, metavar="S", help="another simulated client"
    )

    run = verbs.add_parser("run", help="a live session on an LSL stream")
    _protocol_options(run, needed=False)
    _session_options(run)
    run.add_argument("--stream", metavar="NAME", help="the stream's name, where there are several")
    run.add_argument("--source-id", metavar="ID", help="the amplifier's source_id, where two agree")
    run.add_argument("--unit", help="V, mV, µV or nV, where the stream does not say")
    run.add_argument(
        "--accept-rate", metavar="HZ", help="accept the measured rate of a stream that is off"
    )
    run.add_argument("--client", default="", metavar="CODE", help="a code such as HERON-07")

    replay = verbs.add_parser("replay", help="stream a recording over LSL at its true rate")
    replay.add_argument("file", metavar="FILE")
    replay.add_argument("--channel", metavar="C4", help="send this channel alone")
    replay.add_argument("--speed", type=_number, default=1.0, metavar="X", help="0.1 to 100")
    _file_options(replay)

    score = verbs.add_parser("score", help="score an EDF, BDF or XDF file, or a recorded session")
    score.add_argument("file", metavar="FILE")
    _protocol_options(score)
    score.add_argument("--trace", metavar="OUT.csv", help="write one row a tick")
    _file_options(score)
    score.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    forecast = verbs.add_parser("forecast", help="the rate that other settings would give")
    forecast.add_argument("file", metavar="FILE")
    _protocol_options(forecast)
    forecast.add_argument("--first", type=_number, metavar="SECONDS", help="use only so much of it")
    forecast.add_argument(
        "--target", type=_number, metavar="RATE", help="propose thresholds for so many a minute"
    )
    forecast.add_argument(
        "--share", action="append", metavar="BAND=0.6", help="share of time a band is to be met"
    )
    _file_options(forecast)
    forecast.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    measure = verbs.add_parser("measure", help="three lengths of a head to its 21 sites")
    _head_options(measure)
    measure.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    lookback = verbs.add_parser("lookback", help="what a recorded session came to, as a note")
    _session_id(lookback)
    lookback.add_argument(
        "--amend", metavar="TEXT", help="add this to the note of a closed session"
    )
    lookback.add_argument("--by", metavar="NAME", help="who adds it, by name or initials")
    lookback.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    verify = verbs.add_parser("verify", help="prove the points of a recorded session")
    _session_id(verify)
    verify.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    report = verbs.add_parser(
        "report", help="a recorded session as a page to hand over (PDF, HTML)"
    )
    _session_id(report)
    report.add_argument("--folder", metavar="DIR", help="where to; else reports beside it")
    report.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    export = verbs.add_parser("export", help="a recorded session as EDF+ and as tables (CSV)")
    _session_id(export)
    export.add_argument("--edf", action="store_true", help="the EDF+ file alone")
    export.add_argument("--csv", action="store_true", help="the tables alone")
    export.add_argument("--folder", metavar="DIR", help="where to; else exports beside it")
    export.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    sessions = verbs.add_parser("sessions", help="what was recorded, of everybody or one client")
    sessions.add_argument("--client", metavar="CODE", help="of this client alone")
    sessions.add_argument(
        "--rebuild", action="store_true", help="derive the records anew from the recordings"
    )
    sessions.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    backup = verbs.add_parser("backup", help="copy the records and the recordings, or put back")
    backup.add_argument("folder", nargs="?", metavar="FOLDER", help="where to, best another disk")
    backup.add_argument("--restore", metavar="FILE", help="put this backup of the records back")
    backup.add_argument("--json", action="store_true", help="print one JSON object, nothing else")

    client = verbs.add_parser("client", help="the client display, on another computer")
    client.add_argument("--full-screen", action="store_true")
    _scene_option(client)
    client.add_argument("--source-id", default="", metavar="ID", help="which desk, of several")
    return top


def _protocol_options(verb: ArgumentParser, needed: bool = True) -> None:
    words = "a file or a shipped name" + ("" if needed else "; without it the desk asks")
    verb.add_argument("--protocol", required=needed, metavar="FILE", help=words)
    verb.add_argument(
        "--channel", metavar="C4", help="the site, instead of the protocol's (C4=3: its place)"
    )
    verb.add_argument("--set", action="append", metavar="KEY=VALUE", help="theta.threshold=7.5")


def _session_options(verb: ArgumentParser) -> None:
    verb.add_argument("--headless", action="store_true", help="without windows")
    _scene_option(verb)
    verb.add_argument("--seconds", type=_number, metavar="N", help="one round of so long, then end")
    verb.add_argument("--json", action="store_true", help="print one JSON object, nothing else")


def _scene_option(verb: ArgumentParser) -> None:
    verb.add_argument("--scene", metavar="NAME", help="what the client sees: shore, bowl or still")


def _file_options(verb: ArgumentParser) -> None:
    verb.add_argument("--unit", help="V, mV, µV or nV, where the file does not say")
    verb.add_argument("--stream", metavar="NAME", help="which stream of an XDF file")


def _head_options(verb: ArgumentParser) -> None:
    for option, words in (
        ("--nasion-inion", "over the top of the head"),
        ("--preauricular", "from ear to ear over the top"),
        ("--circumference", "around the head"),
    ):
        verb.add_argument(option, type=_number, required=True, metavar="LENGTH", help=words)
    verb.add_argument("--unit", metavar="cm|in", help="what the tape shows")
    for option in ("--preauricular-halves", "--circumference-halves"):
        verb.add_argument(option, type=_number, nargs=2, metavar=("LEFT", "RIGHT"))
    verb.add_argument("--span", action="append", metavar="F7-Fz=12.4", help="for F3, F4, P3, P4")
    verb.add_argument(
        "--apart", action="append", metavar="F3=0.5", help="how far apart its two marks lie"
    )


def _session_id(verb: ArgumentParser) -> None:
    verb.add_argument("id", metavar="ID", help="a session's ID, its beginning, a path, or last")


def _demo(options: Namespace) -> int:
    from simulators.outlet import OutletSettings
    from simulators.person import PersonSettings
    from simulators.process import running
    from ui.verbs import demo

    settings = OutletSettings(PersonSettings(seed=options.seed))
    return demo.run(options, lambda text: running(text, settings))


def _replay(options: Namespace) -> int:
    from simulators import replay
    from ui.verbs import replay as verb

    return verb.run(options, replay.replay, replay.ReplaySettings, replay.SPEEDS)


def _run(options: Namespace) -> int:
    from ui.verbs import run

    return run.run(options)


def _score(options: Namespace) -> int:
    from ui.verbs import score

    return score.run(options)


def _forecast(options: Namespace) -> int:
    from ui.verbs import forecast

    return forecast.run(options)


def _measure(options: Namespace) -> int:
    from ui.verbs import measure

    return measure.run(options)


def _lookback(options: Namespace) -> int:
    from ui.verbs import lookback

    return lookback.run(options)


def _report(options: Namespace) -> int:
    from ui.verbs import report

    return report.run(options)


def _verify(options: Namespace) -> int:
    from ui.verbs import verify

    return verify.run(options)


def _export(options: Namespace) -> int:
    from ui.verbs import export

    return export.run(options)


def _sessions(options: Namespace) -> int:
    from ui.verbs import sessions

    return sessions.run(options)


def _backup(options: Namespace) -> int:
    from ui.verbs import backup

    return backup.run(options)


def _client(options: Namespace) -> int:
    from ui.verbs import client

    return client.run(options)


VERBS: dict[str, Callable[[Namespace], int]] = {
    "demo": _demo,
    "run": _run,
    "replay": _replay,
    "score": _score,
    "forecast": _forecast,
    "measure": _measure,
    "lookback": _lookback,
    "report": _report,
    "verify": _verify,
    "export": _export,
    "sessions": _sessions,
    "backup": _backup,
    "client": _client,
}


def main(arguments: list[str] | None = None) -> int:
    """Run one verb; return the exit status: 0 done, 1 the run failed, 2 the input is wrong."""
    utf8_streams()
    try:
        options = parser().parse_args(arguments)
        return VERBS[options.verb](options)
    except NudgelineError as error:
        say(str(error))
        return error.exit_status
    except KeyboardInterrupt:
        say("Stopped.")
        return 1
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 1
    except Exception as error:
        return _own_fault(error)


def _own_fault(error: Exception) -> int:
    """Say a fault of the program's in one sentence; the traceback goes to a file."""
    from engine.configs_folder import data_folder

    log = data_folder() / "faults.log"
    try:
        log.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        logging.basicConfig(filename=log, encoding="utf-8", format="%(asctime)s %(message)s")
        logging.exception("a fault of the program")
        where = f"what happened is written in {log}"
    except OSError:
        where = "what happened could not be written down"
    say(f"Nudgeline failed by a fault of its own ({type(error).__name__}: {error}); {where}.")
    return 1


if __name__ == "__main__":
    sys.exit(main())
