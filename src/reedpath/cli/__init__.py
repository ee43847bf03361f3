"""The command line: arguments in, text or JSON out. No musical rule lives here."""


def main() -> None:
    """Run the command line."""
    raise SystemExit(2)
