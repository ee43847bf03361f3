"""Several hand-outs joined to one PDF, each with its title in the list of contents."""

from __future__ import annotations

from collections.abc import Iterable
from io import BytesIO

from reedpath.errors import PageError, Place


def join_pdfs(documents: Iterable[tuple[str, bytes]], *, title: str, language: str) -> bytes:
    """
    One PDF of several.

    documents : title and content of each, in order; at least one.
    title, language : of the whole; the language as in BCP 47 ("fr").

    Raises `PageError` where one of them is no PDF that can be read, with its title.
    """
    from pypdf import PdfReader, PdfWriter
    from pypdf.errors import PyPdfError
    from pypdf.generic import NameObject, TextStringObject

    joined = PdfWriter()
    for name, content in documents:
        try:
            joined.append(PdfReader(BytesIO(content)), outline_item=name, import_outline=False)
        except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            raise PageError("page.pdf_unreadable", where=Place(file=name)) from error
    joined.add_metadata({"/Title": title})
    joined.root_object[NameObject("/Lang")] = TextStringObject(language)
    file = BytesIO()
    joined.write(file)
    return file.getvalue()
