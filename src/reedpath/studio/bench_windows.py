"""What a window of a workbench is told: of panels, rows of the tab and notes those that differ from what it has."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from reedpath.jobs.workbench.messages import WorkbenchMessage, WorkbenchView
from reedpath.studio.bench_panels import DrawnPanels, panels_of


class BenchWindow:
    """A window that shows a workbench; not a value, since it remembers what it was told."""

    def __init__(self) -> None:
        self._panels: dict[str, str] = {}
        self._rows: tuple[str, ...] = ()
        self._notes: list[list[Any]] = []

    def told(self, message: WorkbenchMessage, values: Mapping[str, Any]) -> dict[str, Any]:
        """A message as the window takes it: panels and rows to be put in place, and what scripts draw.

        values : what panels are made of, as `panels_of` takes it.
        """
        data = {"number": message.number, **self._panels_anew(panels_of(values, message))}
        if isinstance(message, WorkbenchView):
            data |= {
                "view": True,
                "answers": message.answers,
                "title": message.title,
                "text": message.text,
                "source": message.source,
                "problems": _places_of(message),
                "ribbon": None
                if message.ribbon is None
                else {"count": message.ribbon.count, "systems": message.ribbon.systems},
                "changed": message.changed,
                "bpm": message.facts.bpm if message.facts else None,
                "recording": message.recording.name if message.recording else "",
                "notes": self._notes_anew(message),
            }
        staff = getattr(message, "staff", None)
        return data | {"staff": staff} if staff else data

    def _panels_anew(self, drawn: DrawnPanels) -> dict[str, Any]:
        """The panels that differ; of a tab of as many rows as before, the rows that do."""
        anew = {name: html for name, html in drawn.panels.items() if self._panels.get(name) != html}
        self._panels |= anew
        data: dict[str, Any] = {"panels": anew}
        if "tab" in drawn.panels:
            if "tab" in anew and self._rows and len(self._rows) == len(drawn.tab_rows):
                del anew["tab"]
                data["rows"] = {"tab": _differing(self._rows, drawn.tab_rows)}
            self._rows = drawn.tab_rows
        return data

    def _notes_anew(self, view: WorkbenchView) -> dict[str, Any]:
        """How many notes there are, and those that differ, by their numbers from 0."""
        notes = [
            [one.tab, one.words, one.held, one.changed, one.seconds, one.onset, one.end, one.midi, one.doubtful]
            for one in view.notes
        ]
        had, self._notes = self._notes, notes
        return {"count": len(notes), "differ": _differing(had, notes)}


def _differing(had: Sequence[Any], now: Sequence[Any]) -> list[tuple[int, Any]]:
    """What there is now and was not so in the same place, with its place."""
    return [(index, one) for index, one in enumerate(now) if index >= len(had) or had[index] != one]


def _places_of(told: WorkbenchView) -> list[dict[str, Any]]:
    """Where in the text something is wrong; what it is stands in a panel."""
    found = ([told.problem] if told.problem else []) + list(told.more_problems)
    return [
        {"line": wrong.line, "column": wrong.column, "length": wrong.length}
        for wrong in found
        if wrong.of == "text" and wrong.line
    ]
