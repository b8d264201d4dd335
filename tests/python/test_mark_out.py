"""Where the sensors go, and the sheet: measured where it is printed, not where it is drawn."""

import functools
import itertools
import json
import math
import random
import re
import sys
import zlib
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest

import flowdoubt as fd
from flowdoubt import cli
from flowdoubt.sheet.drawing import Box
from flowdoubt.sheet.tiles import OVERLAP
from flowdoubt.sheet.wrap import Places, wrap_sheet

SVG = "{http://www.w3.org/2000/svg}"
POINTS = 72 / 25.4


def site_text(
    name="A works", *, outside="168.3 mm", wall="7.11 mm", traverses=2, path="", temperature=True
):
    stated = 'temperature = "20 degC"' if temperature else ""
    return f"""
[site]
name = "{name}"
[liquid]
kind = "water"
{stated}
absolute_pressure = "5 bar"
[pipe]
outside_diameter = "{outside}"
wall = "{wall}"
wall_sound_speed = "3230 m/s"
[path]
basis = "timed"
traverses = {traverses}
wedge_angle = "40 deg"
wedge_sound_speed = "2430 m/s"
{path}
[meter]
wedge_delay = "16 us"
"""


def marked(**site):
    return fd.Site.from_toml(site_text(**site)).mark_out()


# a pipe whose sheet is one page, one in strips on a page or two, one whose spacing is too long
SMALL = {"outside": "60.3 mm", "wall": "3.9 mm"}
LARGE = {"outside": "508 mm", "wall": "9.5 mm", "traverses": 1}
LONG = {"outside": "508 mm", "wall": "9.5 mm", "traverses": 2}


def expected_spacing(d, e, n, liner=0.0, liner_speed=2300.0):
    """s = 2 e tan(theta_p) + 2 e_l tan(theta_l) + N D tan(theta_f), by Snell's law."""
    slowness = math.sin(math.radians(40)) / 2430
    speeds = (3230.0, liner_speed, float(fd.water.sound_speed(293.15, pressure=5e5)))
    wall, lined, liquid = (math.tan(math.asin(slowness * c)) for c in speeds)
    return 2 * e * wall + 2 * liner * lined + n * (d - 2 * e - 2 * liner) * liquid


@pytest.mark.parametrize("n", [1, 2, 3])
def test_numbers_are_those_of_plane_trigonometry(n):
    text = site_text(traverses=n).replace(
        "[path]", 'liner = "3 mm"\nliner_sound_speed = "2300 m/s"\n[path]'
    )
    found = fd.Site.from_toml(text).mark_out()
    expected = expected_spacing(0.1683, 0.00711, n, liner=0.003)
    assert found.spacing_m == pytest.approx(expected, rel=1e-12)
    half = math.pi * 0.1683 / 2
    assert found.half_circumference_m == pytest.approx(half, rel=1e-14)
    assert found.circumference_m == pytest.approx(2 * half, rel=1e-14)
    assert found.offset_round_pipe_m == (found.half_circumference_m if n % 2 else 0.0)
    assert found.direct is bool(n % 2)
    assert found.inside_diameter_m == pytest.approx(0.1683 - 2 * 0.01011)
    assert found.wall_and_lining_m == pytest.approx(0.01011)


def test_tolerance_is_the_difference_of_evaluations_with_moved_sensors():
    found = marked()
    bore, speed = found.inside_diameter_m, found.liquid_sound_speed_m_s
    in_liquid, in_wall = found.angle_in_liquid_rad, found.angle_in_wall_rad
    time = 2 * bore / (speed * math.cos(in_liquid)) + 16e-6
    time += 2 * 0.00711 / (3230 * math.cos(in_wall))
    # a mean velocity of 1 m/s on the path
    difference = 2 * 2 * bore * math.tan(in_liquid) / (speed**2 - 1)
    readings = {
        "time_difference_ns": [1e9 * difference] * 2,
        "transit_time_us": [1e6 * time] * 2,
    }

    def flow(mm, extra=""):
        path = f'angle_from = "spacing"\nspacing = "{1e3 * found.spacing_m + mm} mm"\n{extra}'
        return fd.Site.from_toml(site_text(path=path)).evaluate(readings).estimate

    expected = flow(1.0) / flow(0.0) - 1
    found_by = found.flow_change(axial_m=1e-3, angle_from="spacing")
    assert found_by == pytest.approx(expected, rel=1e-7)
    slope = (flow(0.5) - flow(-0.5)) / flow(0.0) / 1e-3
    assert found.axial_sensitivity_from_spacing_per_m == pytest.approx(slope, rel=1e-5)
    assert found.axial_sensitivity_from_wedge_per_m == 0.0
    assert found.flow_change(axial_m=1e-3) == 0.0

    round_pipe = found.flow_change(round_pipe_m=8e-3, angle_from="spacing")
    moved = flow(0.0, 'circumferential_misplacement = "8 mm"') / flow(0.0) - 1
    # sums on the axis and on a chord agree within 1e-8
    assert round_pipe == pytest.approx(moved, abs=1e-7)
    assert abs(moved) > 1e-6


def test_everything_is_there_as_attributes_and_as_json(demo_text):
    site = fd.Site.from_toml(demo_text)
    found = site.mark_out(temperature="8 degC", temperature_standard_uncertainty="0.5 K")
    values = found.to_dict()
    assert json.loads(json.dumps(values)) == values
    for name, value in values.items():
        if name not in ("warnings", "advice"):
            assert getattr(found, name) == value
    assert found.spacing_budget.result("SI")[1] == found.spacing_standard_uncertainty_m
    assert found.half_circumference_budget.value("SI") == found.half_circumference_m
    sharp = site.mark_out(temperature="281.15 K")
    assert sharp.spacing_m == found.spacing_m
    assert sharp.spacing_standard_uncertainty_m < found.spacing_standard_uncertainty_m
    assert str(found) == found.in_words
    assert f"{1e3 * found.spacing_m:.1f} mm" in repr(found)
    assert found.sensors_overlap is None


def test_sensors_that_overlap_are_named():
    found = marked(path='sensor_length = "200 mm"')
    assert found.sensors_overlap is True
    assert found.gap_m == pytest.approx(found.spacing_m - 0.2)
    assert [code for code, _ in found.warnings] == ["sensors-overlap"]
    assert "sensors-overlap" in found._repr_html_()


HOSTILE = "<script>alert('$\\\\nope^2$')</script> & \\\"Co\\\" %d \\u0007 \\u4e2d"


def test_words_of_users_are_escaped(tmp_path):
    found = marked(name=HOSTILE)
    html = found._repr_html_()
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    svg = found.svg()
    assert "<script" not in svg
    root = ElementTree.fromstring(svg)  # and control characters would not be XML
    titles = [element.text for element in root.iter(f"{SVG}text")]
    assert any("<script>alert('$\\nope^2$')</script> & \"Co\" %d" in title for title in titles)
    # neither a formula nor a character that the font lacks is an error, nor a warning
    found.sheet(tmp_path / "sheet.pdf")


def test_warnings_of_the_cover_end_above_the_bars():
    from flowdoubt.sheet.pages import printed_pages
    from flowdoubt.sheet.tiles import FOOTER, MARGIN, page_of, tiling
    from flowdoubt.sheet.wrap import Places

    large = marked(**LARGE)
    own = {name: getattr(large, name) for name in dir(large) if not name.startswith("_")}
    for count in range(1, 9):
        warnings = tuple((f"code-{n}", "words " * 40) for n in range(count))
        found = SimpleNamespace(**{**own, "warnings": warnings})
        chosen, upright = tiling(Places.of(found), "Letter", None), page_of("Letter", upright=True)
        cover = printed_pages(found, chosen, upright)[0].own.shapes
        shown = [s for s in cover if "words words" in getattr(s, "text", "")]
        assert shown
        assert max(s.y for s in shown) <= upright.height - MARGIN - FOOTER
        named = sum("code-" in getattr(s, "text", "") for s in cover)
        more = [s.text for s in cover if "more warnings" in getattr(s, "text", "")]
        left_out = int(more[0].split()[0]) if more else 0
        assert named + left_out == count


# the sheet as SVG


def element(root, name):
    (found,) = [e for e in root.iter() if e.get("id") == name]
    return {key: float(value) for key, value in found.items() if re.fullmatch(r"[-\d.]+", value)}


@pytest.mark.parametrize("case", [SMALL, LARGE, LONG, {}])
def test_the_svg_is_to_scale(case):
    found = marked(**case)
    root = ElementTree.fromstring(found.svg())
    x, y, width, height = map(float, root.get("viewBox").split())
    # one unit is a millimetre
    assert root.get("width") == f"{root.get('viewBox').split()[2]}mm"
    assert root.get("height") == f"{root.get('viewBox').split()[3]}mm"
    a, b = element(root, "mark-A"), element(root, "mark-B")
    assert b["cx"] - a["cx"] == pytest.approx(1e3 * found.spacing_m, abs=2e-3)
    assert b["cy"] - a["cy"] == pytest.approx(1e3 * found.offset_round_pipe_m, abs=2e-3)
    centre, closing = element(root, "centre-line"), element(root, "closing-line")
    assert centre["y1"] == centre["y2"] == a["cy"]
    apart = closing["y1"] - centre["y1"]
    assert apart == pytest.approx(1e3 * found.circumference_m, abs=2e-3)
    if found.direct:
        half = element(root, "half-circumference-line")
        assert half["y1"] == b["cy"]
    for name, length in (("scale-100-mm", 100.0), ("scale-4-in", 101.6)):
        bar = element(root, name)
        assert bar["x2"] - bar["x1"] == pytest.approx(length, abs=1e-9)
    # nothing is cut off at the edge of the paper
    for shape in root.iter(f"{SVG}line"):
        for key, low, high in (("x", x, x + width), ("y", y, y + height)):
            for end in "12":
                assert low - 1e-3 <= float(shape.get(key + end)) <= high + 1e-3


# the sheet as PDF, read without tools: page boxes, and lines of the content streams


class Pdf:
    """As much of a PDF file as matplotlib writes."""

    def __init__(self, content):
        self.content = content
        boxes = re.findall(rb"/MediaBox \[ ([^\]]*) \]", content)
        self.sizes = [tuple(float(v) / POINTS for v in box.split()[2:]) for box in boxes]
        streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, re.DOTALL)
        self.pages = []
        for stream in streams:
            try:
                text = zlib.decompress(stream).decode("latin-1")
            except zlib.error:
                continue
            if re.search(r"^[-\d. ]+ m$", text, re.MULTILINE):
                self.pages.append(text)

    def lines(self, page):
        """Straight lines of a page as ends in mm."""
        number = r"(-?[\d.]+)"
        ends = rf"{number} {number} m\n{number} {number} l\n+S"
        found = re.findall(ends, self.pages[page])
        return [tuple(float(v) / POINTS for v in line) for line in found]


def level(lines):
    return [line for line in lines if abs(line[1] - line[3]) < 1e-6]


def upright(lines):
    return [line for line in lines if abs(line[0] - line[2]) < 1e-6]


def has_length(lines, length):
    return any(math.dist(line[:2], line[2:]) == pytest.approx(length, abs=0.02) for line in lines)


@pytest.mark.parametrize(
    ("paper", "width", "height"), [("A4", 210, 297), ("Letter", 215.9, 279.4), ("a3", 297, 420)]
)
def test_pages_have_the_size_of_the_paper(tmp_path, paper, width, height):
    target = tmp_path / "sheet.pdf"
    marked(**LARGE).sheet(target, paper)
    pdf = Pdf(target.read_bytes())
    assert len(pdf.sizes) == len(pdf.pages) == 2
    for size in pdf.sizes:
        assert sorted(size) == pytest.approx([width, height], abs=0.01)
    for page in range(2):
        for length in (100.0, 101.6):
            assert has_length(level(pdf.lines(page)), length)


@pytest.mark.parametrize("case", [SMALL, LARGE])
def test_marks_of_a_page_are_as_far_apart_as_the_sensors(tmp_path, case):
    found = marked(**case)
    target = tmp_path / "sheet.pdf"
    found.sheet(target)
    pdf = Pdf(target.read_bytes())
    for page in range(1, len(pdf.pages)):
        lines = pdf.lines(page)
        assert has_length(level(lines), 1e3 * found.spacing_m)  # the dimension
        crosses = [line for line in upright(lines) if has_length([line], 14.0)]
        assert len(crosses) == 2
        apart = abs(crosses[0][0] - crosses[1][0])
        assert apart == pytest.approx(1e3 * found.spacing_m, abs=0.02)


def test_tiles_show_all_of_the_sheet_and_lie_over_each_other(laid_out):
    for found, chosen, _ in laid_out("all"):
        assert len({tile.name for tile in chosen.tiles}) == len(chosen.tiles), told(found, chosen)
        seen = [tile.seen for tile in chosen.tiles]
        sheet = Places.of(found).box
        assert (min(s.x1 for s in seen), min(s.y1 for s in seen)) == (sheet.x1, sheet.y1)
        assert max(s.x2 for s in seen) >= sheet.x2 - 1e-9
        assert max(s.y2 for s in seen) >= sheet.y2 - 1e-9
        for starts, length in (
            ({s.x1 for s in seen}, chosen.page.window.width),
            ({s.y1 for s in seen}, chosen.page.window.height),
        ):
            for one, other in itertools.pairwise(sorted(starts)):
                assert 0 < other - one <= length - OVERLAP + 1e-9, told(found, chosen)


# what must hold of the pages of any pipe

MARK_CLEAR = 12.0  # of a cross from a joint, in mm: its arms are 7 mm long
REGISTER_CLEAR = 20.0


@pytest.fixture(scope="module")
def any_mark_out():
    """Mark-outs of many pipes, spacings and sensors, made without the model of a path."""
    plain = marked()
    own = {name: getattr(plain, name) for name in dir(plain) if not name.startswith("_")}
    draw = random.Random(20261130)

    def one(diameter, spacing, direct, length):
        half = math.pi * diameter / 2
        lengths = {
            "spacing_m": spacing,
            "circumference_m": 2 * half,
            "half_circumference_m": half,
            "offset_round_pipe_m": half if direct else 0.0,
            "sensor_length_m": length,
            "direct": direct,
        }
        return SimpleNamespace(**{**own, **lengths})

    found = []
    for diameter in (0.025, 0.063, 0.1683, 0.4064, 1.016):
        for direct in (True, False):
            for spacing in (0.4, 0.9, 1.7):
                found.append(one(diameter, spacing * diameter, direct, None))
    for _ in range(60):
        diameter = 0.02 * 60 ** draw.random()
        spacing = diameter * draw.uniform(0.2, 2.2)
        length = draw.choice([None, None, draw.uniform(0.03, 0.15)])
        found.append(one(diameter, spacing, draw.random() < 0.5, length))
    return found


@pytest.fixture(scope="module")
def laid_out(any_mark_out):
    """Tell each mark-out with its tiling and its pages after the cover, for tiles as asked for."""
    return functools.cache(lambda tiles: list(_laid_out(any_mark_out, tiles)))


def _laid_out(mark_outs, tiles):
    from flowdoubt.sheet.pages import printed_pages
    from flowdoubt.sheet.tiles import page_of, tiling
    from flowdoubt.sheet.wrap import Places

    for found in mark_outs:
        for paper in ("A4", "A3", "Letter"):
            if tiles == "all" and found.circumference_m > 2.5:
                continue
            chosen = tiling(Places.of(found), paper, tiles)
            yield found, chosen, printed_pages(found, chosen, page_of(paper, upright=True))[1:]


def marks_of(found):
    return [(0.0, 0.0), (1e3 * found.spacing_m, 1e3 * found.offset_round_pipe_m)]


def told(found, chosen):
    return (
        f"D {1e3 * found.circumference_m / math.pi:.1f} mm, "
        f"spacing {1e3 * found.spacing_m:.1f} mm, "
        f"direct {found.direct}, sensor {found.sensor_length_m}, "
        f"page {chosen.page.width:.0f} x {chosen.page.height:.0f}"
    )


def test_no_cross_lies_on_a_joint(laid_out):
    """A page is cut along the left and the upper side of what it shows, and pasted over others."""
    for found, chosen, _ in laid_out("all"):
        for x, y in marks_of(found):
            for tile in chosen.tiles:
                seen = tile.seen
                if tile.column:
                    assert abs(x - seen.x1) >= MARK_CLEAR, told(found, chosen)
                if tile.row:
                    assert abs(y - seen.y1) >= MARK_CLEAR, told(found, chosen)
            # and the page that lies on top has all of it
            over = [t.seen for t in chosen.tiles if t.seen.holds(Box(x, y, x, y))][-1]
            around = Box(x - MARK_CLEAR, y - MARK_CLEAR, x + MARK_CLEAR, y + MARK_CLEAR)
            assert over.holds(around), told(found, chosen)


def registers(chosen, pages):
    """Where register crosses lie on the sheet, each with the tiles that have it."""
    places = {}
    for tile, page in zip(chosen.tiles, pages, strict=True):
        for shape in page.own.shapes:
            if getattr(shape, "radius", None) == 1.5:
                at = (shape.x - tile.window.x1 + tile.x, shape.y - tile.window.y1 + tile.y)
                places.setdefault(tuple(round(v, 6) for v in at), []).append(tile)
    return places


def test_register_crosses_keep_clear_of_marks_and_are_on_all_pages_that_meet(laid_out):
    for found, chosen, pages in laid_out("all"):
        places = registers(chosen, pages)
        for (x, y), on in places.items():
            assert len(on) >= 2, told(found, chosen)
            for mark in marks_of(found):
                assert math.dist((x, y), mark) >= REGISTER_CLEAR, told(found, chosen)
        # two at least hold each page to one before it
        for tile in chosen.tiles[1:]:
            before = [p for p, on in places.items() if tile in on and on[0] is not tile]
            assert len(before) >= 2, told(found, chosen)


def test_no_page_is_half_empty(laid_out):
    for tiles in ("all", "strips", None):
        for found, chosen, _ in laid_out(tiles):
            if len(chosen.tiles) == 1 and chosen.pasted:
                continue
            paper = Places.of(found).box
            for tile in chosen.tiles if chosen.pasted else ():
                seen = tile.seen
                across = (min(seen.x2, paper.x2) - max(seen.x1, paper.x1)) / seen.width
                down = (min(seen.y2, paper.y2) - max(seen.y1, paper.y1)) / seen.height
                # a narrow sheet that was asked for takes narrow pages, but as long as they are
                if tiles == "all":
                    across = across if any(t.column for t in chosen.tiles) else 1.0
                    down = down if any(t.row for t in chosen.tiles) else 1.0
                assert across * down > 0.5, (across, down, told(found, chosen))
            if not chosen.pasted:
                # one page of strips, whose windows take all of it
                assert {tile.page for tile in chosen.tiles} == {0}, told(found, chosen)
                area = sum(t.window.width * t.window.height for t in chosen.tiles)
                page = chosen.page.window
                assert area > 0.8 * page.width * page.height, told(found, chosen)


def test_the_half_circumference_is_printed_once(laid_out):
    for tiles in ("all", "strips", None):
        for found, chosen, pages in laid_out(tiles):
            words = "half circumference" if chosen.pasted else "half the circumference"
            whole = cut = 0
            for page in pages:
                for drawing in (page.own, *page.windows):
                    for shape in drawing.shapes:
                        if words in getattr(shape, "text", ""):
                            whole += drawing.box.holds(shape.box())
                            cut += not drawing.box.holds(shape.box())
            if not found.direct:
                assert whole == cut == 0, told(found, chosen)
            else:
                # pages that show nearly the same both have it
                rows = sorted({tile.y for tile in chosen.tiles}) if chosen.pasted else []
                steps = [b - a for a, b in itertools.pairwise(rows)]
                alike = any(step < 0.65 * chosen.page.window.height for step in steps)
                assert cut == 0, told(found, chosen)
                assert whole == 1 or (alike and whole == 2), told(found, chosen)


def test_each_strip_has_all_the_words_of_its_mark(laid_out):
    for found, chosen, pages in laid_out("strips"):
        shapes = [shape for page in pages for own in page.windows for shape in own.shapes]
        said = [shape.text for shape in shapes if hasattr(shape, "text")]
        for words in ("upstream", "downstream"):
            assert f"exit point, {words} sensor" in said, told(found, chosen)
        assert {"A", "B"} <= set(said), told(found, chosen)
        assert sum(text.startswith("axial spacing") for text in said) >= 1, told(found, chosen)


def test_no_dimension_crosses_the_words_of_a_mark(any_mark_out):
    for found in any_mark_out:
        shapes = wrap_sheet(found).shapes
        lines = [s.box() for s in shapes if not hasattr(s, "text") and not hasattr(s, "points")]
        # circles and edges go all the way; the arms of a cross are short
        whole = wrap_sheet(found).box.height - 1e-6
        lines = [box for box in lines if box.width == 0 and 30 < box.height < whole]
        for text in (s for s in shapes if "exit point" in getattr(s, "text", "")):
            assert not any(text.box().meets(line) for line in lines), text


def test_pages_are_those_asked_for(tmp_path):
    def pages(case, **options):
        target = tmp_path / "sheet.pdf"
        marked(**case).sheet(target, overwrite=True, **options)
        return len(Pdf(target.read_bytes()).pages)

    assert pages(SMALL) == 2  # all of it on one page, after the cover
    assert pages(LARGE) == 2  # a strip for each side, both on one page
    assert pages(LONG) == 2  # a strip for each mark, a tape between
    assert pages({}) == 2  # both marks on one strip
    assert pages(LARGE, tiles="all") > 10


@pytest.mark.parametrize("suffix", ["pdf", "svg"])
def test_the_same_site_gives_the_same_bytes(tmp_path, suffix):
    for name in ("one", "other"):
        marked(**LARGE).sheet(tmp_path / f"{name}.{suffix}")
    one, other = (tmp_path / f"{name}.{suffix}" for name in ("one", "other"))
    assert one.read_bytes() == other.read_bytes()
    assert b"CreationDate" not in one.read_bytes()
    another = tmp_path / f"another.{suffix}"
    marked(**{**LARGE, "name": "B works"}).sheet(another)
    assert another.read_bytes() != one.read_bytes()


def test_settings_of_matplotlib_have_no_part_in_the_sheet(tmp_path):
    import matplotlib as mpl

    found = marked()
    found.sheet(tmp_path / "plain.pdf")
    with mpl.rc_context({"font.family": "monospace", "lines.linewidth": 9, "pdf.fonttype": 3}):
        before = dict(mpl.rcParams)
        found.sheet(tmp_path / "set.pdf")
        assert dict(mpl.rcParams) == before
    assert (tmp_path / "plain.pdf").read_bytes() == (tmp_path / "set.pdf").read_bytes()


@pytest.mark.parametrize("suffix", ["pdf", "svg"])
def test_a_file_is_replaced_on_request_only(tmp_path, suffix):
    target = tmp_path / f"sheet.{suffix}"
    target.write_text("mine")
    found = marked()
    with pytest.raises(fd.RecordError, match="exists") as caught:
        found.sheet(target)
    assert caught.value.code == "exists"
    assert target.read_text() == "mine"
    found.sheet(target, overwrite=True)
    assert target.stat().st_size > 1000
    assert [path.name for path in tmp_path.iterdir()] == [target.name]


@pytest.mark.parametrize(
    ("options", "field", "allowed"),
    [
        ({"path": "sheet.png"}, "path", ".pdf, .svg"),
        ({"paper": "A5"}, "paper", "A4, A3, Letter"),
        ({"tiles": "some"}, "tiles", "strips, all"),
    ],
)
def test_unknown_choices_are_refused(tmp_path, options, field, allowed):
    options = {"path": "sheet.pdf", **options}
    target = tmp_path / options.pop("path")
    with pytest.raises(fd.InputError) as caught:
        marked().sheet(target, **options)
    assert (caught.value.field, caught.value.allowed) == (field, allowed)
    assert not target.exists()


def test_more_pages_than_anybody_pastes_are_refused(tmp_path):
    huge = marked(outside="4000 mm", wall="20 mm")
    with pytest.raises(fd.RangeError, match='take tiles="strips"') as caught:
        huge.sheet(tmp_path / "sheet.pdf", tiles="all")
    assert caught.value.field == "tiles"
    huge.sheet(tmp_path / "sheet.pdf")


def test_svg_needs_no_matplotlib(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    found = marked()
    found.sheet(tmp_path / "sheet.svg")
    with pytest.raises(fd.InputError, match="needed: matplotlib") as caught:
        found.sheet(tmp_path / "sheet.pdf")
    assert caught.value.field == "matplotlib"


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(fd.InputError, match="nowhere"):
        marked().sheet(tmp_path / "nowhere" / "sheet.svg")


@pytest.mark.parametrize(
    ("changes", "arguments", "error", "field"),
    [
        ({"temperature": False}, {}, fd.InputError, "temperature"),
        ({}, {"temperature": "20 degC"}, fd.InputError, "temperature"),
        ({"temperature": False}, {"temperature": "20 mm"}, fd.UnitError, "temperature"),
        ({"temperature": False}, {"temperature": "20"}, fd.UnitError, "temperature"),
        ({}, {"velocity": "-1 m/s"}, fd.RangeError, "velocity"),
        ({"wall": "90 mm"}, {}, fd.RangeError, "pipe.inside_diameter"),
    ],
)
def test_what_cannot_be_marked_out_is_refused(changes, arguments, error, field):
    site = fd.Site.from_toml(site_text(**changes))
    with pytest.raises(error) as caught:
        site.mark_out(**arguments)
    assert caught.value.field == field
    assert caught.value.allowed


def test_an_indicated_site_without_path_is_told_what_it_lacks():
    text = (
        site_text().replace('"timed"', '"indicated"').replace('wedge_angle = "40 deg"\n', "")
        + "[meter.programmed]\nprofile_factor = 1.0\n"
    )
    with pytest.raises(fd.InputError, match="sound path rests on it") as caught:
        fd.Site.from_toml(text).mark_out()
    assert caught.value.field == "path.wedge_angle"


def test_flow_change_refuses_what_the_model_has_not():
    found = marked()
    with pytest.raises(fd.RangeError, match="quarter of the circumference"):
        found.flow_change(round_pipe_m=0.2)
    with pytest.raises(fd.InputError, match="wedge, spacing"):
        found.flow_change(axial_m=1e-3, angle_from="rail")


# the command line


def test_markout_prints_numbers_and_writes_the_sheet(tmp_path, capsys):
    target = tmp_path / "sheet.pdf"
    command = ["markout", "notebooks/demo/site.toml", "--temperature", "8 degC"]
    assert cli.main([*command, "--sheet", str(target)]) == 0
    printed = capsys.readouterr()
    found = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
    assert found.in_words in printed.out
    assert "licensed practice" in printed.out
    assert "print at 100 %" in printed.err
    assert target.read_bytes().startswith(b"%PDF-")
    assert cli.main([*command, "--sheet", str(target)]) == 2
    assert "exists" in capsys.readouterr().err
    again = [*command, "--sheet", str(target), "--overwrite", "--paper", "Letter", "--json"]
    assert cli.main(again) == 0
    assert json.loads(capsys.readouterr().out) == found.to_dict()
    sizes = Pdf(target.read_bytes()).sizes
    assert sorted(sizes[0]) == pytest.approx([215.9, 279.4], abs=0.01)


@pytest.mark.parametrize(
    "options", [[], ["--temperature", "8 bar"], ["--temperature", "8 degC", "--sheet", "x.doc"]]
)
def test_bad_input_of_markout_ends_with_status_2(capsys, options):
    assert cli.main(["markout", "notebooks/demo/site.toml", *options]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err.startswith("flowdoubt: ")
    assert printed.err.count("\n") == 1
