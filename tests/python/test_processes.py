"""Forked, spawned and many-threaded: every function works, with the same bits."""

import json
import multiprocessing
import os
import signal
import subprocess
import sys
import textwrap
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import long_work
import pytest
from long_work import WORK, digests

# seconds after which a child hangs: work of a second on an idle machine
PATIENCE = 120.0
FORKS = hasattr(os, "fork")
forking = pytest.mark.skipif(not FORKS, reason="a platform without fork")


@pytest.fixture(scope="module")
def expected():
    """The digests of all work, after which this process has all its threads."""
    return digests()


def in_script(script):
    """Return what a script prints, in a process group of its own that is killed if it hangs."""
    script = "import long_work, os, sys\n" + textwrap.dedent(script)
    process = subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), *sys.path])},
    )
    try:
        printed, _ = process.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        printed, _ = process.communicate()
        pytest.fail(f"hangs; printed so far:\n{printed}")
    assert process.returncode == 0
    return printed


@forking
def test_a_raw_fork_gives_the_bits_of_its_parent(expected):
    # each kind in a child of its own, so that what hangs is named; and a child of a child
    printed = in_script(
        """
        import json, signal
        def child(names, then=None):
            sys.stdout.flush()
            pid = os.fork()
            if pid == 0:
                signal.alarm(60)
                print(json.dumps(long_work.digests(names)), flush=True)
                if then is not None:
                    then()
                os._exit(0)
            if os.waitpid(pid, 0)[1] != 0:
                print(json.dumps({name: "hangs" for name in names}))
        long_work.digests()
        for name in long_work.WORK:
            child([name])
        some = ["tallies", "plan", "series"]
        child(some, lambda: child(some))
        """
    )
    found = [json.loads(line) for line in printed.splitlines()]
    assert len(found) == len(WORK) + 2
    for of_child in found:
        assert of_child == {name: expected[name] for name in of_child}


@forking
@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_fork_while_other_threads_work_waits_for_none_of_them(expected):
    # whatever the other threads hold at that moment, locks or values half made
    printed = in_script(
        """
        import json, signal, threading, warnings
        import flowdoubt as fd
        warnings.simplefilter("ignore")
        names = ["trials that are kept", "tallies", "Sobol points", "plan", "stress test"]
        over = threading.Event()
        def work(name):
            number = 0
            while not over.is_set():
                number += 1
                # fits of a new number of degrees of freedom are made and kept
                fd.monte_carlo(
                    long_work.difference_over_sum,
                    {"a": fd.normal(10.0, 0.1, dof=3.0 + number / 7), "b": fd.normal(2.0, 0.1)},
                    trials=1000,
                )
                long_work.WORK[name].digest(long_work.WORK[name].few)
        threads = [threading.Thread(target=work, args=[name]) for name in names]
        for thread in threads: thread.start()
        for number in range(40):
            sys.stdout.flush()
            pid = os.fork()
            if pid == 0:
                signal.alarm(60)
                name = names[number % len(names)]
                print(json.dumps(long_work.digests([name])), flush=True)
                os._exit(0)
            if os.waitpid(pid, 0)[1] != 0:
                print(json.dumps({"hangs": number}))
        over.set()
        for thread in threads: thread.join()
        """
    )
    for line in printed.splitlines():
        of_child = json.loads(line)
        assert of_child == {name: expected.get(name) for name in of_child}
    assert len(printed.splitlines()) == 40


@pytest.mark.parametrize("method", multiprocessing.get_all_start_methods())
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_pools_of_processes_give_the_bits_of_their_parent(method, expected):
    context = multiprocessing.get_context(method)
    names = list(WORK)
    with context.Pool(2) as pool:
        # ends its processes when it is left, whatever they do
        halves = pool.map_async(digests, [names[::2], names[1::2]]).get(PATIENCE)
    assert halves[0] | halves[1] == expected


def test_many_threads_at_once_give_the_bits_of_one(expected):
    names = list(WORK)
    start = threading.Barrier(4)

    def shifted(by):
        start.wait()
        return digests(names[by:] + names[:by])

    with ThreadPoolExecutor(4) as threads:
        for found in threads.map(shifted, [0, 5, 10, 15]):
            assert found == expected


def test_one_result_asked_by_many_threads(expected):
    # what a result makes when it is first asked, several threads make at once
    run = long_work.evaluation().monte_carlo(300_000, seed=8)
    alone = long_work.evaluation().monte_carlo(300_000, seed=8)
    start = threading.Barrier(4)

    def asked(number):
        start.wait()
        return run.interval(0.9 + 0.02 * number), run.interval(0.95, "shortest"), run.values().sum()

    with ThreadPoolExecutor(4) as threads:
        found = list(threads.map(asked, range(4)))
    for number, (symmetric, shortest, total) in enumerate(found):
        assert symmetric == alone.interval(0.9 + 0.02 * number)
        assert (shortest, total) == (alone.interval(0.95, "shortest"), alone.values().sum())
