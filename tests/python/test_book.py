"""The book in ``notebooks`` is built without a warning, and has every public name."""

import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from types import ModuleType
from urllib.parse import unquote, urlsplit

import pytest
import tables
from conftest import ROOT
from sphinx.util.inventory import InventoryFile

import flowdoubt as fd

MODULES = [name for name in fd.__all__ if isinstance(getattr(fd, name), ModuleType)]


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """The built book; broken links and all other warnings are errors."""
    folder = tmp_path_factory.mktemp("book")
    places = ["-d", folder / "doctrees", ROOT / "notebooks", folder / "html"]
    # the notebooks have their own tests
    options = ["-W", "--keep-going", "-q", "-D", "nb_execution_mode=off"]
    command = [sys.executable, "-m", "sphinx", *options, *places]
    built = subprocess.run(command, capture_output=True, text=True, cwd=folder, check=False)
    assert built.returncode == 0, built.stdout + built.stderr
    return folder / "html"


def test_every_page_is_in_the_book(book):
    """A page that no table of contents names is a warning, and so an error; this is the count."""
    notebooks = ROOT / "notebooks"
    pages = [*notebooks.glob("*.md"), *notebooks.glob("*.ipynb")]
    assert len(pages) > 30
    assert not [page.name for page in pages if not (book / f"{page.stem}.html").exists()]


def test_every_public_name_is_in_the_reference(book):
    inventory = InventoryFile.loads((book / "objects.inv").read_bytes(), uri="").data
    listed = {name for kind, names in inventory.items() if kind.startswith("py:") for name in names}
    # what inputs and models have is listed there
    homes = {"flowdoubt", "flowdoubt.models.inputs", "flowdoubt.models"}
    public = [name for name in fd.__all__ if name not in MODULES and name != "__version__"]
    missing = [name for name in public if not any(f"{home}.{name}" in listed for home in homes)]
    for module in MODULES:
        names = getattr(fd, module).__all__
        homes = (getattr(fd, module).__name__, "flowdoubt")
        missing += [
            f"{module}.{name}"
            for name in names
            if not name.isupper()
            if not any(f"{home}.{name}" in listed for home in homes)
        ]
    assert not missing


def test_every_row_of_checks_has_its_comparison():
    """A row whose comparison is gone would stand on the page for ever: it is removed by hand."""
    rows = list(tables.rows())
    assert len(rows) > 30
    sources = {test: (tables.HERE / test).read_text() for _, _, test in rows}
    for what, source, test in rows:
        for words in (what, source):
            assert f'"{words}"' in sources[test], f"{test} has no comparison {words}"


class _Links(HTMLParser):
    """Addresses of everything that a page links to or loads, and the places in it."""

    def __init__(self):
        super().__init__()
        self.to, self.loaded, self.places = [], [], set()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if "id" in found:
            self.places.add(found["id"])
        if tag == "a" and found.get("href"):
            self.to.append(found["href"])
        if tag in ("script", "img", "link", "iframe", "source"):
            self.loaded += [found[key] for key in ("src", "href") if found.get(key)]


def _links(page):
    parser = _Links()
    parser.feed(page.read_text())
    return parser


def test_links_lead_somewhere_and_nothing_is_loaded_from_elsewhere(book):
    pages = {page: _links(page) for page in sorted(book.glob("*.html"))}
    broken = []
    for page, found in pages.items():
        for address in found.to + found.loaded:
            parts = urlsplit(address)
            if parts.scheme or parts.netloc:
                if address in found.loaded and parts.scheme != "data":
                    broken.append((page.name, address, "loaded from elsewhere"))
                continue
            target = Path(page.parent, unquote(parts.path)).resolve() if parts.path else page
            if not target.exists():
                broken.append((page.name, address, "no such file"))
            elif parts.fragment and target in pages:
                places = pages[target].places
                if unquote(parts.fragment) not in places:
                    broken.append((page.name, address, "no such place"))
    assert not broken
