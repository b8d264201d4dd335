"""Commissioning: the list, its pages, the form there and back, the command."""

import json
import math
import re
import subprocess
import sys

import pandas as pd
import polars as pl
import pytest
from conftest import DEMO

import flowdoubt as fd
from flowdoubt import cli
from flowdoubt.sheet.checklist import Checklist, Entry, Item, Section, checklist_pages
from flowdoubt.sheet.drawing import Words
from flowdoubt.sheet.pdf import pdf_of
from flowdoubt.sheet.tiles import page_of

FORESEEN = {
    "temperature": "8 degC",
    "temperature_standard_uncertainty": "0.5 K",
    "flow": "600 m3/h",
}


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def listed(site):
    return site.commissioning(**FORESEEN)


def entries(of):
    return {f"{step['key']}.{own['key']}": own for step in of.steps for own in step["entries"]}


def written(form, step, key, toml):
    before, own = form.split(f"[{step}]\n")
    own, changed = re.subn(rf"(?m)^{key} = .*$", lambda _: f"{key} = {toml}", own, count=1)
    assert changed == 1
    return f"{before}[{step}]\n{own}"


def filled(listed):
    """Return the form with all done and noted as expected."""
    form = listed.form().replace("done = false", "done = true")
    for step in listed.steps:
        for key, _ in step["questions"]:
            form = written(form, step["key"], key, "true")
        for own in step["entries"]:
            if own["expected"] is not None:
                unit = "" if own["unit"] == "1" else own["unit"]
                value = f'"{own["expected"]!r} {unit}"'
                form = written(form, step["key"], own["key"], value)
    return form.replace('by = ""\ndate = ""', 'by = "A. Tester"\ndate = "2026-05-04"')


def words_on(pages):
    return [
        " ".join(shape.text for shape in page.own.shapes if isinstance(shape, Words))
        for page in pages
    ]


def test_numbers_stand_in_their_units(listed):
    own = entries(listed)
    wall = own["dimensions.wall"]
    assert (wall["unit"], round(wall["expected"], 3)) == ("mm", 8.767)
    # one more reading: s of the twelve, the mean of twelve, and a gauge once more
    readings = [8.74, 8.81, 8.69, 8.77, 8.83, 8.72, 8.79, 8.85, 8.70, 8.76, 8.81, 8.73]
    s = pd.Series(readings).std()
    gauge = 2 * (0.06 / math.sqrt(3)) ** 2
    u = math.sqrt(s**2 * (1 + 1 / 12) + gauge)
    assert wall["standard_uncertainty"] == pytest.approx(u, rel=1e-9)
    zero = own["zero.time_difference"]
    assert (zero["unit"], zero["expected"]) == ("ns", pytest.approx(0.15))
    assert own["direction.time_difference"]["lower_limit"] is None
    speed = own["times.sound_speed"]
    assert speed["expected"] == pytest.approx(float(fd.water.sound_speed(281.15, pressure=7.2e5)))
    assert (
        listed.foreseen == "liquid at 8 degC with standard uncertainty 0.50 K, a flow of 600 m3/h"
    )


def test_what_is_told_is_the_same_everywhere(listed):
    told = json.loads(listed.to_json())
    assert told == listed.to_dict()
    by_json = {f"{s['key']}.{e['key']}": e for s in told["steps"] for e in s["entries"]}
    wall = entries(listed)["dimensions.wall"]
    assert by_json["dimensions.wall"]["expected"] == pytest.approx(1e-3 * wall["expected"])
    assert told["temperature_k"] == 281.15
    frames = listed.to_pandas(), listed.to_polars()
    assert isinstance(frames[0], pd.DataFrame) and isinstance(frames[1], pl.DataFrame)
    assert list(frames[0]["key"]) == list(frames[1]["key"])
    assert "NaN" not in listed.to_json() and repr(listed).startswith('<Commissioning of "Harr')
    html = listed._repr_html_()
    for step in listed.steps:
        assert step["title"] in html and step["title"] in listed.in_words
    assert "permit of the site" in html


def test_a_form_as_expected_is_as_it_should_be(site, listed, tmp_path):
    listed.save_form(tmp_path / "empty.toml")
    assert (tmp_path / "empty.toml").read_text() == listed.form()
    found = site.read_commissioning(tmp_path / "empty.toml")
    assert not found.as_it_should_be
    assert {step["outcome"] for step in found.steps} == {"not done"}
    found = site.commissioned(filled(listed))
    assert found.as_it_should_be, found.in_words
    assert (found.by, found.date) == ("A. Tester", "2026-05-04")
    assert found.sound_speed.agrees
    assert found.to_dict()["as_it_should_be"] is True
    assert len(found.to_pandas()) == len(found.to_polars()) == len(entries(listed))
    html = found._repr_html_()
    assert "as it should be" in html and "2026-05-04" in html
    assert type(found.commissioning) is fd.Commissioning


def test_what_is_off_is_told_with_what_to_look_at(site, listed):
    form = written(filled(listed), "zero", "time_difference", '"4.15 ns"')
    found = site.commissioned(form)
    (zero,) = (step for step in found.steps if step["key"] == "zero")
    (own,) = zero["entries"]
    assert (zero["outcome"], own["within"]) == ("not as it should be", False)
    assert own["found"] == pytest.approx(4.15)
    assert own["standardised"] == pytest.approx(4.0 / own["standard_uncertainty"])
    assert any("outside of" in words for words in zero["remarks"])
    assert any(words.startswith("look at first: flow through a valve") for words in zero["remarks"])
    assert "not as it should be" in found._repr_html_()


def test_the_zero_that_was_found_counts_in_the_evaluation(site, listed):
    toml = '{ value = "0.4 ns", standard_uncertainty = "0.1 ns", dof = 40 }'
    found = site.commissioned(written(filled(listed), "zero", "time_difference", toml))
    assert "meter.zero_time_difference" in found.offered
    taken = found.taken_over(["meter.zero_time_difference"])
    (change,) = taken.changes
    assert change["path"] == "meter.zero_time_difference" and "0.15 ns" in change["before"]
    assert taken.toml.startswith("[meter]\nzero_time_difference = {") and str(taken) == taken.toml
    assert type(taken.site) is fd.Site
    readings = DEMO / "readings.csv"
    (line,) = (own for own in taken.site.stated if own["input"] == "meter.zero_time_difference")
    assert (line["estimate"], line["standard_uncertainty"]) == ("0.40", "0.10")
    assert line["dof"] == "40"
    assert line["evidence"].startswith("commissioning, 2026-05-04, by A. Tester; no flow")
    # 0.25 ns more of zero are so much less flow
    readings = DEMO / "readings.csv"
    check = site.evaluate(readings).zero_check({"time_difference_ns": [0.4, 0.4, 0.4]})
    change = taken.site.evaluate(readings).estimate - site.evaluate(readings).estimate
    assert change == pytest.approx(check.flow, rel=1e-2)
    with pytest.raises(fd.InputError, match=r"taken over.*meter\.zero_time_difference"):
        found.taken_over(["meter.zero"])


def test_wrong_forms_are_refused(site, listed, tmp_path):
    form = listed.form()
    for wrong, kind, words in (
        (form.replace("\nwall =", "\nwal ="), fd.InputError, "did you mean `wall`"),
        (written(form, "dimensions", "wall", '"7 kg"'), fd.UnitError, r"dimensions\.wall"),
        (written(form, "dimensions", "wall", '"9 m"'), fd.RangeError, "0.5 m"),
        (form.replace("site_digest = ", 'site_digest = "0" #'), fd.InputError, "make a new form"),
        ("", fd.InputError, "commissioning"),
    ):
        with pytest.raises(kind, match=words):
            site.commissioned(wrong)
    with pytest.raises(fd.FlowdoubtError):
        site.read_commissioning(tmp_path / "none.toml")
    for given in ({"temperature": 8}, {"temperature": "8 m"}, {"temperature": "8 degC", "flow": 3}):
        with pytest.raises(fd.FlowdoubtError):
            site.commissioning(**given)
    with pytest.raises(fd.RangeError, match="above 0"):
        site.commissioning(temperature="8 degC", flow="0 m3/h")


def test_pages_have_all_that_the_list_has(listed, tmp_path):
    from flowdoubt.sheet.commissioning import checklist_of

    for paper in ("A4", "Letter"):
        page = page_of(paper, upright=True)
        pages = checklist_pages(checklist_of(listed), page)
        text = " ".join(words_on(pages))
        for step in listed.steps:
            assert step["title"] in text
        assert "8.767 mm, within" in text and "signature" in text and "permit" in text
        assert f"page {len(pages)} of {len(pages)}" in words_on(pages)[-1]
        for printed in pages:
            assert all(printed.own.box.holds(shape.box()) or isinstance(shape, Words)
                       for shape in printed.own.shapes)  # fmt: skip
            assert all(shape.y < page.height - 8.0 for shape in printed.own.shapes
                       if isinstance(shape, Words))  # fmt: skip
    path = tmp_path / "list.pdf"
    listed.page(path)
    assert path.read_bytes().startswith(b"%PDF")
    with pytest.raises(fd.RecordError):
        listed.page(path)
    again = tmp_path / "again.pdf"
    listed.page(again)
    assert path.read_bytes() == again.read_bytes()
    with pytest.raises(fd.InputError, match="suffix"):
        listed.page(tmp_path / "list.txt")
    with pytest.raises(fd.InputError, match="paper"):
        listed.page(tmp_path / "other.pdf", paper="B5")


def test_lists_flow_over_pages_and_nothing_is_torn_or_lost():
    items = tuple(
        Item(f"item {n} " + "word " * (n % 40), (Entry(f"entry {n}", "3 mm", "mm"),) * (n % 3))
        for n in range(120)
    )
    sections = (Section("First", items[:60]), Section("Second", items[60:], "words beneath"))
    made = Checklist("Kit", "A works", "site file", sections, cautions="mind the step")
    page = page_of("A4", upright=True)
    pages = checklist_pages(made, page, before=2, after=3)
    texts = words_on(pages)
    assert len(pages) > 3
    for n in range(120):
        assert sum(f"item {n} " in text for text in texts) == 1
    assert [f"page {n} of {len(pages) + 5}" in text for n, text in enumerate(texts, 3)] == [
        True
    ] * len(pages)
    heights = [shape.y for one in pages for shape in one.own.shapes if isinstance(shape, Words)]
    assert max(heights) < page.height - 8.0
    # the heading stays with its first item
    (home,) = (text for text in texts if "Second" in text)
    assert "item 60 " in home and "words beneath" in home
    assert pdf_of(pages, "kit").startswith(b"%PDF")


def test_words_of_users_do_no_harm_on_a_page():
    nasty = "a\n\x1b[8mb $x^2$ " + "y" * 5000
    made = Checklist(nasty, nasty, nasty, (Section(nasty, (Item(nasty, (Entry(nasty, nasty),)),)),))
    page = page_of("A4", upright=True)
    pages = checklist_pages(made, page)
    assert all("\x1b" not in text and "\n" not in text for text in words_on(pages))
    heights = [shape.y for one in pages for shape in one.own.shapes if isinstance(shape, Words)]
    assert max(heights) < page.height - 8.0
    assert pdf_of(pages, "kit").startswith(b"%PDF")


def test_names_of_sites_are_escaped(demo_text):
    text = demo_text.replace("Harrowmere", "<b>Harrow</b>")
    html = fd.Site.from_toml(text).commissioning(temperature="8 degC")._repr_html_()
    assert "&lt;b&gt;Harrow" in html and "<b>Harrow" not in html


def run(*arguments):
    command = [sys.executable, "-m", "flowdoubt.cli", "commission", *map(str, arguments)]
    return subprocess.run(command, capture_output=True, check=False, text=True)


def test_the_command_lists_writes_and_judges(site, listed, tmp_path, capsys):
    file, form, page = DEMO / "site.toml", tmp_path / "form.toml", tmp_path / "list.pdf"
    foreseen = [
        "--temperature",
        "8 degC",
        "--temperature-uncertainty",
        "0.5 K",
        "--flow",
        "600 m3/h",
    ]
    arguments = ["commission", str(file), *foreseen, "--form", str(form), "--page", str(page)]
    assert cli.main(arguments) == 0
    said = capsys.readouterr().out
    assert "Zero at no flow" in said and "permit of the site" in said
    assert form.read_text() == listed.form() and page.exists()
    assert cli.main(["commission", str(file), "--read", str(form)]) == 1
    toml = '{ readings = ["0.1 ns", "0.3 ns", "0.2 ns"] }'
    form.write_text(written(filled(listed), "zero", "time_difference", toml))
    saved = tmp_path / "site.toml"
    taking = ["--take-over", "meter.zero_time_difference", "--save", str(saved)]
    assert cli.main(["commission", str(file), "--read", str(form), *taking]) == 0
    assert "[meter]\nzero_time_difference" in capsys.readouterr().out
    assert "by A. Tester" in fd.Site.load(saved).text
    assert cli.main(["commission", str(file), "--read", str(form), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["as_it_should_be"] is True


@pytest.mark.parametrize(
    "arguments",
    [
        [],  # no temperature
        ["--temperature", "8 m"],
        ["--temperature", "8 degC", "--save", "x.toml"],
        ["--temperature", "8 degC", "--read", "x.toml"],
        ["--read", "none.toml"],
    ],
)
def test_bad_input_leaves_with_2(arguments, tmp_path):
    done = run(DEMO / "site.toml", *arguments)
    assert done.returncode == 2 and done.stderr.startswith("flowdoubt: "), done.stderr
    assert done.stdout == ""
