"""A table as one HTML page: sorted by any column, by hand or by the keyboard, and searched by a few letters.

Without its script the page is the same table in the order that it came in.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec import Struct

from reedpath.data import shipped_text
from reedpath.page.web.assets import format_inks
from reedpath.page.web.document import plain_page
from reedpath.page.web.markup import element, text
from reedpath.wording import Catalogue

# rows from which a field to search them is worth its place; ours: what a screen shows at once
SEARCHED_FROM = 12


class TableColumn(Struct, frozen=True):
    """A column.

    name : by which it is meant. heading : in words.
    is_number : whether its cells are sorted by their numbers. is_right : whether they are flush right.
    is_long : whether they may run over several lines.
    """

    name: str
    heading: str
    is_number: bool = False
    is_right: bool = False
    is_long: bool = False


class TableCell(Struct, frozen=True):
    """A cell.

    text : what it says. sort : the number by which it is sorted, in a column of numbers.
    """

    text: str
    sort: float | None = None


class TableNotes(Struct, frozen=True):
    """What stands around a table.

    title : of the page.
    before, after : sentences.
    problems_title : heading of what could not be done. problems : one sentence each; none for nothing to say.
    """

    title: str
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    problems_title: str = ""
    problems: tuple[str, ...] = ()


def _cell(column: TableColumn, cell: TableCell, *, is_first: bool) -> str:
    sort = f"{cell.sort:g}" if column.is_number and cell.sort is not None else None
    kind = "number" if column.is_right else "long" if column.is_long else None
    name, scope = ("th", "row") if is_first else ("td", None)
    return element(name, text(cell.text), scope=scope, class_=kind, data_sort=sort)


def _table(
    columns: Sequence[TableColumn], rows: Sequence[Sequence[TableCell]], caption: str, *, sorted_by: str
) -> str:
    head = "".join(
        element(
            "th", text(column.heading), scope="col", class_="number" if column.is_right else None,
            data_numbers=column.is_number, aria_sort="ascending" if column.name == sorted_by else None,
        )
        for column in columns
    )  # fmt: skip
    body = "\n".join(
        element(
            "tr",
            "".join(
                _cell(column, cell, is_first=not place)
                for place, (column, cell) in enumerate(zip(columns, row, strict=True))
            ),
        )
        for row in rows
    )
    parts = element("caption", text(caption), class_="unseen"), element("thead", element("tr", head))
    table = element("table", "\n".join((*parts, element("tbody", body))))
    # a region that scrolls is reached by the keyboard, and has a name
    return element("div", table, class_="scroll", role="region", tabindex=0, aria_label=caption)


def _search(count: int, words: Catalogue) -> str:
    if count < SEARCHED_FROM:
        return ""
    label = element("label", text(words.say("table.search")), for_="search")
    field = element("input", type="search", id="search", autocomplete="off", spellcheck="false")
    told = element("span", text(words.say("table.rows", count=count)), id="shown", role="status")
    return element("p", f"{label} {field} {told}", class_="search", hidden=True)


def encode_table_page(
    columns: Sequence[TableColumn],
    rows: Sequence[Sequence[TableCell]],
    notes: TableNotes,
    words: Catalogue,
    *,
    sorted_by: str,
) -> bytes:
    """
    The page; it needs no network.

    rows : in the order in which they are shown first, which is that of the column ``sorted_by``.
    words : the language of the page.
    """
    style = format_inks() + shipped_text("reedpath.page.web", "table_page.css")
    script = shipped_text("reedpath.page.web", "table_page.js")
    content = element("h1", text(notes.title))
    content += "".join(element("p", text(one)) for one in notes.before)
    if rows:
        content += _search(len(rows), words) + _table(columns, rows, notes.title, sorted_by=sorted_by)
    content += "".join(element("p", text(one), class_="note") for one in notes.after if rows)
    if notes.problems:
        told = "\n".join(element("li", text(one)) for one in notes.problems)
        content += element("h2", text(notes.problems_title)) + element("ul", told, class_="problems")
    said = {"sort": words.say("table.sort"), "shown": words.say("table.shown", shown="{shown}", all="{all}")}
    return plain_page(notes.title, content, style, words.name, script=script, words=said)
