"""The command line: words in, findings and files out, one exit status."""

from fit.commands.entry import main

__all__ = ["main"]
