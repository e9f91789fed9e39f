"""What every calculation gives back: figures with unit and formula, checks, warnings, sources."""

from dataclasses import dataclass

PASSES, FAILS, NOT_DECIDED = "passes", "fails", "not decided"


@dataclass(frozen=True, kw_only=True)
class Result:
    """Base of every result; the fields before these carry their unit in their name."""

    warnings: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Figure:
    """Declares a field of a result: ``Annotated[float, Figure(...)]``.

    ``formula`` is a Python expression over the parameters and the figures before it; the page and
    the docs show it filled in, and a test evaluates it against the result. ``how`` says in words
    where a figure comes from that no expression gives (a table, a rule).
    """

    title: str
    of: str = ""
    formula: str = ""
    how: str = ""


@dataclass(frozen=True, kw_only=True)
class Check:
    """One figure against one limit, at its worst case."""

    what: str
    value: float | None
    unit: str
    verdict: str  # PASSES, FAILS or NOT_DECIDED
    source: str
    lower: float | None = None
    upper: float | None = None
    advice: str = ""


def within(
    *,
    what: str,
    value: float | None,
    unit: str,
    source: str,
    lower: float | None = None,
    upper: float | None = None,
    advice: str = "",
) -> Check:
    """Compare a figure with its limits, both included.

    Parameters
    ----------
    what : str
        Name of the figure, with the case that it stands for.
    value : float or None
        The figure; None where it could not be told [`unit`].
    unit : str
        Unit of figure and limits.
    source : str
        Where the limit comes from.
    lower, upper : float, optional
        At least and at most [`unit`]; without either nothing is decided.
    advice : str
        What to change; kept where the figure does not pass.

    Returns
    -------
    Check
        Passes, fails or not decided.

    Examples
    --------
    >>> within(what="squeeze, most", value=31.0, unit="%", upper=30.0, source="").verdict
    'fails'
    """
    if value is None or (lower is None and upper is None):
        verdict = NOT_DECIDED
    else:
        low = lower is None or value >= lower - 1e-9
        high = upper is None or value <= upper + 1e-9
        verdict = PASSES if low and high else FAILS
    return Check(
        what=what,
        value=value,
        unit=unit,
        verdict=verdict,
        source=source,
        lower=lower,
        upper=upper,
        advice="" if verdict == PASSES else advice,
    )
