"""The command line: arguments in, text or JSON out. No musical rule lives here."""

from reedpath.cli.entry import main

__all__ = ["main"]
