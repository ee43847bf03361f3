"""The studio opened from the terminal."""

from __future__ import annotations

import contextlib
import sys
import tempfile
import threading
from pathlib import Path

from reedpath.cli.printing import catalogue_for, print_line
from reedpath.errors import Place, SettingsError

# the highest port that TCP has
LAST_PORT = 65535


def open_studio(
    shelf: Path | None, *, port: int | None, with_browser: bool, demo: bool, language: str | None
) -> None:
    """Serve the studio until it is interrupted, and open a browser on it.

    demo : whether the demo is put on the shelf, which must be new; without a name it is gone afterwards.
    """
    catalogue = catalogue_for(language)
    if port is not None and not 1 <= port <= LAST_PORT:
        raise SettingsError("studio.port_taken", port=str(port))
    if demo and shelf is not None and shelf.exists():
        raise SettingsError("studio.demo_there", where=Place(file=str(shelf)))
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

    with contextlib.ExitStack() as closing:
        if demo and shelf is None:
            shelf = Path(closing.enter_context(tempfile.TemporaryDirectory(prefix="reedpath-demo-"))) / "demo.sqlite"
        serve_studio(shelf, port=port, language=language or "", tell=tell, demo=demo)
