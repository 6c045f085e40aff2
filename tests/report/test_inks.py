"""A drawing as lines says the same as the drawing as dots: rounding moves no letter and shrinks none."""

import re

import pytest

from playsite.report.memo.inks import drawing, letter, pictures_of

SIZE_PT = 10.0


@pytest.fixture(scope="module")
def svg():
    with drawing(60, 20) as figure:
        axes = figure.add_axes((0, 0, 1, 1))
        letter(axes, 0.1, 0.5, "Site 9", size=SIZE_PT)
        return pictures_of(figure).svg.decode()


def test_letters_keep_their_size_when_places_are_rounded(svg):
    # glyphs are drawn in units of 1/64 of a hundredth of the letter's size (matplotlib's text as paths)
    of_glyph = {float(text) for text in re.findall(r'transform="scale\(([\d.]+)\)"', svg)}
    assert of_glyph == {1 / 64}
    of_line = re.findall(r"scale\(([\d.]+) -([\d.]+)\)", svg)
    assert {float(each) for pair in of_line for each in pair} == {SIZE_PT / 100}


def test_outlines_are_kept_to_a_hundredth_of_a_point(svg):
    outlines = re.findall(r' d="([^"]*)"', svg)
    assert any(re.search(r"\.\d\d\b", each) for each in outlines)
    assert not any(re.search(r"\.\d{3}", each) for each in outlines)
