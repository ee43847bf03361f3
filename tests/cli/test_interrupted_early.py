"""Ctrl-C before the program is loaded is told like any other."""

from __future__ import annotations

import subprocess
import sys

import pytest

# the first import of the named module is where Ctrl-C is pressed
PRESSED = """
import sys
class Pressed:
    def find_spec(self, name, path=None, target=None):
        if name == sys.argv[1]:
            sys.meta_path.remove(self)
            raise KeyboardInterrupt
sys.meta_path.insert(0, Pressed())
from reedpath.cli import main
main(["harp", "A"])
"""


@pytest.mark.parametrize("module", ["reedpath.cli.entry", "reedpath.errors", "click", "reedpath.cli.commands"])
def test_no_trace_back_while_loading(module: str) -> None:
    done = subprocess.run([sys.executable, "-c", PRESSED, module], capture_output=True, text=True, check=False)
    assert done.returncode == 130
    assert done.stdout == ""
    assert len(done.stderr.splitlines()) == 1
    assert done.stderr.startswith("reedpath: ")


# an object is disposed of, and just then Ctrl-C is pressed
UNHEARD = """
import sys
class Disposed:
    def __del__(self):
        raise KeyboardInterrupt
class Pressed:
    def find_spec(self, name, path=None, target=None):
        if name == sys.argv[1]:
            sys.meta_path.remove(self)
            Disposed()
sys.meta_path.insert(0, Pressed())
from reedpath.cli import main
main(["harp", "A"])
"""


@pytest.mark.slow
@pytest.mark.parametrize("module", ["reedpath.cli.entry", "click", "reedpath.wording.catalogue"])
def test_none_is_lost_where_nothing_can_be_raised(module: str) -> None:
    done = subprocess.run([sys.executable, "-c", UNHEARD, module], capture_output=True, text=True, check=False)
    assert "Traceback" not in done.stderr
    assert done.returncode == 130
    assert done.stderr.splitlines() == ["reedpath: Stopped; nothing half-made is left."]


# a module takes interruptions ill while it is loaded, as those of some libraries do
TAKEN_ILL = """
import signal, sys
from importlib.machinery import ModuleSpec
signal.signal(signal.SIGINT, signal.default_int_handler)  # what is started in the background ignores it
class Ill:
    def find_spec(self, name, path=None, target=None):
        return ModuleSpec(name, self) if name == "ill" else None
    def create_module(self, spec):
        return None
    def exec_module(self, module):
        try:
            signal.raise_signal(getattr(signal, sys.argv[1]))
            for _ in range(1000):
                pass
        except BaseException:
            sys.stderr.write("Traceback")
class Pressed:
    def find_spec(self, name, path=None, target=None):
        if name == "reedpath.wording.catalogue":
            sys.meta_path.remove(self)
            import ill
sys.meta_path[:0] = [Pressed(), Ill()]
from reedpath.cli import main
main(["harp", "A"])
"""


@pytest.mark.slow
@pytest.mark.parametrize("number", ["SIGINT", "SIGTERM"])
def test_none_falls_into_the_loading_of_a_module(number: str) -> None:
    done = subprocess.run([sys.executable, "-c", TAKEN_ILL, number], capture_output=True, text=True, check=False)
    assert done.stderr.splitlines() == ["reedpath: Stopped; nothing half-made is left."]
    assert done.returncode == 130
