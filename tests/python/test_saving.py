"""Files are there as a whole or not at all, whatever happens while they are written."""

import os
import random
import signal
import stat
import subprocess
import sys
import tempfile
import threading
import time

import pytest
from conftest import DEMO

import flowdoubt as fd
from flowdoubt import _core

pytestmark = pytest.mark.skipif(
    sys.platform == "win32", reason="signals and permissions are of Unix"
)


@pytest.fixture(scope="module")
def savers(demo_text):
    """Every kind of save, each as it writes one of two contents: name of the file -> two functions.

    Each function takes the path and `overwrite`.
    """

    def of(name):
        site = fd.Site.from_toml(demo_text.replace('name = "', f'name = "{name} ', 1))
        evaluation = site.evaluate(DEMO / "readings.csv")
        return {
            "site.toml": site.save,
            "record.json": evaluation.record().save,
            "worksheet.html": evaluation.worksheet.save,
            "sites.csv": fd.evaluate_sites({name: DEMO / "site.toml"}).save,
            "series.csv": site.evaluate_series(DEMO / "readings.csv").save,
            "sheet.svg": lambda path, overwrite=False: site.mark_out(temperature="8 degC").sheet(
                path, overwrite=overwrite
            ),
            "form.toml": site.commissioning(temperature="8 degC").save_form,
            "report.html": fd.report(evaluation).save,
        }

    one, other = of("one"), of("other")
    return {name: (one[name], other[name]) for name in one}


def contents(savers, folder):
    """What each save writes when nothing happens: name -> two texts."""
    texts = {}
    for name, saves in savers.items():
        both = []
        for number, save in enumerate(saves):
            path = folder / f"{number} {name}"
            save(path)
            both.append(path.read_bytes())
        texts[name] = both
    return texts


def test_a_process_that_is_killed_leaves_whole_files(savers, tmp_path):
    """Kills at random moments during every kind of save."""
    apart = tmp_path / "apart"
    apart.mkdir()
    texts = contents(savers, apart)
    moments = random.Random(1)
    for name, saves in savers.items():
        folder = tmp_path / name.replace(".", "_")
        folder.mkdir()
        path = folder / name
        for _ in range(6):
            child = os.fork()
            if child == 0:
                while True:
                    for save in saves:
                        save(path, overwrite=True)
            time.sleep(moments.uniform(0.002, 0.03))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            if path.exists():
                assert path.read_bytes() in texts[name], f"{name} is torn"
        saves[0](path, overwrite=True)
        left = [entry.name for entry in folder.iterdir()]
        assert left == [name], "what the killed processes left is removed by the next save"
        assert path.read_bytes() == texts[name][0]


def test_what_a_killed_process_left_is_removed_and_nothing_else(tmp_path):
    (tmp_path / ".flowdoubt-abc123.part").write_text("torn")
    mine = ["notes.part", ".flowdoubt-notes.txt", "flowdoubt-x.part"]
    for name in mine:
        (tmp_path / name).write_text("mine")
    (tmp_path / ".flowdoubt-link.part").symlink_to(tmp_path / "notes.part")
    _core.write_whole(tmp_path / "run.json", b"whole", False)
    left = {entry.name for entry in tmp_path.iterdir()}
    assert left == {*mine, ".flowdoubt-link.part", "run.json"}


def test_a_full_disk_leaves_the_old_file(savers, tmp_path):
    """The system cuts every kind of save off in the middle."""
    import resource

    apart = tmp_path / "apart"
    apart.mkdir()
    texts = contents(savers, apart)
    for name, (old, new) in savers.items():
        folder = tmp_path / name.replace(".", "_")
        folder.mkdir()
        path = folder / name
        old(path)
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            half = len(texts[name][1]) // 2
            resource.setrlimit(resource.RLIMIT_FSIZE, (half, half))
            try:
                new(path, overwrite=True)
            except fd.InputError as error:
                os._exit(0 if error.code == "file" else 3)
            os._exit(4)
        assert os.waitpid(child, 0)[1] == 0, f"{name}: no InputError of code 'file'"
        assert path.read_bytes() == texts[name][0]
        assert [entry.name for entry in folder.iterdir()] == [name]


def test_a_disk_that_is_really_full(tmp_path):
    """A file system of 64 KiB; only the administrator can make one."""
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", tmp_path], capture_output=True
    )
    if mounted.returncode:
        pytest.skip("no permission to mount a small file system")
    try:
        path = tmp_path / "run.json"
        _core.write_whole(path, b"old" * 10_000, False)
        with pytest.raises(fd.InputError, match="No space left") as caught:
            _core.write_whole(path, b"new" * 20_000, True)
        assert caught.value.code == "file"
        assert path.read_bytes() == b"old" * 10_000
        assert [entry.name for entry in tmp_path.iterdir()] == ["run.json"]
    finally:
        subprocess.run(["umount", tmp_path], check=True)


def test_a_folder_that_cannot_be_written_in(savers, tmp_path):
    missing = tmp_path / "nowhere"
    for name, (save, _) in savers.items():
        with pytest.raises(fd.InputError, match="cannot write") as caught:
            save(missing / name)
        assert caught.value.code == "file"


def test_a_folder_that_is_read_only(savers):
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o555)
        child = os.fork()
        if child == 0:
            if os.geteuid() == 0:
                os.setuid(65534)  # the administrator may write everywhere
            refused = 0
            for name, (save, _) in savers.items():
                try:
                    save(os.path.join(folder, name))
                except fd.InputError as error:
                    refused += "Permission denied" in str(error)
            os._exit(0 if refused == len(savers) else 1)
        assert os.waitpid(child, 0)[1] == 0
        assert os.listdir(folder) == []


def test_two_writers_at_once(tmp_path):
    """One of many creates the file, all others are told; of many that overwrite one wins whole."""
    path = tmp_path / "run.json"
    texts = [bytes([65 + number]) * 200_000 for number in range(8)]
    told = []

    def create(text):
        try:
            _core.write_whole(path, text, False)
        except fd.RecordError as error:
            told.append(error.code)

    def overwrite(text):
        for _ in range(5):
            _core.write_whole(path, text, True)

    for write in [create, overwrite]:
        threads = [threading.Thread(target=write, args=(text,)) for text in texts]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert path.read_bytes() in texts
        assert [entry.name for entry in tmp_path.iterdir()] == ["run.json"]
    assert told == ["exists"] * 7


def test_an_overwritten_file_keeps_who_may_read_it(savers, tmp_path):
    for name, (old, new) in savers.items():
        path = tmp_path / name
        old(path)
        path.chmod(0o600)
        new(path, overwrite=True)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600, name


def test_a_new_file_follows_the_mask_of_the_process(tmp_path):
    before = os.umask(0o027)
    try:
        _core.write_whole(tmp_path / "run.json", b"text", False)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "run.json").stat().st_mode) == 0o640


def test_overwriting_follows_a_link(tmp_path):
    (tmp_path / "archive").mkdir()
    real = tmp_path / "archive" / "run.json"
    real.write_text("old")
    link = tmp_path / "latest.json"
    link.symlink_to(real)
    _core.write_whole(link, b"new", True)
    assert link.is_symlink()
    assert real.read_text() == "new"
    real.unlink()
    with pytest.raises(fd.InputError, match="No such file"):
        _core.write_whole(link, b"new", True)
    assert link.is_symlink()


def test_what_is_protected_or_no_ordinary_file_stays(tmp_path):
    protected = tmp_path / "signed.json"
    protected.write_text("signed")
    protected.chmod(0o444)
    with pytest.raises(fd.InputError, match="write-protected"):
        _core.write_whole(protected, b"new", True)
    assert protected.read_text() == "signed"
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    (tmp_path / "folder").mkdir()
    (tmp_path / "device").symlink_to("/dev/null")
    for name in ["pipe", "folder", "device"]:
        with pytest.raises(fd.InputError, match="no ordinary file"):
            _core.write_whole(tmp_path / name, b"new", True)
        with pytest.raises(fd.RecordError, match="exists"):
            _core.write_whole(tmp_path / name, b"new", False)
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    assert stat.S_ISCHR(os.stat("/dev/null").st_mode)
