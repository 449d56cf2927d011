"""The program ``endurance``: finds the command, runs it, and alone prints errors and picks exit codes.

0: done. 1: the check asked for does not hold. 2: bad usage or bad input, with one clear message.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import importlib
import io
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from console.display import CAUTIONS
from console.errors import EnduranceError

COMMANDS = {
    "board": "the full-screen board",
    "margins": "every supply now: on board, usable, rate, endurance, margin, band",
    "ledger": "where every unit of a supply goes until need",
    "options": "the ways home side by side, and until when each stays open",
    "whatif": "every figure before and after changes that nobody has made",
    "shed": "what to switch off for a margin, and what each load buys",
    "loss": "every margin with each store, bus and line lost in turn",
    "explain": "the equation, inputs and sources behind one figure, such as power.margin",
    "brief": "plain answers to read aloud, each with what it rests on",
    "log": "add to, correct, search, verify and export the journal",
    "check": "read a scenario and say all that is wrong with it",
    "replay": "a recorded feed and journal through the same engine, moment by moment",
    "simulate": "run the simulated craft and write what its instruments and its crew would have said",
}
"""Each is a module of this package with ``add_arguments(parser)`` and ``run(arguments) -> exit code``."""


def main(words: Sequence[str] | None = None) -> int:
    """Run the program.

    Args:
        words: the command line without the program's name; the process's own by default.
    """
    given = list(sys.argv[1:] if words is None else words)
    _keep_to_one_thread()
    _prepare_output()
    # A command lives for half a second, most of it imports: collecting garbage costs a tenth of that.
    gc.disable()
    try:
        arguments = _parsed(given)
        status = importlib.import_module(f"console.cli.{arguments.command}").run(arguments)
        sys.stdout.flush()
        return int(status)
    except EnduranceError as error:
        return _refuse(str(error))
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # Whoever read us has gone (``| head``): nothing to say, and nothing more may be written.
        _discard_output()
        return 0
    except OSError as error:
        _discard_output()
        return _refuse(f"the output cannot be written ({error.strerror or error})")
    except Exception as error:
        if os.environ.get("ENDURANCE_TRACEBACK"):
            raise
        return _refuse(
            f"a defect of this program: {type(error).__name__}: {error}. Nothing that was saved is lost. "
            "Set ENDURANCE_TRACEBACK=1 to see where."
        )
    finally:
        gc.freeze()  # nor is what is left looked through at the end
        gc.enable()


class _ShowVersion(argparse.Action):
    """Looks the version up only when it is asked for: reading a package's metadata costs 30 ms."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        from importlib.metadata import version

        sys.stdout.write(f"endurance {version('endurance-board')}\n")
        parser.exit()


def _keep_to_one_thread() -> None:
    """Before numpy is imported: its library for matrices starts threads that only wait, ours being small.

    On a busy machine of two cores they made a tick sixteen times as long.
    """
    for library in ("OPENBLAS", "MKL", "OMP"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")


def _prepare_output() -> None:
    """Any text can be printed, whatever the terminal's encoding; where output is closed, it goes nowhere."""
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115  stays open to the end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _discard_output() -> None:
    """What is still waiting to be written must not raise once more when the program ends."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _refuse(message: str) -> int:
    lines = message.splitlines() or [""]
    for line in lines:
        print(f"endurance: {line}", file=sys.stderr)  # noqa: T201  the one place that prints errors
    return 2


def _parsed(given: Sequence[str]) -> argparse.Namespace:
    """The command line. The scenario is the last word even behind options, which argparse alone refuses."""
    parser = _parser(given)
    arguments, rest = parser.parse_known_args(given)
    if hasattr(arguments, "words"):
        # A command that takes any number of words takes those behind options too.
        arguments.words += [word for word in rest if not word.startswith("-")]
        rest = [word for word in rest if word.startswith("-")]
    if rest and not rest[-1].startswith("-") and getattr(arguments, "scenario", None) is None:
        arguments.scenario = Path(rest.pop())
    if rest:
        parser.error(f"found {' '.join(rest)!r}, which this command does not know; see --help")
    return arguments


def _parser(given: Sequence[str]) -> argparse.ArgumentParser:
    """The parser; only the command that was asked for is imported, to start quickly."""
    parser = argparse.ArgumentParser(
        prog="endurance",
        description="How long the stores of a craft last, and what to do about it.",
        epilog=" ".join(CAUTIONS),
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_ShowVersion, nargs=0, help="show the program's version and stop")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    asked = next((word for word in given if word in COMMANDS), None)
    for name, summary in COMMANDS.items():
        command = commands.add_parser(
            name, help=summary, description=summary, epilog=" ".join(CAUTIONS), allow_abbrev=False
        )
        if name == asked:
            importlib.import_module(f"console.cli.{name}").add_arguments(command)
    return parser
