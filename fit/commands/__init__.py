"""The command line: words in, findings and files out, one exit status."""

from fit.commands.app import main

__all__ = ["main"]
