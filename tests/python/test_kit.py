"""Instruments that one owns: what fits a site, what to take, what was delivered."""

from __future__ import annotations

import json
import pickle
from pathlib import Path

import pypdf
import pytest
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextToPath

import flowdoubt as fd
from flowdoubt.cli import main
from flowdoubt.sheet.checklist import checklist_pages
from flowdoubt.sheet.drawing import Words
from flowdoubt.sheet.tiles import MARGIN, page_of

BOX = Path("notebooks/demo/box")
DAY = {"date": "2026-05-30", "cable_run": "4 m"}


@pytest.fixture(scope="module")
def box() -> fd.Inventory:
    return fd.Inventory.load(BOX / "instruments.toml")


@pytest.fixture(scope="module")
def hot() -> fd.Site:
    return fd.Site.load(BOX / "hot_steel_main.toml")


@pytest.fixture(scope="module")
def plastic() -> fd.Site:
    return fd.Site.load(BOX / "small_plastic_pipe.toml")


def test_an_inventory_lists_its_things(box: fd.Inventory) -> None:
    table = box.to_pandas()
    assert len(table) == len(box) == len(box.things)
    assert list(table["kind"].unique()) == [
        "sensors",
        "electronics",
        "cables",
        "couplant",
        "mounting",
        "tool",
    ]
    assert box.to_polars().height == len(box)
    html = box._repr_html_()
    assert all(thing["name"] in html for thing in box.things)
    assert "HM-L 2026/041" in html


def test_a_site_is_loaded_with_the_instruments_it_names(box: fd.Inventory, tmp_path: Path) -> None:
    text = (BOX / "hot_steel_main.toml").read_text().replace('file = "instruments.toml"\n', "")
    path = tmp_path / "site.toml"
    path.write_text(text)
    with pytest.raises(fd.InputError, match=r"instruments\.file: missing"):
        fd.Site.load(path)
    site = fd.Site.load(path, instruments=box)
    assert site.text == fd.Site.load(BOX / "hot_steel_main.toml").text
    assert pickle.loads(pickle.dumps(site)).text == site.text
    assert dict(site.choices)["couplant"] == "silicone grease"


def test_a_record_of_such_a_site_stands_on_its_own(plastic: fd.Site, tmp_path: Path) -> None:
    plan = plastic.plan("8 m3/h", "27 degC")
    record = plastic.evaluate(plan.rehearsal(0)).record()
    path = tmp_path / "record.json"
    record.save(path)
    assert fd.reproduce(path)
    assert "serial number HM 0117" in path.read_text()


def test_all_that_one_owns_is_tried_and_what_does_not_fit_says_why(
    plastic: fd.Site, hot: fd.Site, box: fd.Inventory
) -> None:
    plan = plastic.plan(
        "8 m3/h", "27 degC", traverses=[1, 2], instruments=box, target="4.5 %", **DAY
    )
    assert plan.alternatives == ["2 traverses (reflected), slim pair"]
    reasons = {(row["thing"], row["misfit"]): row["reason"] for row in plan.not_fitting}
    assert reasons["wide pair", "wrong kind"].startswith("wall of PVC-U; made for carbon steel")
    label, cost = plan.cheapest_on_target or ("", 0.0)
    # sensors 30, electronics 50, cables 5, gel 2, rail 5; the straps cost nothing
    assert (label, cost) == ("2 traverses (reflected), slim pair", 92.0)
    assert "cheapest that reaches the target" in str(plan)
    assert "wall of PVC-U" in plan._repr_html_()
    too_far = plastic.plan("8 m3/h", "27 degC", instruments=box, cable_run="30 m")
    assert too_far.alternatives == []
    assert "30 m to the electronics; it has 10 m" in str(too_far)
    assert len(too_far.to_pandas()) == 0
    assert "no set of instruments fits this site" in str(too_far)
    assert "no set of instruments fits this site" in too_far._repr_html_()
    wanted = plastic.plan("8 m3/h", "27 degC", instruments=box, cable_run="30 m", target="90 %")
    assert wanted.reachable is False
    assert wanted.cheapest_on_target is None
    only = {row["thing"] for row in hot.plan("150 m3/h", instruments=box, **DAY).not_fitting}
    assert only == {"slim pair", "wide pair"}


def test_what_is_of_no_effect_without_instruments_is_refused(plastic: fd.Site) -> None:
    with pytest.raises(fd.InputError, match="cable_run: found '8 m' without instruments"):
        plastic.plan("8 m3/h", "27 degC", cable_run="8 m")
    with pytest.raises(fd.InputError, match=r"instruments: found .* allowed: an Inventory"):
        plastic.kit("instruments.toml")  # type: ignore[arg-type]
    with pytest.raises(fd.InputError, match=r"date: found `31\.3\.2026`"):
        plastic.kit(fd.Inventory.from_toml(""), "27 degC", date="31.3.2026")
    with pytest.raises(fd.InputError, match="duration"):
        plastic.kit(fd.Inventory.from_toml(""), "27 degC", duration=3.0)


def test_the_list_is_shown_and_printed(hot: fd.Site, box: fd.Inventory, tmp_path: Path) -> None:
    kit = hot.kit(box, **DAY)
    assert kit.complete
    assert len(kit) == len(kit.items) == len(kit.findings) == len(kit.to_pandas())
    for item in kit.items:
        assert item["what"] in kit._repr_html_()
        assert item["what"] in str(kit)
    found = json.loads(kit.to_json())
    assert found["complete"] is True
    assert [item["what"] for item in found["items"]] == [item["what"] for item in kit.items]
    path = tmp_path / "kit.pdf"
    kit.page(path)
    words = "".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    assert "What to take" in words and "pair for hot steel" in words and "permit" in words
    sheet = tmp_path / "sheet.pdf"
    mark_out = hot.mark_out()
    mark_out.sheet(sheet, lists=[kit, hot.commissioning()])
    alone = tmp_path / "alone.pdf"
    mark_out.sheet(alone)
    more = len(pypdf.PdfReader(sheet).pages) - len(pypdf.PdfReader(alone).pages)
    assert more >= len(pypdf.PdfReader(path).pages) + 1
    with pytest.raises(fd.InputError, match=r"lists: found with \.svg"):
        mark_out.sheet(tmp_path / "sheet.svg", lists=[kit])


def test_the_commands_list_and_try(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    site, box = str(BOX / "hot_steel_main.toml"), str(BOX / "instruments.toml")
    assert main(["kit", site, box, "--date", "2026-05-30", "--cable-run", "4 m"]) == 0
    assert "pair for hot steel" in capsys.readouterr().out
    page = str(tmp_path / "kit.pdf")
    assert main(["kit", site, str(BOX / "delivered.toml"), "--page", page, "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["complete"] is False
    assert main(["plan", site, "--flows", "150 m3/h", "--instruments", box]) == 0
    assert "does not fit" in capsys.readouterr().out
    nothing = ["--flows", "150 m3/h", "--instruments", box, "--cable-run", "30 m"]
    assert main(["plan", site, *nothing]) == 1
    assert "no set of instruments fits this site" in capsys.readouterr().out
    sheet = str(tmp_path / "sheet.pdf")
    assert main(["markout", site, "--sheet", sheet, "--instruments", box]) == 0
    assert main(["markout", site, "--instruments", box]) == 2


def test_no_word_of_a_list_runs_off_its_page(hot: fd.Site, box: fd.Inventory) -> None:
    """Measured with the letters that are printed, not with the width that lines are broken at."""
    lists = (hot.kit(box, **DAY), hot.kit(fd.Inventory.from_toml("")), hot.commissioning())
    for one in lists:
        for page in checklist_pages(one._checklist(), page_of("A4", upright=True)):
            for words in (shape for shape in page.own.shapes if isinstance(shape, Words)):
                font = FontProperties(
                    family="DejaVu Sans", size=words.size, weight="bold" if words.bold else "normal"
                )
                width, _, _ = TextToPath().get_text_width_height_descent(words.text, font, False)
                before = {"start": 0.0, "middle": 0.5, "end": 1.0}[words.anchor] * width
                assert words.x - before >= MARGIN - 0.1, words.text
                assert words.x - before + width <= page.page.width - 0.5 * MARGIN, words.text
