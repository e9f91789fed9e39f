"""A unit's label is read after damage: seeded trials on the printed dots, by an independent decoder.

Damage is a share of the symbol's area, on the smallest stock, at both printer resolutions.
"""

import random
from datetime import date

import numpy as np
import pytest

from shop.documents.drawing import Code
from shop.documents.label import LABEL_STOCKS, PRINTER_DPI, label_png
from shop.documents.label_layout import lay_out
from tests.shop.scanning import Printed, decode, opened, patched, seen
from workorders.calc.serial import draw_serial
from workorders.documents.unit_label import UnitLabel, unit_address

TRIALS = 100
UNITS = 10


def printed_label(seed, stock, dpi):
    serial = draw_serial(random.Random(seed).choice)
    label = UnitLabel(
        serial=serial,
        address=unit_address("https://svc.example", serial),
        unit_type="Platform lift cylinder 40/22 × 180",
        work_order="WO-2041",
        received=date(2025, 3, 4),
    ).as_label()
    code = next(item for item in lay_out(label, stock, dpi=dpi).items if isinstance(item, Code))
    picture = np.asarray(opened(label_png(label, stock, dpi=dpi)).convert("L"))
    quiet = 4 * code.module_dots
    place = code.left + quiet, code.top + quiet
    return label.address, Printed(picture, *place, code.module_dots, code.symbol.modules)


# Each takes a printed label and a random generator and gives the picture a scanner gets.
DAMAGE = {
    "clean": lambda label, rng: seen(label, rng),
    "turned 0 to 360 degrees": lambda label, rng: seen(label, rng, turn=rng.uniform(0, 360)),
    "perspective of 8 %": lambda label, rng: seen(label, rng, tilt=0.08),
    "blur of 0.4 module, turned": lambda label, rng: seen(
        label, rng, turn=rng.uniform(0, 360), blur_modules=0.4
    ),
    "patch over 10 %": lambda label, rng: seen(patched(label, 0.10, rng), rng, turn=rng.uniform(-15, 15)),
    "patch over 15 %": lambda label, rng: seen(patched(label, 0.15, rng), rng, turn=rng.uniform(-15, 15)),
    "patch over 20 %": lambda label, rng: seen(patched(label, 0.20, rng), rng, turn=rng.uniform(-15, 15)),
    "blur of 0.8 module": lambda label, rng: seen(label, rng, blur_modules=0.8),
}
LEAST_READ = {"patch over 15 %": 90}  # of 100; the rest must all be read
TOO_MUCH = ("patch over 20 %", "blur of 0.8 module")


def tally(kind, labels, dpi):
    """Return how many of the trials were read, and every wrong text that was."""
    read, wrong = 0, set()
    for trial in range(TRIALS):
        address, label = labels[trial % UNITS]
        texts = decode(DAMAGE[kind](label, np.random.default_rng([trial, dpi, list(DAMAGE).index(kind)])))
        read += address in texts
        wrong |= texts - {address}
    return read, wrong


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_a_damaged_label_is_read_and_never_wrongly(dpi):
    labels = [printed_label(seed, LABEL_STOCKS["50x25"], dpi) for seed in range(UNITS)]
    results = {kind: tally(kind, labels, dpi) for kind in DAMAGE}
    assert {kind: wrong for kind, (_, wrong) in results.items() if wrong} == {}
    missed = {
        kind: read
        for kind, (read, _) in results.items()
        if kind not in TOO_MUCH and read < LEAST_READ.get(kind, TRIALS)
    }
    assert missed == {}
    # The control: the damage is real, more of it is not read.
    assert all(results[kind][0] < 80 for kind in TOO_MUCH)


@pytest.mark.parametrize("share", [0.10, 0.15])
def test_a_patch_covers_its_share_of_the_symbol_and_no_finder(share):
    _, label = printed_label(1, LABEL_STOCKS["50x25"], 203)
    colours = set()
    for trial in range(20):
        rng = np.random.default_rng(trial)
        plain = Printed(np.full_like(label.picture, 128), label.left, label.top, label.module, label.modules)
        changed = patched(plain, share, rng).picture != 128
        area = (label.module * label.modules) ** 2
        assert changed.sum() / area == pytest.approx(share, abs=0.002)
        inside = Printed(changed, label.left, label.top, label.module, label.modules).in_symbol()
        edge = 9 * label.module
        corners = inside[:edge, :edge], inside[:edge, -edge:], inside[-edge:, :edge]
        assert not any(corner.any() for corner in corners)
        colours |= set(np.unique(patched(label, share, rng).in_symbol()))
    assert colours == {0, 255}
