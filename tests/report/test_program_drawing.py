"""The concept drawing: well-formed, to scale against the layout, hostile names as text."""

import re
import xml.etree.ElementTree as ET

import pytest
import shapely
from made_up_program import ONE_CLIMBER, SEVEN_PIECES, pad_of

from playsite.report.ink import INK
from playsite.report.program_drawing import layout_svg
from playsite.report.vector_sheet import fitted, text_em, wrapped

SVG = "{http://www.w3.org/2000/svg}"
MILLIMETRE = 0.001001  # coordinates are written to a millimetre of ground
FOOT_M = 0.3048
HOSTILE = '<script>alert(1)</script> & <b x=\\"y\\"> ]]> \\u0000\\u0007 \\u202e ' + "W" * 300


@pytest.fixture(scope="module")
def pad():
    return pad_of(SEVEN_PIECES, name="Seven pieces")


@pytest.fixture(scope="module")
def drawn(pad):
    return layout_svg(pad, "feet")


def parsed(drawn):
    return ET.fromstring(drawn)  # noqa: S314 -- our own drawing


def paths(root, kind):
    return [path for path in root.iter(f"{SVG}path") if path.get("class") == kind]


def bounds(path):
    numbers = [float(number) for number in re.findall(r"-?\d+\.?\d*", path.get("d"))]
    return shapely.MultiPoint(list(zip(numbers[::2], numbers[1::2], strict=True))).bounds


def texts(root):
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def test_it_is_a_drawing_of_1_to_200_in_metres(drawn):
    root = parsed(drawn)
    _, _, width, height = map(float, root.get("viewBox").split())
    # 1:200: a metre is 5 mm on paper.
    assert float(root.get("width").removesuffix("mm")) == pytest.approx(5 * width, abs=0.01)
    assert float(root.get("height").removesuffix("mm")) == pytest.approx(5 * height, abs=0.01)
    assert any("Scale 1:200" in text for text in texts(root))


def test_pad_and_surfacing_are_drawn_to_scale(pad, drawn):
    root = parsed(drawn)
    (outer,) = paths(root, "pad")
    west, north, east, south = bounds(outer)
    assert (east - west, south - north) == pytest.approx((pad.length_m, pad.width_m), abs=0.002)
    layout = pad.shapes[0].concepts[0].layout
    west, north, east, south = bounds(paths(root, "surfacing")[0])
    assert (east - west, south - north) == pytest.approx(
        (layout.length_m, layout.width_m), abs=0.002
    )


def test_every_piece_lies_where_the_layout_has_it(pad, drawn):
    root = parsed(drawn)
    layout = pad.shapes[0].concepts[0].layout
    west, _, _, south = bounds(paths(root, "surfacing")[0])  # the layout's own corner
    pieces = [path for path in paths(root, "piece") if path.get("data-number")]
    assert len(pieces) == len(layout.pieces) == 7
    for placed in layout.pieces:
        number = str(1 + [zone.piece.label for zone in pad.worked.zones].index(placed.label))
        (path,) = [path for path in pieces if path.get("data-number") == number]
        assert path.find(f"{SVG}title").text == placed.label
        left, top, right, bottom = bounds(path)
        seen = (left - west, south - bottom, right - west, south - top)
        assert seen == pytest.approx(placed.body.bounds, abs=2 * MILLIMETRE)


def test_the_composite_is_26_by_20_ft_on_the_sheet(drawn):
    path = next(path for path in paths(parsed(drawn), "piece") if path.get("data-number") == "1")
    west, north, east, south = bounds(path)
    assert sorted([(east - west) / FOOT_M, (south - north) / FOOT_M]) == pytest.approx(
        [20, 26], abs=0.01
    )


def test_every_zone_lies_where_the_layout_has_it(pad, drawn):
    root = parsed(drawn)
    layout = pad.shapes[0].concepts[0].layout
    west, _, _, south = bounds(paths(root, "surfacing")[0])
    zones = paths(root, "zone")[: len(layout.pieces)]
    for placed, path in zip(layout.pieces, zones, strict=True):
        left, top, right, bottom = bounds(path)
        seen = (left - west, south - bottom, right - west, south - top)
        # Round corners are drawn with fewer points: 4 mm of ground, 0.02 mm on paper.
        assert seen == pytest.approx(placed.use_zone.bounds, abs=0.006)


def test_other_shapes_are_drawn_to_the_scale_that_is_stated(pad, drawn):
    root = parsed(drawn)
    said = next(text for text in texts(root) if text.startswith("Other shapes"))
    by = int(said.rsplit(":", 1)[1]) / 200
    small = paths(root, "pad-small")
    others = pad.shapes[1:]
    assert len(small) == len(others)
    for shape, path in zip(others, small, strict=True):
        west, north, east, south = bounds(path)
        sides = sorted([(east - west) * by, (south - north) * by], reverse=True)
        if not shape.is_loose:
            assert sides == pytest.approx(shape.sides_m, abs=0.01)
        assert shape.name in texts(root)


def test_legend_dimensions_strip_gate_and_seat_are_there(drawn):
    said = texts(parsed(drawn))
    for label in ("composite, ages 5-12", "two rockers, ages 2-5", "38 by 32 ft", "22 by 13 ft"):
        assert label in said
    assert {"118 ft", "70 ft", "surfacing 102 ft", "surfacing 54 ft"} <= set(said)
    assert {"strip between ages", "gate", "seat", "0", "20", "40 ft"} <= set(said)
    assert any(text.startswith("A concept, not a design") for text in said)
    assert any("certified playground safety" in text for text in said)


def test_metres_are_metres():
    said = texts(parsed(layout_svg(pad_of(ONE_CLIMBER, units="metres"), "metres")))
    assert {"7.3 by 5.5 m", "10 m"} <= set(said)
    assert not any(re.search(r"\d ft\b", text) for text in said)


def test_hostile_names_are_text_and_stay_on_the_sheet():
    pad = pad_of(
        ONE_CLIMBER + f'name = "{HOSTILE}"\n', name='</title><script>x</script>" onload="x'
    )
    drawn = layout_svg(pad, "feet")
    root = parsed(drawn)
    assert {element.tag for element in root.iter()} <= {
        SVG + name
        for name in ("svg", "title", "desc", "style", "defs", "pattern", "path", "circle", "text")
    }
    assert not any("onload" in element.attrib for element in root.iter())
    assert any(said.startswith("<script>alert(1)</script>") for said in texts(root))
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\u202e]", drawn)
    width = float(root.get("viewBox").split()[2])
    assert all(text_em(said) * 1.22 < width for said in texts(root))


def test_the_same_program_gives_the_same_bytes(drawn):
    again = layout_svg(pad_of(SEVEN_PIECES, name="Seven pieces"), "feet")
    assert again.encode() == drawn.encode()


def test_colours_are_inks_of_the_look(drawn):
    used = {found.upper() for found in re.findall(r"#[0-9a-fA-F]{6}\b", drawn)}
    assert used
    assert used <= {ink.upper() for ink in INK.values()}


def test_without_a_layout_areas_are_drawn_and_called_so():
    root = parsed(layout_svg(pad_of("children_at_once = 30\n"), "feet"))
    assert not paths(root, "piece")
    said = texts(root)
    assert "no layout is known." in said
    assert not any("A concept" in text for text in said)


def test_a_given_pad_that_is_too_small_says_what_has_no_room():
    pad = pad_of('pad = { length = "20 ft", width = "20 ft" }\nring = "2 ft"\n' + ONE_CLIMBER)
    said = texts(parsed(layout_svg(pad, "feet")))
    assert any(text.startswith("Areas alone, not a design") for text in said)
    assert "No room in the pad that is given for: climber." in said


def test_texts_are_cut_and_broken_to_their_width():
    assert text_em(fitted("W" * 99, 12)) <= 12
    assert fitted("a swing", 12) == "a swing"
    lines = wrapped("one two three four five six seven 16.7 ft", 9)
    assert all(text_em(line) <= 9 for line in lines)
    assert " ".join(lines) == "one two three four five six seven 16.7 ft"
    assert any("16.7 ft" in line for line in lines)


@pytest.mark.browser
def test_no_letter_leaves_the_sheet_on_a_narrow_screen(tmp_path, pad, browser):
    (tmp_path / "page.html").write_text(
        '<!doctype html><meta charset="utf-8"><body style="margin:0">'
        + layout_svg(pad, "feet").replace("<svg ", '<svg style="width:390px;height:auto" '),
        encoding="utf-8",
    )
    browser.resize(390, 844)
    browser.open(tmp_path / "page.html")
    out = browser.driver.execute_script(
        "return [...document.querySelectorAll('text')].filter(t => {"
        "const r = t.getBoundingClientRect(); return r.left < 0 || r.right > 390;"
        "}).map(t => t.textContent)"
    )
    assert out == []
