"""Single cells: is it a number, a word for “no number”, a name with its unit?"""

from __future__ import annotations

import re
from dataclasses import dataclass

from gaugebench.errors import UnitError
from gaugebench.quantity import Unit, unit

MISSING_WORDS = (
    "nan", "-nan", "NaN", "-NaN", "NAN", "inf", "-inf", "Inf", "-Inf", "INF", "ovf", "OVF", "ovl",
    "OVL", "OL", "-OL", "over", "OVER", "under", "UNDER", "err", "ERR", "error", "ERROR", "Error",
    "fault", "FAULT", "null", "NULL", "none", "None", "n/a", "N/A", "#N/A", "NA", "#NV", "#DIV/0!",
    "#VALUE!", "-", "--", "---", "----", "-----", "*", "***", "?", "???", "open", "OPEN",
)  # fmt: skip
"""Words that loggers and spreadsheets write where there is no number."""

LONGEST_CELL = 200
"""A longer cell is no number, time or unit; patterns are not tried on it, nor on more of a heading,
as some take the square of its length.
"""

_DOT = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?$")
_COMMA = re.compile(r"[+-]?(\d+(,\d*)?|,\d+)([eE][+-]?\d+)?$")
_GROUPED = {
    (".", ","): re.compile(r"[+-]?\d{1,3}(,\d{3})+(\.\d*)?$"),
    (",", "."): re.compile(r"[+-]?\d{1,3}(\.\d{3})+(,\d*)?$"),
    (".", "'"): re.compile(r"[+-]?\d{1,3}('\d{3})+(\.\d*)?$"),
    (".", " "): re.compile(r"[+-]?\d{1,3}([  ]\d{3})+(\.\d*)?$"),
    (",", " "): re.compile(r"[+-]?\d{1,3}([  ]\d{3})+(,\d*)?$"),
}
_CLOCK = re.compile(
    r"(?:(?P<date>\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4})[T ,]\s*)?"
    r"(?:\d{1,5}:)?\d{1,2}:\d{2}(?:[.,:]\d+)?\s*(?:[AaPp]\.?[Mm]\.?)?\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?$"
)
_DATE = re.compile(r"\d{1,4}([-/.])\d{1,2}\1\d{1,4}$")
_MONTHS = {
    word: number
    for number, words in enumerate(
        ("jan jän", "feb fév", "mar mär mrz", "apr avr", "may mai", "jun", "jul", "aug", "sep",
         "oct okt", "nov", "dec dez déc"),
        start=1,
    )
    for word in words.split()
}  # fmt: skip
"""English and German words, and French ones where three letters tell them apart."""
_WORD = rf"({'|'.join(_MONTHS)})[a-zäéû]*\.?"
_WORD_SECOND = re.compile(
    rf"(\d{{1,4}})[-/. ]{{1,2}}{_WORD}[-/. ]{{1,2}}(\d{{1,4}})", re.IGNORECASE
)
_WORD_FIRST = re.compile(rf"{_WORD}[-/. ](\d{{1,2}})[-/., ]{{1,2}}(\d{{4}})", re.IGNORECASE)
_BRACKETED = re.compile(
    r"^(?P<name>.*?)\s*[\[({<](?P<unit>[^\[\](){}<>]*(?:\([ags]\w*\))?)[\])}>]$"
)
_WORDED = re.compile(r"^(?P<name>.+?)(?:\s+in\s+|\s*/\s*|\s*,\s*|[\s_]+)(?P<unit>\S+)$")
# Units that are believed without brackets; single letters are not, “Channel A” is no ampere.
_PLAIN = {
    "bar", "mbar", "bara", "barg", "mpa", "kpa", "pa", "psi", "psig", "psia", "kgf/cm2", "kg/cm2",
    "kgf/cm²", "kg/cm²", "rpm", "1/min", "r/min", "min-1", "u/min", "°c", "°f", "degc", "degf",
    "l/min",
    "lpm", "gpm", "ma", "mv", "kw", "hp", "s", "ms", "µs", "us", "sec", "min", "mm", "volt",
    "volts",
    "%",
}  # fmt: skip
_DEGREE = re.compile(r"^(?:°|deg\.?)\s*([CF])$")
_CAPITALS = {
    "bar": "bar", "barg": "barg", "bara": "bara", "psi": "psi", "psig": "psig", "psia": "psia",
    "kpa": "kPa", "rpm": "rpm", "l/min": "L/min", "lpm": "L/min", "gpm": "gpm", "degc": "degC",
    "degf": "degF",
}  # fmt: skip
_TIME_WORDS = {
    "t", "time", "zeit", "temps", "tiempo", "tempo", "tijd", "date", "datum", "fecha", "data",
    "timestamp", "datetime", "clock", "uhrzeit", "elapsed", "seconds", "sec", "secs", "heure",
    "hora",
    "时间", "時刻", "時間", "время", "zeitstempel", "date/time", "date time", "time stamp",
    "elapsed time", "abs time", "rel time", "relative time", "absolute time", "ms", "millis", "s",
    "t_ms", "t_s", "time_s", "time_ms", "datum/uhrzeit", "datum uhrzeit",
}  # fmt: skip
_DATE_WORDS = {"date", "datum", "fecha", "data", "day", "tag", "jour"}
_COUNTER_WORDS = {
    "n", "no", "no.", "nr", "nr.", "index", "sample", "samples", "count", "counter", "#", "scan",
    "record", "row", "point", "idx", "seq", "number", "messung",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's heading. text: as written. name: without a unit in brackets. unit: as written."""

    text: str
    name: str
    unit: str = ""

    @property
    def base(self) -> str:
        """The name without a unit of any spelling, in lower case."""
        plain = split_worded(self.name)
        return (plain[0] if plain else self.name).strip().lower()

    def is_called(self, wanted: str) -> bool:
        """Whether a user means this column by `wanted`."""
        known = {self.text, self.name, self.base}
        return wanted in known or wanted.strip().lower() in {k.lower() for k in known}


def is_number(cell: str, decimal: str, thousands: str = "") -> bool:
    """Whether the cell is a number so written."""
    if len(cell) > LONGEST_CELL:
        return False
    plain = _COMMA if decimal == "," else _DOT
    if plain.match(cell):
        return True
    grouped = _GROUPED.get((decimal, thousands)) if thousands else None
    return bool(grouped and grouped.match(cell))


def is_time(cell: str) -> bool:
    """Whether the cell is a clock time, a date, or both."""
    if len(cell) > LONGEST_CELL:
        return False
    cell = numbered(cell)
    return bool(_CLOCK.match(cell) or _DATE.match(cell))


def is_date(cell: str) -> bool:
    """Whether the cell is a date and nothing else."""
    return len(cell) <= LONGEST_CELL and bool(_DATE.match(numbered(cell)))


def month_order(cell: str) -> str | None:
    """`dmy`, `mdy` or `ymd` of a date whose month is a word (`05-Apr-2025`); None of any other."""
    if len(cell) > LONGEST_CELL:
        return None
    if match := _WORD_SECOND.match(cell):
        return "ymd" if len(match[1]) == 4 else "dmy"
    return "mdy" if _WORD_FIRST.match(cell) else None


def numbered(cell: str) -> str:
    """A date whose month is a word, with its number instead: `05-04-2025` of `05-Apr-2025`."""
    if match := _WORD_SECOND.match(cell):
        return f"{match[1]}-{_MONTHS[match[2].lower()]:02}-{match[3]}{cell[match.end() :]}"
    if match := _WORD_FIRST.match(cell):
        return f"{_MONTHS[match[1].lower()]:02}-{match[2]}-{match[3]}{cell[match.end() :]}"
    return cell


def heading(text: str) -> Heading:
    """A heading taken apart; the unit is empty where none is stated."""
    text = repaired(text.strip().strip('"').strip()[:LONGEST_CELL])
    if match := _BRACKETED.match(text):
        return Heading(text, match["name"].strip() or text, match["unit"].strip())
    if found := split_worded(text):
        return Heading(text, text, found[1])
    if text.lower() == "rpm":
        return Heading(text, text, "rpm")
    return Heading(text, text)


def split_worded(text: str) -> tuple[str, str] | None:
    """Name and unit of a heading such as `P1 bar` or `P1_psi`."""
    match = _WORDED.match(text)
    if match and match["unit"].lower() in _PLAIN:
        return match["name"], match["unit"]
    return None


def repaired(text: str) -> str:
    """Text that was taken for Windows-1252 once too often (`Â°C`), put right."""
    if "Â" not in text and "Ã" not in text:
        return text
    try:
        return text.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return text


def known_unit(text: str) -> Unit | None:
    """The unit, or None where the program does not work with it."""
    if not text.strip():
        return None
    try:
        return unit(usual_unit(text))
    except UnitError:
        return None


def usual_unit(text: str) -> str:
    """A unit as it is usually written: `°C` of `° C` and `deg. C`, `bar` of `BAR`.

    In capitals throughout, only what means nothing else in another case.
    """
    written = _DEGREE.sub(r"°\1", text.strip())
    return _CAPITALS.get(written.lower(), written) if written.isupper() else written


def looks_like_temperature(text: str) -> bool:
    """Whether a damaged unit may have been a degree of temperature: `ÄC`, `?C`, `øF`, `oC`."""
    pattern = r"[^\x00-\x40A-Za-z°µ]{1,3}\s?[CF]|[?]{1,2}[CF]|[oO0*^']\s?[CF]|&deg;?\s?[CF]?"
    return bool(re.fullmatch(pattern, text.strip()))


def is_time_word(found: Heading) -> bool:
    """Whether a heading names a time."""
    return found.base in _TIME_WORDS or found.name.lower() in _TIME_WORDS


def is_date_word(found: Heading) -> bool:
    """Whether a heading names a date."""
    return found.base in _DATE_WORDS


def is_counter_word(found: Heading) -> bool:
    """Whether a heading names a running number."""
    return found.base in _COUNTER_WORDS


def looks_like_pressure(found: Heading) -> bool:
    """Whether a column without a unit is most likely a pressure, so that its unit must be asked."""
    pattern = r"p\d+|p|.*(press|druck|presi|pression|main|control|pilot|pump).*"
    return bool(re.fullmatch(pattern, found.base))
