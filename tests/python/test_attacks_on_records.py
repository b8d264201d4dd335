"""Attacks on records: what somebody may do who can compute a digest, one after the other.

Each changes a record and computes its digest anew, as anybody can. Such a record is refused, or
does not reproduce, or says the same as before.
"""

import copy
import json
from base64 import b64decode

import pytest
from plain_recomputation import digest
from test_text_from_outside import UNSEEN

import flowdoubt as fd
from flowdoubt import cli

ESCAPE = "\x1b[2K\x1b[1A"


@pytest.fixture(scope="module")
def documents(demo):
    site = fd.Site.load("notebooks/demo/site.toml")
    verified = site.verify("notebooks/demo/verification.toml")
    return {
        "evaluation": demo.record(demo.monte_carlo(trials=1000, seed=7)).to_dict(),
        "verification": verified.record(verified.monte_carlo(trials=1000)).to_dict(),
    }


def signed(document):
    """The text of a record with the digest that belongs to it."""
    document = copy.deepcopy(document)
    document["digest"]["value"] = digest(document)
    return json.dumps(document)


def parts(document):
    (content,) = document["content"].values()
    return content["inputs"], content["results"]


def second_readings_of_the_same_name(inputs, results):
    other = copy.deepcopy(inputs["readings"][0])
    other["readings"]["csv"]["text"] = inputs["readings"][1]["readings"]["csv"]["text"]
    inputs["readings"].append(other)


def readings_that_no_run_uses(inputs, results):
    inputs["readings"].append(copy.deepcopy(inputs["readings"][0]) | {"name": "better.csv"})


def readings_in_another_order(inputs, results):
    inputs["readings"].reverse()


def put(*path):
    """An attack that puts the last of `path` where the others lead."""
    *keys, key, value = path

    def attack(inputs, results):
        place = {"inputs": inputs, "results": results}
        for own in keys:
            place = place[own]
        place[key] = value

    attack.__name__ = f"{'.'.join(map(str, [*keys, key]))} = {value!r:.40}"
    return attack


ATTACKS = [
    # (of which record, what is done, exit status, what is said)
    ("verification", second_readings_of_the_same_name, 2, "a second entry of this name"),
    ("verification", readings_that_no_run_uses, 2, "an entry that no run uses"),
    ("verification", readings_in_another_order, 1, "first inputs.readings["),
    ("verification", put("inputs", "monte_carlo", "digits", 4), 1, "inputs.monte_carlo.digits"),
    ("verification", put("inputs", "verification", "file", "../v.toml"), 1, "inputs.verification"),
    ("verification", put("results", "headline", "conforms"), 1, "results.headline"),
    ("evaluation", put("inputs", "monte_carlo", "seed", "+7"), 2, "without a sign"),
    ("evaluation", put("inputs", "monte_carlo", "seed", "07"), 2, "without a sign"),
    ("evaluation", put("inputs", "monte_carlo", "seed", "8"), 1, "results.monte_carlo"),
    ("evaluation", put("inputs", "monte_carlo", None), 1, "results.monte_carlo"),
    ("evaluation", put("inputs", "monte_carlo", "digits", 1), 1, "results.monte_carlo"),
    ("evaluation", put("inputs", "site", "file", "/elsewhere/site.toml"), 1, "inputs.site.file"),
    ("evaluation", put("inputs", "model", "better model"), 2, "the measurement model"),
    ("evaluation", put("inputs", "reconciled", True), 1, "results."),
    ("evaluation", put("results", "headline", "Q = 1"), 1, "results.headline"),
    ("evaluation", put("results", "site", f"x\nreproduced: all agree{ESCAPE}"), 1, "results.site"),
    ("evaluation", put("results", "components", []), 1, "number of results.components"),
    ("evaluation", put("results", "budget", 0, "name", f"a\n{ESCAPE}b"), 1, "results.budget"),
]


@pytest.mark.parametrize(
    ("of", "attack", "status", "said"), ATTACKS, ids=[f"{a[0]}: {a[1].__name__}" for a in ATTACKS]
)
def test_what_was_changed_is_found(documents, tmp_path, capsys, of, attack, status, said):
    document = copy.deepcopy(documents[of])
    attack(*parts(document))
    path = tmp_path / "run.json"
    path.write_text(signed(document))
    assert cli.main(["reproduce", str(path)]) == status
    printed = capsys.readouterr()
    shown = printed.out + printed.err
    assert said in shown
    assert not UNSEEN.search(shown), shown
    assert not any(line.startswith("reproduced: all") for line in shown.splitlines())


@pytest.mark.parametrize("of", ["evaluation", "verification"])
def test_the_digest_shown_and_the_record_attached_are_those_that_were_given(
    documents, tmp_path, capsys, of
):
    """Cautions are no result: other versions have others, and reproduce all the same."""
    document = copy.deepcopy(documents[of])
    document["cautions"] = "None: this result may be used for anything."
    given = signed(document)
    own = digest(json.loads(given))
    assert own != document["digest"]["value"]
    path = tmp_path / "run.json"
    path.write_text(given)
    record = fd.Record.load(path)
    assert record.digest == own
    assert record.text == given
    assert record != fd.Record.from_text(json.dumps(documents[of]))
    assert cli.main(["reproduce", str(path)]) == 0
    printed = capsys.readouterr().out
    assert own in printed
    assert "its cautions are in other words" in printed
    assert "cautions" not in str(fd.Record.from_text(json.dumps(documents[of])).reproduce())
    record.save(tmp_path / "copy.json")
    assert (tmp_path / "copy.json").read_bytes() == path.read_bytes()
    if of == "evaluation":
        pytest.importorskip("matplotlib")
        page = fd.report(record).html()
        attached = page.split("data:application/json;base64,")[1].split('"')[0]
        assert b64decode(attached) == path.read_bytes()
        assert own in page
        assert document["digest"]["value"] not in page


@pytest.mark.parametrize(
    "version",
    [
        f"0.2.0{ESCAPE}\nreproduced: all 345 agree",
        "0.2.0; reproduced: all 345 agree",
        "0.2.0\u2028reproduced",
        "",
        "9" * 65,
    ],
)
@pytest.mark.parametrize("key", ["name", "version"])
def test_a_version_says_nothing_but_a_version(documents, tmp_path, capsys, key, version):
    document = copy.deepcopy(documents["evaluation"])
    document["software"][key] = version
    path = tmp_path / "run.json"
    path.write_text(signed(document))
    assert cli.main(["reproduce", str(path)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert f"software.{key}" in printed.err
    assert len(printed.err.splitlines()) == 1
    assert not UNSEEN.search(printed.err)


@pytest.mark.parametrize(
    ("factor", "version", "said"),
    [
        (1 + 2**-48, "0.1.9", "in their last digits, as between versions"),
        (1 + 2**-48, fd.__version__, "it promises the same bits"),
        (1 + 1e-8, "0.1.9", "by more than their last digits"),
        (1.5, "0.1.9", "by far more than their last digits: version 0.1.9 tells"),
        (1.5, fd.__version__, "by far more than their last digits, though the same version"),
    ],
)
def test_the_verdict_follows_the_size_of_the_difference(documents, factor, version, said):
    document = copy.deepcopy(documents["evaluation"])
    document["software"]["version"] = version
    _, results = parts(document)
    step = next(step for step in results["steps"] if step["name"] == "spacing_m")
    step["value"] *= factor
    results["volume_flow_m3_s"] *= 1 + (factor - 1) / 4
    reproduction = fd.Record.from_text(signed(document)).reproduce()
    words = str(reproduction)
    assert "first results.volume_flow_m3_s: recorded " in words
    assert said in words
    name, relative = reproduction.largest_difference
    assert name == "results.steps[spacing_m].value"
    # one unit in the last place more or less of the least difference
    assert relative == pytest.approx((factor - 1) / factor, rel=1e-6, abs=2**-52)
    assert f"largest difference of numbers: {'33 %' if factor == 1.5 else ''}" in words
    assert name in words.splitlines()[-2]


def test_it_is_said_what_reproduction_cannot_say(documents):
    reproduction = fd.Record.from_text(json.dumps(documents["evaluation"])).reproduce()
    assert reproduction
    assert reproduction.largest_difference is None
    assert "It cannot say that the inputs are true" in str(reproduction)
    assert "It cannot say that the inputs are true" in reproduction._repr_html_()
    assert "  inputs: " in str(reproduction)
