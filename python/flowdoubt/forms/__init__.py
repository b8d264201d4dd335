"""A form of a site for notebooks: change an entry, and see what becomes of the uncertainty."""

from __future__ import annotations

from flowdoubt.forms.state import Form
from flowdoubt.site import Site
from flowdoubt.site.plan import Amount
from flowdoubt.site.readings import Readings

__all__ = ["Form", "form"]


def form(
    site: Site,
    readings: Readings | None = None,
    *,
    flow: Amount | None = None,
    temperature: Amount | None = None,
) -> Form:
    """Open a site as a form that shows the uncertainty of the flow while entries change.

    Estimates, their uncertainties and choices are entries, with sliders for what is not known.
    Beside them stand the sound path to scale, the flow with its uncertainty and the shares of the
    components, computed anew after every change. An entry that is refused has the error beside it,
    and the last good result stays.

    Parameters
    ----------
    site
        The site to begin with.
    readings
        As for `Site.evaluate`.
    flow
        In place of readings: the volume flow that is foreseen, such as ``"100 m3/h"``, at which the
        uncertainty is expected as `Site.plan` does.
    temperature
        With `flow`: the temperature of the liquid, such as ``"15 degC"``, where the site leaves it
        to the readings.

    Returns
    -------
    Form
        In a notebook it is shown with entries where the package anywidget is installed (extra
        ``form``), else as a page of its state. ``site`` is the site with all changes.

    Raises
    ------
    FlowdoubtError
        What the site cannot give a result for, with these readings or at this flow.

    Examples
    --------
    >>> import flowdoubt as fd
    >>> site = fd.Site.load("notebooks/demo/site.toml")
    >>> own = fd.form(site, flow="1000 m3/h", temperature="8 degC")
    >>> own.change("installation.remounting.standard_uncertainty", "0.1 %")
    True
    >>> before = fd.form(site, flow="1000 m3/h", temperature="8 degC").budget
    >>> own.budget.standard_uncertainty < before.standard_uncertainty
    True
    >>> 'standard_uncertainty = "0.1 %"' in own.site.to_toml()
    True
    """
    return Form(site, readings, flow=flow, temperature=temperature)
