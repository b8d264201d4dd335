"""The head of a report: it says what was stated, alters nothing, and nothing in it is markup."""

import io
import statistics
import struct
import tomllib
import zlib

import pytest
from conftest import DEMO
from test_report import HOSTILE, Page

import flowdoubt as fd
from flowdoubt import cli

HEAD = {
    "report": {
        "number": "HM-R 2026/017",
        "date": "2026-12-01",
        "order": "4711",
        "place": "plant 2",
        "remarks": "after the overhaul",
    },
    "customer": {"name": "Harrowmere baths", "address": ["Quay 3", "Harrowmere"]},
    "issuer": {"name": "Harrowmere district energy, measuring team", "address": ["Mill Lane 1"]},
    "readings": {"from": "2026-11-30 09:00", "to": "2026-11-30 10:00"},
    "people": {"measured_by": ["A. Ostler", "B. Reeve"], "signed_by": ["C. Warden, head of team"]},
    "instrument": [
        {
            "name": "portable electronics",
            "kind": "electronics",
            "serial_number": "HM 5002",
            "certificate": "HM-L 2026/041 of 2026-02-12",
            "due": "2028-02-12",
        },
        {"name": "surface probe"},
    ],
    "conditions": {"ambient": "19 degC, dry", "liquid": "clear water"},
}


@pytest.fixture(scope="module")
def site():
    return fd.Site.load(DEMO / "site.toml")


@pytest.fixture(scope="module")
def evaluation(site):
    return site.evaluate(DEMO / "readings.csv")


@pytest.fixture(scope="module")
def verification(site):
    return site.verify(DEMO / "verification.toml")


@pytest.fixture(scope="module")
def page(evaluation):
    return Page(fd.report(evaluation, head=HEAD).html())


def png(width=3, height=2):
    def chunk(kind, data):
        whole = kind + data
        return struct.pack(">I", len(data)) + whole + struct.pack(">I", zlib.crc32(whole))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"".join(b"\0" + b"\x80" * width for _ in range(height)))
    parts = (chunk(b"IHDR", header), chunk(b"IDAT", rows), chunk(b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(parts)


SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 20">'
    '<rect width="60" height="20"/></svg>'
)


def test_what_is_stated_is_there(page):
    assert page.row("customer") == ["Harrowmere baths\nQuay 3\nHarrowmere"]
    assert page.row("report number") == ["HM-R 2026/017"]
    assert page.row("date of the report") == ["2026-12-01"]
    assert page.row("order") == ["4711"]
    assert page.row("place of the measurement") == ["plant 2"]
    assert page.row("period of the readings") == ["2026-11-30 09:00 to 2026-11-30 10:00"]
    assert page.row("measured by") == ["A. Ostler\nB. Reeve"]
    assert page.row("signed by") == ["C. Warden, head of team"]
    assert page.row("ambient conditions") == ["19 degC, dry"]
    assert "is the word of whoever wrote the head" in page.text
    assert [
        "electronics",
        "portable electronics",
        "HM 5002",
        "HM-L 2026/041 of 2026-02-12",
        "2028-02-12",
    ] in page.rows
    assert ["", "surface probe", "not stated", "not stated", ""] in page.rows
    assert "No certificate is stated for: surface probe." in page.text


def test_nothing_of_it_alters_a_figure(page, evaluation):
    bare = Page(fd.report(evaluation).html())
    own = [row for row in page.rows if row in bare.rows]
    assert own == bare.rows
    assert evaluation.record().digest in page.text
    assert "Order and measurement" not in bare.text


def test_the_result_is_stated_after_the_guide(page, evaluation):
    """JCGM 100:2008, 7.2.4: y, U, k, degrees of freedom and coverage probability."""
    expanded = evaluation.expanded()
    (said,) = (words for words in page.text.split("\n") if "Statement of the result" in words)
    assert f"k = {expanded.coverage_factor:.2f}" in said
    u = float(said.split("\u00b1 ")[1].split(" ")[0])
    assert expanded.expanded_uncertainty <= u < 1.1 * expanded.expanded_uncertainty
    assert "95 %" in said
    assert "never rounded down" in page.text


def test_without_certificates_no_traceability_is_stated(evaluation):
    text = Page(fd.report(evaluation).html()).text
    assert "makes no statement of traceability" in text
    assert "no statement of conformity is made" in text
    stated = {"traceability": {"statement": "by the certificates in the folder of the plant"}}
    text = Page(fd.report(evaluation, head=stated).html()).text
    assert "As stated: by the certificates in the folder of the plant" in text
    assert "no statement of traceability" not in text


def test_instruments_of_the_site_are_named_with_their_certificates(tmp_path):
    site = fd.Site.load(DEMO / "box" / "hot_steel_main.toml")
    evaluation = site.evaluate(
        {"transit_time_us": [290.0, 290.1] * 3, "time_difference_ns": [60.0, 62.0, 61.0] * 2}
    )
    head = tmp_path / "head.toml"
    head.write_text(f'instruments = "{DEMO / "box" / "instruments.toml"}"\n')
    page = Page(fd.report(evaluation, head=head).html())
    assert ["sensors", "pair for hot steel", "HM 0311"] in [row[:3] for row in page.rows]
    (electronics,) = (
        row for row in page.rows if row[:2] == ["electronics", "portable electronics"]
    )
    assert "HM-L 2026/041 (2026-02-12)" in electronics[3]


def test_the_decision_rule_is_that_of_the_verification(evaluation, verification):
    page = Page(fd.report(evaluation, verification=verification, head=HEAD).html())
    assert "Requirement: permissible error -3 % to +3 %." in page.text
    assert "guarded acceptance" in page.text and "95 %" in page.text
    assert "JCGM 106:2012" in page.text
    assert "no statement of conformity" not in page.text


@pytest.mark.parametrize(
    ("limits", "rule", "said"),
    [
        ({"upper": "1050 m3/h"}, "simple acceptance", "conforms"),
        ({"upper": "1050 m3/h"}, "guarded acceptance", "does not conform"),
        ({"upper": "1050 m3/h"}, "guarded rejection", "conforms"),
        ({"upper": "1100 m3/h", "lower": "0.27 m3/s"}, "guarded acceptance", "conforms"),
        ({"lower": "1100 m3/h"}, "guarded rejection", "does not conform"),
    ],
)
def test_a_requirement_on_the_flow_is_judged(evaluation, limits, rule, said):
    """JCGM 106:2012, 8.2, 8.3.2 and 8.3.3; the probability by the normal distribution."""
    head = {"requirement": {**limits, "rule": rule, "source": "contract, clause 4"}}
    page = Page(fd.report(evaluation, head=head).html())
    (line,) = (line for line in page.text.split("\n") if "Statement of conformity" in line)
    assert f"the flow {said} (" in line
    assert "(contract, clause 4)" in page.text and f"Decision rule: {rule}." in page.text
    assert "no statement of conformity" not in page.text
    if limits == {"upper": "1050 m3/h"}:
        flow, u = evaluation.budget.result()
        p = statistics.NormalDist(flow, u).cdf(1050.0)
        shown = float(line.split("probability of conformity ")[1].split(" %")[0])
        assert shown == pytest.approx(100 * p, abs=0.1)


def test_a_verification_has_a_report_of_its_own(verification, tmp_path, capsys):
    pytest.importorskip("typst")
    made = fd.report(verification, head=HEAD)
    page = Page(made.html())
    assert verification.headline[1:] in page.text
    assert page.row("customer")
    assert made.reproduces is None
    assert made.pdf().startswith(b"%PDF-")
    run = tmp_path / "verification.json"
    verification.record().save(run)
    of_record = fd.report(fd.Record.load(run), head=HEAD)
    assert of_record.reproduces is True
    assert verification.record().digest in Page(of_record.html()).text
    head = tmp_path / "head.toml"
    head.write_text(fd.head_starter())
    printed = tmp_path / "report.html"
    arguments = ["report", str(run), "--head", str(head), "--output", str(printed)]
    assert cli.main(arguments) == cli.DONE
    assert "purchase order 4711" in printed.read_text()
    assert cli.main(arguments) == cli.NOT_DONE
    assert "exists" in capsys.readouterr().err
    of_flow = {"requirement": {"upper": "1050 m3/h"}}
    for more in ({"digits": 1}, {"verification": verification}, {"head": of_flow}):
        with pytest.raises(fd.InputError, match="with an evaluation only"):
            fd.report(verification, **more)


def test_the_starter_is_a_head(capsys):
    assert cli.main(["starter", "--head"]) == cli.DONE
    assert capsys.readouterr().out == fd.head_starter()
    assert set(tomllib.loads(fd.head_starter())) > {"report", "customer", "people", "instrument"}


@pytest.mark.parametrize(
    ("head", "field", "allowed"),
    [
        ({"custmer": {}}, "custmer", "did you mean `customer`"),
        ({"report": {"numbr": "1"}}, "report.numbr", "did you mean `number`"),
        ({"report": {"number": 1.5}}, "report.number", "text"),
        ({"report": "1"}, "report", "a table of keys"),
        ({"people": {"measured_by": 3}}, "people.measured_by", "a list of texts"),
        ({"people": {"measured_by": [["x"]]}}, "people.measured_by[0]", "text"),
        ({"instrument": {"name": "x"}}, "instrument", "a list of tables"),
        ({"instrument": [{"serial_number": "x"}]}, "instrument[0].name", "name of the instrument"),
        ({"instrument": [{"nam": "x"}]}, "instrument[0].nam", "did you mean `name`"),
        ({"report": {"remarks": "x" * 3000}}, "report.remarks", "2000 letters"),
        ({"requirement": {"rule": "simple acceptance"}}, "requirement", "lower or upper"),
        ({"requirement": {"upper": "1 m3/h", "rule": "x"}}, "requirement.rule", "guarded"),
        ({"requirement": {"upper": "1 m3/h", "probability": 2}}, "requirement.probability", "0.95"),
        ({"requirement": {"upper": "1 kg"}}, "requirement.upper", "m3/h"),
        ({"report": {"letterhead": "no.png"}}, "report.letterhead", "PNG, JPEG or SVG"),
    ],
)
def test_what_is_no_head_is_refused(evaluation, head, field, allowed):
    with pytest.raises(fd.FlowdoubtError) as error:
        fd.report(evaluation, head=head)
    assert error.value.field == field
    assert allowed in str(error.value)


def test_a_file_that_is_no_head_is_refused(evaluation, tmp_path):
    for text in ("no = [", "\0", "= 3"):
        (tmp_path / "head.toml").write_text(text)
        with pytest.raises(fd.InputError, match="allowed: TOML"):
            fd.report(evaluation, head=tmp_path / "head.toml")
    with pytest.raises(fd.InputError, match="head of a report"):
        fd.report(evaluation, head=tmp_path / "nowhere.toml")
    with pytest.raises(fd.InputError, match="head of a report"):
        fd.report(evaluation, head=tmp_path)


def test_hostile_text_in_a_head_is_text(evaluation):
    pytest.importorskip("typst")
    pypdf = pytest.importorskip("pypdf")

    def hostile(value):
        if isinstance(value, dict):
            return {key: hostile(own) for key, own in value.items()}
        return [hostile(own) for own in value] if isinstance(value, list) else HOSTILE

    head = hostile(HEAD)
    made = fd.report(evaluation, head=head)
    html = made.html()
    page = Page(html)
    assert "<script>" not in html and "script" not in page.tags
    assert page.row("order") == [HOSTILE]
    text = "".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(made.pdf())).pages)
    assert "".join(HOSTILE.split()) in "".join(text.split())
    lines = {"report": {"order": "a\nb\x1b[31m\u202ec"}}
    page = Page(fd.report(evaluation, head=lines).html())
    assert page.row("order") == [r"a\nb\u001b[31m\u202ec"]


def jpeg():
    made = io.BytesIO()
    pytest.importorskip("PIL.Image").new("L", (3, 2)).save(made, "JPEG")
    return made.getvalue()


@pytest.mark.parametrize(
    ("name", "picture"),
    [("head.png", png), ("head.jpg", jpeg), ("head.svg", SVG.encode)],
)
def test_a_letterhead_is_a_picture(evaluation, tmp_path, name, picture):
    pytest.importorskip("typst")
    (tmp_path / name).write_bytes(picture())
    head = tmp_path / "head.toml"
    head.write_text(f'[report]\nletterhead = "{name}"\n')
    made = fd.report(evaluation, head=head)
    page = Page(made.html())
    (source,) = (value for tag, key, value in page.attributes if (tag, key) == ("img", "src"))
    assert source.startswith("data:image/")
    assert page.tags.count("svg") == Page(fd.report(evaluation).html()).tags.count("svg")
    assert made.pdf().startswith(b"%PDF-")


@pytest.mark.parametrize(
    "data",
    [
        b"no picture",
        b"\x89PNG\r\n\x1a\ncut short",
        b"\xff\xd8\xff\xe0\x00\x04",
        png(9000, 1),
        b"GIF89a",
        b"%PDF-1.7",
        b"<html><svg></svg></html>",
        SVG.replace("<rect", "<script>alert(1)</script><rect").encode(),
        SVG.replace("<rect", '<rect onload="alert(1)"').encode(),
        SVG.replace("<rect", '<image href="file:///etc/passwd"/><rect').encode(),
        SVG.replace("<rect", '<image xlink:href="https://example.org/x.png"/><rect').encode(),
        SVG.replace("<rect", "<foreignObject/><rect").encode(),
        SVG.replace("<rect", '<rect style="fill:url(https://example.org)"').encode(),
        b'<!DOCTYPE svg [<!ENTITY a "b">]>' + SVG.encode(),
        b"\x89PNG\r\n\x1a\n" + bytes(3 << 20),
    ],
)
def test_what_is_no_picture_is_no_letterhead(evaluation, tmp_path, data):
    (tmp_path / "head.png").write_bytes(data)
    with pytest.raises(fd.InputError) as error:
        fd.report(evaluation, head={"report": {"letterhead": str(tmp_path / "head.png")}})
    assert error.value.field == "report.letterhead"
    assert error.value.code == "not-a-picture"
