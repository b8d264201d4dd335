"""Tables in workbooks, documents and Markdown; figures as files."""

import io
import re
import zipfile

import docx
import matplotlib.pyplot as plt
import openpyxl
import pytest

import flowdoubt as fd

FORMS = [".xlsx", ".docx", ".md"]


@pytest.fixture(scope="module")
def site():
    return fd.Site.load("notebooks/demo/site.toml")


@pytest.fixture(scope="module")
def evaluation(site):
    return site.evaluate("notebooks/demo/readings.csv")


@pytest.fixture(scope="module")
def things(site, evaluation):
    verification = fd.Verification.load("notebooks/demo/verification.toml")
    plan = site.plan(["500 m3/h", "1000 m3/h"], ["8 degC"], target="3 %", free_length="2 m")
    return {
        "budget": evaluation.budget,
        "evaluation": evaluation,
        "worksheet": evaluation.worksheet,
        "plan": plan,
        "comparison": plan.comparison,
        "target": evaluation.target("1 %"),
        "verification": site.verify(verification),
        "difference": fd.difference(evaluation, evaluation, same="meter"),
        "commissioning": site.commissioning(temperature="8 degC"),
        "instruments": fd.Inventory.load("notebooks/demo/box/instruments.toml"),
        "sites": fd.evaluate_sites(["notebooks/demo/site.toml"]),
        "pandas": evaluation.budget.to_pandas(),
        "polars": evaluation.budget.to_polars(),
    }


def sheets(path):
    return openpyxl.load_workbook(path).worksheets


@pytest.mark.parametrize("suffix", FORMS)
def test_everything_has_tables(things, suffix, tmp_path):
    for name, thing in things.items():
        path = tmp_path / f"{name}{suffix}"
        fd.export(thing, path)
        assert path.stat().st_size > 100
        with pytest.raises(fd.RecordError, match="exists"):
            fd.export(thing, path)
        fd.export(thing, path, overwrite=True)
    together = tmp_path / f"all{suffix}"
    fd.export(things, together)
    assert together.stat().st_size > path.stat().st_size


def test_a_workbook_has_sixteen_digits_and_shows_the_rounded_ones(evaluation, tmp_path):
    fd.export(evaluation.budget, tmp_path / "budget.xlsx")
    (sheet,) = sheets(tmp_path / "budget.xlsx")
    head = [cell.value for cell in sheet[1]]
    columns = evaluation.budget.columns()
    lines = evaluation.budget.rounded_lines()
    for i, row in enumerate(sheet.iter_rows(min_row=2, max_row=1 + len(lines))):
        cells = dict(zip(head, row, strict=True))
        assert cells["estimate"].value == pytest.approx(columns["estimate"][i], rel=1e-15)
        # a workbook keeps sixteen digits
        assert cells["share"].value == pytest.approx(columns["share"][i], rel=1e-15)
        assert cells["name in the site file"].value == columns["input"][i]
        assert cells["evidence"].value == (columns["evidence"][i] or None)
        # the format shows as many decimals as the rounded text
        text, form = lines[i][2], cells["estimate"].number_format
        if re.fullmatch(r"-?\d+\.\d+", text):
            assert len(form.partition(".")[2]) == len(text.partition(".")[2]), (text, form)
    freedom = [row[head.index("degrees of freedom")].value for row in sheet.iter_rows(2)]
    assert "infinite" in freedom and "inf" not in freedom
    assert sheet.cell(len(lines) + 3, 1).value == evaluation.budget.result_in_words


def test_a_text_of_a_user_is_no_formula_no_markup_and_no_control(evaluation, tmp_path):
    hostile = {"=1+1": ["=HYPERLINK(1)", "@x\x1b[8m", "a|b\n<script>", "plain"], "n": [1, 2, 3, 4]}
    pandas = pytest.importorskip("pandas")
    frame = pandas.DataFrame(hostile)
    for suffix in FORMS:
        fd.export({"'=sheet': [x]*": frame}, tmp_path / f"hostile{suffix}")
    (sheet,) = sheets(tmp_path / "hostile.xlsx")
    for row in sheet.iter_rows(max_row=5, max_col=1):
        assert row[0].data_type == "s"
    assert sheet["A2"].value == "=HYPERLINK(1)"
    assert "\\u001b" in sheet["A3"].value
    markdown = (tmp_path / "hostile.md").read_text()
    assert r"a\|b\\n\<script\>" in markdown
    document = docx.Document(tmp_path / "hostile.docx")
    assert document.tables[0].cell(3, 0).text == "a|b\\n<script>"


def test_names_of_sheets_are_short_and_differ(evaluation, tmp_path):
    long = "a name of a sheet that is longer than 31 letters"
    fd.export({long: evaluation.budget, long + "!": evaluation.budget}, tmp_path / "x.xlsx")
    names = [sheet.title for sheet in sheets(tmp_path / "x.xlsx")]
    assert len(set(names)) == 2 and all(len(name) <= 31 for name in names)


def test_a_document_is_wide_where_its_tables_are(things, tmp_path):
    fd.export(things["difference"], tmp_path / "wide.docx")
    section = docx.Document(tmp_path / "wide.docx").sections[0]
    assert section.page_width > section.page_height
    fd.export(fd.evaluate_sites(["notebooks/demo/site.toml"]), tmp_path / "x.docx")
    with zipfile.ZipFile(io.BytesIO((tmp_path / "x.docx").read_bytes())) as archive:
        assert archive.testzip() is None


def test_numbers_that_are_none_are_left_empty(tmp_path):
    table = fd.evaluate_sites(["nowhere/site.toml"])
    fd.export(table, tmp_path / "sites.md")
    assert "nan" not in (tmp_path / "sites.md").read_text().lower()


@pytest.mark.parametrize("thing", [None, 3, "text", [1, 2], object()])
def test_what_has_no_table_is_refused(thing, tmp_path):
    with pytest.raises(fd.InputError, match=r"thing: found .*; allowed: a budget"):
        fd.export(thing, tmp_path / "x.md")
    assert not (tmp_path / "x.md").exists()


def test_another_suffix_is_refused(evaluation, tmp_path):
    with pytest.raises(fd.InputError, match=r"path: found .*x\.pdf.*; allowed: .*\.xlsx"):
        fd.export(evaluation, tmp_path / "x.pdf")


def width_mm(svg):
    (points,) = re.findall(r'<svg[^>]* width="([\d.]+)pt"', svg)
    return float(points) * 25.4 / 72


@pytest.mark.parametrize(("width", "mm"), [("page", 170), ("column", 81), (120, 120)])
def test_a_figure_is_as_wide_as_it_will_be_printed(evaluation, width, mm, tmp_path):
    ax = fd.plots.contributions(evaluation.budget)
    before = tuple(ax.figure.get_size_inches())
    paths = [tmp_path / f"figure{suffix}" for suffix in (".svg", ".pdf", ".png")]
    fd.plots.save(ax, *paths, width=width)
    assert width_mm(paths[0].read_text()) == pytest.approx(mm, abs=0.1)
    assert plt.imread(paths[2]).shape[1] == pytest.approx(mm / 25.4 * 300, abs=1)
    assert paths[1].read_bytes().startswith(b"%PDF")
    assert tuple(ax.figure.get_size_inches()) == before
    first = [path.read_bytes() for path in paths]
    with pytest.raises(fd.RecordError, match="exists"):
        fd.plots.save(ax, tmp_path / "new.svg", paths[1], width=width)
    assert not (tmp_path / "new.svg").exists()
    fd.plots.save(ax, *paths, width=width, overwrite=True)
    assert [path.read_bytes() for path in paths] == first
    plt.close(ax.figure)


@pytest.mark.parametrize("width", ["wide", 0, 10_000, None, True, float("nan")])
def test_another_width_is_refused(evaluation, width, tmp_path):
    ax = fd.plots.contributions(evaluation.budget)
    with pytest.raises(fd.InputError, match=r"width: found .*; allowed: 'page', 'column'"):
        fd.plots.save(ax, tmp_path / "x.svg", width=width)
    with pytest.raises(fd.InputError, match="paths: found none"):
        fd.plots.save(ax)
    with pytest.raises(fd.InputError, match="paths: found"):
        fd.plots.save(ax, tmp_path / "x.bmp")
    with pytest.raises(fd.InputError, match="ax: found"):
        fd.plots.save(None, tmp_path / "x.svg")
    plt.close(ax.figure)
