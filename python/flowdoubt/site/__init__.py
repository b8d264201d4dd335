"""What a user holds: a site, and what comes of it."""

from flowdoubt.site.commissioning import Commissioned, Commissioning
from flowdoubt.site.difference import Difference, difference
from flowdoubt.site.evaluation import Evaluation
from flowdoubt.site.kit import Inventory, KitList
from flowdoubt.site.many import SiteTable, evaluate_sites
from flowdoubt.site.mark_out import MarkOut
from flowdoubt.site.plan import Plan, PlanComparison, Target
from flowdoubt.site.record import Record, Reproduction, reproduce
from flowdoubt.site.series import Series
from flowdoubt.site.site import Site
from flowdoubt.site.verification import Verification, VerificationResult

__all__ = [
    "Commissioned",
    "Commissioning",
    "Difference",
    "Evaluation",
    "Inventory",
    "KitList",
    "MarkOut",
    "Plan",
    "PlanComparison",
    "Record",
    "Reproduction",
    "Series",
    "Site",
    "SiteTable",
    "Target",
    "Verification",
    "VerificationResult",
    "difference",
    "evaluate_sites",
    "reproduce",
]
