"""Logger files made up for the tests, of a hold whose true decay is known by construction."""

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

REAL = Path(__file__).resolve().parents[2] / "fixtures" / "traces"

DECAY_BAR_PER_MIN = 0.03
N = 600
# Steps of about 0.1 s that are not even, from a fixed seed, to the millisecond that is written.
T_S = np.round(np.arange(N) * 0.1 + np.random.default_rng(3).uniform(0, 0.004, N), 3)
T_S[0] = 0.0
P_BAR = 7.3 - DECAY_BAR_PER_MIN / 60 * T_S
PSI_PER_BAR = 1 / 0.06894757
_CLOCK_START = datetime(2024, 5, 1, 23, 59, 30)  # passes midnight, and the end of a day


def real(name: str) -> bytes:
    return (REAL / f"{name}.csv").read_bytes()


def lines(row: Callable[[float, float], str], *, head: str = "", end: str = "\n") -> str:
    """Write the hold, one row per sample, with whatever stands above it."""
    body = end.join(row(time, pressure) for time, pressure in zip(T_S.tolist(), P_BAR.tolist(), strict=True))
    return (head.replace("\n", end) + body) + end


def german(value: float, places: int) -> str:
    """Write 1234.5 as 1.234,5."""
    return f"{value:,.{places}f}".translate(str.maketrans(".,", ",."))


def grouped(value: float, places: int, mark: str) -> str:
    """Write 1234.5 with another thousands mark and a decimal point."""
    return f"{value:,.{places}f}".replace(",", mark)


def stamp(time_s: float, form: str) -> str:
    return (_CLOCK_START + timedelta(seconds=time_s)).strftime(form)
