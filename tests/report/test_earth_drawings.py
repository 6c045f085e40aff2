"""Plan and section of a levelled pad: what is drawn is what the tables hold."""

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
from report.made_up_result import made_up_result

from playsite.report.earth_drawings import earth_drawings
from playsite.report.memo.paper_picture import paper_figure
from playsite.report.paper import KINDS, beside, drawing_style, drawing_svg

RESULT = made_up_result(6)
LEADER = RESULT.ranked["parcel_id"].iloc[0]
PAIRS = {units: list(earth_drawings(RESULT, LEADER, units)) for units in ("feet", "metres")}


def parsed(drawing):
    return ET.fromstring(drawing_svg(drawing))  # noqa: S314  # our own text


def rings(root, kind):
    """Rings of all paths of one kind, mm."""
    paths = [node.get("d") for node in root if node.get("class") == kind]
    lines = re.findall(r"M([^MZ]+)", " ".join(paths))
    return [np.array([pair.split() for pair in line.split("L")], float) for line in lines]


def area_mm2(root, kind):
    """Rings that lie in others are holes."""
    whole = shapely.Polygon()
    for ring in rings(root, kind):
        whole = whole.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
    return whole.area


def texts(root):
    return [node.text for node in root if node.tag.endswith("text")]


def between_m2(sign):
    """Area between ground and finish in the table, where it is cut (1) or fill (-1)."""
    table = RESULT.sections[RESULT.sections["parcel_id"] == LEADER]
    over = sign * (table["ground_m"] - table["finish_m"]).to_numpy()
    along = table["distance_m"].to_numpy()
    fine = np.linspace(along[0], along[-1], 400_001)
    depth = np.interp(fine, along, np.nan_to_num(over))
    return np.trapezoid(np.maximum(depth, 0), fine)


@pytest.mark.parametrize(("kind", "sign"), [("cut", 1), ("fill", -1)])
def test_the_section_has_the_areas_of_the_table(kind, sign):
    root = parsed(PAIRS["feet"][0][1])
    along, times = float(root.get("data-m-per-mm")), float(root.get("data-times"))
    drawn_m2 = area_mm2(root, kind) * along**2 / times
    assert drawn_m2 > 1
    assert drawn_m2 == pytest.approx(between_m2(sign), rel=0.01)


@pytest.mark.parametrize("kind", ["cut", "fill"])
def test_the_plan_has_the_areas_of_the_table(kind):
    root = parsed(PAIRS["feet"][0][0])
    table = RESULT.grading[RESULT.grading["kind"] == kind]
    drawn_m2 = area_mm2(root, kind) * float(root.get("data-m-per-mm")) ** 2
    assert drawn_m2 == pytest.approx(table.geometry.area.sum(), rel=0.01)


def test_the_plan_shows_the_pad_to_scale_and_which_way_it_falls():
    root = parsed(PAIRS["feet"][0][0])
    pad = RESULT.pads.set_index("parcel_id").geometry[LEADER]
    (ring,) = rings(root, "pad")
    scale = float(root.get("data-m-per-mm"))
    assert shapely.Polygon(ring).area * scale**2 == pytest.approx(pad.area, rel=0.005)
    (shaft,) = rings(root, "arrow")
    earth = RESULT.earthwork.iloc[0]
    (east, south) = shaft[1] - shaft[0]
    turn = np.degrees(np.arctan2(east, -south)) % 360
    assert turn == pytest.approx(earth["direction_deg"], abs=1)


def test_sections_fall_to_the_right_and_say_how_heights_are_drawn():
    section = PAIRS["feet"][0][1]
    root = parsed(section)
    (finish,) = rings(root, "play")
    assert finish[0, 0] < finish[-1, 0]
    assert finish[0, 1] < finish[-1, 1]
    rise = (finish[-1, 1] - finish[0, 1]) / float(root.get("data-times"))
    run = finish[-1, 0] - finish[0, 0]
    assert rise / run == pytest.approx(RESULT.earthwork["crossfall_pct"].iloc[0] / 100, rel=0.02)
    assert f"heights drawn {section.facts['times']:g} times" in texts(root)


def test_a_bank_without_room_ends_at_a_wall_in_both():
    plan, section = (parsed(drawing) for drawing in PAIRS["feet"][0])
    assert rings(plan, "wall")
    walls = rings(section, "wall")
    assert walls
    for wall in walls:
        assert wall[0, 0] == wall[1, 0]
    assert "wall" in texts(section)
    assert any(text.startswith("wall, ") for text in texts(plan))


@pytest.mark.parametrize(
    ("units", "sign", "other"), [("feet", "cu yd", " m"), ("metres", "m³", " ft")]
)
def test_all_is_said_in_the_readers_units(units, sign, other):
    for plan, section in PAIRS[units]:
        said = " ".join([*texts(parsed(plan)), *texts(parsed(section)), plan.alt, section.alt])
        assert sign in said
        assert not re.search(rf"\d{other}\b", said)


def test_whoever_cannot_see_is_told_amounts_fall_and_walls():
    plan, section = PAIRS["feet"][0]
    earth = RESULT.earthwork.iloc[0]
    for drawing in (plan, section):
        root = parsed(drawing)
        assert root.get("role") == "img"
        assert root.get("aria-label") == drawing.alt
        assert f"falls {earth['crossfall_pct']:.0f}%" in drawing.alt
        assert "wall" in drawing.alt
    assert "cu yd" in section.alt


def test_the_memo_sets_both_side_by_side_with_their_words():
    plan, section = PAIRS["feet"][0]
    figure = paper_figure(beside(plan, section, gap_mm=4))
    assert figure.width_mm == pytest.approx(plan.width_mm + section.width_mm + 4)
    assert figure.drawn.png.startswith(b"\x89PNG")
    assert plan.alt in figure.alt
    assert section.alt in figure.alt


def test_every_mark_has_a_look_and_no_letter_lies_on_another():
    style = drawing_style()
    for drawing in PAIRS["feet"][0]:
        boxes = drawing.taken
        for mark in drawing.marks:
            if mark.shape is not None:
                assert mark.kind in KINDS
                assert f".drawing .{mark.kind}{{" in style
        letters = [box for box in boxes if box.area < 120]
        for number, box in enumerate(letters):
            assert not any(box.intersects(other) for other in letters[:number])


def test_equal_results_give_equal_drawings_and_none_where_none_was_worked_out():
    again = list(earth_drawings(made_up_result(6), LEADER, "feet"))
    assert [drawing_svg(each) for pair in again for each in pair] == [
        drawing_svg(each) for pair in PAIRS["feet"] for each in pair
    ]
    assert not list(earth_drawings(RESULT, RESULT.ranked["parcel_id"].iloc[1], "feet"))
