"""Exit statuses: 1 is an answer, and nothing that goes wrong leaves with it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from plain_recomputation import digest

from flowdoubt import cli
from flowdoubt.cli import commands

DEMO = Path(__file__).parents[2] / "notebooks" / "demo"

unix = pytest.mark.skipif(sys.platform == "win32", reason="streams of Unix")


@pytest.fixture(scope="module")
def records(demo, tmp_path_factory):
    """A record that reproduces, and one that does not."""
    folder = tmp_path_factory.mktemp("records")
    record = demo.record()
    record.save(folder / "agrees.json")
    document = record.to_dict()
    document["content"]["evaluation"]["results"]["volume_flow_m3_s"] *= 1.5
    document["digest"]["value"] = digest(document)
    (folder / "differs.json").write_text(json.dumps(document))
    return folder


def run(*arguments, **kept):
    command = [sys.executable, "-m", "flowdoubt.cli", *map(str, arguments)]
    return subprocess.run(command, stderr=subprocess.PIPE, check=False, **kept)


def reproduce(records, name, **kept):
    return run("reproduce", records / f"{name}.json", **kept)


PIPE = {"stdout": subprocess.PIPE}


def test_an_answer_is_0_or_1(records):
    assert reproduce(records, "agrees", **PIPE).returncode == 0
    done = reproduce(records, "differs", **PIPE)
    assert done.returncode == 1
    assert b"NOT reproduced: 1 of " in done.stdout
    assert b"33 % of the larger" in done.stdout
    assert done.stderr == b""


@pytest.mark.parametrize("name", ["agrees", "differs"])
@pytest.mark.parametrize(
    "environment",
    [
        {"PYTHONIOENCODING": "ascii"},
        {"LANG": "C", "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"},
        {"PYTHONUNBUFFERED": "1"},
    ],
)
def test_a_terminal_of_few_letters_changes_no_answer(records, tmp_path, name, environment):
    own = tmp_path / "Stra\u00dfe \u00b5.json"
    own.write_bytes((records / f"{name}.json").read_bytes())
    done = run("reproduce", own, env=os.environ | environment, **PIPE)
    assert done.returncode == (0 if name == "agrees" else 1), done.stderr
    site = tmp_path / "site.toml"
    text = (DEMO / "site.toml").read_text()
    site.write_text(text.replace("Harrowmere", "H\u00e4rr\u03a9"), encoding="utf-8")
    arguments = ["evaluate", site, DEMO / "readings.csv", "--trials", "0"]
    done = run(*arguments, env=os.environ | environment, **PIPE)
    assert done.returncode == 0, done.stderr


@unix
@pytest.mark.parametrize("name", ["agrees", "differs"])
@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_an_answer_that_cannot_be_written_is_none(records, name, unbuffered):
    env = os.environ | {"PYTHONUNBUFFERED": unbuffered}
    with open("/dev/full", "wb") as full:
        done = reproduce(records, name, stdout=full, env=env)
    assert done.returncode == 2
    assert b"cannot write what there is to say" in done.stderr
    assert b"Traceback" not in done.stderr

    # closed from the start
    command = f'"{sys.executable}" -m flowdoubt.cli reproduce "{records / name}.json" >&-'
    done = subprocess.run(command, shell=True, stderr=subprocess.PIPE, check=False, env=env)
    assert done.returncode == 2
    assert b"standard output is closed" in done.stderr

    # whoever reads goes away
    reading, writing = os.pipe()
    os.close(reading)
    done = reproduce(records, name, stdout=writing, env=env)
    os.close(writing)
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr

    # nowhere to complain
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "flowdoubt.cli", "reproduce", records / f"{name}.json"]
        done = subprocess.run(command, stdout=full, stderr=full, check=False, env=env)
    assert done.returncode == 2


@unix
def test_help_that_cannot_be_written(records):
    with open("/dev/full", "wb") as full:
        assert run("reproduce", "--help", stdout=full).returncode == 2


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (None, b"cannot read"),
        ("", b"cut short"),
        ("{}", b"missing"),
        ('{"format": "flowdoubt record", "version": 99}', b"newer version"),
    ],
)
def test_what_could_not_be_done_is_2(tmp_path, content, said):
    path = tmp_path / "run.json"
    if content is not None:
        path.write_text(content)
    done = run("reproduce", path, **PIPE)
    assert done.returncode == 2
    assert said in done.stderr


def test_names_that_are_no_text_are_no_answer(tmp_path):
    done = run("reproduce", b"\xff\xfe.json".decode("utf-8", "surrogateescape"), **PIPE)
    assert done.returncode == 2
    assert done.stderr.startswith(b"flowdoubt: cannot read")


@pytest.mark.parametrize(
    ("raised", "status"),
    [
        (RuntimeError("nobody thought of it"), 4),
        (AssertionError(), 4),
        (MemoryError(), 2),
        (OSError(28, "No space left on device"), 2),
        (KeyboardInterrupt(), 130),
    ],
)
def test_a_fault_of_the_software_is_no_answer(monkeypatch, capsys, raised, status):
    def fails(path):
        raise raised

    monkeypatch.setattr(commands, "Record", type("Record", (), {"load": staticmethod(fails)}))
    assert cli.main(["reproduce", "run.json"]) == status
    assert ("Traceback" in capsys.readouterr().err) == (status == 4)


@pytest.mark.parametrize(
    "arguments",
    [
        ["evaluate", "SITE", "READINGS", "--trials", "0", "--record", ""],
        ["evaluate", "SITE", "READINGS", "--trials", "0", "--worksheet", ""],
        ["evaluate", "SITE", "READINGS", "--trials", "0", "--zero", ""],
        ["verify", "SITE", "VERIFICATION", "--record", ""],
        ["verify", "SITE", "VERIFICATION", "--calibrated", ""],
        ["verify", "SITE", "VERIFICATION", "--readings-below", ""],
        ["markout", "SITE", "--temperature", "8 degC", "--sheet", ""],
        ["markout", "SITE", "--temperature", ""],
        ["series", "SITE", "READINGS", "--csv", ""],
        ["series", "SITE", "READINGS", "--interval", ""],
        ["series", "SITE", "READINGS", "--time-zone", ""],
        ["series", "SITE", "READINGS", "--status", ""],
        ["series", "SITE", "READINGS", "--signal", ""],
        ["plan", "SITE", "--flows", "900 m3/h", "--trial-run", ""],
        ["plan", "SITE", "--flows", "900 m3/h", "--target", ""],
        ["report", "RECORD", "--output", ""],
        ["report", "RECORD", "--output", "report.html", "--verification", ""],
    ],
)
def test_an_empty_name_is_refused_and_never_passed_over(records, capsys, tmp_path, arguments):
    files = {
        "SITE": DEMO / "site.toml",
        "READINGS": DEMO / "readings.csv",
        "VERIFICATION": DEMO / "verification.toml",
        "RECORD": records / "agrees.json",
        "report.html": tmp_path / "report.html",
    }
    assert cli.main([str(files.get(own, own)) for own in arguments]) == 2
    assert capsys.readouterr().err.startswith("flowdoubt: ")


def test_every_status_is_documented():
    words = cli.__doc__
    for status in ("0", "1", "2", "3", "4", "130"):
        assert f" {status} " in words
