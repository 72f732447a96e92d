"""Every verb of `nudgeline`, thin: options in, one of the engine's or a simulator's doors, out."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace, RawDescriptionHelpFormatter
from typing import NoReturn

from engine.errors import ConfigError, NudgelineError
from ui.verbs.speech import say, utf8_streams

CAUTIONS = """\
Training is done by or under a licensed practitioner; local codes and rules decide. Nudgeline is
not a medical device: it does not diagnose and promises no effect. Use only isolated, medically
safe amplifiers on a person."""


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
    score = verbs.add_parser(
        "score", help="score an EDF, BDF or XDF file, or a session's recording"
    )
    score.add_argument("file", metavar="FILE")
    _protocol_options(score, required=True)
    score.add_argument("--set", action="append", metavar="KEY=VALUE", help="theta.threshold=7.5")
    score.add_argument("--trace", metavar="OUT.csv", help="write one row a tick")
    _file_options(score)
    score.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    return top


def _protocol_options(verb: ArgumentParser, required: bool) -> None:
    verb.add_argument(
        "--protocol", required=required, metavar="FILE", help="a TOML file, or a shipped name"
    )
    verb.add_argument(
        "--channel", metavar="C4", help="the site to train, instead of the protocol's"
    )


def _file_options(verb: ArgumentParser) -> None:
    verb.add_argument("--unit", help="V, mV, µV or nV, where the file does not say")
    verb.add_argument("--stream", metavar="NAME", help="which stream of an XDF file")


def _run(options: Namespace) -> int:
    if options.verb == "score":
        from ui.verbs import score

        return score.run(options)
    raise AssertionError(options.verb)


def main(arguments: list[str] | None = None) -> int:
    """Run one verb; return the exit status: 0 done, 1 the run failed, 2 the input is wrong."""
    utf8_streams()
    try:
        return _run(parser().parse_args(arguments))
    except NudgelineError as error:
        say(str(error))
        return error.exit_status


if __name__ == "__main__":
    sys.exit(main())
