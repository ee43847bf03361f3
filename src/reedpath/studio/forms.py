"""Forms: what a page sends, read up to a bound."""

from __future__ import annotations

from math import isnan, nan
from urllib.parse import parse_qsl

from starlette.requests import ClientDisconnect, Request

from reedpath.errors import SettingsError, clean_text

# bytes of a form; a pasted phrase of 5,000 bars has some 500,000
MOST_BYTES = 2_000_000
# fields of a form; a lesson of 1,000 steps in two languages sends 2,000
MOST_FIELDS = 20_000
# beats a minute; a form that says more has slipped a digit. Ours: what can be played is judged where it is played
MOST_BPM = 10_000


class SentForm:
    """What was sent: texts by their names, of which there may be several of one name."""

    def __init__(self, fields: list[tuple[str, str]]) -> None:
        self.fields = fields

    def get(self, name: str, otherwise: str = "") -> str:
        """The last text of a name, or another."""
        return next((value for key, value in reversed(self.fields) if key == name), otherwise)

    def all(self, name: str) -> list[str]:
        """All texts of a name that hold something."""
        return [value for key, value in self.fields if key == name and value]

    def words(self, name: str) -> tuple[str, ...]:
        """What stands between the commas of a text."""
        return tuple(one.strip() for one in self.line(name).split(",") if one.strip())

    def has(self, name: str) -> bool:
        """Whether there is a text of that name: a box that was ticked."""
        return any(key == name for key, _value in self.fields)

    def line(self, name: str, otherwise: str = "") -> str:
        """The text of a name as one line, what no line holds left out."""
        return clean_text(self.get(name, otherwise)).strip()


async def body_of(request: Request, *, most_bytes: int) -> bytes:
    """The body of a request; SettingsError where it has more bytes than that, or its sender went away."""
    said = request.headers.get("content-length", "")
    if said.isdigit() and int(said) > most_bytes:
        raise SettingsError("studio.too_much", most=most_bytes)
    body = bytearray()
    try:
        async for block in request.stream():
            body += block
            if len(body) > most_bytes:
                raise SettingsError("studio.too_much", most=most_bytes)
    except ClientDisconnect as error:
        raise SettingsError("studio.went_away") from error
    return bytes(body)


async def form_of(request: Request) -> SentForm:
    """What a page sent, as ``application/x-www-form-urlencoded`` (WHATWG URL, 5.1)."""
    body = await body_of(request, most_bytes=MOST_BYTES)
    try:
        fields = parse_qsl(body.decode(), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="replace")
    except ValueError as error:
        raise SettingsError("studio.no_form") from error
    # a text area sends its lines as HTTP has them
    return SentForm([(name, value.replace("\r\n", "\n")) for name, value in fields])


def whole_number(text: str) -> int:
    """A whole number as a form or an address says it; SettingsError for what is none."""
    stripped = text.strip()
    if not (stripped.isascii() and stripped.isdigit() and len(stripped) < 10):
        raise SettingsError("studio.no_number", found=text[:40])
    return int(stripped)


def number_if_any(text: str) -> int | None:
    """The same of a field that may be left empty."""
    return whole_number(text) if text.strip() else None


def decimal_number(text: str) -> float:
    """A number as a form says it, with a point or a comma; SettingsError for what is none."""
    number = _decimal(text)
    if isnan(number):
        raise SettingsError("studio.no_decimal", found=text[:40])
    return number


def tempo_of(text: str) -> float:
    """A tempo in beats a minute as a form says it; SettingsError for what is none."""
    number = _decimal(text)
    if not 0 < number < MOST_BPM:
        raise SettingsError("studio.no_tempo", found=text[:40])
    return number


def _decimal(text: str) -> float:
    """The number that a text says; not a number for what says none."""
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        return nan
