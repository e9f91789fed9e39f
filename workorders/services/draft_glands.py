"""The gland of a place of a draft type: read at teardown, and taken over into the draft's figures."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from shop.errors import RuleBroken
from shop.models import DimensionLimit, SealPosition
from shop.services import draft_types
from shop.services.draft_types import next_code
from shop.services.writing import Act, acting, keep, locked, service
from workorders.models import Instrument, Measurement, Rebuild
from workorders.services.draft_places import hold_draft
from workorders.services.reading_sums import judge_of
from workorders.services.teardown import record_readings

Figure = DimensionLimit.GlandFigure
STATIONS = 3
WAY = (
    "The least and the most of all readings as found, on every unit of the draft; the groove diameter "
    "as the middle between the two, ± half their difference; the clearance as the most."
)
BASIS = "read at teardown for the draft; judged by the sum of its gland"
QUANTITIES: Mapping[str, str] = {
    Figure.DEPTH: DimensionLimit.Quantity.GROOVE,
    Figure.WIDTH: DimensionLimit.Quantity.GROOVE,
    Figure.DIAMETER: DimensionLimit.Quantity.GROOVE,
    Figure.CLEARANCE: DimensionLimit.Quantity.CLEARANCE,
}
# Which fields of a position each figure of its gland fills.
FIELDS: Mapping[str, tuple[str, ...]] = {
    Figure.DIAMETER: ("gland_diameter_mm", "gland_diameter_tol_mm"),
    Figure.DEPTH: ("gland_depth_min_mm", "gland_depth_max_mm"),
    Figure.WIDTH: ("gland_width_min_mm", "gland_width_max_mm"),
    Figure.CLEARANCE: ("clearance_max_mm",),
}


@dataclass(frozen=True, kw_only=True)
class GlandRow:
    """One figure of a gland: its readings as found, what they give, and what stands in the draft."""

    figure: str
    readings: list[Measurement]
    gives: dict[str, float]
    stands: dict[str, float | None]

    @property
    def label(self) -> str:
        """The figure in words."""
        return str(Figure(self.figure).label)

    @property
    def differs(self) -> bool:
        """Whether figures stand in the draft that the readings do not give."""
        return bool(self.gives) and self.gives != self.stands

    @property
    def stands_in_words(self) -> str:
        """What stands in the draft."""
        return _words(self.figure, self.stands)

    @property
    def gives_in_words(self) -> str:
        """What the readings give."""
        return _words(self.figure, self.gives)


def gland_rows(position: SealPosition) -> list[GlandRow]:
    """Return every figure of a gland with its readings, in one query."""
    rows = Measurement.objects.filter(limit__position=position, moment=Measurement.Moment.AS_FOUND)
    rows = rows.exclude(limit__gland_figure="").select_related("limit", "instrument", "rebuild__unit")
    by_figure: dict[str, list[Measurement]] = {}
    for row in rows.order_by("rebuild_id", "station"):
        by_figure.setdefault(row.limit.gland_figure, []).append(row)
    return [
        GlandRow(
            figure=figure,
            readings=(found := by_figure.get(figure, [])),
            gives=figures_of(figure, [row.value for row in found]),
            stands={name: getattr(position, name) for name in names},
        )
        for figure, names in FIELDS.items()
    ]


def figures_of(figure: str, values: Iterable[float]) -> dict[str, float]:
    """Return the gland figures that readings in mm give, by field of the position; the way is ``WAY``."""
    read = list(values)
    if not read:
        return {}
    least, most = min(read), max(read)
    given: tuple[float, ...] = (least, most)
    if figure == Figure.DIAMETER:
        given = (round((least + most) / 2, 4), round((most - least) / 2, 4))
    elif figure == Figure.CLEARANCE:
        given = (most,)
    return dict(zip(FIELDS[figure], given, strict=True))


@service("draft_type")
def record_gland(
    *,
    act: Act,
    rebuild: Rebuild,
    position: SealPosition,
    readings: Mapping[str, Mapping[int, float]],
    instrument: Instrument | None,
    arrangement: str = "",
) -> SealPosition:
    """Record readings of a gland, in mm by figure and station, and fill the draft where it is empty.

    Figures that stand in the draft stay as they are: `take_over_gland` replaces them, with a
    reason. ``arrangement`` says where the groove is. Raises RuleBroken without a reading or an
    instrument in calibration, and as `record_readings` does.
    """
    held = hold_draft(rebuild)
    position = _position_of(held, position)
    if not any(readings.values()):
        raise RuleBroken("No reading is entered.")
    if instrument is None:
        raise RuleBroken(fields={"instrument": "Choose the instrument that the readings were taken with."})
    for figure, by_station in readings.items():
        if by_station:
            limit = _limit_of(act, position, figure, max(by_station))
            record_readings(
                act=act, rebuild=held, limit=limit, readings=dict(by_station), instrument=instrument
            )
    fields: dict[str, object] = {**_fill(position)}
    if arrangement and not position.arrangement:
        fields["arrangement"] = arrangement
    saved = _save(act, position, fields)
    judge_again(act, held, saved)
    return saved


@service("draft_type")
def take_over_gland(*, act: Act, rebuild: Rebuild, position: SealPosition) -> SealPosition:
    """Replace the gland figures of the draft by what the readings give; ``act.why`` is the reason.

    Raises RuleBroken without a reason, and where nothing differs.
    """
    held = hold_draft(rebuild)
    position = _position_of(held, position)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the figures of the draft are replaced."})
    fields: dict[str, float] = {}
    for row in gland_rows(position):
        if row.differs:
            fields |= row.gives
    if not fields:
        raise RuleBroken("The figures of the draft are those that the readings give.")
    saved = _save(act, position, fields)
    judge_again(act, held, saved)
    return saved


def judge_again(act: Act, rebuild: Rebuild, position: SealPosition) -> None:
    """Judge the gland readings of a draft anew; call inside a service, once the draft tells more.

    On a draft the readings come first: size and the other figures of the gland, which the sum needs,
    stand only after them. Each verdict that changes leaves a history row that says so.
    """
    why = f"{act.why}; judged with what the draft has of {position.code} now".removeprefix("; ")
    rows = rebuild.measurements.filter(limit__position=position, moment=Measurement.Moment.AS_FOUND)
    for row in rows.exclude(limit__gland_figure="").select_related("limit__position"):
        judged = judge_of(row.limit)(row.value)
        if (row.sum_within, row.sum_sentence) != (judged.within, judged.sentence):
            row.sum_within, row.sum_sentence = judged.within, judged.sentence
            with acting(replace(act, why=why)):
                keep(row)


def _fill(position: SealPosition) -> dict[str, float]:
    """Return what the readings give for figures of which nothing stands yet."""
    fields: dict[str, float] = {}
    for row in gland_rows(position):
        if row.gives and all(value is None for value in row.stands.values()):
            fields |= row.gives
    return fields


def _save(act: Act, position: SealPosition, fields: Mapping[str, object]) -> SealPosition:
    if not fields:
        return position
    saved = draft_types.save_found_place(
        act=act, revision=position.revision, place="position", row=position, **fields
    )
    assert isinstance(saved, SealPosition)
    return saved


def _limit_of(act: Act, position: SealPosition, figure: str, stations: int) -> DimensionLimit:
    """Return the dimension that holds the readings of one figure; it is made where there is none."""
    rows = DimensionLimit.objects.filter(position=position, gland_figure=figure)
    limit = rows.order_by("pk").first()
    if limit and limit.stations >= stations:
        return limit
    if limit:
        limit.stations = stations
        return keep(limit)
    revision = position.revision
    made = draft_types.save_found_place(
        act=act,
        revision=revision,
        place="dimension",
        code=next_code(revision, "dimension"),
        name=f"{Figure(figure).label} of {position.code}",
        order=revision.dimension_limits.count() + 1,
        quantity=QUANTITIES[figure],
        unit="mm",
        stations=max(stations, STATIONS),
        basis=BASIS,
        required=False,
        position=position,
        gland_figure=figure,
    )
    assert isinstance(made, DimensionLimit)
    return made


def _position_of(rebuild: Rebuild, position: SealPosition) -> SealPosition:
    """Read a position of the draft again: what stands in it decides what may be written."""
    if position.revision_id != rebuild.revision_id:
        raise RuleBroken(f"{position} is not a place of {rebuild.revision}.")
    return locked(position)


def _words(figure: str, values: Mapping[str, float | None]) -> str:
    found = [value for value in values.values() if value is not None]
    if not found:
        return ""
    if len(found) == 1:
        return f"{found[0]:g} mm at most" if figure == Figure.CLEARANCE else f"{found[0]:g} mm"
    if figure == Figure.DIAMETER:
        return f"{found[0]:g} ± {found[1]:g} mm"
    return f"{found[0]:g} mm" if found[0] == found[1] else f"{found[0]:g} to {found[1]:g} mm"
