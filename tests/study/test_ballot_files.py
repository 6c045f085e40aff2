"""Ballots and comments as residents' clerks bring them: read, counted, refused with the line."""

import pytest

from playsite.problems import Problems
from playsite.settings import read_settings
from playsite.study.ballot_files import read_ballots

STUDY = """
[study]
title = "Made up"
units = "feet"
[program]
pad = {{ length = "31.7 m", width = "22.7 m" }}
[layers.parcels]
path = "parcels.gpkg"
[ballots]
file = "ballots.csv"
{more}
"""
PARCELS = ["M", "N", "C", "K"]
# The election of the capital of Tennessee, a textbook example: 42, 26, 15, 17 % of the votes.
ELECTION = {"M,N,C,K": 42, "N,C,K,M": 26, "C,K,N,M": 15, "K,C,N,M": 17}


@pytest.fixture
def ballots(tmp_path):
    """Read these ballots and comments; give what was counted, and the problems."""

    def read(text, comments=None, more=""):
        (tmp_path / "ballots.csv").write_text(text, "utf-8")
        if comments is not None:
            (tmp_path / "comments.csv").write_text(comments, "utf-8")
            more += 'comments = "comments.csv"\n'
        (tmp_path / "study.toml").write_text(STUDY.format(more=more), "utf-8")
        problems = Problems()
        settings = read_settings(tmp_path, problems)
        return read_ballots(settings, PARCELS, ["parking", "shade"], problems), problems.items

    return read


def _csv(rows, columns="ballot_id,place,age_group,choice_1,choice_2,choice_3,choice_4"):
    return "\n".join([columns, *rows])


def test_the_four_cities_are_counted_as_the_textbook_counts_them(ballots):
    orders = [order for order, votes in ELECTION.items() for _ in range(votes)]
    got, problems = ballots(_csv(f"{n},,,{order}" for n, order in enumerate(orders)))
    assert not problems
    count = got.counts["all"]
    assert count.table["points"].to_dict() == {"N": 194, "C": 173, "M": 126, "K": 107}
    assert count.table["first_choices"].to_dict() == {"N": 26, "C": 15, "M": 42, "K": 17}
    assert count.winner == "N"
    assert count.table["wins"].to_dict() == {"N": 3, "C": 2, "K": 1, "M": 0}
    assert count.cycles == ()


def test_a_ring_has_no_winner_and_is_told(ballots):
    got, _ = ballots(_csv(["1,,,M,N,C,", "2,,,N,C,M,", "3,,,C,M,N,"]))
    count = got.counts["all"]
    assert count.winner is None
    assert count.cycles == (("C", "M", "N"),)


def test_duplicates_count_once_children_apart_and_places_by_number(ballots):
    got, problems = ballots(
        _csv(
            ["1,Mill Lane,adult,M;N", "2,Mill Lane,child,N", "2,Mill Lane,child,M", "3,,,M"],
            "ballot_id,place,age_group,approves",
        ),
        more="invited = 12\n",
    )
    assert not problems
    assert (got.again, got.invited) == (1, 12)
    assert got.places.to_dict() == {"Mill Lane": 2, "": 1}
    assert got.counts["all"].table["approvals"].to_dict() == {"M": 2, "N": 2}
    assert got.counts["children"].table["approvals"].to_dict() == {"N": 1}
    assert got.counts["all"].table["points"].isna().all()  # nobody ordered: unknown, not 0


def test_a_short_order_leaves_the_others_level_behind(ballots):
    got, _ = ballots(_csv(["1,,,M,,,", "2,,,N,M,,"]))
    # of two sites named: M has 1 + 0, N has 0 + 1
    assert got.counts["all"].table["points"].to_dict() == {"M": 1, "N": 1}


def test_a_site_may_be_called_by_its_number(ballots):
    got, problems = ballots(_csv(["1,,,Site 2,site 1,,"]))
    assert not problems
    assert got.counts["all"].winner == "N"


def test_every_fault_is_told_with_its_line(ballots):
    _, problems = ballots(
        _csv(["1,,teen,M,,,", "2,,,Q,,,", ",,,M,,,", "4,,,M,M,,"]),
        "parcel_id,criterion,comment\nM,parkin,too few cars\nZ,,far\n",
    )
    told = "\n".join(map(str, problems))
    assert 'ballots.csv, line 2: "teen" is no age group' in told
    assert 'ballots.csv, line 3: "Q" is no parcel of this study.' in told
    assert "ballots.csv, line 4: the ballot has no number" in told
    assert "ballots.csv, line 5: a site is chosen twice." in told
    assert 'comments.csv, line 2: criterion "parkin" is not in use. Did you mean "parking"?' in told
    assert 'comments.csv, line 3: "Z" is no parcel' in told


def test_more_ballots_than_people_asked_are_at_fault(ballots):
    _, problems = ballots(_csv(["1,,,M,,,", "2,,,N,,,"]), more="invited = 1\n")
    assert "2 ballots came back, and only 1 people were asked." in str(problems[0])


def test_a_comment_with_a_comma_outside_quotes_is_never_cut_short(ballots):
    comments = 'parcel_id,criterion,comment\nM,,"Old, and shady"\nN,shade,Old, and shady\n'
    got, problems = ballots(_csv(["1,,,M,,,"]), comments)
    assert got.comments["comment"].tolist() == ["Old, and shady"]
    assert "comments.csv, line 3: the row has 4 cells, the head 3." in str(problems[0])


def test_a_number_that_comes_again_with_another_vote_is_told_apart_from_a_copy(ballots):
    got, problems = ballots(_csv(["1,,,M,,,", "1,,,M,,,", "1,,,N,,,", "2,,,N,,,"]))
    assert not problems
    assert (got.again, got.again_otherwise) == (2, 1)
    assert got.counts["all"].table["first_choices"].to_dict() == {"M": 1, "N": 1}


def test_a_file_that_is_not_there_is_at_fault(ballots, tmp_path):
    _, problems = ballots("ballot_id\n", more='comments = "none.csv"\n')
    assert any("holds no ballot" in str(problem) for problem in problems)
