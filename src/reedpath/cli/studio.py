"""The studio opened from the terminal."""

from __future__ import annotations

import sys
import threading
from pathlib import Path

from reedpath.cli.printing import catalogue_for, print_line
from reedpath.errors import SettingsError

__all__ = ["open_studio"]

# the highest port that TCP has
LAST_PORT = 65535


def open_studio(shelf: Path | None, *, port: int | None, with_browser: bool, language: str | None) -> None:
    """Serve the studio until it is interrupted, and open a browser on it."""
    catalogue = catalogue_for(language)
    if port is not None and not 1 <= port <= LAST_PORT:
        raise SettingsError("studio.port_taken", port=port)
    from reedpath.studio import serve_studio

    is_first = True

    def tell(address: str) -> None:
        nonlocal is_first
        print_line(catalogue.say("cli.studio_address", address=address))
        if is_first:
            print_line(catalogue.say("cli.studio_end"))
            sys.stdout.flush()
            if with_browser:
                import webbrowser

                # some ways to open a browser wait for it
                threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
        is_first = False

    serve_studio(shelf, port=port, language=language or "", tell=tell)
