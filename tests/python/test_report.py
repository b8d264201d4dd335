"""Reports: the numbers are those of the evaluation, text is text, and the file stands alone."""

import io
import json
import re
import sys
import zlib
from base64 import b64decode
from html.parser import HTMLParser
from pathlib import Path

import pytest
from plain_recomputation import digest
from test_plots import LINED

import flowdoubt as fd
from flowdoubt import cli

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
HOSTILE = (
    '<script>alert(1)</script> & # $x^2$ *b* _u_ @ref <l> "q" `r` [t](u) {c} %c // '
    "\\alpha #panic() ' ~ = - + 1."
)


class Page(HTMLParser):
    """Text, tags and attributes of a page."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.attributes, self.pieces, self.rows = [], [], [], []
        self.in_cell = False
        self.feed(html)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attributes]
        if tag == "tr":
            self.rows.append([])
        elif tag in {"td", "th"} and self.rows:
            self.rows[-1].append("")
            self.in_cell = True
        elif tag == "br" and self.in_cell:
            self.rows[-1][-1] += "\n"

    def handle_endtag(self, tag):
        if tag in {"td", "th"}:
            self.in_cell = False

    def handle_data(self, data):
        self.pieces.append(data)
        if self.in_cell and self.rows:
            self.rows[-1][-1] += data

    @property
    def text(self):
        return "".join(self.pieces)

    def row(self, first):
        (found,) = (row for row in self.rows if row and row[0] == first)
        return found[1:]


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
def verification(site):
    return site.verify(DEMO / "verification.toml")


@pytest.fixture(scope="module")
def made(evaluation, trials, verification):
    return fd.report(evaluation, trials, verification=verification)


@pytest.fixture(scope="module")
def page(made):
    return Page(made.html())


def streams(pdf):
    """What the streams of a PDF hold, unpacked."""
    for packed in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            yield zlib.decompress(packed)
        except zlib.error:
            yield packed


def quoted(text):
    """Text as it stands in a TOML string."""
    return json.dumps(text)


def hostile_site():
    text = LINED.replace("TRAVERSES", "2").replace("OFFSET", "0")
    text = text.replace('"lined main"', f"{quoted(HOSTILE)}\nnote = {quoted(HOSTILE * 3)}")
    stated = (
        f'{{ value = "8.18 mm", standard_uncertainty = "0.1 mm", evidence = {quoted(HOSTILE)} }}'
    )
    return fd.Site.from_toml(text.replace('"8.18 mm"', stated))


def hostile_evaluation():
    return hostile_site().evaluate(
        {"transit_time_us": [290.0, 290.1] * 3, "time_difference_ns": [60.0, 62.0, 61.0] * 2}
    )


def test_the_headline_is_that_of_monte_carlo_unless_first_order_is_validated(
    page, evaluation, trials
):
    headline = evaluation.headline_with(trials)
    assert headline.replace("+/-", PLUS_MINUS).replace("m3", "m\u00b3") in page.text
    verdict = evaluation.validate(trials).verdict
    said = "by Monte Carlo, since first order is not validated" in page.text
    assert said == (verdict == "not validated")
    assert (headline == evaluation.headline) == (verdict == "validated")


def test_the_numbers_are_those_of_the_evaluation(page, evaluation):
    # 3600 s in an hour, by hand
    u = evaluation.standard_uncertainty
    assert page.row("combined standard uncertainty") == [
        f"{u:.2g} m\u00b3/h ({100 * evaluation.relative_standard_uncertainty:.2g} %)"
    ]
    expanded = evaluation.expanded()
    assert page.row("coverage factor") == [f"{expanded.coverage_factor:.3f}"]
    assert page.row("expanded uncertainty") == [f"{expanded.expanded_uncertainty:.2g} m\u00b3/h"]
    low, high = evaluation.interval()
    assert page.row("95 % coverage interval") == [f"{low:.0f} to {high:.0f} m\u00b3/h"]
    steps = evaluation.steps
    assert page.row("axial spacing of the exit points") == [f"{1e3 * steps['spacing_m']:.1f} mm"]
    assert page.row("inside diameter") == [f"{1e3 * steps['inside_diameter_m']:.2f} mm"]
    assert page.row("profile factor") == [f"{steps['profile_factor']:.4f}"]


def test_the_budget_is_there_line_by_line_with_its_evidence(page, evaluation):
    symbols = {"infinite": "\u221e", "degC": "\u00b0C", "deg": "\u00b0", "us": "\u00b5s"}
    for _, name, *cells, evidence in evaluation.budget.rounded_lines():
        own = [row[1:] for row in page.rows if row and row[0].endswith(f"\n{name}")]
        (budget,) = (row for row in own if len(row) == 8)
        # values that a verification takes as they are come before the evidence
        *_, given = (row for row in own if len(row) == 1)
        assert budget == [symbols.get(cell, cell) for cell in cells]
        assert given == [evidence.replace(" deg;", "\u00b0;") or "none given"]
    for component, share in evaluation.budget.components().items():
        assert page.row(component) == [f"{100 * share:.1f} %"]
    correlated = [
        row
        for row in page.rows
        if row
        and row[0] == "delay in the electronics\nmeter.electronics_delay"
        and row[-1] == "+0.5"
    ]
    assert correlated


def test_monte_carlo_stands_beside_first_order(page, evaluation, trials):
    low, high = trials.interval(0.95, kind="shortest")
    row = page.row("Monte Carlo, shortest")
    assert row[2:] == [f"{low:.1f}", f"{high:.1f}"]
    assert "20000 trials, seed 7" in page.text
    said = (
        "First order is validated"
        if evaluation.validate(trials)
        else "First order is not validated"
    )
    assert said in page.text


def test_the_verification_is_there_with_its_decision(page, verification):
    assert verification.headline[1:] in page.text
    for point in verification.points:
        row = next(row for row in page.rows if row[0] == point["point"] and " / " in row[2])
        assert float(row[3]) == pytest.approx(100 * point["error"], abs=0.05)
        assert float(row[4]) == pytest.approx(100 * point["error_expanded"], abs=0.05)
        assert row[5] == "-3.00 to +3.00"
        assert row[7] == f"{point['meter_factor']:.4f}"
        assert f"{point['point']}: {point['decision']}" in page.text
    assert " ".join(fd.verification.VERIFICATION_CAUTIONS.split()) in page.text


def test_cautions_digest_and_records_travel_with_the_report(
    page, made, evaluation, trials, verification
):
    record = evaluation.record(trials)
    assert " ".join(fd.CAUTIONS.split()) in page.text
    assert record.digest in page.text
    assert "permit of the site decide before anybody marks out" in page.text
    data = [value for tag, name, value in page.attributes if (tag, name) == ("a", "href")]
    texts = [b64decode(link.split("base64,")[1]).decode() for link in data]
    attached = [fd.Record.from_text(text) for text in texts]
    assert attached == [record, verification.record()]
    assert all(own.reproduce() for own in attached)
    in_pdf = list(streams(made.pdf()))
    for own in attached:
        assert own.digest in page.text
        assert own.text.encode() in in_pdf


def test_the_page_needs_nothing_from_elsewhere(page, made):
    html = made.html()
    for _, name, value in page.attributes:
        if name in {"src", "href", "xlink:href", "action", "data"}:
            assert value.startswith(("#", "data:")), (name, value[:60])
    assert not {"script", "link", "iframe", "object", "embed", "img"} & set(page.tags)
    assert not re.search(r"url\((?!#)", html)
    assert "@import" not in html
    # pictures: path, profile, factor, contributions, distribution, verification
    assert page.tags.count("svg") == 6
    names = [value for _, name, value in page.attributes if name == "id"]
    assert len(names) == len(set(names))
    # every use of a name meets its definition
    used = {
        value[1:] for _, _, value in page.attributes if value.startswith("#") and len(value) > 8
    }
    assert used <= set(names)


def test_text_of_a_user_is_text_in_html():
    evaluation = hostile_evaluation()
    html = fd.report(evaluation).html()
    page = Page(html)
    assert "script" not in page.tags
    assert "<script>" not in html
    assert page.row("site") == [HOSTILE]
    assert page.row("remarks") == [HOSTILE * 3]
    assert [row for row in page.rows if row == ["wall thickness\npipe.wall", HOSTILE]]
    assert "&lt;script&gt;" in fd.report(evaluation)._repr_html_()


def test_text_of_a_user_is_text_in_pdf():
    pytest.importorskip("typst")
    evaluation = hostile_evaluation()
    pdf = fd.report(evaluation, evaluation.monte_carlo(trials=2000)).pdf()
    assert pdf.startswith(b"%PDF-")
    # a panic that was read as markup would have been raised; the title holds it as text
    plain = re.sub(rb"\\([()\\])", rb"\1", pdf)
    title = f"Report of a flow measurement: {HOSTILE}"
    assert title.encode() in plain or title.encode("utf-16-be") in plain


def test_what_is_copied_from_a_pdf_is_what_was_written(made, evaluation, trials, verification):
    pytest.importorskip("typst")
    pypdf = pytest.importorskip("pypdf")
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made.pdf())).pages]
    digest, other = evaluation.record(trials).digest, verification.record().digest
    # in the footer of every page, and whole where it is said how to reproduce the report
    assert all(digest in page for page in pages)
    last = next(page for page in pages if "To compute all of it anew" in page)
    assert last.count(digest) == 2
    assert other in last
    text = "\n".join(pages)
    assert "flowdoubt reproduce record.json --worksheet worksheet.html" in text
    assert "meter.zero_time_difference" in "".join(text.split("\n"))
    unseen = "[\u200b-\u200f\u2028-\u202e\u2060\ufeff\xad]"
    assert not re.search(unseen, text)
    # words that do not fit into a line are broken all the same
    long = "main_" + "0123456789" * 20
    site = fd.Site.from_toml((DEMO / "site.toml").read_text().replace("plant 2", long))
    pdf = fd.report(site.evaluate(DEMO / "readings.csv")).pdf()
    lines = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text().split("\n")
    assert max(map(len, lines)) < 150
    assert long in "".join(lines)
    assert not re.search(unseen, "".join(lines))


def test_text_of_a_user_is_text_in_a_verification(site, evaluation):
    file = (DEMO / "verification.toml").read_text()
    for words in ('"low"', '"A"', '"Supply meter against the master meter in the bypass"'):
        file = file.replace(words, quoted(HOSTILE))
    verification = fd.Verification.from_toml(file, DEMO / "verification.toml")
    made = fd.report(evaluation, verification=verification)
    html = made.html()
    assert "<script>" not in html
    page = Page(html)
    assert "script" not in page.tags
    # once among the points; as a point and as a placement among the runs
    assert sum(row[:1] == [HOSTILE] for row in page.rows) == 1
    assert sum(row[1:3] == [HOSTILE, HOSTILE] for row in page.rows) == 2
    pytest.importorskip("typst")
    assert made.pdf().startswith(b"%PDF-")


def test_the_same_inputs_give_the_same_bytes(evaluation, trials, made):
    again = fd.report(evaluation, trials, verification=str(DEMO / "verification.toml"))
    assert again.html() == made.html()
    assert again.pdf() == made.pdf()


def test_settings_of_the_user_change_nothing(evaluation, made):
    import matplotlib

    with matplotlib.rc_context({"font.size": 20, "axes.facecolor": "red", "svg.fonttype": "none"}):
        html = fd.report(evaluation).html()
    assert html == fd.report(evaluation).html()


def test_what_exists_is_not_overwritten_unasked(made, tmp_path):
    for name in ("report.html", "report.pdf"):
        path = tmp_path / name
        path.write_text("mine")
        with pytest.raises(fd.FlowdoubtError, match="exists"):
            made.save(path)
        assert path.read_text() == "mine"
        made.save(path, overwrite=True)
        assert path.stat().st_size > 10_000
    assert sorted(p.name for p in tmp_path.iterdir()) == ["report.html", "report.pdf"]
    with pytest.raises(fd.InputError, match=r"\.html or \.pdf"):
        made.save(tmp_path / "report.docx")
    with pytest.raises(fd.FlowdoubtError, match="nowhere"):
        made.save(tmp_path / "nowhere" / "report.html")


def test_a_record_becomes_the_report_of_its_evaluation(evaluation, trials, tmp_path):
    zero = {"time_difference_ns": [0.1, 0.2, 0.15]}
    record = evaluation.record(trials, 1, zero)
    of_record = fd.report(record)
    assert of_record.reproduces is True
    page = Page(of_record.html())
    assert "figures agree to the last bit, 0 differ" in page.text
    assert "Zero from 3 readings at no flow" in page.text
    assert "for 1 significant digits" in page.text or "for 1 significant digit" in page.text
    of_evaluation = Page(fd.report(evaluation, trials, digits=1, at_no_flow=zero).html())
    assert [row for row in page.rows] == [row for row in of_evaluation.rows]
    with pytest.raises(fd.InputError, match="with an evaluation only"):
        fd.report(record, trials)


def test_the_command_line_prints_a_record(evaluation, trials, tmp_path, capsys):
    run, printed = tmp_path / "run.json", tmp_path / "report.html"
    evaluation.record(trials).save(run)
    arguments = ["report", str(run), "--output", str(printed)]
    assert cli.main([*arguments, "--verification", str(DEMO / "verification.toml")]) == cli.DONE
    assert "Verification against a reference" in printed.read_text()
    assert cli.main(arguments) == cli.NOT_DONE
    assert "exists" in capsys.readouterr().err
    assert cli.main([*arguments, "--overwrite"]) == cli.DONE
    assert "Verification against a reference" not in printed.read_text()


def test_a_record_that_does_not_reproduce_says_so(evaluation, tmp_path):
    # another version may have computed another figure; its digest is right
    document = evaluation.record().to_dict()
    document["content"]["evaluation"]["results"]["volume_flow_m3_s"] *= 1.001
    document["digest"]["value"] = digest(document)
    run = tmp_path / "run.json"
    run.write_text(json.dumps(document))
    made = fd.report(fd.Record.load(run))
    assert made.reproduces is False
    assert "The record does not reproduce" in Page(made.html()).text
    assert "volume_flow_m3_s" in Page(made.html()).text
    assert cli.main(["report", str(run), "--output", str(tmp_path / "report.html")]) == cli.NO


def test_without_its_packages_the_report_says_what_to_install(made, evaluation, monkeypatch):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(ModuleNotFoundError, match=r"flowdoubt\[report\]"):
        made.pdf()
    monkeypatch.setattr("flowdoubt.reports.find_spec", lambda name: None)
    with pytest.raises(ModuleNotFoundError, match=r"matplotlib.*flowdoubt\[report\]"):
        fd.report(evaluation)


def test_many_layers_and_long_words_are_set(tmp_path):
    layers = "\n".join(
        f'[[pipe.layer]]\nthickness = {{ value = "0.5 mm", standard_uncertainty = "0.0{n} mm", '
        f'evidence = "{"W" * 300}" }}\nsound_speed = "{2300 + n} m/s"'
        for n in range(1, 16)
    )
    text = LINED.replace("TRAVERSES", "2").replace("OFFSET", "0").replace("lined main", "N" * 200)
    site = fd.Site.from_toml(text.replace("[path]", f"{layers}\n[path]"))
    readings = {"transit_time_us": [290.0, 290.1], "time_difference_ns": [60.0, 62.0]}
    made = fd.report(site.evaluate(readings))
    assert ["thickness of layer 15\npipe.layer[15].thickness", "W" * 300] in Page(made.html()).rows
    assert len(made.pdf()) > 10_000
