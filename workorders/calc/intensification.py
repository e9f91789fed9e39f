"""Pressure raised inside a cylinder whose rod-side port is plugged."""


def intensified_pressure(*, pressure_bar: float, bore_mm: float, rod_mm: float) -> float:
    """Pressure on the rod side when the bore side is under pressure and the rod port is plugged.

    Parameters
    ----------
    pressure_bar : float
        Pressure on the bore side, 0 or more [bar].
    bore_mm : float
        Bore diameter, above 0 [mm].
    rod_mm : float
        Rod diameter, above 0 and below the bore [mm].

    Returns
    -------
    float
        Pressure of the trapped oil on the rod side [bar].

    Raises
    ------
    ValueError
        A pressure below 0, or diameters that are not 0 < rod < bore.

    Notes
    -----
    Balance of forces on the piston without friction or load:
    ``p_rod = p_bore * bore² / (bore² - rod²)``.

    References
    ----------
    Balance of forces; the danger as described in a cylinder training text (scribd.com 163207220).
    Cylinder data of the example: mechanicalengineeringcourse.com/?p=1680 (areas 7853.98 and
    4005.53 mm² at 200 bar).

    Examples
    --------
    >>> round(intensified_pressure(pressure_bar=200, bore_mm=100, rod_mm=70))
    392
    """
    if not pressure_bar >= 0:
        raise ValueError(f"pressure_bar must be 0 bar or more; got {pressure_bar}")
    if not 0 < rod_mm < bore_mm:
        raise ValueError(f"0 < rod_mm < bore_mm is needed [mm]; got rod {rod_mm} and bore {bore_mm}")
    return pressure_bar * bore_mm**2 / (bore_mm**2 - rod_mm**2)
