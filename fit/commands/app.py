"""The words of the command line and what each of them does.

Only this folder knows typer. Help is plain text: the formatting machinery costs more start-up
time than a check does.
"""

from __future__ import annotations

import traceback
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated, Final

import typer

from fit import __version__
from fit.commands.show import note, put
from fit.commands.status import Status
from fit.output import CannotWrite

COMMANDS: Final = {
    "make": "fit.commands.make:make",
    "check": "fit.commands.check:check",
    "place": "fit.commands.place:place",
    "board": "fit.commands.board:board",
    "boxes": "fit.commands.boxes:boxes",
    "compare": "fit.commands.compare:compare",
    "smallest": "fit.commands.smallest:smallest",
    "list": "fit.commands.listing:list_",
    "schema": "fit.commands.listing:schema",
    "explain": "fit.commands.explain:explain",
    "gauge": "fit.commands.gauge:gauge",
    "printer": "fit.commands.printer:printer",
}
"""Every command in the order of the help, and the function behind it."""


def _top(
    version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False,
    trace: Annotated[
        bool, typer.Option("--trace", help="Show where in the program a fault happened.")
    ] = False,
) -> None:
    """Say whether it all goes into the box, and print 1:1 sheets to drill by."""
    if version:
        put(f"fit {__version__}")
        raise typer.Exit(Status.GOOD)


def _app(words: Sequence[str]) -> typer.Typer:
    """The command line; where it is plain which command is meant, only that one is loaded."""
    app = typer.Typer(
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=True,
        context_settings={"help_option_names": ["-h", "--help"]},
        epilog="Exit status: 0 clear or tight, 1 clash, 2 wrong use, 3 unusable input.",
    )
    app.callback(invoke_without_command=True)(_top)
    asked = next((w for w in words if not w.startswith("-")), "")
    for name in [asked] if asked in COMMANDS else COMMANDS:
        module, _, function = COMMANDS[name].partition(":")
        app.command(name)(getattr(import_module(module), function))
    return app


def run(words: Sequence[str]) -> int:
    """Carry out a command line and give its exit status; never raises.

    A fault in `fit` is told in one line; with ``--trace`` the place in the program is shown.
    """
    trace = "--trace" in words
    try:
        _app(words)([w for w in words if w != "--trace"], prog_name="fit")
    except (SystemExit, KeyboardInterrupt) as end:
        return _end_status(end)
    except CannotWrite as refused:
        note(str(refused))
        return Status.WRONG_USE
    except Exception as fault:  # the last resort: no traceback for the person at the bench
        # A compiled library that is stopped while it loads makes a fault of its own of it.
        if isinstance(fault.__cause__, SystemExit | KeyboardInterrupt):
            return _end_status(fault.__cause__)
        if trace:
            traceback.print_exc()
        else:
            note(_fault(fault))
        return Status.FAULT
    return Status.GOOD


def _end_status(end: SystemExit | KeyboardInterrupt) -> int:
    if isinstance(end, KeyboardInterrupt):
        return Status.INTERRUPTED
    return end.code if isinstance(end.code, int) else int(end.code is not None)


def _fault(fault: Exception) -> str:
    kind = type(fault).__name__
    told = f"{kind}: {fault}" if str(fault) else kind
    return (
        f"fit {__version__} broke down ({told}). This is a fault in fit, not in your file; "
        "nothing was written.\nPlease report it with your build file and what the same command "
        "says with --trace."
    )
