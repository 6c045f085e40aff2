"""Columns of the user's file to ours: names, units, words."""

import pytest
from shapely.geometry import LineString, Point

EAST, NORTH = 500_000.0, 4_500_000.0
LINE = LineString([(EAST, NORTH - 10), (EAST + 100, NORTH - 10)])
TREE = Point(EAST + 20, NORTH + 20)


def trees(study, entries="", **columns):
    study.parcels()
    count = len(next(iter(columns.values())))
    study.features("t.gpkg", [TREE] * count, **columns)
    return study.read(f'[layers.trees]\npath = "t.gpkg"\n{entries}')


def streets(study, entries="", **columns):
    study.parcels()
    count = len(next(iter(columns.values())))
    study.features("s.gpkg", [LINE] * count, **columns)
    return study.read(f'[layers.streets]\npath = "s.gpkg"\n{entries}')


@pytest.mark.parametrize(
    ("column", "metres"),
    [("height_m", 30), ("height_ft", 9.144), ("Height_CM", 0.3), ("HEIGHT_IN", 0.762)],
)
def test_our_name_with_a_unit_needs_no_entry(study, column, metres):
    read = trees(study, **{column: [30.0]})
    assert read.layers.get("trees")["height_m"].tolist() == [pytest.approx(metres)]


@pytest.mark.parametrize("entry", ["height", "height_m"])
def test_a_mapped_column_takes_the_unit_that_the_study_gives(study, entry):
    read = trees(study, f'columns.{entry} = {{ column = "HT", unit = "feet" }}\n', HT=[10])
    assert read.layers.get("trees")["height_m"].tolist() == [pytest.approx(3.048)]


def test_a_mapped_column_takes_the_unit_of_its_own_name(study):
    read = trees(study, 'columns.diameter = "dbh_cm"\n', dbh_cm=[40])
    assert read.layers.get("trees")["diameter_m"].tolist() == [pytest.approx(0.4)]


@pytest.mark.parametrize("entry", ['columns.height = "HT"\n', 'columns.height_m = "HT"\n'])
def test_a_length_without_a_unit_is_refused(study, entry):
    (told,) = trees(study, entry, HT=[10]).problems
    assert 'unit = "ft" }, or "m"' in told
    assert "line 12" in told


def test_our_own_name_without_a_unit_is_refused_too(study):
    (told,) = trees(study, height=[10]).problems
    assert 'the column "height" holds lengths' in told


def test_a_unit_that_nobody_knows_is_refused(study):
    entry = 'columns.height = { column = "HT", unit = "rods" }\n'
    assert trees(study, entry, HT=[10]).told('"rods" is not a unit of length')


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ('columns.height = { column = "HIGT", unit = "m" }\n', 'Did you mean "Hight"?'),
        ('columns.heigth = "Hight"\n', 'Did you mean "height"?'),
        ('values.heigth = { a = "b" }\n', "no column"),
        ("set.heigth = 3\n", "no column"),
        ("set.height = 3\n", "a bare number"),
        ('set.height_m = "tall"\n', "not a number"),
        ('set.height = "3 m"\ncolumns.height = { column = "Hight", unit = "m" }\n', "given twice"),
    ],
)
def test_slips_in_names_are_told_with_the_nearest_word(study, entry, words):
    read = trees(study, entry, Hight=[10.0])
    assert read.told(words)
    assert read.told("[layers.trees.")


def test_numbers_that_can_not_be_are_missing_and_told(study):
    read = trees(study, height_m=[0.0, -1.0, 250.0, 12.0, None])
    height = read.layers.get("trees")["height_m"]
    assert height.notna().tolist() == [False, False, False, True, False]
    assert read.found("0 or less: 2")
    assert read.found("caution", "over 120 m, which can't be: 1", "features 3")


def test_texts_are_read_as_numbers_where_they_are_some(study):
    read = trees(study, height_m=["12", "4,5", "20 ft", "tall", None, " 7.5 "])
    height = read.layers.get("trees")["height_m"].tolist()
    assert height[0] == 12
    assert height[2] == pytest.approx(6.096)
    assert height[5] == 7.5
    assert [height[n] != height[n] for n in (1, 3, 4)] == [True] * 3
    assert read.found("not a number: 2", '"4,5" 1x')


def test_words_are_mapped_and_unknown_ones_counted_with_examples(study):
    read = streets(
        study,
        'columns.class = "FUNC"\nvalues.class = { "7" = "local", Main = "arterial" }\n',
        FUNC=["7", "Main", "LOCAL", "odd", "odd", None, "tertiary"],
    )
    streets_ = read.layers.get("streets")
    assert streets_["class"].tolist() == [
        "local",
        "arterial",
        "local",
        "collector",
        "collector",
        "collector",
        "collector",
    ]
    assert read.found("caution", "not known here: 2", '"odd" 2x')
    assert read.found("caution", "Streets of unknown class: 3 of 7", "collector")


def test_numbers_are_mapped_by_how_they_read(study):
    read = streets(
        study, 'columns.class = "F"\nvalues.class = { "1" = "arterial" }\n', F=[1.0, None]
    )
    assert read.layers.get("streets")["class"].tolist() == ["arterial", "collector"]


def test_a_word_that_is_not_ours_is_refused(study):
    read = streets(study, 'values.class = { Main = "arterail" }\n', **{"class": ["Main"]})
    (told,) = read.problems
    assert '"arterail" is not a word for class' in told
    assert 'Did you mean "arterial"?' in told


@pytest.mark.parametrize(
    ("given", "flag"),
    [
        ("yes", True),
        ("T", True),
        ("1", True),
        ("bridge", True),
        ("no", False),
        ("0", False),
        ("x", False),
    ],
)
def test_flags_are_read_in_many_words(study, given, flag):
    study.parcels()
    study.features("p.gpkg", [LINE], bridge=[given])
    read = study.read('[layers.paths]\npath = "p.gpkg"\n')
    assert read.layers.get("paths")["bridge"].tolist() == [flag]
    assert bool(read.found("not known here", '"x" 1x')) is (given == "x")


def test_a_blank_flag_is_missing_and_not_told(study):
    study.parcels()
    study.features("p.gpkg", [LINE, LINE], bridge=["", None])
    read = study.read('[layers.paths]\npath = "p.gpkg"\n')
    assert read.layers.get("paths")["bridge"].tolist() == [False, False]
    assert not read.found("not known here")


@pytest.mark.parametrize(("given", "flag"), [(True, True), (False, False)])
def test_flags_of_the_file_are_flags(study, given, flag):
    study.parcels()
    study.features("p.gpkg", [LINE], bridge=[given])
    read = study.read('[layers.paths]\npath = "p.gpkg"\n')
    assert read.layers.get("paths")["bridge"].tolist() == [flag]


@pytest.mark.parametrize(
    ("entry", "column", "value"),
    [
        ("set.bridge = true\n", "bridge", True),
        ('set.bridge = "yes"\n', "bridge", True),
        ('set.class = "arterial"\n', "class", "arterial"),
        ("set.lanes = 4\n", "lanes", 4.0),
        ('set.width = "10 m"\n', "width_m", 10.0),
        ("set.width_m = 10\n", "width_m", 10.0),
    ],
)
def test_a_constant_holds_for_the_whole_file(study, entry, column, value):
    read = streets(study, entry, other=[1, 2])
    assert not read.problems
    assert read.layers.get("streets")[column].tolist() == [value, value]


@pytest.mark.parametrize(
    "entry", ['set.bridge = "perhaps"\n', 'set.class = "motorway"\n', 'set.lanes = "four"\n']
)
def test_a_constant_is_checked_like_a_column(study, entry):
    (told,) = streets(study, entry, other=[1]).problems
    assert "[layers.streets.set." in told
