"""Records: schema, digest, reproduction, and files that are whole or not there."""

import hashlib
import json
import struct
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest
from plain_recomputation import canonical, digest, distances

import flowdoubt as fd
from flowdoubt import cli

SCHEMA = Path(fd.__file__).parent / "record.schema.json"
DEMO = ["evaluate", "notebooks/demo/site.toml", "notebooks/demo/readings.csv"]


@pytest.fixture(scope="module")
def record(demo):
    trials = demo.monte_carlo(trials=2000, seed=7)
    return demo.record(trials, at_no_flow={"time_difference_ns": [0.1, 0.3]})


def test_the_verdict_on_first_order_is_recorded_and_shown(record):
    recorded = record.to_dict()["content"]["evaluation"]["results"]["monte_carlo"]
    assert recorded["verdict"] in ("validated", "not validated", "undecided")
    assert f">{recorded['verdict']}<" in record._repr_html_()
    # a record without it is read, shown and reproduced
    old = fd.Record.load("tests/golden/record_v1_model_2.json")
    assert "first order by Monte Carlo" not in old._repr_html_()


def test_the_published_schema_is_valid_and_fits(record):
    schema = json.loads(SCHEMA.read_text())
    assert schema == fd.Record.schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    validator.validate(record.to_dict())
    validator.validate(json.loads(Path("tests/golden/record_v1.json").read_text()))

    def places(value, path=()):
        members = value.items() if isinstance(value, dict) else enumerate(value)
        for key, member in list(members):
            yield (*path, key), value
            if isinstance(member, dict | list):
                yield from places(member, (*path, key))

    # every key is needed, and no other is allowed
    for path, parent in places(record.to_dict()):
        if not isinstance(parent, dict):
            continue
        damaged = record.to_dict()
        inner = damaged
        for key in path[:-1]:
            inner = inner[key]
        kept = inner.pop(path[-1])
        # records that were written before the verdict of clause 8 had its error have none
        assert validator.is_valid(damaged) == (path[-1] == "verdict"), path
        inner[path[-1]] = kept
        inner["unknown"] = 1
        assert not validator.is_valid(damaged), path


@pytest.fixture(scope="module")
def verified(demo):
    site = fd.Site.load("notebooks/demo/site.toml")
    return site.verify("notebooks/demo/verification.toml")


def test_the_record_of_a_verification(verified):
    trials = verified.monte_carlo(trials=2000, seed=3)
    record = verified.record(trials)
    schema = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text()))
    schema.validate(record.to_dict())
    document = json.loads(record.text)
    assert document["digest"]["value"] == digest(document)
    results = document["content"]["verification"]["results"]
    errors = [point["error"]["value"] for point in results["points"]]
    assert errors == [point["error"] for point in verified.points]
    assert results["monte_carlo"]["conforming_share"] == trials.conforming_share
    assert verified.headline in repr(record)
    reproduction = record.reproduce()
    assert reproduction, reproduction
    with pytest.raises(fd.InputError, match="worksheet"):
        record.worksheet()
    for damage in ("error_covariance", "decision"):
        damaged = record.to_dict()
        del damaged["content"]["verification"]["results"][damage]
        assert not schema.is_valid(damaged)


def test_errors_of_a_record_again_by_hand(verified):
    """Errors, means and expanded uncertainties from what the record holds, in plain Python."""
    results = verified.record().to_dict()["content"]["verification"]["results"]
    runs = {run["name"]: run for run in results["runs"]}
    for run in runs.values():
        meter, reference = run["meter_flow_m3_s"]["value"], run["reference_flow_m3_s"]["value"]
        assert run["error"]["value"] == pytest.approx(meter / reference - 1, abs=1e-14)
        assert run["meter_factor"]["value"] == pytest.approx(reference / meter, rel=1e-14)
    for place, point in enumerate(results["points"]):
        placements = {}
        for number in point["runs"]:
            run = runs[str(number)]
            placements.setdefault(run["placement"], []).append(run["error"]["value"])
        means = [sum(errors) / len(errors) for errors in placements.values()]
        error = point["error"]
        assert error["value"] == pytest.approx(sum(means) / len(means), abs=1e-14)
        own = {row["name"]: row["contribution"] for row in point["budget"]}
        variance = sum(contribution**2 for contribution in own.values())
        for row in results["correlations"]:
            a, b = row["between"]
            variance += 2 * row["coefficient"] * own[a] * own[b]
        assert error["standard_uncertainty"] == pytest.approx(variance**0.5, rel=1e-12)
        assert results["error_covariance"][place][place] == pytest.approx(variance, rel=1e-12)
        dof = variance**2 / sum(
            row["contribution"] ** 4 / row["dof"] for row in point["budget"] if row["dof"]
        )
        assert error["effective_dof"] == pytest.approx(dof, rel=1e-12)
        expanded = error["coverage_factor"] * error["standard_uncertainty"]
        assert error["expanded_uncertainty"] == pytest.approx(expanded, rel=1e-14)
        conformity = point["conformity"]
        low, high = conformity["acceptance"]
        accepted = low <= error["value"] <= high
        assert conformity["verdict"] == ("conforms" if accepted else "does not conform")


def test_canonical_form_and_digest_in_plain_python(record):
    """The standard library alone confirms a record; vectors of RFC 8785 and FIPS 180-4."""
    published = json.loads(Path("tests/published/canonical.json").read_text())
    for bits, text in published["numbers"]["values"]:
        assert canonical(struct.unpack(">d", bytes.fromhex(bits))[0]) == text
    for text, expected in published["documents"]["values"]:
        assert canonical(json.loads(text)) == expected
    for text, times, expected in published["sha256"]["values"]:
        assert hashlib.sha256(text.encode() * times).hexdigest() == expected
    document = json.loads(record.text)
    assert document["digest"]["value"] == digest(document) == record.digest


def test_a_second_recomputation_meets_every_figure_of_first_order(record):
    """Standard library and numpy, equations written anew: steps, budget, expanded uncertainty."""
    document = json.loads(record.text)
    far = distances(document)
    assert len(far) > 150
    assert max(far.values()) < 1e-12, max(far, key=far.get)
    # it tells a last digit that is wrong
    row = document["content"]["evaluation"]["results"]["budget"][5]
    row["sensitivity"] *= 1 + 1e-11
    assert distances(document)[f"budget[{row['name']}].sensitivity"] > 1e-12


def test_records_keep_what_was_done(record, demo):
    results = record.to_dict()["content"]["evaluation"]["results"]
    assert results["volume_flow_m3_s"] == demo.value("SI")
    assert {row["name"]: row["value"] for row in results["steps"]} == demo.steps
    trials = demo.monte_carlo(trials=2000, seed=7)
    interval = tuple(results["monte_carlo"]["shortest_interval_m3_s"])
    assert interval == trials.interval(0.95, kind="shortest", unit="SI")
    assert fd.Record.from_text(record.text) == record
    assert record.software == f"flowdoubt {fd.__version__}"
    assert demo.headline in repr(record)
    assert demo.record() != record


def test_columns_reproduce_as_files_do(demo):
    import pandas as pd

    frame = pd.read_csv("notebooks/demo/readings.csv")
    evaluation = fd.Site.load("notebooks/demo/site.toml").evaluate(frame)
    reproduction = evaluation.record().reproduce()
    assert reproduction, reproduction
    assert reproduction.agrees
    assert not reproduction.differences
    assert "results.volume_flow_m3_s" in reproduction.agreed
    assert reproduction.recorded_by == reproduction.recomputed_by


def test_record_and_reproduce_from_the_command_line(tmp_path, capsys):
    path = str(tmp_path / "run.json")
    assert cli.main([*DEMO, "--trials", "1000", "--record", path]) == 0
    printed = capsys.readouterr()
    record = fd.Record.load(path)
    assert record.digest in printed.err
    assert cli.main(["reproduce", path]) == 0
    printed = capsys.readouterr().out
    assert "reproduced: all" in printed
    assert record.digest in printed
    # what exists stays unless told otherwise
    assert cli.main([*DEMO, "--trials", "0", "--record", path]) == 2
    assert "exists" in capsys.readouterr().err
    assert fd.Record.load(path) == record
    assert cli.main([*DEMO, "--trials", "0", "--reconcile", "--record", path, "--overwrite"]) == 0
    assert fd.Record.load(path) != record
    assert cli.main(["reproduce", path]) == 0


def test_verify_keeps_a_record_from_the_command_line(tmp_path, capsys):
    path = str(tmp_path / "verification.json")
    verify = ["verify", "notebooks/demo/site.toml", "notebooks/demo/verification.toml"]
    assert cli.main([*verify, "--trials", "1000", "--record", path]) == 0
    assert fd.Record.load(path).digest in capsys.readouterr().err
    assert cli.main(["reproduce", path]) == 0
    assert "  points: " in capsys.readouterr().out
    assert cli.main([*verify, "--record", path]) == 2
    assert "exists" in capsys.readouterr().err
    assert cli.main(["reproduce", path, "--worksheet", str(tmp_path / "sheet.html")]) == 2
    assert "the record of a verification" in capsys.readouterr().err


def test_a_figure_that_differs_gives_status_1(tmp_path, capsys, record):
    document = record.to_dict()
    document["content"]["evaluation"]["results"]["budget"][3]["share"] += 0.25
    path = tmp_path / "forged.json"
    path.write_text(json.dumps(document))
    assert cli.main(["reproduce", str(path)]) == 2
    assert "changed after it was written" in capsys.readouterr().err
    document["digest"]["value"] = digest(document)
    path.write_text(json.dumps(document))
    assert cli.main(["reproduce", str(path)]) == 1
    printed = capsys.readouterr().out
    name = document["content"]["evaluation"]["results"]["budget"][3]["name"]
    assert f"NOT reproduced: 1 of {len(fd.reproduce(path).agreed) + 1} differ" in printed
    assert f"first results.budget[{name}].share: recorded " in printed


@pytest.mark.parametrize(
    ("text", "kind", "code"),
    [
        ("", fd.InputError, "syntax"),
        ("{}", fd.InputError, "missing"),
        ("[" * 100_000, fd.InputError, "wrong-type"),
        ('{"format": "flowdoubt record", "version": 99}', fd.RecordError, "record-version"),
        ('{"format": "flowdoubt record", "version": NaN}', fd.InputError, "syntax"),
    ],
)
def test_what_is_no_record_is_refused(tmp_path, capsys, text, kind, code):
    path = tmp_path / "bad.json"
    path.write_text(text)
    with pytest.raises(kind) as caught:
        fd.reproduce(path)
    assert caught.value.code == code
    assert cli.main(["reproduce", str(path)]) == 2
    assert capsys.readouterr().err.startswith("flowdoubt: ")


@pytest.mark.skipif(sys.platform == "win32", reason="limits of the size of files are of Unix")
def test_an_interrupted_write_leaves_the_old_record(tmp_path, record):
    """The system cuts the write off in the middle, as a full disk would."""
    path = tmp_path / "run.json"
    record.save(path)
    before = path.read_bytes()
    program = f"""
import resource, signal
import flowdoubt as fd
record = fd.Record.load({str(path)!r})
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
try:
    record.save({str(path)!r}, overwrite=True)
except fd.FlowdoubtError as error:
    print(error.code)
"""
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout.split() == ["file"], run.stderr
    assert path.read_bytes() == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["run.json"]
