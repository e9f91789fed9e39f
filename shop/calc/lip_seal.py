"""The housing of a lip seal, wiper or energised seal against the maker's figures that were entered."""

from dataclasses import dataclass, replace
from typing import Annotated

from shop.calc.extrusion import BACKUP_ABOVE_BAR, BACKUP_SOURCE, Hardness, Pressure
from shop.calc.gland import refuse_order
from shop.calc.gland_limits import gap_check, worst_verdict
from shop.calc.parameters import Choice, InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import FAILS, NOT_DECIDED, Check, Figure, Result, within

LIP, WIPER, ENERGISED = "lip", "wiper", "energised"
SOURCE = "the maker's housing figures, as entered"

_GAP = "extrusion gap (diametral)"


def _length(title: str) -> Number:
    return Number(title=title, of="mm", above=0, at_most=2000)


def _gap(title: str) -> Number:
    return Number(title=title, of="mm", at_least=0, at_most=50)


def _angle(title: str) -> Number:
    return Number(title=title, of="°", above=0, below=90)


@dataclass(frozen=True, kw_only=True)
class LipSealCheck(Result):
    """A housing against the maker's figures."""

    checks: Annotated[
        tuple[Check, ...], Figure(title="Against the maker's figures", how="found, with least and most")
    ]
    decided: Annotated[int, Figure(title="Figures decided", how="checks that pass or fail")]
    verdict: Annotated[str, Figure(title="Verdict", how="the worst of the checks")]


@calculation(
    family="sealing",
    title="Housing of a lip seal, wiper or energised seal",
    example={
        "profile": LIP,
        "inner_diameter_found_mm": 39.98,
        "inner_diameter_min_mm": 39.94,
        "inner_diameter_max_mm": 40.00,
        "outer_diameter_found_mm": 50.05,
        "outer_diameter_min_mm": 50.00,
        "outer_diameter_max_mm": 50.10,
        "width_found_mm": 8.1,
        "width_min_mm": 8.0,
        "width_max_mm": 8.2,
        "lead_in_found_mm": 3.5,
        "lead_in_min_mm": 4.0,
        "extrusion_gap_found_mm": 0.3,
        "extrusion_gap_max_mm": 0.4,
    },
    example_source="Invented figures of a rod seal 40 x 50 x 8; each figure is compared with its own ends.",
)
def lip_seal_check(
    *,
    profile: Annotated[str, Choice(title="Profile", options=(LIP, WIPER, ENERGISED))],
    inner_diameter_found_mm: Annotated[float | None, _length("Inner diameter, found")] = None,
    inner_diameter_min_mm: Annotated[float | None, _length("Inner diameter, least")] = None,
    inner_diameter_max_mm: Annotated[float | None, _length("Inner diameter, most")] = None,
    outer_diameter_found_mm: Annotated[float | None, _length("Outer diameter, found")] = None,
    outer_diameter_min_mm: Annotated[float | None, _length("Outer diameter, least")] = None,
    outer_diameter_max_mm: Annotated[float | None, _length("Outer diameter, most")] = None,
    width_found_mm: Annotated[float | None, _length("Width, found")] = None,
    width_min_mm: Annotated[float | None, _length("Width, least")] = None,
    width_max_mm: Annotated[float | None, _length("Width, most")] = None,
    lead_in_found_mm: Annotated[float | None, _gap("Lead-in, found")] = None,
    lead_in_min_mm: Annotated[float | None, _length("Lead-in, least")] = None,
    lead_in_angle_found_deg: Annotated[float | None, _angle("Angle of the lead-in, found")] = None,
    lead_in_angle_max_deg: Annotated[float | None, _angle("Angle of the lead-in, most")] = None,
    extrusion_gap_found_mm: Annotated[float | None, _gap("Extrusion gap (diametral), found")] = None,
    extrusion_gap_max_mm: Annotated[float | None, _gap("Extrusion gap (diametral), most")] = None,
    pressure_bar: Annotated[float | None, Pressure.__metadata__[0]] = None,
    hardness_shore_a: Annotated[float | None, Hardness.__metadata__[0]] = None,
) -> LipSealCheck:
    """Hold a housing, as found or machined, against the figures of the seal's maker.

    Parameters
    ----------
    profile : str
        lip, wiper or energised [-].
    inner_diameter_found_mm, inner_diameter_min_mm, inner_diameter_max_mm : float, optional
        Inner diameter: the rod, or the groove of a piston; above 0 to 2000 [mm].
    outer_diameter_found_mm, outer_diameter_min_mm, outer_diameter_max_mm : float, optional
        Outer diameter: the groove of a rod seal, or the bore; above 0 to 2000 [mm].
    width_found_mm, width_min_mm, width_max_mm : float, optional
        Axial width of the housing, above 0 to 2000 [mm].
    lead_in_found_mm, lead_in_min_mm : float, optional
        Length of the lead-in chamfer; found 0 for none [mm].
    lead_in_angle_found_deg, lead_in_angle_max_deg : float, optional
        Angle of the lead-in to the axis, above 0, below 90 [°].
    extrusion_gap_found_mm, extrusion_gap_max_mm : float, optional
        Diametral gap behind the seal, and the maker's most, 0 to 50 [mm].
    pressure_bar : float, optional
        Pressure, 0 to 4000; used where the maker gives no gap [bar].
    hardness_shore_a : float, optional
        Hardness of the seal, 20 to 100; used where the maker gives no gap [Shore A].

    Returns
    -------
    LipSealCheck
        One check for each figure with what to do, how many are decided, and the worst verdict. A
        figure that lacks the found size or the maker's is not decided, and says what to measure.

    Raises
    ------
    InputError
        Outside the ranges, where a least figure is above its most, or an inner diameter is not
        below the outer one.

    Notes
    -----
    Each figure found is compared with its own least and most, both included. Without the maker's
    gap the extrusion table of O-rings stands in, for 70 and 90 Shore A only, and warns. A
    wiper holds no pressure: its gap is judged only by a figure of its maker.

    Validity: the figures of the maker for this very profile and size; nothing is known here.
    Left out: surface and run-out (other sums), wear of the lip, material, speed, back pressure.

    References
    ----------
    The maker's own housing figures. Stand-in for the gap: sealanddesign.com/category/
    Extrusion-Limits/611.html, for O-rings.

    Examples
    --------
    >>> lip_seal_check(profile="wiper", width_found_mm=5.3, width_min_mm=5.0, width_max_mm=5.2).verdict
    'fails'
    """
    inner = _Entered("inner diameter", inner_diameter_found_mm, inner_diameter_min_mm, inner_diameter_max_mm)
    outer = _Entered("outer diameter", outer_diameter_found_mm, outer_diameter_min_mm, outer_diameter_max_mm)
    width = _Entered("width", width_found_mm, width_min_mm, width_max_mm)
    _refuse_crossed(inner=inner, outer=outer, width=width)
    gap = _gap_check(
        profile=profile,
        found_mm=extrusion_gap_found_mm,
        most_mm=extrusion_gap_max_mm,
        pressure_bar=pressure_bar,
        hardness_shore_a=hardness_shore_a,
    )
    checks = (
        *(_size_check(one) for one in (inner, outer, width)),
        _one_sided(
            what="length of the lead-in",
            unit="mm",
            found=lead_in_found_mm,
            lower=lead_in_min_mm,
            advice="Machine a longer lead-in, or fit the seal over a sleeve.",
        ),
        *_angle_check(found=lead_in_angle_found_deg, most=lead_in_angle_max_deg),
        *gap,
    )
    return LipSealCheck(
        checks=checks,
        decided=sum(check.verdict != NOT_DECIDED for check in checks),
        verdict=worst_verdict(checks=checks),
        warnings=_warnings(profile=profile, checks=gap, pressure_bar=pressure_bar),
        sources=tuple(dict.fromkeys(check.source for check in checks)),
    )


@dataclass(frozen=True)
class _Entered:
    """A size as found with the maker's ends, in mm."""

    what: str
    found: float | None
    least: float | None
    most: float | None

    @property
    def name(self) -> str:
        return self.what.replace(" ", "_")


def _refuse_crossed(*, inner: _Entered, outer: _Entered, width: _Entered) -> None:
    """Refuse least above most, and an inner diameter that is not below the outer one."""
    for one in (inner, outer, width):
        if one.least is not None and one.most is not None:
            refuse_order(least=(f"{one.name}_min_mm", one.least), most=(f"{one.name}_max_mm", one.most))
    for end, inside, outside in (
        ("found", inner.found, outer.found),
        ("min", inner.least, outer.least),
        ("max", inner.most, outer.most),
    ):
        if inside is not None and outside is not None and inside >= outside:
            name = f"inner_diameter_{end}_mm"
            raise InputError(
                name, f"{name} must be below outer_diameter_{end}_mm ({outside:g} mm); got {inside:g} mm"
            )


def _size_check(one: _Entered) -> Check:
    """A size between two ends; with one end missing it can fail, but not pass."""
    checked = within(
        what=one.what,
        value=one.found,
        unit="mm",
        lower=one.least,
        upper=one.most,
        source=SOURCE,
        advice=_size_advice(one),
    )
    if checked.verdict == FAILS or None not in (one.found, one.least, one.most):
        return checked
    missing = [] if one.found is not None else [f"measure the {one.what}"]
    if one.least is None or one.most is None:
        missing.append(f"enter the maker's least and most {one.what}")
    return replace(checked, verdict=NOT_DECIDED, advice=_sentence(missing))


def _size_advice(one: _Entered) -> str:
    """Metal is taken off a large inner diameter, and off a small outer diameter or width."""
    large = one.found is not None and one.most is not None and one.found > one.most
    take_off = large is (one.name == "inner_diameter")
    remedy = "take metal off" if take_off else "build it up or renew the part"
    word = "large" if large else "small"
    return f"The {one.what} is too {word}: {remedy}, or ask the maker for another size."


def _one_sided(
    *,
    what: str,
    unit: str,
    found: float | None,
    advice: str,
    lower: float | None = None,
    upper: float | None = None,
) -> Check:
    missing = [] if found is not None else [f"measure the {what}"]
    if lower is None and upper is None:
        missing.append(f"enter the maker's limit of the {what}")
    said = _sentence(missing) if missing else advice
    return within(what=what, value=found, unit=unit, lower=lower, upper=upper, source=SOURCE, advice=said)


def _sentence(words: list[str]) -> str:
    joined = " and ".join(words)
    return f"{joined[:1].upper()}{joined[1:]}."


def _angle_check(*, found: float | None, most: float | None) -> tuple[Check, ...]:
    """The angle is asked for only where one of the two is given."""
    if found is None and most is None:
        return ()
    advice = "Machine a flatter lead-in."
    return (_one_sided(what="angle of the lead-in", unit="°", found=found, upper=most, advice=advice),)


def _gap_check(
    *,
    profile: str,
    found_mm: float | None,
    most_mm: float | None,
    pressure_bar: float | None,
    hardness_shore_a: float | None,
) -> tuple[Check, ...]:
    """By the maker's gap, else by the table of O-rings; a wiper holds no pressure."""
    if most_mm is not None:
        advice = "Make the gap smaller, or fit a back-up ring that the maker allows."
        return (_one_sided(what=_GAP, unit="mm", found=found_mm, upper=most_mm, advice=advice),)
    if profile == WIPER:
        return ()
    if found_mm is not None and pressure_bar is not None and hardness_shore_a is not None:
        checked = gap_check(gap_mm=found_mm, hardness_shore_a=hardness_shore_a, pressure_bar=pressure_bar)
        return (replace(checked, what=_GAP, source=f"{checked.source} (O-rings, as a stand-in)"),)
    missing = [] if found_mm is not None else [f"measure the {_GAP}"]
    if pressure_bar is None or hardness_shore_a is None:
        missing.append("enter the maker's greatest gap, or pressure and hardness")
    return (within(what=_GAP, value=found_mm, unit="mm", source=SOURCE, advice=_sentence(missing)),)


def _warnings(*, profile: str, checks: tuple[Check, ...], pressure_bar: float | None) -> tuple[str, ...]:
    said = []
    if any(check.source != SOURCE for check in checks):
        said.append(
            "The maker gave no gap: the extrusion table is for O-rings of elastomer, not for this profile. "
            "Ask the maker."
        )
    if profile != WIPER and pressure_bar is not None and pressure_bar > BACKUP_ABOVE_BAR:
        said.append(f"Above 103.5 bar ask the maker whether a back-up ring is wanted ({BACKUP_SOURCE}).")
    return tuple(said)
