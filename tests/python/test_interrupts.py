"""Ctrl-C: heard in the middle of everything long, and nothing is the worse for it."""

import inspect
import itertools
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from long_work import DEMO, WORK

import flowdoubt as fd

pytestmark = pytest.mark.skipif(
    not hasattr(signal, "setitimer"), reason="a platform without timers that send signals"
)

# how often a signal is sent, in s, and the share of the work after which it must have been heard
EVERY, SHARE = 0.01, 0.4


@pytest.fixture
def heard():
    """The times at which a signal was heard, of which one is sent every few milliseconds."""
    assert threading.current_thread() is threading.main_thread()
    times = []
    before = signal.signal(signal.SIGALRM, lambda *_: times.append(time.perf_counter()))
    signal.setitimer(signal.ITIMER_REAL, EVERY, EVERY)
    yield times
    signal.setitimer(signal.ITIMER_REAL, 0)
    signal.signal(signal.SIGALRM, before)


@pytest.mark.parametrize("name", [name for name, work in WORK.items() if work.many > work.few])
def test_signals_are_heard_all_the_time(name, heard):
    # in shares of the time that the work takes, which no other load of the machine changes much
    work = WORK[name]
    work.of(work.many)  # what it rests on, such as a record to be reproduced
    heard.clear()
    begun = time.perf_counter()
    work.of(work.many)
    ended = time.perf_counter()
    times = [begun, *(when for when in heard if when < ended), ended]
    longest = max(after - before for before, after in itertools.pairwise(times))
    assert longest < SHARE * (ended - begun), f"silent for {longest:.2f} of {ended - begun:.2f} s"


@pytest.mark.parametrize("name", [name for name, work in WORK.items() if work.many > work.few])
def test_work_ends_when_it_is_interrupted_and_can_be_done_again(name):
    work = WORK[name]
    expected = work.digest(work.few)
    work.of(work.many)

    class Interrupted(BaseException):
        pass

    def interrupt(*_):
        raise Interrupted

    before = signal.signal(signal.SIGALRM, interrupt)
    begun = time.perf_counter()
    try:
        signal.setitimer(signal.ITIMER_REAL, 0.05)
        with pytest.raises(Interrupted):
            work.of(work.many)
            time.sleep(0.1)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
    assert time.perf_counter() - begun < 10.0
    assert work.digest(work.few) == expected


def test_everything_that_is_given_an_amount_of_work_is_tried():
    # a new function with a number of trials, points or flows is not forgotten here
    amounts = {"trials", "most_trials", "points", "flows", "executor"}
    found = set()
    for name, value in vars(fd).items():
        if name.startswith("_") or inspect.ismodule(value):
            continue
        members = {name: value}
        if inspect.isclass(value):
            members = {f"{name}.{key}": own for key, own in vars(value).items()}
        for path, function in members.items():
            if path.rpartition(".")[2].startswith("_") or not callable(function):
                continue
            try:
                parameters = inspect.signature(function).parameters
            except (TypeError, ValueError):
                continue
            # a result that was made is given as `trials` too, without a number as default
            asked = {key for key in amounts & set(parameters) if key != "trials"}
            if isinstance(getattr(parameters.get("trials"), "default", None), int):
                asked.add("trials")
            if asked:
                found.add(path)
    tried = {path for work in WORK.values() for path in work.tries}
    assert found <= tried, found - tried


def interrupted(arguments, cwd, wait=1.0):
    """Run a program, send it Ctrl-C when it has begun, and return its status and what it says."""
    process = subprocess.Popen(
        [sys.executable, "-c", _PROGRAM, *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=cwd,
        env=os.environ | {"PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), *sys.path])},
    )
    try:
        assert process.stdout.readline() == "begun\n"
        time.sleep(wait)
        process.send_signal(signal.SIGINT)
        return *process.communicate(timeout=60), process.returncode
    finally:
        process.kill()


_PROGRAM = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # whoever started this may ignore it
import flowdoubt.cli
print("begun", flush=True)
sys.exit(flowdoubt.cli.main(sys.argv[1:]))
"""


def test_a_record_is_not_half_written(tmp_path):
    # what stood there stays, and nothing is beside it
    record = tmp_path / "record.json"
    record.write_text("what was there")
    arguments = ["evaluate", "site.toml", "readings.csv", "--trials", "20000000"]
    arguments += ["--record", str(record), "--overwrite"]
    for file in ("site.toml", "readings.csv"):
        (tmp_path / file).write_text((DEMO / file).read_text())
    printed, _, status = interrupted(arguments, tmp_path, wait=0.5)
    assert status not in (0, 1)
    assert printed == ""
    assert record.read_text() == "what was there"
    assert {file.name for file in tmp_path.iterdir()} == {
        "record.json",
        "site.toml",
        "readings.csv",
    }
