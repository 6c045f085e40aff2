"""What residents said stands beside the score: in the memo, on the card, in a table, never in it."""

from dataclasses import replace

import pandas as pd
import pytest
from report.made_up_firm import firm_result
from report.memo_file import opened_memo

from playsite.ranking.ballots import Ballot, Ballots, counted
from playsite.report.ballot_words import ballot_sentences, site_ballot_sentence
from playsite.report.explanation import explanation_lines
from playsite.report.tables import write_tables
from playsite.report.web_map.payload import payload

A, B, C = "P-00001", "P-00002", "P-00003"


@pytest.fixture(scope="module")
def asked():
    ring = [
        Ballot((A,), (A, B, C), "Mill Lane"),
        Ballot((B,), (B, C, A), "Mill Lane", "child"),
        Ballot((A, B), (C, A, B)),
    ]
    comments = pd.DataFrame(
        [(A, "traffic", "Cars race here"), (A, "traffic", "Too fast"), (B, "", "Lovely")],
        columns=["parcel_id", "criterion", "comment"],
    )
    counts = {"all": counted(ring), "children": counted(ring[1:2])}
    places = pd.Series({"Mill Lane": 2, "": 1})
    return replace(firm_result(), ballots=Ballots(counts, 2, places, comments, 30))


def test_who_answered_is_said_with_turnout_duplicates_children_and_places(asked):
    said = " ".join(ballot_sentences(asked))
    assert "Ballots counted: 3 of 30 people asked (10%); left out because their number" in said
    assert "of children: 1." in said
    assert "Where they live: Mill Lane 2 and not said 1." in said
    assert "no sample of the town" in said


def test_a_ring_and_counts_that_disagree_are_said(asked):
    said = ballot_sentences(asked)
    ring = next(sentence for sentence in said if "ring" in sentence)
    assert "Site 1 beats Site 2, Site 2 beats Site 3 and Site 3 beats Site 1" in ring
    # by approval and by points level, and a ring has no winner two by two
    assert any("The counts disagree: first is" in sentence for sentence in said)


def test_counts_that_agree_say_so_in_one_sentence(asked):
    alike = [Ballot((A,), (A, B)), Ballot((A, B), (A, B))]
    ballots = replace(asked.ballots, counts={"all": counted(alike)}, again_otherwise=1)
    said = ballot_sentences(replace(asked, ballots=ballots))
    assert "First by approval, by points for place and two by two: Site 1." in said
    assert "(1 with another vote; the first one counts)" in said[0]


def test_a_site_is_told_its_own_share_everywhere_and_its_score_stays(asked, tmp_path):
    told = site_ballot_sentence(asked, A)
    assert told == (
        "Residents, beside the score: 67% of 3 ballots approve it, 1 of 3 put it first and "
        "2 comments: traffic 2."
    )
    explained = "\n".join(explanation_lines(asked, A))
    assert told in explained
    assert "  traffic: Cars race here\n  traffic: Too fast" in explained
    sites = {site["id"]: site for site in payload(asked)["sites"]}
    assert sites[A]["residents"] == told
    assert asked.sites["score"].equals(firm_result().sites["score"])
    document = opened_memo(asked, tmp_path)
    assert "What residents said" in [each.text for each in document.paragraphs]
    cells = [[cell.text for cell in row.cells] for t in document.tables for row in t.rows]
    assert ["Site 1", "Traffic", "2", "Cars race here"] in cells
    write_tables(asked, tmp_path)
    rows = pd.read_csv(tmp_path / "ballots.csv")
    assert rows.loc[rows["group"] == "all", "approvals"].tolist() == [2, 2, 0]
    assert set(rows["group"]) == {"all", "children"}


def test_without_ballots_nothing_is_said(tmp_path):
    plain = firm_result()
    assert ballot_sentences(plain) == []
    assert site_ballot_sentence(plain, A) == ""
    write_tables(plain, tmp_path)
    assert not (tmp_path / "ballots.csv").exists()
