"""Languages of a report: complete, with the same numbers, and with nothing left in English."""

import json
import re
import tomllib
from pathlib import Path

import pytest
from conftest import DEMO, ROOT
from test_report import HOSTILE, Page

import flowdoubt as fd
from flowdoubt import _core, cli
from flowdoubt.display import language

FILES = Path(language.__file__).parents[1] / "reports" / "languages"
LANGUAGES = sorted(path.stem for path in FILES.glob("*.toml"))
# words that no German text has
ENGLISH = re.compile(
    r"\b(the|of|and|is|are|were|with|from|by|for|not|that|this|which|than|flow|wall|pipe|"
    r"uncertainty|readings|speed|sound|temperature|standard|degrees|freedom|error|meter|stated|"
    r"none|number|factor|coverage|made|how|first|order|runs|point|thickness)\b",
    re.IGNORECASE,
)


def messages(path):
    return dict(language._flat(tomllib.loads(path.read_text("utf-8"))))


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def evaluation(site):
    return site.evaluate(DEMO / "readings.csv")


@pytest.fixture(scope="module")
def trials(evaluation):
    return evaluation.monte_carlo(trials=20_000, seed=7)


@pytest.fixture(scope="module")
def made(evaluation, trials):
    def one(of, numbers="plain"):
        verification = DEMO / "verification.toml"
        return fd.report(
            evaluation, trials, verification=verification, language=of, numbers=numbers
        )

    return one


def test_there_are_languages():
    assert LANGUAGES == ["de", "en"] == language.names()


@pytest.mark.parametrize("name", LANGUAGES)
def test_a_language_has_every_message_with_its_places(name):
    english, own = (messages(FILES / f"{each}.toml") for each in ("en", name))
    assert list(english) == list(own)
    for key, message in english.items():
        assert language.places(message) == language.places(own[key]), key
        assert own[key] or key == "language.group", key


def told_in_core():
    """Every sentence of the core with its name, from its source."""
    found = {}
    for path in (ROOT / "src").rglob("*.rs"):
        for key, words in re.findall(
            r'message!\(\s*"([\w.-]+)",\s*("(?:[^"\\]|\\.)*")', path.read_text(), re.DOTALL
        ):
            said = json.loads(re.sub(r"\\\n\s*", "", words))
            assert found.setdefault(key, said) == said, key
    return found


def test_english_has_the_words_of_the_core():
    english = messages(FILES / "en.toml")
    core = told_in_core()
    assert len(core) > 100
    assert {key: english.get(key) for key in core} == core
    inputs = {key: words.replace("{}", "{number}") for key, words in _core._words_by_key().items()}
    assert {key[7:]: own for key, own in english.items() if key.startswith("inputs.")} == inputs


def test_languages_have_the_words_that_stand_alone():
    """Components, distributions, parameters, fittings, verdicts and causes, from their sources."""
    alone = {
        "model/component.rs": r'=> "([^"]+)"',
        "uncertainty/distribution/mod.rs": r'Distribution::\w+ \{ \.\. \} => "([^"]+)"',
        "evaluate/check/programmed.rs": r'Parameter::\w+ => \("([^"]+)"',
        "profile/disturbance/fitting.rs": r'=> "([^"_]+)"',
        "verify/judgement.rs": r'Verdict::\w+ => "([^"]+)"',
        "verify/question.rs": r'(?:Question|Indicated)::\w+ => "([^"]{4,30})"',
        "verify/file.rs": r'Rule::\w+ => "([^"]+)"',
        "model/choices.rs": r'(?:Basis|AngleFrom)::\w+ => "([^"]+)"',
        "profile/transition.rs": r'Regime::\w+ => "([^"]+)"',
        "model/quantity.rs": r'\.cause\("([^"]+)"\)',
        "liquid/formulation.rs": r'"([^"]*uncertainty[^"]*)"',
    }
    words = set()
    for file, pattern in alone.items():
        found = re.findall(pattern, (ROOT / "src" / file).read_text())
        assert found, file
        words.update(found)
    assert len(words) > 60
    for name in LANGUAGES:
        own = messages(FILES / f"{name}.toml")
        assert {word for word in words if f"values.{word}" not in own} == set()


def test_sentences_are_the_same_as_those_of_the_core(evaluation, trials, site):
    say = language.language_of("en")
    assert [say.told(told) for told in evaluation._mounting_advice_told()] == list(
        evaluation.mounting_advice
    )
    evidence = [line[-1] for line in evaluation.budget.rounded_lines()]
    said = [say.told(told) for told in evaluation.budget._evidence_told()]
    assert said == [words.replace(" deg;", "\u00b0;") for words in evidence]
    check = evaluation.sound_speed_check()
    assert say.told(check._told()) == repr(check)
    assert [say.told(own) for _, own in site._choices_told()] == [own for _, own in site.choices]
    hot = fd.Site.load(DEMO / "box" / "hot_steel_main.toml").evaluate(
        {"transit_time_us": [290.0] * 6, "time_difference_ns": [60.0, 62.0, 61.0] * 2}
    )
    assert len(hot.warnings) > 2

    def printed(words):
        words = words.replace(" deg ", "\u00b0 ").replace("degC", "\u00b0C")
        return re.sub(r"\bus\b", "\u00b5s", words)

    said = [printed(say.told(told)) for _, told in hot._warnings_told()]
    assert said == [printed(words) for _, words in hot.warnings]


def left_in_english(pieces, theirs):
    """Pieces of text with a word of English that is neither a user's nor in the path of a key."""
    left = []
    for piece in pieces:
        for part in re.split(r"; |: |\n", piece):
            own = re.sub(r"[a-z_]+(\[[^]]*\])?(\.[a-z_]+(\[[^]]*\])?)+", "", part)
            if ENGLISH.search(own) and part.strip() not in theirs:
                left.append(part)
    return left


@pytest.fixture(scope="module")
def theirs():
    return "".join((DEMO / name).read_text() for name in ("site.toml", "verification.toml"))


def test_nothing_is_left_in_english(evaluation, site, theirs, made):
    alone = fd.report(site.verify(DEMO / "verification.toml"), language="de")
    for report in (made("de"), alone):
        page = Page(report.html().replace("<wbr>", ""))
        words = [piece for piece in page.pieces if "{" not in piece and "flowdoubt" not in piece]
        assert left_in_english(words, theirs) == []
    # the words of the test are found where there are some
    assert left_in_english(Page(made("en").html()).pieces, theirs)


def test_nothing_is_left_in_english_in_figures(evaluation, trials, site, theirs):
    from matplotlib.text import Text

    from flowdoubt.plots.drawing import apart_from_pyplot

    def pieces(of):
        with language.speaking(language.language_of(of)), apart_from_pyplot():
            drawn = (
                fd.plots.sound_path(evaluation),
                fd.plots.profile_path(evaluation),
                fd.plots.profile_factor(evaluation),
                fd.plots.contributions(evaluation.budget),
                fd.plots.distribution(evaluation, trials),
                fd.plots.verification(site.verify(DEMO / "verification.toml")),
            )
        return [text.get_text() for ax in drawn for text in ax.figure.findobj(Text)]

    assert left_in_english(pieces("de"), theirs) == []
    assert len(left_in_english(pieces("en"), theirs)) > 20


def test_numbers_are_the_same_in_every_language(made):
    def numbers(page):
        found = []
        for row in page.rows:
            for cell in row:
                plain = cell.replace("\u202f", "").replace(",", ".").replace("\u2212", "-")
                found += re.findall(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?:e[+-]\d+)?(?![\w.]*\d)", plain)
        return found

    english = numbers(Page(made("en").html()))
    assert len(english) > 300
    assert numbers(Page(made("de").html())) == english
    localised = Page(made("de", "language").html())
    assert numbers(localised) == english
    (flow,) = localised.row("Erweiterungsfaktor")
    assert re.fullmatch(r"\d,\d{3}", flow)


def test_units_names_and_digests_stay(made, evaluation, trials):
    page = Page(made("de", "language").html())
    assert evaluation.record(trials).digest in page.text
    assert "m\u00b3/h" in page.text
    assert evaluation.site in page.text
    assert "14 diameters downstream of a 90 degree bend" in page.text


def test_numbers_as_the_language_writes_them():
    say = language.language_of("de", "language")
    assert say.number("1044.7") == "1044,7"
    assert say.number("-12345.67 m3/h") == "-12\u202f345,67 m3/h"
    assert say.number("6.90e+05") == "6,90e+05"
    assert say.number("8.6e-8") == "8,6e-8"
    assert say.number("JCGM 100:2008, 7.2.6") == "JCGM 100:2008, 7.2.6"
    assert say.number("2026-12-01 v1.2.3 run_01.csv") == "2026-12-01 v1.2.3 run_01.csv"
    assert language.language_of("de").number("1044.7") == "1044.7"


def test_a_language_of_ones_own(evaluation, tmp_path, capsys):
    text = (FILES / "en.toml").read_text().replace('code = "en"', 'code = "nl"')
    text = text.replace(
        'site = "site"', f"site = {json.dumps(HOSTILE.replace('{c}', 'c').replace('$', ''))}"
    )
    own = tmp_path / "own.toml"
    own.write_text(text)
    html = fd.report(evaluation, language=own).html()
    page = Page(html)
    assert '<html lang="nl">' in html
    assert "<script>" not in html and "script" not in page.tags
    record, printed = tmp_path / "run.json", tmp_path / "report.html"
    evaluation.record().save(record)
    arguments = ["report", str(record), "--output", str(printed), "--language", "de"]
    assert cli.main([*arguments, "--numbers", "language"]) == cli.DONE
    assert "Erweiterungsfaktor" in printed.read_text()
    assert "report" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("change", "field"),
    [
        (lambda t: t.replace('title = "Report of a flow measurement"\n', ""), "report.title"),
        (lambda t: t.replace("[report]", '[report]\nextra = "x"'), "report.extra"),
        (lambda t: t.replace("{flow} \u00b1", "{float} \u00b1"), "headline.first_order"),
        (lambda t: t.replace('code = "en"', 'code = "en\\"><b>"'), "language.code"),
        (lambda t: t.replace('decimal = "."', 'decimal = "5"'), "language.decimal"),
        (lambda t: t.replace('page = "page"', "page = 3"), "report.page"),
        (lambda t: t.replace('flow = "flow"', 'flow = "$\\\\frac{$"'), "figures.flow"),
    ],
)
def test_a_file_of_words_that_is_not_complete_is_refused(evaluation, tmp_path, change, field):
    text = (FILES / "en.toml").read_text()
    assert change(text) != text
    own = tmp_path / "own.toml"
    own.write_text(change(text))
    with pytest.raises(fd.InputError) as error:
        fd.report(evaluation, language=own)
    assert error.value.field == field


def test_what_is_no_language_is_refused(evaluation, tmp_path):
    for name in ("xx", "../en", tmp_path, 3):
        with pytest.raises(fd.InputError, match="allowed: "):
            fd.report(evaluation, language=name)
    with pytest.raises(fd.InputError, match="plain, language"):
        fd.report(evaluation, numbers="german")
