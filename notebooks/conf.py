"""Configuration of the book; DEVELOPERS.md has the command that builds it."""

from docutils import nodes
from docutils.utils.math import MathError
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.util import logging

import flowdoubt

LOGGER = logging.getLogger(__name__)

project = "flowdoubt"
release = version = flowdoubt.__version__
copyright = author = "the authors of flowdoubt"

extensions = ["myst_nb", "sphinx.ext.autodoc", "numpydoc"]
# the page that registries show is no page of the book
exclude_patterns = ["demo/**.md", "embed/**.md", "**.ipynb_checkpoints"]
html_theme = "furo"
html_title = f"flowdoubt {release}"
html_copy_source = False
html_show_sphinx = False
html_static_path = ["book"]
html_css_files = ["book.css"]
templates_path: list[str] = []

# links in Markdown are checked; names in docstrings are not all links
nitpicky = True
nitpick_ignore_regex = [("py:.*", ".*")]

myst_enable_extensions = ["dollarmath", "amsmath", "colon_fence"]
myst_heading_anchors = 3
# run whenever the book is built, so that no output is older than the package; the tests, which run
# them anyway, say "off"
nb_execution_mode = "force"
nb_execution_excludepatterns = ["embed_the_crate.ipynb"]  # compiles the crate
nb_execution_timeout = 600
nb_execution_raise_on_error = True
nb_merge_streams = True
# a form is a page of its state here: its entries want scripts from elsewhere, and a kernel
nb_mime_priority_overrides = [("html", "application/vnd.jupyter.widget-view+json", None)]
nb_ipywidgets_js: dict[str, dict[str, str]] = {}

autodoc_member_order = "bysource"
autodoc_typehints = "none"  # docstrings give kinds, shapes and units
numpydoc_show_class_members = False
numpydoc_xref_param_type = False


def _mathml(node, as_block: bool = False) -> str:
    try:
        return tex2mathml(node.astext(), as_block=as_block)
    except MathError as error:
        LOGGER.warning("formula: %s", error, location=node)
        return ""


def _inline(writer, node) -> None:
    writer.body.append(_mathml(node))
    raise nodes.SkipNode


def _block(writer, node) -> None:
    writer.body.append(f'<div class="math">{_mathml(node, as_block=True)}</div>')
    raise nodes.SkipNode


def _without_value(app, what, name, own, options, signature, returned):
    """Leave out of what the core makes objects; no user has it."""
    return ("", returned) if what == "class" and signature == "(value)" else None


def setup(app) -> None:
    """Set formulas as MathML, so that the book needs nothing from elsewhere."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    app.connect("autodoc-process-signature", _without_value)


html_math_renderer = "mathml"
