"""Readings as they come: workbooks, maps of columns, arguments, commands, files that mean harm."""

import io
import zipfile
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import openpyxl
import pandas as pd
import polars as pl
import pytest

import flowdoubt as fd
from flowdoubt import cli

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"
TEXT = (DEMO / "site.toml").read_text()
PLAIN = pd.read_csv(DEMO / "readings.csv").head(40)
TIMES = [datetime(2026, 9, 17, 10) + timedelta(seconds=5 * row) for row in range(len(PLAIN))]
MAPPED = {"transit_time": "TT", "time_difference_ns": "dT", "temperature_degC": "T water"}
THEIRS = PLAIN.rename(
    columns={
        "transit_time_us": "TT [µs]",
        "time_difference_ns": "dT",
        "temperature_degC": "T water",
    }
)


@pytest.fixture(scope="module")
def site():
    return fd.Site.from_toml(TEXT, "site.toml")


@pytest.fixture(scope="module")
def plain(site, tmp_path_factory):
    path = tmp_path_factory.mktemp("plain") / "readings.csv"
    PLAIN.to_csv(path, index=False)
    return site.evaluate(path)


def workbook(path, tables, *, titles=(), units=None):
    """Write tables to sheets of a workbook."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, table in tables.items():
        sheet = book.create_sheet(name)
        for title in titles:
            sheet.append([title])
        sheet.append(list(table))
        if units is not None:
            sheet.append(units)
        for row in table.itertuples(index=False):
            sheet.append([value.item() if hasattr(value, "item") else value for value in row])
    book.save(path)
    return path


def test_a_workbook_gives_the_bits_of_the_csv(site, plain, tmp_path):
    timed = PLAIN.assign(time=TIMES)
    for number, (table, kinds) in enumerate(
        [
            (PLAIN, {}),
            (timed, {"titles": ["Loop 3", None, "exported at noon"]}),
            (timed.assign(extra="calm"), {}),
        ]
    ):
        path = workbook(
            tmp_path / f"{number}.xlsx", {"log": table, "notes": PLAIN[["time"]]}, **kinds
        )
        found = site.evaluate(path)
        assert found.estimate == plain.estimate
        assert found.standard_uncertainty == plain.standard_uncertainty
        assert found.how_read[0] == "workbook, sheet `log`"
        record = found.record()
        assert record.reproduce()
        assert "how the readings were read: workbook" in str(found)
        assert "workbook, sheet `log`" in found._repr_html_()
        series = site.evaluate_series(path)
        assert series.counts["used"] == len(PLAIN)


def test_units_below_names_and_text_in_cells(site, plain, tmp_path):
    words = PLAIN.rename(columns=lambda name: name.rpartition("_")[0] or name)
    texts = words.assign(temperature=[str(v).replace(".", ",") for v in words["temperature"]])
    path = workbook(tmp_path / "a.xlsx", {"log": texts}, units=[None, "µs", "ns", "°C"])
    columns = list(texts)
    assert columns == ["time", "transit_time", "time_difference", "temperature"]
    found = site.evaluate(path)
    assert found.estimate == plain.estimate
    assert "units in a row of their own" in found.how_read
    assert "decimals after a comma" in found.how_read


def test_the_sheet_is_told_or_asked_for(site, plain, tmp_path):
    path = workbook(tmp_path / "a.xlsx", {"one": PLAIN.head(20), "two": PLAIN})
    with pytest.raises(fd.InputError, match=r"readings in several sheets, `one`, `two`.*`sheet`"):
        site.evaluate(path)
    assert site.evaluate(path, sheet="two").estimate == plain.estimate
    with pytest.raises(fd.InputError, match="sheet: found `tow`, did you mean `two`"):
        site.evaluate(path, sheet="tow")
    path = workbook(tmp_path / "b.xlsx", {"one": PLAIN[["time"]], "two": PLAIN[["time"]]})
    with pytest.raises(fd.InputError, match="none of the 2 sheets"):
        site.evaluate(path)


def test_errors_in_a_workbook_name_its_rows(site, tmp_path):
    broken = PLAIN.astype(object)
    broken.loc[3, "transit_time_us"] = "no echo"
    path = workbook(tmp_path / "a.xlsx", {"log": broken}, titles=["Loop 3"])
    with pytest.raises(fd.UnitError, match=r"a\.xlsx:6: transit_time_us: `no echo`"):
        site.evaluate(path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_text_as_pandas_writes_it(site, plain, tmp_path, encoding, delimiter):
    path = tmp_path / "a.txt"
    THEIRS.to_csv(path, sep=delimiter, decimal=",", encoding=encoding, index=False)
    found = site.evaluate(path, columns=MAPPED)
    assert found.estimate == plain.estimate
    assert found.standard_uncertainty == plain.standard_uncertainty
    series = site.evaluate_series(path, columns=MAPPED)
    assert series.counts["used"] == len(PLAIN)
    assert "decimals after a comma" in series.how_read
    assert "decimals after a comma" in series._repr_html_()


def section(**keys):
    lines = [f"{key} = {value}" for key, value in keys.items()]
    names = [f'{quantity} = "{name}"' for quantity, name in MAPPED.items()]
    return "\n".join([TEXT, "[readings]", *lines, "[readings.columns]", *names])


@pytest.mark.parametrize("made", ["csv", "pandas", "polars", "dict"])
def test_the_site_file_keeps_the_map(plain, tmp_path, made):
    site = fd.Site.from_toml(section(delimiter='";"'), "site.toml")
    table = THEIRS
    if made == "csv":
        table = tmp_path / "a.csv"
        THEIRS.to_csv(table, sep=";", index=False)
    elif made == "polars":
        table = pl.DataFrame({name: THEIRS[name].to_list() for name in THEIRS})
    elif made == "dict":
        table = {name: THEIRS[name].to_numpy() for name in THEIRS}
    assert site.evaluate(table).estimate == plain.estimate
    series = site.evaluate_series(table)
    assert series.counts["used"] == len(PLAIN)
    assert site.evaluate_series(table, no_flow=table, repeatability="none").counts["used"] > 0
    # names of ours stay what they are
    ours = PLAIN if made != "csv" else tmp_path / "b.csv"
    if made == "csv":
        PLAIN.to_csv(ours, sep=";", index=False)
    assert site.evaluate(ours).estimate == plain.estimate


def test_frames_with_a_map(site, plain):
    pint = pytest.importorskip("pint")
    quantities = {
        "TT": pint.Quantity(PLAIN["transit_time_us"].to_numpy(), "us"),
        "dT": PLAIN["time_difference_ns"].to_numpy(),
        "T water": PLAIN["temperature_degC"].to_numpy(),
        "T air": np.zeros(len(PLAIN)),
    }
    found = site.evaluate(quantities, columns=MAPPED)
    assert found.estimate == pytest.approx(plain.estimate, rel=1e-12)
    with pytest.raises(fd.InputError, match=r"columns\.velocity_m_s: missing"):
        site.evaluate(THEIRS, columns={"velocity_m_s": "speed"})
    with pytest.raises(fd.InputError, match="delimiter: found ';' beside columns in memory"):
        site.evaluate(PLAIN, delimiter=";")
    with pytest.raises(fd.InputError, match=r"status: .*leave the rows"):
        site.evaluate(PLAIN, status={"state": ["ok"]})
    with pytest.raises(fd.InputError, match="two columns of a frame"):
        site.evaluate(THEIRS, columns=MAPPED | {"time": ["time", "dT"]})


def test_rows_by_status(tmp_path, plain):
    states = ["ok"] * len(PLAIN)
    rows = PLAIN.assign(state=states)
    bad = rows.head(3).assign(state=["no echo", "no echo", "weak"], transit_time_us=0)
    table = pd.concat([rows, bad])
    path = tmp_path / "a.csv"
    table.to_csv(path, index=False)
    site = fd.Site.from_toml(TEXT)
    for found in (
        site.evaluate(path, status={"state": "ok"}),
        fd.Site.from_toml(
            TEXT + '\n[readings]\nstatus = { column = "state", good = ["ok"] }\n'
        ).evaluate(path),
    ):
        assert found.estimate == plain.estimate
        words = dict(found.warnings)["rows-left-out"]
        assert words.startswith("3 of 43 rows were left out for their status")
        assert "2 of status `no echo`, 1 of status `weak`" in words
        assert found.record().reproduce()
    own = fd.Site.from_toml(TEXT + '\n[readings]\nstatus = { column = "state", good = ["ok"] }\n')
    for log in (path, table):
        series = own.evaluate_series(log, repeatability="none")
        assert series.counts["status"] == 3
        assert "rows by status, not used: 2 of `no echo`, 1 of `weak`" in series.findings
    with pytest.raises(fd.InputError, match="leave the rows"):
        own.evaluate(table)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ({"delimiter": ":"}, "delimiter: found `:`"),
        ({"delimiter": 5}, "delimiter: found 5; allowed: text"),
        ({"decimal": "'"}, "decimal: found `'`"),
        ({"encoding": "utf-7"}, "encoding: found `utf-7`"),
        ({"skip_rows": -1}, "skip_rows: found -1"),
        ({"skip_rows": True}, "skip_rows: found True"),
        ({"columns": ["a"]}, "columns: found"),
        ({"columns": {"transit_time": 5}}, "columns.transit_time: found 5"),
        ({"columns": {"transit_time": {"name": "a"}}}, "columns.transit_time: found"),
        ({"columns": {"transit_tme": "a"}}, "did you mean `transit_time`"),
        ({"columns": {"transit_time_us": "a"}}, "columns.transit_time_us: missing"),
        ({"status": "state"}, "status: found 'state'"),
        ({"status": {"state": []}}, "status: missing"),
        ({"status": {"state": ["ok"]}, "columns": MAPPED}, "state: missing"),
        ({"sheet": "log"}, "sheet: the sheet `log` of what is no workbook"),
    ],
)
def test_arguments_that_do_not_fit(site, tmp_path, arguments, said):
    path = tmp_path / "a.csv"
    THEIRS.to_csv(path, index=False)
    with pytest.raises(fd.FlowdoubtError) as raised:
        site.evaluate(path, **arguments)
    assert said in str(raised.value)


def test_many_sites_read_them_too(tmp_path, plain):
    (tmp_path / "site.toml").write_text(section(delimiter='";"'))
    THEIRS.to_csv(tmp_path / "readings.csv", sep=";", decimal=",", encoding="utf-16", index=False)
    row = fd.evaluate_sites(tmp_path).rows[0]
    assert (row["error"], row["volume_flow_m3_s"]) == ("", plain.steps["volume_flow_m3_s"])
    with ThreadPoolExecutor(1) as executor:
        row = fd.evaluate_sites(tmp_path, executor=executor).rows[0]
    assert (row["error"], row["volume_flow_m3_s"]) == ("", plain.steps["volume_flow_m3_s"])


def test_the_commands_take_it(tmp_path, capsys):
    path = tmp_path / "a.txt"
    THEIRS.assign(state="ok").to_csv(path, sep="|", decimal=",", encoding="latin-1", index=False)
    site = str(DEMO / "site.toml")
    said = ["--delimiter", "|", "--decimal", ",", "--encoding", "latin-1", "--status", "state=ok,0"]
    for quantity, name in MAPPED.items():
        said += ["--column", f"{quantity}={name}"]
    assert cli.main(["evaluate", site, str(path), "--trials", "0", *said]) == 0
    assert "how the readings were read: text in Windows-1252" in capsys.readouterr().out
    assert cli.main(["series", site, str(path), *said]) == 0
    assert "how the log was read: text in Windows-1252" in capsys.readouterr().out
    assert cli.main(["evaluate", site, str(path), "--skip-rows", "1"]) == 2
    assert "a.txt:2: header: missing" in capsys.readouterr().err


def test_a_report_says_how_it_was_read(site, tmp_path):
    path = tmp_path / "a.txt"
    THEIRS.to_csv(path, sep=";", decimal=",", index=False)
    found = site.evaluate(path, columns=MAPPED)
    page = fd.report(found).html()
    assert "columns parted by semicolons" in page


def packed(parts, compression=zipfile.ZIP_DEFLATED):
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", compression) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return file.getvalue()


def parts_of(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_workbooks_that_mean_harm(site, tmp_path):
    good = parts_of(workbook(tmp_path / "good.xlsx", {"log": PLAIN}))
    sheet = "xl/worksheets/sheet1.xml"
    rows = good[sheet]
    path = tmp_path / "bad.xlsx"

    def refused(content, words):
        path.write_bytes(content)
        for read in (site.evaluate, site.evaluate_series):
            with pytest.raises(fd.FlowdoubtError, match=words) as raised:
                read(path)
            assert len(str(raised.value)) < 500

    # a bomb: a sheet of a thousand millions of zeros packs to a megabyte
    bomb = b"0" * (600 << 20)
    refused(packed(good | {"xl/media/zeros": bomb}), "bytes; allowed: 536870912 at most")
    del bomb
    # one cell in the last corner does not ask for all cells between
    corner = rows.replace(
        b"</sheetData>", b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    )
    refused(packed(good | {sheet: corner}), "beyond the first 1024 columns")
    corner = rows.replace(
        b"</sheetData>", b'<row r="1048576"><c r="A1048576"><v>1</v></c></row></sheetData>'
    )
    path.write_bytes(packed(good | {sheet: corner}))
    with pytest.raises(fd.FlowdoubtError, match=r"bad\.xlsx:1048576: "):
        site.evaluate(path)
    refused(packed(good | {sheet: rows.replace(b'r="A5"', b'r="A1"')}), "not in order")
    refused(packed(good | {sheet: rows[: len(rows) // 2]}), "not a valid workbook")
    refused(packed({name: b"" for name in good}), "workbook")
    refused(packed({"a.txt": b"x"}), "workbook of another form")
    refused(b"PK\x03\x04" + bytes(range(256)), "not a valid workbook")
    refused(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(512), "workbook of another form")
    entity = rows.replace(
        b"<sheetData>", b"<!DOCTYPE a [<!ENTITY b SYSTEM 'file:///etc/hostname'>]><sheetData>"
    )
    path.write_bytes(packed(good | {sheet: entity}))
    site.evaluate(path)
    # names of files in the archive lead nowhere
    path.write_bytes(packed(good | {"../../outside": b"x"}))
    site.evaluate(path)
    assert not (tmp_path.parent.parent / "outside").exists()


def test_a_number_that_a_workbook_holds_keeps_its_bits(tmp_path):
    site = fd.Site.from_toml(TEXT)
    rng = np.random.default_rng(5)
    table = PLAIN.copy()
    table["transit_time_us"] = 610.7 + rng.normal(size=len(PLAIN)) * 1e-3
    path = workbook(tmp_path / "a.xlsx", {"log": table})
    assert site.evaluate(path).estimate == site.evaluate(table).estimate
