"""Sheet Cost: what the job needs, whole packs of every item, money and hours."""

from __future__ import annotations

from estimator.appearance import SheetAppearance
from estimator.model.cost.actuals import ACTUALS
from estimator.model.cost.calendar import CALENDAR
from estimator.model.cost.concrete import CONCRETE
from estimator.model.cost.digging import DIGGING
from estimator.model.cost.groups import GROUPS
from estimator.model.cost.hours import HOURS
from estimator.model.cost.money import MONEY
from estimator.model.cost.needs import NEEDS
from estimator.model.cost.outlook import DRIVEN_DRAWN, OUTLOOK
from estimator.model.cost.ranking import RANKING
from estimator.model.cost.sale import SALE
from estimator.model.cost.site import SITE
from estimator.model.what_if import WHAT_IF
from estimator.rows import Sheet

COST = Sheet(
    "Cost",
    "Cost: whole packs, money and hours",
    "Every need names an item of the price book; packs are whole; each line is rounded to the cent.",
    CONCRETE,
    SITE,
    DIGGING,
    NEEDS,
    HOURS,
    CALENDAR,
    MONEY,
    SALE,
    RANKING,
    OUTLOOK,
    WHAT_IF,
    GROUPS,
    ACTUALS,
    shows=SheetAppearance(role="computed", band=DRIVEN_DRAWN),
)
