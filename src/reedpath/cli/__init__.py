"""The command line: arguments in, text or JSON out. No musical rule lives here."""

from collections.abc import Sequence

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line with the process's arguments, or those given, and exit."""
    try:
        from reedpath.cli.interrupting import interrupted_alike

        interrupted_alike()
        from reedpath.cli.entry import run
    except KeyboardInterrupt:  # while the program was still being loaded
        from reedpath.cli.entry import end_interrupted

        end_interrupted(arguments)
    run(arguments)
