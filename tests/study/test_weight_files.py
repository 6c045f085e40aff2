"""Weights of a working group: what members fill in, what is used, what is at fault."""

import numpy as np
import pytest
from click.testing import CliRunner

from playsite.cli import commands
from playsite.criteria._registry import choose
from playsite.problems import Problems
from playsite.settings import read_settings
from playsite.study.weight_files import member_weights, with_group_weights

STUDY = """
[study]
title = "Made up"
units = "feet"
criteria = ["fit", "grade", "shade"]
[program]
pad = { length = "31.7 m", width = "22.7 m" }
[layers.parcels]
path = "parcels.gpkg"
"""


@pytest.fixture
def group(tmp_path):
    """Write a study with these files of members; give the sets, the criteria and the problems."""

    def read(files, more=""):
        folder = tmp_path / "group"
        folder.mkdir(exist_ok=True)
        for name, text in files.items():
            (folder / name).write_text(text, "utf-8")
        (tmp_path / "study.toml").write_text(f'{STUDY}{more}[weights]\nfrom = "group"\n', "utf-8")
        problems = Problems()
        settings = read_settings(tmp_path, problems)
        chosen = choose(settings, problems)
        members = member_weights(settings, chosen, problems)
        return members, with_group_weights(chosen, members, settings, problems), problems.items

    return read


def test_swing_points_become_weights_and_the_median_is_used(group):
    members, chosen, problems = group(
        {
            "all.csv": "member,criterion,swing\n"
            "A,fit,100\nA,grade,50\nA,shade,50\n"
            "B,fit,0\nB,grade,100\nB,shade,100\n"
            "C,fit,100\nC,grade,100\nC,shade,0\n"
        }
    )
    assert not problems
    assert members.loc["A"].tolist() == [0.5, 0.25, 0.25]
    assert members.sum(axis=1).tolist() == [1, 1, 1]
    # medians .5, .5, .25: worked by hand
    assert [each.weight for each in chosen] == pytest.approx([0.4, 0.4, 0.2])


def test_an_order_alone_gives_the_rank_order_centroid(group):
    # Barron and Barrett 1996, Decision Quality Using Ranked Attribute Weights: n = 3
    members, _, problems = group({"A.csv": "criterion;rank\nshade;1\nfit;2\ngrade;3\n"})
    assert not problems
    assert members.index.tolist() == ["A"]  # no column of members: the file's name
    told = members.loc["A", ["shade", "fit", "grade"]].to_numpy()
    assert told.round(4).tolist() == [0.6111, 0.2778, 0.1111]


def test_every_fault_is_told_at_once_with_file_line_and_remedy(group):
    _, _, problems = group(
        {
            "A.csv": "member,criterion,swing\nA,fit,100\nA,grad,50\nA,shade,120\n",
            "B.csv": "member,criterion,swing\nB,fit,\nB,grade,10\nB,shade,20\nB,shade,30\n",
            "C.csv": "member,criterion,points\nC,fit,3\n",
            "D.csv": "member,criterion,rank\nD,fit,1\nD,grade,1.5\nD,shade,2\n",
        }
    )
    told = "\n".join(map(str, problems))
    assert 'A.csv, line 3: criterion "grad" is not in use. Did you mean "grade"?' in told
    assert 'A.csv, line 4: "120" is no swing: expected 0 to 100.' in told
    assert 'member "A" leaves out: grade' in told
    assert 'B.csv, line 2: member "B" gives no swing for fit. Give 0' in told
    assert 'B.csv, line 5: member "B" gives "shade" twice.' in told
    assert 'C.csv: there is no column "points" here.' in told
    assert 'D.csv, line 3: "1.5" is no rank' in told


def test_a_form_filled_by_half_is_told_once_and_never_taken_for_nothing(group):
    half = "member,criterion,swing,rank\nA,fit,100,\nA,grade,,2\nA,shade,,3\n"
    members, _, problems = group({"A.csv": half})
    assert members.empty
    told = [str(problem) for problem in problems]
    assert len(told) == 1
    assert 'A.csv, line 3: member "A" gives no swing for grade, shade.' in told[0]


def test_a_weight_is_never_said_twice_but_a_study_may_leave_one_out(group):
    files = {"A.csv": "criterion,swing\nfit,100\ngrade,50\nshade,10\n"}
    _, _, problems = group(files, "[criteria.grade]\nweight = 3\n")
    assert 'the weight of "grade" is said twice' in str(problems[0])
    files = {"A.csv": "criterion,swing\nfit,100\nshade,100\n"}
    members, chosen, problems = group(files, "[criteria.grade]\nweight = 0\n")
    assert not problems
    assert [each.weight for each in chosen] == [0.5, 0, 0.5]
    assert "grade" not in members


def test_what_everybody_sets_to_nothing_is_at_fault(group):
    _, _, problems = group({"A.csv": "criterion,swing\nfit,0\ngrade,0\nshade,0\n"})
    assert 'member "A" gives everything 0.' in str(problems[0])


def test_an_empty_folder_is_at_fault(group):
    _, _, problems = group({})
    assert "holds no CSV of a member" in str(problems[0])


def test_the_form_prints_each_swing_and_its_csv_is_read_back(group, tmp_path):
    group({})
    done = CliRunner().invoke(commands, ["weights", str(tmp_path), "form"])
    assert done.exit_code == 0, done.output
    page = (tmp_path / "weights_form" / "form.html").read_text("utf-8")
    assert "from 8% to 2%" in page  # grade, from its poor to its ideal
    assert "between 30% and 60%" in page  # shade is best in a band
    assert page.count("<tr>") == 1 + 3
    empty = (tmp_path / "weights_form" / "member.csv").read_text("utf-8").splitlines()
    filled = [empty[0], *(f"Q{row[:-1]}{10 * n},".rstrip() for n, row in enumerate(empty[1:], 1))]
    members, _, problems = group({"Q.csv": "\n".join(filled)})
    assert not problems
    assert np.allclose(members.loc["Q"], [1 / 6, 2 / 6, 3 / 6])


def test_a_filled_table_is_kept_when_the_form_is_made_again(group, tmp_path):
    group({})
    CliRunner().invoke(commands, ["weights", str(tmp_path), "form"])
    table = tmp_path / "weights_form" / "member.csv"
    table.write_text(table.read_text("utf-8").replace(",fit,,", "A,fit,100,"), "utf-8")
    CliRunner().invoke(commands, ["weights", str(tmp_path), "form"])
    assert "A,fit,100," in (tmp_path / "weights_form" / "member (kept).csv").read_text("utf-8")
