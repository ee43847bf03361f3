"""What a window of a workbench is told, command by command, adds up to what a window opened anew is told."""

from __future__ import annotations

import json
import re
from types import SimpleNamespace
from typing import Any

import pytest

from reedpath.arrange import level_names
from reedpath.jobs.workbench import Draft, read_message
from reedpath.jobs.workbench.commands import Choose, LookAt, MarkPart, PinMove, ShowAgain, TypeSource, UndoStep, Unpin
from reedpath.jobs.workbench.conversation import Workbench
from reedpath.jobs.workbench.draft import WorkbenchPast
from reedpath.jobs.workbench.messages import WaysShown, WorkbenchMessage, WorkbenchView, WrittenShown, encode_message
from reedpath.studio.bench_panels import panels_of
from reedpath.studio.bench_windows import BenchWindow
from reedpath.studio.workbench_pages import notation_samples
from reedpath.wording import load_studio_catalogue

TAB = "harp: C\n4 -4 5 -5 | 6 -6 7 -7\n"
# what a window is told about notes and tab changes with any of these
COMMANDS = (
    TypeSource(text=TAB),
    PinMove(event=2, move="-3\"'"),
    PinMove(event=0, move="-2"),
    LookAt(event=3),
    PinMove(event=4, move="+6", avoid=True),
    UndoStep(),
    MarkPart(first=1, last=3),
    Choose(notation="arrow"),
    Unpin(),
    TypeSource(text=TAB.replace("7 -7", "7 -7 | 8 -8")),
    TypeSource(text=TAB.replace("4 -4", "5 -4")),
    TypeSource(text="harp: C\n"),
)


class WindowModel:
    """A window as its script keeps it: panels, the rows of the tab, and notes."""

    def __init__(self) -> None:
        self.panels: dict[str, str] = {}
        self.notes: list[Any] = []
        self.rows_sent = self.notes_sent = 0

    def take(self, told: dict[str, Any]) -> None:
        """Put in place what is sent."""
        sent = json.loads(json.dumps(told))
        self.panels |= sent["panels"]
        rows = re.findall(r"<li>.*?</li>", self.panels.get("tab", ""))
        for index, row in sent.get("rows", {}).get("tab", ()):
            rows[index] = row
            self.rows_sent += 1
        if "rows" in sent:
            head, tail = self.panels["tab"].partition("<li>")[0], self.panels["tab"].rpartition("</li>")[2]
            self.panels["tab"] = head + "".join(rows) + tail
        if "notes" in sent:
            self.notes = self.notes[: sent["notes"]["count"]]
            for index, note in sent["notes"]["differ"]:
                self.notes[index : index + 1] = [note]
                self.notes_sent += 1


def seen(bench: SimpleNamespace, message: WorkbenchMessage) -> None:
    """Remember a message as an open workbench does, as far as panels show it."""
    if isinstance(message, WorkbenchView):
        bench.view, bench.ways = message, None
        bench.parts = bench.parts if message.parts is None else message.parts
    elif isinstance(message, WaysShown):
        bench.ways = message
    elif isinstance(message, WrittenShown):
        bench.written = message


@pytest.mark.slow
def test_what_a_window_is_told_adds_up_to_what_a_window_opened_anew_is_told() -> None:
    workbench = Workbench(WorkbenchPast(Draft()))
    bench = SimpleNamespace(
        number=1, view=None, ways=None, written=None, survey=None, prices=None, trade_off=None, parts=(), harps=()
    )
    values = {
        "bench": bench,
        "catalogue": load_studio_catalogue("en"),
        "tunings": ("standard",),
        "levels": level_names(),
        "notations": notation_samples(),
    }
    window, model, counts = BenchWindow(), WindowModel(), set()
    for command in (ShowAgain(), *COMMANDS):
        for made in workbench.answer(command):
            message = read_message(encode_message(made))
            seen(bench, message)
            model.take(window.told(message, values))
            if not isinstance(message, WorkbenchView):
                continue
            assert model.panels["tab"] == panels_of(values, message).panels["tab"], command
            anew = WindowModel()
            anew.take(BenchWindow().told(message, values))
            assert model.notes == anew.notes, command
            assert {name: model.panels[name] for name in anew.panels} == anew.panels, command
            counts.add(len(message.notes))
    assert counts == {0, 8, 10}
    # a pin of one note of eight, in two bars, sends one row and that note
    rows, notes = model.rows_sent, model.notes_sent
    for command in (TypeSource(text=TAB), PinMove(event=0, move="-2")):
        rows, notes = model.rows_sent, model.notes_sent
        for made in workbench.answer(command):
            message = read_message(encode_message(made))
            seen(bench, message)
            model.take(window.told(message, values))
    assert (model.rows_sent - rows, model.notes_sent - notes) == (1, 1)
