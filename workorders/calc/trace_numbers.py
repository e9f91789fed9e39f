"""Cells of a logger file into numbers: decimal sign and thousands marks are found per column."""

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt
import pandas as pd

Floats = npt.NDArray[np.float64]

_SAMPLE_CELLS = 3_000
# Marks: dot and comma may be either; space and apostrophe only ever mark thousands.
_GROUPED = r"\d{1,3}(?:[ '][0-9]{3})+(?:[.,]\d+)?"
_NUMBER = re.compile(rf"[+-]?(?:{_GROUPED}|\d[\d.,]*|[.,]\d+)(?:[eE][+-]?\d+)?")
_GAPS = re.compile(r"-{1,3}|#?n/?an?|[+-]?inf|null|none|over|ovl|ol|err", re.IGNORECASE)
_DATE = r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}(?P<sep>[-/.])\d{1,2}(?P=sep)(?:\d{4}|\d{2})"
_CLOCK = r"\d{1,3}:\d{2}(?::\d{2})?(?:[.,]\d+)?"
_STAMP = re.compile(
    rf"(?:(?P<date>{_DATE})(?:[T,]|\s)\s*)?(?P<clock>{_CLOCK})\s*(?P<half>[AaPp]\.?[Mm]\.?)?\s*(?P<zone>Z|[+-]\d{{2}}:?\d{{2}})?"
)
_DAY = re.compile(_DATE)
_FULL_DATE = re.compile(r"(?:\d{4}[-/.]\d\d[-/.]\d\d|\d\d[-/.]\d\d[-/.]\d{4})[T ]\d")
_DAY_S = 86_400.0


@dataclass(frozen=True, kw_only=True)
class Marks:
    """How a column writes its numbers; `unsure` is a cell that could be read in two ways."""

    decimal: str = "."
    thousands: str = ""
    spaced: bool = False
    unsure: str = ""


@dataclass(frozen=True, kw_only=True)
class Evidence:
    """What the cells of one column prove about the dot and the comma."""

    grouping: frozenset[str] = frozenset()
    decimal: frozenset[str] = frozenset()
    undecided: frozenset[str] = frozenset()
    example: str = ""
    spaced: bool = False
    whole_digits: tuple[int, ...] = ()


def is_number_like(cell: str) -> bool:
    """Whether a cell is a number, a time stamp, a date or a mark for a missing reading."""
    return is_stamp(cell) or is_date(cell) or bool(_NUMBER.fullmatch(cell) or _GAPS.fullmatch(cell))


def is_gap(cell: str) -> bool:
    """Whether a cell is a mark for a missing reading, such as ``NaN``, ``---`` or ``OL``."""
    return bool(_GAPS.fullmatch(cell))


def is_stamp(cell: str) -> bool:
    """Whether a cell is a time of day or a date with a time of day."""
    return bool(_STAMP.fullmatch(cell.strip()))


def is_date(cell: str) -> bool:
    """Whether a cell is a date alone."""
    return bool(_DAY.fullmatch(cell.strip()))


def sample(cells: pd.Series) -> list[str]:
    """Return cells from the start, the end and between: a rising time shows its marks at the end."""
    return [cell.strip() for cell in cells.iloc[sample_places(len(cells))]]


def sample_places(count: int) -> npt.NDArray[np.int64]:
    """Return the rows that `sample` looks at, of so many."""
    if count <= _SAMPLE_CELLS:
        return np.arange(count)
    third = _SAMPLE_CELLS // 3
    between = np.linspace(third, count - third - 1, third).astype(np.int64)
    return np.concatenate([np.arange(third), between, np.arange(count - third, count)])


def weigh(cells: Iterable[str]) -> Evidence:
    """Collect what single cells prove: `1.234.567` groups, `0.018` and `1234.5` have a decimal."""
    sets: dict[str, set[str]] = {"grouping": set(), "decimal": set(), "undecided": set()}
    example = ""
    spaced = False
    whole_digits = set()
    for cell in filter(_NUMBER.fullmatch, cells):
        body = re.split("[eE]", cell.lstrip("+-"))[0]
        grouped = bool(re.search("[ ']", body))
        spaced = spaced or grouped
        marks = re.findall("[.,]", body)
        if not marks:
            whole_digits.add(len(body))
            continue
        if len(marks) > 1:
            sets["grouping"].add(marks[0])
            sets["decimal"].update(set(marks[-1]) - set(marks[0]))
        elif grouped or not re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", body):
            sets["decimal"].add(marks[0])
        else:
            sets["undecided"].add(marks[0])
            example = example or cell
    found = {name: frozenset(marks) for name, marks in sets.items()}
    return Evidence(**found, example=example, spaced=spaced, whole_digits=tuple(sorted(whole_digits)))


def choose_marks(*, column: Evidence, others_decimal: frozenset[str]) -> Marks:
    """Decide decimal sign and thousands mark of a column.

    What the column's own cells prove comes first. A cell such as ``7.315`` could be either: it is
    a decimal, unless other columns prove the other sign to be the decimal, or cells below 1000
    stand beside it without any mark, as only a thousands mark does.

    Parameters
    ----------
    column : Evidence
        From `weigh` on cells of the column.
    others_decimal : frozenset of str
        The decimal signs that other columns prove.

    Returns
    -------
    Marks
        ``unsure`` names an example where nothing was proven.
    """
    if column.grouping:
        thousands = min(column.grouping)
        return Marks(decimal=_other(thousands), thousands=thousands, spaced=column.spaced)
    if column.decimal:
        decimal = max(sorted(column.decimal), key=lambda mark: mark in others_decimal)
        return Marks(decimal=decimal, spaced=column.spaced)
    if not column.undecided:
        return Marks(spaced=column.spaced)
    mark = min(column.undecided)
    proven_elsewhere = _other(mark) in others_decimal and mark not in others_decimal
    beside_short = bool(column.whole_digits) and max(column.whole_digits) <= 3
    if proven_elsewhere or beside_short:
        return Marks(decimal=_other(mark), thousands=mark, unsure=column.example)
    return Marks(decimal=mark, unsure=column.example)


def _other(mark: str) -> str:
    return "," if mark == "." else "."


def to_numbers(*, cells: pd.Series, marks: Marks) -> Floats:
    """Convert the cells of a column under its marks.

    Parameters
    ----------
    cells : Series of str
        The cells as they stand in the file.
    marks : Marks
        From `choose_marks`.

    Returns
    -------
    array
        One number per cell [unit of the column]; NaN for what is no finite number.
    """
    text = cells
    if marks.spaced:
        text = text.str.replace(r"(?<=\d)[ '](?=\d{3}(?!\d))", "", regex=True)
    if marks.thousands:
        grouped = _grouped(marks)
        joined = "\n".join(text)
        if re.fullmatch(rf"(?>{grouped})(?>\n{grouped})*+", joined):
            # All cells at once: one by one they take several times as long.
            return _all_numbers(joined.replace(marks.thousands, "").replace(",", ".").split("\n"))
        text = text.where(text.str.fullmatch(grouped), "").str.replace(marks.thousands, "", regex=False)
    if marks.decimal == ",":
        text = text.where(~text.str.contains(".", regex=False), "").str.replace(",", ".", regex=False)
    return _all_numbers(text)


def _all_numbers(text: pd.Series | list[str]) -> Floats:
    numbers = _floats(pd.to_numeric(np.asarray(text, dtype=object), errors="coerce"))
    numbers[~np.isfinite(numbers)] = np.nan
    return numbers


def _grouped(marks: Marks) -> str:
    """Return the pattern of a cell with thousands marks, or of one without that may have some."""
    thousands, decimal = re.escape(marks.thousands), re.escape(marks.decimal)
    whole = rf"(?:\d{{1,3}}(?:{thousands}\d{{3}})+|\d+)"
    return rf"[^\S\n]*[+-]?{whole}(?:{decimal}\d*)?(?:[eE][+-]?\d+)?[^\S\n]*"


def to_seconds(cells: pd.Series) -> Floats:
    """Convert time stamps to seconds from the first one; what is no stamp becomes NaN.

    Times of day without a date may pass midnight. Where the order of day and month is not told,
    the one that keeps the recording short is taken.
    """
    fast = _plain_seconds(cells)
    return fast if fast is not None else _stamp_seconds(cells)


def _plain_seconds(cells: pd.Series) -> Floats | None:
    """Read stamps of full width such as ``01.05.2024 10:00:00.123`` quickly; None where others occur."""
    dated = _FULL_DATE.match(cells.iloc[0])
    clock = cells.str.slice(11) if dated else cells
    even = _even_seconds(clock)
    seconds = even if even is not None else _iso_seconds(clock)
    if seconds.isna().any():
        return None
    if not dated:
        return _over_midnight(_floats(seconds - seconds.iloc[0]))
    days = cells.str.slice(0, 10)
    if not all(map(is_date, days.unique())):
        return None
    return _from_first(seconds, _day_seconds(days))


def _even_seconds(clock: pd.Series) -> pd.Series | None:
    """Read times of day of one width, such as ``10:00:00.123456``, all at once; None where others occur."""
    first = clock.iloc[0]
    digits = len(first) - len("10:00:00.")
    if not (first.isascii() and 1 <= digits <= 9):
        return None
    text = "".join(clock)
    if len(text) != len(first) * clock.size or not text.isascii():
        return None
    signs = np.frombuffer(text.encode(), dtype=np.uint8).reshape(-1, len(first))
    numbers = [0, 1, 3, 4, 6, 7, *range(9, len(first))]
    figures = signs[:, numbers].astype(np.int64) - ord("0")
    marks = signs[:, [2, 5, 8]]
    point = np.isin(marks[:, 2], [ord("."), ord(",")])
    # A cell of another width would shift those after it: then the marks are not where they belong.
    if not (point.all() and (marks[:, :2] == ord(":")).all() and ((figures >= 0) & (figures <= 9)).all()):
        return None
    hours, minutes, whole = (10 * figures[:, k] + figures[:, k + 1] for k in (0, 2, 4))
    if hours.max() > 23 or minutes.max() > 59 or whole.max() > 59:
        return None
    parts = figures[:, 6:] @ 10 ** np.arange(8, 8 - digits, -1)
    nanoseconds = ((hours * 60 + minutes) * 60 + whole) * 10**9 + parts
    return pd.Series(pd.to_timedelta(nanoseconds, unit="ns")).dt.total_seconds()


def _iso_seconds(clock: pd.Series) -> pd.Series:
    # The quick parser knows ISO 8601 alone: any day does, since days are counted by themselves.
    text = "1970-01-01T" + clock.str.replace(",", ".", regex=False)
    stamps = pd.to_datetime(text, format="ISO8601", errors="coerce", utc=True)
    return (stamps - pd.Timestamp(0, tz="UTC")).dt.total_seconds()


def _stamp_seconds(cells: pd.Series) -> Floats:
    found = cells.str.strip().str.extract(rf"^{_STAMP.pattern}$")
    clock = found["clock"].str.replace(",", ".", regex=False)
    # Two parts with a fraction are minutes and seconds, without one hours and minutes.
    short = clock.str.count(":") == 1
    fraction = clock.str.contains(".", regex=False, na=False).astype(bool)
    dated = bool(found["date"].notna().all())
    counted = short & fraction & (not dated)
    clock = clock.mask(short & fraction, "00:" + clock).mask(short & ~fraction, clock + ":00")
    clock = clock.where(_possible(clock, found["half"], dated=dated, counted=counted))
    seconds = pd.to_timedelta(clock, errors="coerce").dt.total_seconds()
    if found["half"].notna().any():
        afternoon = found["half"].str.casefold().str.startswith("p", na=False).astype(bool)
        seconds = seconds % 43_200 + 43_200.0 * afternoon
    if dated:
        return _from_first(seconds, _day_seconds(found["date"]) - _zone_seconds(found["zone"]))
    values = _floats(seconds)
    return _over_midnight(values - values[0])


def _possible(clock: pd.Series, half: pd.Series, *, dated: bool, counted: pd.Series) -> pd.Series:
    """Say which of h:m:s can be: no minute 60 and no hour 24, save in a time counted from a start.

    Hours beyond 23 are such a count where no date and no half of the day stand beside them, and the
    clock does not begin anew after them; so are minutes beyond 59 that no hour stands before.
    """
    parts = clock.str.split(":", expand=True).reindex(columns=range(3))
    hours, minutes, seconds = (pd.to_numeric(parts[k], errors="coerce") for k in range(3))
    fits = (minutes.lt(60) | counted) & seconds.lt(60)
    falls = ((hours * 60 + minutes) * 60 + seconds).where(fits).diff() < -_DAY_S / 2
    begins_anew = falls[::-1].cummax()[::-1].shift(-1, fill_value=False)
    of_the_day = hours.le(23) if dated else hours.le(23) | ~begins_anew
    return fits & of_the_day.where(half.isna(), hours.between(0, 12))


def _from_first(clock_s: pd.Series, day_s: pd.Series) -> Floats:
    """Count from the first stamp; days are subtracted first, since beside them a float loses microseconds."""
    return _floats((day_s - day_s.iloc[0]) + (clock_s - clock_s.iloc[0]))


def _day_seconds(dates: pd.Series) -> pd.Series:
    """Convert dates to seconds since a fixed day; there are few different ones, so one by one."""
    parts = {text: [int(part) for part in re.split(r"[-/.]", text)] for text in dates.unique()}
    # 05/04/2024 can be two days: the order that keeps the dates close together is the right one.
    readings = [{text: _day(part, order) for text, part in parts.items()} for order in _DATE_ORDERS]
    return dates.map(min(readings, key=_span))


def _span(days: dict[str, float]) -> float:
    return math.inf if math.inf in days.values() else max(days.values()) - min(days.values())


_DATE_ORDERS = (("year", "month", "day"), ("day", "month", "year"), ("month", "day", "year"))


def _day(parts: list[int], order: tuple[str, ...]) -> float:
    """Return the seconds of a date since 1970; infinity where it is no date in that order."""
    named = dict(zip(order, parts, strict=True))
    year = named["year"] + (2000 if named["year"] < 100 and order[0] != "year" else 0)
    try:
        return date(year, named["month"], named["day"]).toordinal() * _DAY_S
    except ValueError:
        return math.inf


def _zone_seconds(zones: pd.Series) -> pd.Series:
    sign = np.where(zones.str.startswith("-", na=False), -1.0, 1.0)
    hours = pd.to_numeric(zones.str.slice(1, 3), errors="coerce").fillna(0.0)
    minutes = pd.to_numeric(zones.str.slice(-2), errors="coerce").fillna(0.0)
    return sign * (hours * 3600 + minutes * 60)


def _floats(series: pd.Series) -> Floats:
    return np.array(series, dtype=np.float64)


def _over_midnight(seconds: Floats) -> Floats:
    """Add a day after each fall by more than half a day."""
    falls = np.diff(seconds, prepend=seconds[:1]) < -_DAY_S / 2
    return seconds + _DAY_S * np.cumsum(falls)
