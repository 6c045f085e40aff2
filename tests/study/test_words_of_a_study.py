"""A study names its file of words: read at the gate, told with the file where it is wrong."""

import pytest
from made_up_study import box, write_study

from playsite.errors import InputError
from playsite.report.web_map import map_html
from playsite.study import check, run

LOTS = {"A": box(40, 40, 60, 50)}


def test_the_map_of_a_run_speaks_the_language_of_its_study(tmp_path):
    file = write_study(tmp_path, LOTS, study='words = "words.toml"\ncriteria = ["fit"]')
    (tmp_path / "words.toml").write_text(
        'language = "fr"\n[words]\n"Ranking" = "Classement"', "utf-8"
    )
    page = map_html(run(file))
    assert '<html lang="fr">' in page
    assert ">Classement</button>" in page


@pytest.mark.parametrize("gate", [run, check])
def test_a_missing_file_of_words_or_letterhead_stops_the_run_and_the_check_before_it(
    gate, tmp_path
):
    more = 'words = "wrods.toml"\nletterhead = "lost.docx"\ncriteria = ["fit"]'
    file = write_study(tmp_path, LOTS, study=more)
    with pytest.raises(InputError) as stopped:
        gate(file)
    told = str([str(problem) for problem in stopped.value.problems])
    assert "wrods.toml" in told
    assert "lost.docx" in told
