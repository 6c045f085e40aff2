"""What a study may change of its criteria, and what is said when it goes wrong."""

import pytest
from made_up_study import box, write_study

from playsite.criteria._registry import choose, installed
from playsite.problems import Problems
from playsite.settings import read_settings


@pytest.fixture
def chosen(tmp_path):
    def read(more="", study=""):
        file = write_study(tmp_path, {"A": box(0, 0, 50, 50)}, study=study, more=more)
        problems = Problems()
        return choose(read_settings(file, problems), problems), [str(p) for p in problems.items]

    return read


def test_shares_of_weight_add_up_to_one(chosen):
    criteria, problems = chosen()
    assert not problems
    assert sum(each.weight for each in criteria) == pytest.approx(1)
    assert {each.name for each in criteria} == set(installed())


def test_a_study_moves_weights_knots_and_limits_in_its_own_units(chosen):
    more = """
    [criteria.grade]
    weight = 20
    shared_error = "60 %"
    knots = { ideal = "1 %" }
    screen = "10 %"
    [criteria.open_water]
    knots = { poor = "50 ft" }
    screen = "20 ft"
    """
    criteria, problems = chosen(more, 'criteria = ["grade", "open_water"]')
    assert not problems
    grade, water = criteria
    assert grade.weight == pytest.approx(20 / 26)
    assert grade.usual_weight == 6
    assert (grade.shared_error, water.shared_error) == (0.6, 0.0)
    assert grade.curve.knots[0].at == 1
    assert grade.curve.knots[0].source == "set by this study"
    assert grade.screens[0].limit == 10
    assert grade.screens[0].rule == "steeper than 10 %"
    assert water.curve.knots[0].at == pytest.approx(15.24)
    assert water.screens[0].limit == pytest.approx(6.096)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (
            "[criteria.grad]\nweight = 3\n",
            'criterion "grad" is not installed. Did you mean "grade"?',
        ),
        ('[criteria.grade]\nknots = { best = "1 %" }\n', 'no knot is called "best"'),
        ('[criteria.grade]\nshared_error = "101 %"\n', "less than or equal to 100"),
        ('[criteria.grade]\nknots = { ideal = "1 m" }\n', '"m" is not percent'),
        ("[criteria.grade]\nknots = { ideal = 1 }\n", "a bare number, 1"),
        ('[criteria.grade]\nknots = { ideal = "9 %" }\n', "out of order"),
        ('[criteria.grade]\nscreen = "9 m"\n', '"m" is not percent'),
        ('[criteria.shade]\nscreen = "9 %"\n', "has no screen to set"),
    ],
)
def test_each_wrong_word_has_its_sentence_and_its_line(chosen, more, said):
    _, problems = chosen(more)
    assert len(problems) == 1
    assert said in problems[0]
    assert "study.toml, line" in problems[0]


def test_a_criterion_that_the_study_leaves_out_can_not_be_set(chosen):
    _, problems = chosen("[criteria.shade]\nweight = 2\n", 'criteria = ["fit"]')
    assert 'criterion "shade" is not in use in this study' in problems[0]


def test_all_weights_at_nothing_can_not_rank(chosen):
    _, problems = chosen("[criteria.fit]\nweight = 0\n", 'criteria = ["fit"]')
    assert "all weights are 0" in problems[0]


def test_a_profile_leaves_out_what_has_no_meaning_there(chosen):
    criteria, _ = chosen(study='profile = "child care"')
    assert "parking" not in {each.name for each in criteria}
