"""Many sites: one table, by threads and executors, and no site lost."""

import shutil
from concurrent.futures import Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import flowdoubt as fd
from flowdoubt import cli

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Five sites, of which two fail, in both ways of laying them out."""
    folder = tmp_path_factory.mktemp("sites")
    text = (DEMO / "site.toml").read_text()
    for number, angle in enumerate(("39.6 deg", "39.0 deg", "60 deg")):
        own = text.replace('"39.6 deg"', f'"{angle}"').replace("plant 2", f"plant {number}")
        (folder / f"plant_{number}.toml").write_text(own)
        shutil.copy(DEMO / "readings.csv", folder / f"plant_{number}.csv")
    (folder / "lonely.toml").write_text(text)
    (folder / "notes.txt").write_text("no site")
    below = folder / "works"
    below.mkdir()
    shutil.copy(DEMO / "site.toml", below)
    shutil.copy(DEMO / "readings.csv", below)
    return folder


def rows_of(table):
    """Rows in which NaN equals itself."""
    return [{name: repr(value) for name, value in row.items()} for row in table.rows]


def test_a_folder_becomes_a_table(folder, demo):
    table = fd.evaluate_sites(folder)
    names = [Path(row["file"]).relative_to(folder).as_posix() for row in table.rows]
    assert names == [
        "lonely.toml",
        "plant_0.toml",
        "plant_1.toml",
        "plant_2.toml",
        "works/site.toml",
    ]
    first, whole = table.rows[1], table.rows[4]
    for row in (first, whole):
        assert row["volume_flow_m3_s"] == demo.value("SI")
        assert row["standard_uncertainty"] == demo.standard_uncertainty
        expanded = demo.expanded().value("SI")
        assert row["expanded_uncertainty_m3_s"] == expanded
        assert row["headline"] == demo.headline
        assert not row["error"]
    assert first["site"].endswith("plant 0, supply main")
    assert [row["file"] for row in table.failed] == [
        str(folder / "lonely.toml"),
        str(folder / "plant_2.toml"),
    ]
    assert "lonely.csv" in table.rows[0]["error"]
    assert "wedge to wall" in table.rows[3]["error"] and np.isnan(table.rows[3]["volume_flow_m3_s"])
    assert table.rows[3]["site"].endswith("plant 2, supply main")
    # a wedge of another angle than the sensors really have
    assert any(w.startswith("sound-speed-differs") for w in table.rows[2]["warnings"])
    frame = table.to_pandas()
    assert len(frame) == len(table) == 5 and frame["error"].ne("").sum() == 2
    assert table.to_polars().columns == list(frame)
    assert "5 sites, 3 with a result, 2 failed" in table._repr_html_()


def test_other_ways_of_naming_sites(folder, demo):
    one = fd.evaluate_sites(folder / "plant_0.toml")
    listed = fd.evaluate_sites([folder / "plant_0.toml", str(folder / "works" / "site.toml")])
    assert rows_of(one) == rows_of(listed)[:1] and len(listed) == 2
    mapped = fd.evaluate_sites({folder / "lonely.toml": DEMO / "readings.csv"})
    assert mapped.rows[0]["volume_flow"] == demo.estimate
    with pytest.raises(fd.InputError, match="needed: site files"):
        fd.evaluate_sites(DEMO / "verification")
    with pytest.raises(fd.InputError, match="cannot read"):
        fd.evaluate_sites(folder / "nowhere")
    with pytest.raises(fd.InputError, match="sites: found none"):
        fd.evaluate_sites([])


def test_executors_give_the_same_table(folder):
    reference = rows_of(fd.evaluate_sites(folder))
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        assert rows_of(fd.evaluate_sites(folder, executor=pool)) == reference
    with ThreadPoolExecutor(7) as threads:
        assert rows_of(fd.evaluate_sites(folder, executor=threads)) == reference


def test_dask_gives_the_same_table(folder):
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        found = fd.evaluate_sites(folder, executor=client.get_executor())
    assert rows_of(found) == rows_of(fd.evaluate_sites(folder))


class Broken(ThreadPoolExecutor):
    """Loses every second job."""

    def submit(self, function, *arguments):
        self.jobs = getattr(self, "jobs", 0) + 1
        if self.jobs % 2:
            return super().submit(function, *arguments)
        future = Future()
        future.set_exception(RuntimeError("the worker died"))
        return future


def test_a_job_that_is_lost_keeps_its_row(folder):
    with Broken(1) as broken:
        table = fd.evaluate_sites(folder, executor=broken)
    assert len(table) == 5
    lost = [row for row in table.rows if row["error"] == "the worker died"]
    assert len(lost) == 2 and all(row["file"] for row in lost)


def test_displays_escape_what_users_write(tmp_path):
    hostile = "<script>alert(1)</script>"
    text = (DEMO / "site.toml").read_text().replace("Harrowmere district cooling", hostile)
    (tmp_path / "a.toml").write_text(text)
    shutil.copy(DEMO / "readings.csv", tmp_path / "a.csv")
    table = fd.evaluate_sites(tmp_path)
    series = fd.Site.load(tmp_path / "a.toml").evaluate_series(tmp_path / "a.csv")
    for html in (table._repr_html_(), series._repr_html_()):
        assert hostile not in html and "&lt;script&gt;" in html


def test_command_line(folder, tmp_path, capsys):
    out = tmp_path / "out.csv"
    assert cli.main(["evaluate-sites", str(folder), "--csv", str(out)]) == 1
    printed = capsys.readouterr().out
    assert "5 sites, 3 with a result, 2 failed" in printed and "wedge to wall" in printed
    table = pd.read_csv(out)
    assert table["volume_flow"][1] == fd.evaluate_sites(folder).rows[1]["volume_flow"]
    assert cli.main(["evaluate-sites", str(folder), "--csv", str(out)]) == 2
    assert "exists" in capsys.readouterr().err
    assert cli.main(["evaluate-sites", str(folder / "works"), "--progress"]) == 0
    capsys.readouterr()
    assert cli.main(["evaluate-sites", str(folder / "nowhere")]) == 2
