"""The built extension calls no function of the platform's mathematical library.

Their last bits differ from system to system, so a number that came from one would too.
"""

import ctypes.util
import subprocess
import sys
from pathlib import Path

import pytest
from elftools.elf.elffile import ELFFile

import flowdoubt._core as extension

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="reads files of Linux")


def dynamic(path):
    """The libraries that a file needs, the names it imports, and those it exports."""
    with open(path, "rb") as file:
        elf = ELFFile(file)
        tags = elf.get_section_by_name(".dynamic").iter_tags("DT_NEEDED")
        needed = {tag.needed for tag in tags}
        symbols = list(elf.get_section_by_name(".dynsym").iter_symbols())
    defined = [symbol["st_shndx"] != "SHN_UNDEF" for symbol in symbols]
    names = [symbol.name for symbol in symbols]
    imported = {name for name, here in zip(names, defined, strict=True) if name and not here}
    exported = {name for name, here in zip(names, defined, strict=True) if name and here}
    return needed, imported, exported


def mathematical_library():
    """Where the mathematical library of this system lies, as this process has it open."""
    ctypes.CDLL(ctypes.util.find_library("m"))
    paths = [line.split()[-1] for line in Path("/proc/self/maps").read_text().splitlines()]
    return next(path for path in paths if Path(path).name.startswith(("libm.", "libm-")))


def test_no_mathematical_function_of_the_platform_is_called():
    needed, imported, _ = dynamic(extension.__file__)
    assert "malloc" in imported, "the names were read"
    _, _, mathematical = dynamic(mathematical_library())
    assert {"exp", "pow", "hypot", "floor"} <= mathematical, "the library was read"
    assert sorted(imported & mathematical) == []
    assert not [name for name in needed if name.startswith("libm.")]


def test_the_check_finds_a_function_that_is_called(tmp_path):
    source = tmp_path / "calls.c"
    source.write_text("#include <math.h>\ndouble f(double x) { return hypot(x, exp(x)); }\n")
    library = tmp_path / "calls.so"
    command = ["cc", "-shared", "-fPIC", "-o", str(library), str(source), "-lm"]
    try:
        subprocess.run(command, check=True)
    except FileNotFoundError:
        pytest.skip("no compiler of C")
    needed, imported, _ = dynamic(library)
    assert {"hypot", "exp"} <= imported
    assert [name for name in needed if name.startswith("libm.")]
