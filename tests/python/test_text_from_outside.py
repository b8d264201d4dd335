"""Text of files is shown everywhere, and forges nothing anywhere: terminal, page, sheet, figure."""

import csv
import io
import json
import re
import warnings
from pathlib import Path

import pytest

import flowdoubt as fd
from flowdoubt import cli, plots
from flowdoubt.edge.text import cell, shown, shown_lines

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"

# what is not seen but does something, but for the ends of lines of text that has lines
UNSEEN = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\xad\u034f\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff"
    "\ufff9-\ufffb]"
)
FORGED = "reproduced: all 1 agree"
# a line of its own, the cursor moved, a title set, all hidden, turned round, ended, and a formula
HOSTILE = (
    f"=1+1\n{FORGED}\r\n{FORGED}\u2028{FORGED}\u0085\x1b[2K\x1b]0;t\x07\x9b8m\x7f\0\t\u202eevol\u2066"
    "\u200b\u200f\u061c\ufeff\u2060\xad"
)


def toml(text):
    """Text as a string of TOML, which has the escapes of JSON below U+10000."""
    return json.dumps(text)


def hostile_text(text):
    """A file with hostile text wherever words stand that nobody reads a number or a choice from."""
    words = r'(?m)((?:^|[{,]\s*)(?:name|note|evidence|placement|point) = )"[^"]*"'
    return re.sub(words, lambda found: found[1] + toml(HOSTILE), text)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Demonstration site and verification, with hostile text in every field of words."""
    folder = tmp_path_factory.mktemp("hostile")
    site = hostile_text((DEMO / "site.toml").read_text())
    assert site.count(json.dumps(HOSTILE)) > 25
    (folder / "site.toml").write_text(site)
    header, *lines = (DEMO / "readings.csv").read_text().splitlines()[:61]
    quoted = f'"{HOSTILE}"'
    remarked = [f"{header},remark", *(f"{line},{quoted}" for line in lines)]
    (folder / "readings.csv").write_text("\n".join(remarked), newline="")
    states = [quoted] * 40 + ["ok"] * 20
    with_states = (f"{line},{state}" for line, state in zip(lines, states, strict=True))
    (folder / "log.csv").write_text("\n".join([f"{header},state", *with_states]), newline="")
    verification = hostile_text((DEMO / "verification.toml").read_text())
    # points and placements of their own
    for number in range(1, 13):
        (folder / f"run_{number:02}.csv").write_bytes(
            (DEMO / "verification" / f"run_{number:02}.csv").read_bytes()
        )
    names = iter(["low", "middle", "high"])
    head, *rest = verification.split("[[point]]")
    rest = [part.replace(toml(HOSTILE), toml(HOSTILE + next(names)), 1) for part in rest]
    verification = "[[point]]".join([head, *rest])
    own = (DEMO / "verification.toml").read_text()
    points = iter(re.findall(r'(?m)^point = "(\w+)"', own))
    verification = re.sub(
        r"(?m)^point = .*$", lambda _: f"point = {toml(HOSTILE + next(points))}", verification
    )
    verification = verification.replace('"verification/run', '"run')
    (folder / "verification.toml").write_text(verification)
    return folder


@pytest.fixture(scope="module")
def site(folder):
    return fd.Site.load(folder / "site.toml")


@pytest.fixture(scope="module")
def evaluation(site, folder):
    return site.evaluate(folder / "readings.csv")


@pytest.fixture(scope="module")
def trials(evaluation):
    return evaluation.monte_carlo(trials=2000, seed=7)


@pytest.fixture(scope="module")
def result(site, folder):
    return site.verify(folder / "verification.toml")


def assert_shown_as_text(text, *, hostile=True):
    """Nothing unseen, no line of theirs; and the text is there, so that it was looked at."""
    found = UNSEEN.search(text)
    assert not found, (found, text[max(0, found.start() - 200) : found.end() + 50])
    assert not re.search(rf"(?m)^\s*(</?\w+>)*{FORGED}", text)
    if hostile:
        # Markdown has escapes of its own for what stands there
        assert "u001b" in text


def outputs_of(thing):
    """All that a notebook or a terminal shows of something."""
    yield repr(thing), False
    yield str(thing), False
    if hasattr(thing, "_repr_html_"):
        yield thing._repr_html_(), False


def filled_by_hostile_hands(form):
    """Return a form in which everything that can be written in words is hostile."""
    for key in ("by", "date", "note"):
        form = form.replace(f'\n{key} = ""', f"\n{key} = {json.dumps(HOSTILE)}")
    zero = f'{{ readings = ["0.1 ns", "0.2 ns"], evidence = {json.dumps(HOSTILE)} }}'
    form = form.replace('time_difference = ""', f"time_difference = {zero}", 1)
    return form.replace("no_flow = false", "no_flow = true")


def test_results_in_words_and_on_pages(site, evaluation, trials, result, folder):
    record = evaluation.record(trials)
    verified = result.record()
    plan = site.plan(["900 m3/h"], ["8 degC"], scatter={"time_difference": "2 ns"}, readings=60)
    mark_out = site.mark_out(temperature="8 degC")
    commissioning = site.commissioning(temperature="8 degC")
    commissioned = site.commissioned(filled_by_hostile_hands(commissioning.form()))
    calibrated = site.calibrated_by(result)
    series = site.evaluate_series(folder / "log.csv", status={"state": ["ok"]})
    table = fd.evaluate_sites([folder / "site.toml", folder / "verification.toml"])
    things = [
        site,
        calibrated,
        calibrated.evaluate(folder / "readings.csv"),
        evaluation,
        evaluation.budget,
        evaluation.sound_speed_check(),
        evaluation.zero_check({"time_difference_ns": [0.1, 0.2]}),
        evaluation.reconciled(),
        trials,
        evaluation.validate(trials),
        record,
        record.reproduce(),
        evaluation.worksheet,
        plan,
        mark_out,
        commissioning,
        commissioned,
        commissioned.taken_over(["meter.zero_time_difference"]),
        series,
        table,
        fd.Verification.load(folder / "verification.toml"),
        result,
        verified,
        verified.reproduce(),
    ]
    seen = 0
    for thing in things:
        for text, _ in outputs_of(thing):
            assert_shown_as_text(text, hostile=False)
            seen += r"\u001b[2K" in text
    # most of them show the name of the site at least
    assert seen > len(things)


def test_texts_that_are_handed_out(evaluation, trials, result, site):
    sheet = evaluation.worksheet
    for text in (
        evaluation.in_words(trials),
        evaluation.to_json(trials),
        sheet.text,
        sheet.markdown,
        sheet.html,
        result.in_words(),
        result.to_json(),
        site.mark_out(temperature="8 degC").in_words,
        site.commissioning(temperature="8 degC").to_json(),
        str(evaluation.budget.columns()),
    ):
        assert_shown_as_text(text)
    for _, words in evaluation.warnings:
        assert_shown_as_text(words, hostile=False)


def test_reports(evaluation, trials, result, tmp_path):
    made = fd.report(evaluation, trials, verification=result)
    page = re.sub(r'href="data:[^"]*"', "", made.html())
    assert_shown_as_text(page)
    assert_shown_as_text(made._repr_html_())
    assert_shown_as_text(repr(made), hostile=False)
    pytest.importorskip("typst")
    pypdf = pytest.importorskip("pypdf")
    reader = pypdf.PdfReader(io.BytesIO(made.pdf()))
    assert_shown_as_text(reader.metadata.title)
    text = "\n".join(own.extract_text() for own in reader.pages)
    assert_shown_as_text(text, hostile=False)
    assert r"\u001b" in text


def test_a_record_of_an_older_version_is_shown_as_text_and_reproduces(evaluation, trials):
    """Records from before text was escaped hold it as it stands in the file."""
    from plain_recomputation import digest

    document = evaluation.record(trials).to_dict()
    results = document["content"]["evaluation"]["results"]
    escaped = results["site"]
    assert escaped == shown(HOSTILE)
    text = json.dumps(results).replace(json.dumps(escaped)[1:-1], json.dumps(HOSTILE)[1:-1])
    document["content"]["evaluation"]["results"] = json.loads(text)
    assert document["content"]["evaluation"]["results"]["site"] == HOSTILE
    document["digest"]["value"] = digest(document)
    record = fd.Record.from_text(json.dumps(document))
    reproduction = record.reproduce()
    assert reproduction, reproduction
    for thing in (record, reproduction):
        for words, _ in outputs_of(thing):
            assert_shown_as_text(words, hostile=False)
    page = re.sub(r'href="data:[^"]*"', "", fd.report(record).html())
    assert_shown_as_text(page)


def test_figures(evaluation, trials, result, site, tmp_path):
    pyplot = pytest.importorskip("matplotlib.pyplot")
    from matplotlib.text import Text

    drawn = [
        plots.sound_path(evaluation),
        plots.contributions(evaluation.budget),
        plots.distribution(evaluation, trials),
        plots.verification(result),
        plots.profile_path(evaluation),
        plots.profile_factor(evaluation),
    ]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of letters that a font lacks
        for axes in drawn:
            figure = axes.figure
            figure.canvas.draw()
            for text in figure.findobj(Text):
                assert_shown_as_text(text.get_text(), hostile=False)
    pyplot.close("all")
    mark_out = site.mark_out(temperature="8 degC")
    mark_out.sheet(tmp_path / "sheet.svg")
    assert_shown_as_text((tmp_path / "sheet.svg").read_text(encoding="utf-8"))
    mark_out.sheet(tmp_path / "sheet.pdf")
    pypdf = pytest.importorskip("pypdf")
    reader = pypdf.PdfReader(tmp_path / "sheet.pdf")
    text = "\n".join(own.extract_text() for own in reader.pages)
    assert not UNSEEN.search(text)


def test_the_command_line(folder, tmp_path, capsys):
    site, record = str(folder / "site.toml"), str(tmp_path / "run\n\x1b[2K.json")
    readings, verification = str(folder / "readings.csv"), str(folder / "verification.toml")
    log = str(folder / "log.csv")
    for arguments, status in (
        (["evaluate", site, readings, "--trials", "2000", "--record", record], 0),
        (["evaluate", site, readings, "--trials", "0", "--json"], 0),
        (["reproduce", record], 0),
        (["reproduce", record + "\n\x1b[2K"], 2),
        (["report", record, "--output", str(tmp_path / "a\x1b[2K.html")], 0),
        (["verify", site, verification], 0),
        (["verify", site, verification, "--json"], 0),
        (["verify", site, readings], 2),
        (["markout", site, "--temperature", "8 degC"], 0),
        (["markout", site, "--temperature", HOSTILE], 2),
        (["plan", site, "--flows", "900 m3/h", "--temperatures", "8 degC"], 0),
        (["plan", site, "--flows", HOSTILE], 2),
        (["series", site, log, "--status", "state=ok"], 0),
        (["series", site, log, "--status", f"state={HOSTILE}"], 0),
        (["evaluate-sites", str(folder)], 1),
    ):
        assert cli.main(arguments) == status, capsys.readouterr().err
        printed = capsys.readouterr()
        assert_shown_as_text(printed.out, hostile=False)
        assert_shown_as_text(printed.err, hostile=False)


def refusals(folder):
    """What is refused with words of the file in the message."""
    text = (DEMO / "site.toml").read_text()
    verification = (folder / "verification.toml").read_text()
    site = fd.Site.load(folder / "site.toml")
    header = "transit_time_us,time_difference_ns"

    def with_value(old, new):
        return lambda: fd.Site.from_toml(text.replace(old, new))

    def readings(content):
        file = folder / f"{len(content)}\n\x1b[2K.csv"
        file.write_text(content)
        return lambda: site.evaluate(file)

    yield with_value('"8.74 mm"', toml(HOSTILE))
    yield with_value('"7.2 bar"', toml(f"7 {HOSTILE}"))
    yield with_value('kind = "water"', f"kind = {toml(HOSTILE)}")
    yield with_value('law = "fitted"', f"law = {toml(HOSTILE)}")
    yield with_value("[pipe]", f"[pipe]\n{toml(HOSTILE)} = 1")
    yield with_value("[pipe]", f"[{toml(HOSTILE)}]\na = 1\n[pipe]")
    yield with_value("traverses = 2", f"traverses = {toml(HOSTILE)}")
    other = text.replace('"meter.cable_delay"', toml(HOSTILE))
    yield lambda: fd.Site.from_toml(other).evaluate(DEMO / "readings.csv")
    yield with_value('flow_unit = "m3/h"', f"flow_unit = {toml(HOSTILE)}")
    yield lambda: fd.Verification.from_toml(
        verification.replace("run_01.csv", "../" + toml(HOSTILE)[1:-1]), folder / "v.toml"
    )
    yield lambda: fd.Verification.from_toml(
        verification.replace('"run_01.csv"', toml("no\n\x1b[2K.csv")), folder / "v.toml"
    )
    yield lambda: fd.Verification.from_toml(
        verification.replace("[[run]]\npoint = ", f"[[run]]\npoint = {toml(HOSTILE)} #", 1),
        folder / "v.toml",
    )
    yield readings(f'{header},"transit_time_{HOSTILE}"\n1,2,3\n')
    yield readings(f'{header}\n1,"{HOSTILE}"\n')
    yield readings(f"{header}\n")
    yield lambda: fd.Site.load(folder / "no\n\x1b[2K.toml")
    yield lambda: site.evaluate({HOSTILE: [1.0, 2.0]})
    yield lambda: site.evaluate({f"transit_time_{HOSTILE}": [1.0, 2.0]})
    yield lambda: fd.Record.from_text(json.dumps({"format": HOSTILE, "version": 1}))
    yield lambda: fd.Record.from_text(
        json.dumps({"format": "flowdoubt record", "version": 1, HOSTILE: 1})
    )
    yield lambda: fd.pipe.material(HOSTILE)
    yield lambda: site.plan([HOSTILE])
    yield lambda: site.mark_out(temperature=HOSTILE)


def test_errors(folder):
    count = 0
    for attempt in refusals(folder):
        with pytest.raises(fd.FlowdoubtError) as caught:
            attempt()
            pytest.fail(f"attempt {count} is taken")
        error = caught.value
        assert len(str(error).splitlines()) == 1, error
        for told in (str(error), error.field, error.value, error.allowed, error.file):
            assert_shown_as_text(str(told), hostile=False)
        count += 1
    assert count > 20


def test_cells_of_sheets_are_no_formulas(folder, tmp_path, site):
    """Text that begins like a formula has an apostrophe before it; numbers stay numbers."""
    for formula in ("=1+1", "+1", "-1", "@SUM(A1)", "\uff1d1", "  =1", "\t=1", "\r=1"):
        assert cell(formula)[0] in "'\\", formula
    assert cell("plant 2") == "plant 2"
    assert cell("8 - 9") == "8 - 9"
    text = fd.evaluate_sites([folder / "site.toml", DEMO / "verification.toml"]).to_csv()
    assert_shown_as_text(text)
    rows = list(csv.reader(io.StringIO(text)))
    assert all(len(row) == len(rows[0]) for row in rows)
    assert rows[1][0].startswith("'=1+1")
    numbers = rows[1][3:6]
    assert all(float(number) > 0 for number in numbers)
    for row in rows:
        for own in row:
            is_number = re.fullmatch(r"-?[\d.e+-]+", own)
            assert is_number or not own.startswith(("=", "+", "-", "@", "\t", "\r"))
    series = site.evaluate_series(
        {
            "transit_time_us": [609.5] * 4,
            "time_difference_ns": [797.0, -797.0, 796.0, 795.0],
            "temperature_degC": [8.0] * 4,
            "=strength": [-50.0] * 4,
        },
        time=["2026-09-17T10:00:00", "2026-09-17T10:00:05", "2026-09-17T10:00:10", "=1+1"],
        signal="=strength",
        repeatability={"time_difference": "1 ns", "transit_time": "1 ns", "temperature": "0.1 K"},
    )
    rows = list(csv.reader(io.StringIO(series.to_csv())))
    assert "'=strength" in rows[0]
    assert rows[4][1] == "'=1+1"
    # a number is a number, whatever it begins with
    assert rows[4][-1] == "-50.0"


def test_names_of_inputs_in_python(tmp_path):
    budget = fd.propagate(lambda x: x[HOSTILE], {HOSTILE: fd.normal(1.0, 0.1)}).budget
    for text in (str(budget), repr(budget), budget._repr_html_()):
        assert_shown_as_text(text, hostile=False)
    assert budget.columns()["input"] == [HOSTILE]
    pytest.importorskip("matplotlib")
    axes = plots.contributions(budget)
    assert_shown_as_text("\n".join(own.get_text() for own in axes.get_yticklabels()))


def test_lines_stay_lines():
    assert shown_lines("a\nb\x1b\n") == "a\nb\\u001b\n"
    assert shown("\udcff.json") == "\\udcff.json"


def test_words_of_our_own_are_not_taken_for_hostile():
    site = fd.Site.load(DEMO / "site.toml")
    evaluation = site.evaluate(DEMO / "readings.csv")
    verified = site.verify(DEMO / "verification.toml")
    plan = site.plan(["900 m3/h"], ["8 degC"], target="1 %")
    for thing in (
        *(site, evaluation, evaluation.record(), evaluation.record().reproduce()),
        *(verified, plan, plan.targets[0], site.mark_out(temperature="8 degC")),
        site.commissioning(temperature="8 degC"),
        *(site.evaluate_series(DEMO / "readings.csv"), fd.evaluate_sites(DEMO)),
        *(evaluation.stress_test(trials=1000), evaluation.monte_carlo(1000)),
    ):
        html = getattr(thing, "_repr_html_", str)()
        for text in (html, str(thing), repr(thing)):
            assert not re.search(r"\\n|\\u[0-9a-f]{4}", text), type(thing)
    page = fd.report(evaluation, verification=verified)._repr_html_()
    assert "\\n" not in page
