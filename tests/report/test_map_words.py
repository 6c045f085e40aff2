"""The map in another language: one file of words, names untouched, what is missing told."""

import re
import tomllib
from dataclasses import replace

import pytest
from report.made_up_result import made_up_result

from playsite._words_file import Words, read_words
from playsite.problems import Problems
from playsite.report.ballot_page import ballot_html
from playsite.report.web_map import map_html
from playsite.report.web_map.page import own_script
from playsite.report.web_map.words import Translation, texts_of_script
from playsite.report.words_left import write_words_left

SPANISH = Words(
    "es",
    {
        "Ranking": "Clasificación",
        "Layers and signs": "Capas y signos",
        "Zoom in": "Acercar",
        "Site {0}": "Lugar {0}",
        "{0}, {1}, comes first.": "{0}, {1}, va primero.",
        "We looked at {0} parcels.": "Miramos {0} parcelas.",
        "too steep": "muy empinado",
        "Still {0}, whichever one weight is moved, and however far.": "Sigue {0}.",
    },
)


def in_spanish(**more):
    result = made_up_result(24, **more)
    return replace(result, study=replace(result.study, words=SPANISH))


@pytest.fixture(scope="module")
def page():
    return map_html(in_spanish(names={4: "Ranking", 9: "too steep"}))


def test_language_head_tabs_and_spoken_labels_are_told(page):
    assert '<html lang="es">' in page
    assert ">Clasificación</button>" in page
    assert 'aria-label="Acercar"' in page
    assert "Miramos <b>24</b> parcelas." in page
    assert re.search(r'<h1 id="answer"><b>Lugar \d+</b>, [^<]*, va primero.</h1>', page)


def test_what_has_no_words_stays_english(page):
    assert ">Priorities</button>" in page


def test_names_of_places_are_never_told(page):
    assert '"name":"Ranking"' in page
    assert '"name":"too steep"' in page
    assert '"short":"muy empinado"' in page


def test_what_lacks_words_is_listed_once_with_holes_and_reads_back(tmp_path):
    write_words_left(in_spanish(), tmp_path / "words_left.toml")
    problems = Problems()
    left = tmp_path / "words_left.toml"
    texts = tomllib.loads(left.read_text("utf-8"))["words"]
    assert "Priorities" in texts
    assert "Back to the adopted weights" in texts
    assert "{0} of {1}" in texts  # said by the script
    assert "would be fine" in texts  # of the ballot
    assert "Two sites are your choice {0}. Give each number once." in texts
    assert "Ranking" not in texts
    assert set(texts.values()) == {""}
    assert read_words(left, problems).language == "es"
    assert not problems.items


def test_every_text_of_the_script_reaches_the_file_of_words(tmp_path):
    # What a script chooses between inside say() is no text that is found: each is said by itself.
    assert not re.findall(r"\bsay(?:Nodes)?\([^\"()]*\? *\"", own_script())
    write_words_left(in_spanish(), tmp_path / "left.toml")
    texts = tomllib.loads((tmp_path / "left.toml").read_text("utf-8"))["words"]
    # The scale in both units, heads of a number's sources, names of criteria in sentences, failure.
    for text in ("Scale: the bar is {0} meters long", "Likely", "How", "open water"):
        assert text in texts
    assert any(text.startswith("The map could not be drawn.") for text in texts)


def test_the_ballot_takes_its_words_from_the_same_file():
    result = in_spanish(names={4: "Ranking"})
    more = {
        "What do you think?": "¿Qué opina?",
        "would be fine": "estaría bien",
        "a </script>": "b",
    }
    words = Words("es", {**SPANISH.texts, **more})
    page = ballot_html(replace(result, study=replace(result.study, words=words)))
    assert '<html lang="es">' in page
    assert "<h1>¿Qué opina?</h1>" in page
    assert "estaría bien" in page
    assert "<legend>Lugar " in page
    assert ", <bdi>Ranking</bdi></legend>" in page
    assert page.count("<script") == page.count("</script>")


def test_a_text_is_found_whole_by_its_numbers_by_its_names_or_sentence_by_sentence():
    told = Translation(
        Words("es", {"Mill {0} is wet.": "Mill {0} moja.", "{0} lies near water {1}": "{1}: {0} junto", "Dry.": "Seco."})
    )  # fmt: skip
    assert told.said("Mill 12.5 is wet.") == "Mill 12.5 moja."
    assert told.said("The park lies near water 3") == "3: The park junto"
    assert told.said("Dry. Unheard of.") == "Seco. Unheard of."
    assert list(told.left) == ["Unheard of."]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("words = 3", "[words] is no table"),
        ('language = "Spanish!"', "the language is missing or is none"),
        ('language = "es"\n[words]\n"Site {0}" = "Lugar {1}"', "a hole {1} that the English has not"),
        ('language = "es"\n[words]\n"Site" = 4', 'what stands for "Site" is no text'),
        ('language = "es"\n[wrods]', 'there is no "wrods"'),
        ("language = ", "can't be read"),
    ],
)  # fmt: skip
def test_a_fault_in_the_file_of_words_is_told_with_the_file(tmp_path, text, words):
    (tmp_path / "words.toml").write_text(text, "utf-8")
    problems = Problems()
    read_words(tmp_path / "words.toml", problems)
    told = " ".join(str(problem) for problem in problems.items)
    assert words in told
    assert "words.toml" in told


def test_texts_of_a_script_are_those_that_it_says():
    script = (
        'say("One {0}", x); sayNodes("Two \\"2\\""); const WORDS = ["strong", "fair"]; essay("no")'
    )
    assert texts_of_script(script) == ["One {0}", 'Two "2"', "strong", "fair"]


def test_a_file_of_words_says_its_direction_or_its_language_does(tmp_path):
    given = {'language = "ar"': "rtl", 'language = "es"': "ltr", 'language = "fa-IR"': "rtl"}
    given |= {
        'language = "az"\ndirection = "rtl"': "rtl",
        'language = "ar"\ndirection = "ltr"': "ltr",
    }
    for text, direction in given.items():
        path = tmp_path / "words.toml"
        path.write_text(text, "utf-8")
        problems = Problems()
        assert read_words(path, problems).direction == direction
        assert not problems.items
    path.write_text('language = "ar"\ndirection = "up"', "utf-8")
    read_words(path, problems)
    assert "is no direction" in str(problems.items[0])
