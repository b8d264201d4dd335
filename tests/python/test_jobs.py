"""Monte Carlo without kept values, by threads and executors: the same bytes, and Ctrl-C."""

import hashlib
import json
import os
import pickle
import signal
import subprocess
import sys
import textwrap
import time
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_all_start_methods, get_context
from operator import itemgetter
from pathlib import Path

import numpy as np
import pytest

import flowdoubt as fd

ROOT = Path(__file__).parents[2]
TRIALS = 300_001


@pytest.fixture(scope="module")
def evaluation():
    demo = ROOT / "notebooks" / "demo"
    return fd.Site.load(demo / "site.toml").evaluate(demo / "readings.csv")


@pytest.fixture(scope="module")
def processes():
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        yield pool


# a model of two outputs that any process can import
swapped = itemgetter("b", "a")

INPUTS = {"a": fd.normal(10.0, 0.1, dof=12.0), "b": fd.truncated_normal(2.0, 0.3, lower=1.0)}


def test_tallies_are_the_kept_trials(evaluation):
    kept = evaluation.monte_carlo(TRIALS, seed=3)
    tallied = evaluation.monte_carlo(TRIALS, seed=3, keep=False)
    assert isinstance(tallied, fd.TalliedTrials)
    assert (tallied.trials, tallied.seed, tallied.failed) == (TRIALS, 3, 0)
    assert tallied.unit == kept.unit
    assert tallied.mean == pytest.approx(kept.mean, rel=1e-13)
    assert tallied.standard_uncertainty == pytest.approx(kept.standard_uncertainty, rel=1e-12)
    values = kept.values()
    assert (tallied.smallest, tallied.largest) == (values[0], values[-1])
    np.testing.assert_allclose(
        tallied.interval(0.95), kept.interval(0.95), atol=tallied.interval_error(0.95), rtol=0
    )
    shortest = np.diff(tallied.interval(0.9, "shortest")) - np.diff(kept.interval(0.9, "shortest"))
    assert -1e-15 <= shortest[0] <= tallied.interval_error(0.9, "shortest")
    value, bound, standard_error = tallied.quantile(0.3)
    exact = values[int(np.ceil(0.3 * TRIALS)) - 1]
    assert abs(value - exact) <= bound <= 0.1 * standard_error
    edges, counts = tallied.histogram(50)
    assert (len(edges), len(counts), counts.sum()) == (51, 50, TRIALS)
    assert evaluation.validate(tallied).validated == evaluation.validate(kept).validated
    assert "Monte Carlo" in evaluation.in_words(tallied)
    found = json.loads(evaluation.to_json(tallied))["monte_carlo"]
    assert found["mean_m3_s"] == tallied.result("SI")[0]
    # correlated inputs aside, the squares are shares of the variance
    squares = [r**2 for r in tallied.input_correlations().values() if r is not None]
    assert 0.9 < sum(squares) < 1.1


def test_executors_give_the_bytes_of_the_threads_inside(evaluation, processes):
    reference = evaluation.monte_carlo(TRIALS, keep=False).to_bytes()
    assert evaluation.monte_carlo(TRIALS, executor=processes).to_bytes() == reference
    with ThreadPoolExecutor(7) as threads:
        assert evaluation.monte_carlo(TRIALS, executor=threads).to_bytes() == reference
        with pytest.raises(fd.InputError, match="jobs return tallies"):
            evaluation.monte_carlo(1000, keep=True, executor=threads)


@pytest.mark.skipif("fork" not in get_all_start_methods(), reason="a platform without fork")
@pytest.mark.filterwarnings("ignore:.*fork.*:DeprecationWarning")
def test_forked_processes_do_not_miss_the_threads_of_their_parent(evaluation):
    reference = evaluation.monte_carlo(TRIALS, keep=False).to_bytes()
    with ProcessPoolExecutor(2, mp_context=get_context("fork")) as pool:
        assert evaluation.monte_carlo(TRIALS, executor=pool).to_bytes() == reference


@pytest.mark.parametrize("threads", ["1", "2", "7"])
def test_the_number_of_threads_changes_no_byte(evaluation, threads):
    """Rayon reads the number of its threads once a process."""
    code = f"""
        import hashlib, flowdoubt as fd
        e = fd.Site.load("notebooks/demo/site.toml").evaluate("notebooks/demo/readings.csv")
        m = e.monte_carlo({TRIALS}, keep=False)
        print(hashlib.sha256(m.to_bytes()).hexdigest())
    """
    expected = hashlib.sha256(evaluation.monte_carlo(TRIALS, keep=False).to_bytes()).hexdigest()
    found = run_python(code, RAYON_NUM_THREADS=threads)
    assert found.stdout.strip() == expected, found.stderr


def test_dask_gives_the_bytes_of_the_threads_inside(evaluation):
    distributed = pytest.importorskip("distributed")
    reference = evaluation.monte_carlo(TRIALS, keep=False).to_bytes()
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=2, processes=False, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        found = evaluation.monte_carlo(TRIALS, executor=client.get_executor())
    assert found.to_bytes() == reference


def test_python_models_are_tallied_alike(processes):
    inputs = fd.input_set(INPUTS, {("a", "b"): 0.4})
    kept = fd.monte_carlo(swapped, inputs, trials=200_000)
    tallied = fd.monte_carlo(swapped, inputs, trials=200_000, keep=False)
    assert isinstance(tallied, fd.TalliedJoint) and list(tallied) == ["y1", "y2"]
    np.testing.assert_allclose(tallied.covariance, kept.covariance, rtol=1e-10)
    np.testing.assert_allclose(tallied.correlation, kept.correlation, rtol=1e-10)
    for name in tallied:
        bound = tallied[name].interval_error()
        np.testing.assert_allclose(tallied[name].interval(), kept[name].interval(), atol=bound)
    assert set(tallied["y1"].input_correlations()) == {"a", "b"}
    elsewhere = fd.monte_carlo(swapped, inputs, trials=200_000, executor=processes)
    assert elsewhere["y1"].to_bytes() == tallied["y1"].to_bytes()
    # a model of one output gives one result, with the same draws
    single = fd.monte_carlo(lambda x: x["a"], INPUTS, trials=1000, keep=False)
    assert single.smallest == fd.monte_carlo(lambda x: x["a"], INPUTS, trials=1000).values()[0]


def test_errors_of_jobs_reach_the_caller():
    def logarithm(x):
        with np.errstate(invalid="ignore"):
            return np.log(x["a"])

    def fails_for_many(x):
        if len(x["a"]) == 100_000 - 65_536:
            raise RuntimeError("in the last block")
        return x["a"]

    normal = {"a": fd.normal(1.0, 1.0)}
    with pytest.raises(fd.TrialsError, match="gave no finite result"):
        fd.monte_carlo(logarithm, normal, trials=1000, keep=False)
    some = fd.monte_carlo(logarithm, normal, trials=1000, keep=False, allowed_failures=0.5)
    # Phi(-1) = 15.9 %, and six standard deviations of a binomial count
    assert some.failed == pytest.approx(159, abs=70) and some.trials + some.failed == 1000
    with ThreadPoolExecutor(2) as threads:
        for trials in (199_999, 200_000):
            found = fd.monte_carlo(lambda x: x["a"], normal, trials=trials, executor=threads)
            assert found.trials == trials
        with pytest.raises(fd.ModelError, match="in the last block"):
            fd.monte_carlo(fails_for_many, normal, trials=100_000, executor=threads)
    with pytest.raises(fd.RangeError, match="100 to 1e10"):
        fd.monte_carlo(swapped, INPUTS, trials=10, keep=False)


def test_pickled_objects_are_the_same(evaluation):
    def again(x):
        return pickle.loads(pickle.dumps(x))

    assert again(evaluation).to_json() == evaluation.to_json()
    core = evaluation.monte_carlo(1000).mean
    assert again(evaluation).monte_carlo(1000).mean == core
    site = fd.Site.load(ROOT / "notebooks" / "demo" / "site.toml")
    assert again(site).name == site.name
    every = {
        "normal": fd.normal(1.0, 0.1, unit="mm"),
        "t": fd.readings([1.0, 1.25, 0.5, 0.75]),
        "half": fd.truncated_normal(0.0, 1.0, lower=0.0),
        "table": fd.probability_table([0.0, 0.1, 1.0], [0.0, 0.7, 1.0]),
        "sample": fd.sample([1.0, 2.0, 4.0]),
        "exact": fd.exact(0.1),
    }
    for made in every.values():
        assert repr(again(made)) == repr(made)
        assert (again(made).unit, again(made).dof) == (made.unit, made.dof)
    joint = fd.joint_readings({"u": [1.0, 2.0, 3.5, 1.5, 2.5], "v": [2.0, 2.5, 3.0, 1.0, 3.5]})
    for inputs in (fd.input_set(every, {("normal", "t"): 0.3}), joint):
        np.testing.assert_array_equal(again(inputs).correlation(), inputs.correlation())

        def total(x):
            return sum(x.values())

        first, second = (
            fd.monte_carlo(total, i, trials=1000).values() for i in (inputs, again(inputs))
        )
        np.testing.assert_array_equal(first, second)
    with pytest.raises(fd.InputError, match="not a valid input"):
        type(joint)._kept("names = 3")
    with pytest.raises(fd.InputError, match="not a valid evaluation"):
        type(evaluation)._kept("{}")


def test_progress_is_shown(evaluation, capsys):
    pytest.importorskip("tqdm")
    evaluation.monte_carlo(10_000, progress=True)
    evaluation.monte_carlo(10_000, keep=False, progress=True)
    with ThreadPoolExecutor(2) as threads:
        evaluation.monte_carlo(200_000, executor=threads, progress=True)
    shown = capsys.readouterr().err
    assert shown.count("10.0k/10.0k") >= 2 and "200k/200k" in shown


def run_python(code, **environment):
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, **environment},
        timeout=120,
    )


@pytest.mark.skipif(sys.platform == "win32", reason="signals of another kind")
@pytest.mark.parametrize(
    "call",
    [
        "e.monte_carlo(200_000_000)",
        "e.monte_carlo(10_000_000_000, keep=False)",
        "e.monte_carlo(10_000_000_000, executor=pool)",
        "e.adaptive_monte_carlo(digits=4, most_trials=200_000_000)",
        'fd.monte_carlo(lambda x: x["a"], {"a": fd.normal(0, 1)}, trials=10**10, keep=False)',
    ],
)
def test_ctrl_c_ends_a_run_and_leaves_nothing_working(call):
    """The margin is wide: this tests that the run ends, and a measurement tells how soon."""
    code = f"""
        import time, resource, flowdoubt as fd
        from concurrent.futures import ThreadPoolExecutor
        e = fd.Site.load("notebooks/demo/site.toml").evaluate("notebooks/demo/readings.csv")
        with ThreadPoolExecutor(2) as pool:
            e.monte_carlo(1000)
            print("ready", flush=True)
            try:
                {call}
            except KeyboardInterrupt:
                print("interrupted", flush=True)
        # threads that still worked would use processor time
        before = time.process_time()
        time.sleep(0.3)
        print("idle" if time.process_time() - before < 0.15 else "busy")
    """
    process = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(code)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    )
    try:
        assert process.stdout.readline() == "ready\n"
        time.sleep(0.7)
        process.send_signal(signal.SIGINT)
        out, errors = process.communicate(timeout=60)
    finally:
        process.kill()
    assert out == "interrupted\nidle\n", errors


@pytest.mark.parametrize("name", ["sse9", ""])
def test_an_unknown_instruction_set_is_refused(name):
    code = """
        import flowdoubt as fd
        try:
            fd.monte_carlo(lambda x: x["a"], {"a": fd.normal(0, 1)}, trials=1000)
        except ValueError as error:
            assert isinstance(error, fd.FlowdoubtError)
            print(error)
    """
    found = run_python(code, FLOWDOUBT_INSTRUCTION_SET=name)
    assert "FLOWDOUBT_INSTRUCTION_SET: found" in found.stdout, found.stderr
    assert "allowed: baseline" in found.stdout
    assert run_python(code, FLOWDOUBT_INSTRUCTION_SET="baseline").stdout == ""
