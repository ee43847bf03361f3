from __future__ import annotations

import csv
import io

from reedpath.page.csv_tables import encode_csv


def test_texts_that_a_spreadsheet_would_reckon_are_kept_as_texts_and_numbers_as_numbers() -> None:
    # OWASP, "CSV injection": a cell that begins with one of = + - @, a tab or a carriage return
    rows = [["=1+1", "+3", "-3'", "@x", "\tx", "\rx", "plain"], [-3, 2.50, 1234567, None, "", "a, b", 'a "b"']]
    data = encode_csv(rows)
    assert data.startswith(b"\xef\xbb\xbf")  # the mark of UTF-8, by which spreadsheets know it
    # read back by the standard library's reader of RFC 4180
    back = list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))
    assert back[0] == ["'=1+1", "'+3", "'-3'", "'@x", "'\tx", "'\rx", "plain"]
    assert back[1] == ["-3", "2.5", "1234567", "", "", "a, b", 'a "b"']
