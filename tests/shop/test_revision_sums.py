"""What the page of a unit type shows of the sums: forces, volumes, and each gland drawn and checked."""

from math import pi
from xml.etree import ElementTree

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from shop.documents.gland_drawing import Groove, gland_svg, pressed_width
from shop.models import SealPosition
from tests.factories import PositionFactory, TypeRevisionFactory, person

GLAND = {
    "motion": SealPosition.Motion.STATIC,
    "arrangement": SealPosition.Arrangement.PISTON,
    "size_designation": "AS568-214",
    "gland_diameter_mm": 25.0,
    "gland_diameter_tol_mm": 0.05,
    "gland_depth_min_mm": 2.80,
    "gland_depth_max_mm": 2.90,
    "gland_width_min_mm": 4.7,
    "gland_width_max_mm": 4.9,
    "clearance_max_mm": 0.1,
}


@pytest.fixture
def page(client, db):
    client.force_login(person("bench"))

    def get(revision):
        return client.get(revision.unit_type.get_absolute_url())

    return get


def figures(response):
    return {title: (text, unit) for title, text, unit in response.context["sums"]["figures"]}


# Data of mechanicalengineeringcourse.com/?p=1680: 100 and 70 mm, 200 bar.
def test_a_cylinder_shows_its_forces_and_volumes(page):
    revision = TypeRevisionFactory(
        bore_mm=100, rod_mm=70, stroke_mm=500, rated_pressure_bar=200, displacement_cm3=None
    )
    shown = figures(page(revision))
    assert shown["Force extending"] == ("157.08", "kN")
    assert shown["Force retracting"] == ("80.1106", "kN")
    assert shown["Rod side with its port plugged"] == ("392.157", "bar")
    assert shown["Oil to extend"] == ("3926.99", "mL")


def test_without_a_rated_pressure_no_force_is_made_up(page):
    revision = TypeRevisionFactory(bore_mm=100, rod_mm=70, stroke_mm=None, rated_pressure_bar=None)
    response = page(revision)
    assert list(figures(response)) == ["Area of the bore", "Area of the rod side", "Ratio of areas"]
    assert "No rated pressure is published" in response.content.decode()


def test_what_has_no_bore_shows_no_figures(page):
    response = page(TypeRevisionFactory(bore_mm=None, rod_mm=None, stroke_mm=None))
    assert figures(response) == {}


def test_a_gland_is_checked_and_drawn_and_others_say_what_is_missing(page):
    revision = TypeRevisionFactory(rated_pressure_bar=80)
    PositionFactory(revision=revision, code="S1", order=1, **GLAND)
    PositionFactory(revision=revision, code="S2", order=2, size_designation="12 x 20 x 5.7")
    response = page(revision)
    sums = response.context["sums"]
    (checked,) = sums["checked"]
    (unchecked,) = sums["unchecked"]
    assert checked.position.code == "S1"
    assert {"passes", "not decided"} >= {check.verdict for check in checked.fit.result.checks}
    assert checked.drawing in response.content.decode()
    assert unchecked.fit.why_not == "Not checked: 12 x 20 x 5.7 is not the size of an O-ring."


def test_a_gland_too_deep_fails_with_what_to_change(page):
    revision = TypeRevisionFactory()
    deep = {**GLAND, "gland_depth_min_mm": 3.4, "gland_depth_max_mm": 3.5}
    PositionFactory(revision=revision, **deep)
    (checked,) = page(revision).context["sums"]["checked"]
    failing = checked.fit.failing
    assert checked.fit.verdict == "fails"
    assert failing
    assert all(check.advice and check.source for check in failing)


def test_more_positions_cost_no_more_queries(page):
    few, many = TypeRevisionFactory(), TypeRevisionFactory()
    PositionFactory(revision=few, **GLAND)
    for number in range(8):
        PositionFactory(revision=many, code=f"S{number}", **GLAND)
    page(few)
    counts = []
    for revision in (few, many):
        with CaptureQueriesContext(
            connection,
        ) as asked:
            page(revision)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def drawn(**changes):
    groove = {
        "section_mm": 3.53,
        "depth_min_mm": 2.8,
        "depth_max_mm": 2.9,
        "width_min_mm": 4.7,
        "width_max_mm": 4.9,
        "clearance_mm": 0.1,
        "in_outer_part": False,
        "title": "S6 gland seal",
    }
    return ElementTree.fromstring(gland_svg(Groove(**{**groove, **changes})))


def ring_of(drawing):
    (ring,) = [one for one in drawing.iter() if one.get("class") == "ring"]
    return [float(ring.get(name)) for name in ("x", "y", "width", "height", "rx")]


def test_the_ring_is_drawn_to_scale_and_keeps_its_area():
    _x, _y, width, height, end = ring_of(drawn())
    assert end == pytest.approx(height / 2, abs=0.1)
    scale = height / 2.85
    area_mm2 = (height * (width - height) + pi / 4 * height**2) / scale**2
    assert area_mm2 == pytest.approx(pi / 4 * 3.53**2, rel=0.01)
    assert pressed_width(3.53, 2.85) == pytest.approx(width / scale, rel=0.01)


def test_a_ring_thinner_than_the_groove_is_drawn_round_with_a_gap():
    _x, _y, width, height, _end = ring_of(drawn(section_mm=2.0))
    assert width == pytest.approx(height, abs=0.1)


def test_a_groove_in_the_outer_part_is_turned_over_and_the_picture_is_named():
    turned = drawn(in_outer_part=True)
    assert "matrix(1 0 0 -1 0" in ElementTree.tostring(turned).decode()
    assert turned.get("role") == "img"
    assert (
        turned.get("aria-label")
        == "S6 gland seal: groove 4.7 to 4.9 mm wide, 2.8 to 2.9 mm deep, ring 3.53 mm"
    )


def test_a_name_with_signs_stays_text():
    assert drawn(title='S6 <b> & "gland"').get("aria-label").startswith('S6 <b> & "gland"')
