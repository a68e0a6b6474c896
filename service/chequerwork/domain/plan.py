"""The plan: everything computed for one order and one shop, room by room, each part when first asked for.

The only module that sees all rooms. A part is computed once; two parts never compute the same thing.
"""

from collections.abc import Iterable
from functools import cached_property
from typing import Any, Final, Self, TypeVar, overload

from chequerwork.domain import remedies
from chequerwork.domain.basics.advice import Advice
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board import accuracy, geometry
from chequerwork.domain.law import compliance
from chequerwork.domain.making import cutting, finishing, hours, joints, materials, schedule
from chequerwork.domain.making.schedule import Ready, Slack, rescue
from chequerwork.domain.money import pricing, woodcost
from chequerwork.domain.order.order import Order
from chequerwork.domain.parcel import packing, packing_list, transit
from chequerwork.domain.stock.boards import Goal, StockPlan
from chequerwork.domain.stock.offer import least_lots_m3, offered, rack_boards, saw_of
from chequerwork.domain.stock.wanted import pieces_of
from chequerwork.domain.wood import flatness, movement, support, verdict

T = TypeVar("T")

SECTIONS: Final = (
    "geometry",
    "cutting",
    "materials",
    "movement",
    "finishing",
    "schedule",
    "packing",
    "compliance",
    "price",
)


class computed(cached_property[T]):  # noqa: N801  a decorator, like the one it stands for
    """A part of a plan, computed when first asked for.

    The library's own holds a lock, one for all plans, that Python 3.12 has done away with: requests would wait for
    each other's parts. Two threads that ask for quotes get a fifth less done with it.
    """

    @overload
    def __get__(self, plan: None, owner: type | None = None) -> Self: ...

    @overload
    def __get__(self, plan: object, owner: type | None = None) -> T: ...

    def __get__(self, plan: Any, owner: type | None = None) -> T | Self:
        """Compute the part; from then on it is found in the plan itself, before this is asked."""
        if plan is None:
            return self
        found: T = self.func(plan)
        plan.__dict__[self.attrname] = found
        return found


class Plan:
    """Everything computed for one order. Read-only; same order, shop and tables give the same numbers."""

    def __init__(self, order: Order, shop: Shop, tables: Tables) -> None:
        self.order, self.shop, self.tables = order, shop, tables

    @computed
    def year(self) -> movement.Year:
        """The customer's year as seen from the workshop."""
        return movement.year_of(self.order, self.shop, self.tables)

    @computed
    def swing(self) -> movement.Swing:
        """The field's change of width: needed before the frame can be laid out."""
        return movement.swing(self.order, self.shop, self.year)

    @computed
    def geometry(self) -> geometry.Geometry:
        """Sizes of one board."""
        seat = movement.seat(self.order, self.swing)
        return geometry.lay_out(self.order, self.shop, self.tables, seat=seat)

    @computed
    def accuracy(self) -> accuracy.Accuracy:
        """Whether the corners will meet."""
        return accuracy.budget(self.order, self.shop)

    @computed
    def movement(self) -> verdict.Examined:
        """What the seasons do, and whether the construction bears it."""
        return verdict.assess(self.order, self.tables, self.year, season=self.swing, accuracy=self.accuracy)

    @computed
    def balance(self) -> flatness.Balance | None:
        """The backing that would take the bow away."""
        return flatness.balance(self.order, self.shop, self.tables, self.year, self.swing)

    @computed
    def margin(self) -> float | None:
        """Strength over stress of the joints of a field that nothing else carries."""
        return support.support_margin(self.order, self.tables)

    @computed
    def remedies(self) -> tuple[remedies.Remedy, ...]:
        """What would make the construction sounder, best first."""
        return remedies.offer(self.order, self.shop, self.tables, self.year, self.movement)

    @computed
    def cutting(self) -> cutting.Cutting:
        """Strips, crosscuts and parts of one board."""
        return cutting.plan_cuts(self.order, self.shop, self.geometry)

    @computed
    def bonds(self) -> tuple[joints.Bond, ...]:
        """What is glued to what in one board."""
        return joints.bonds_of(self.order, self.geometry, self.cutting)

    @computed
    def glue_ups(self) -> tuple[joints.GlueUp, ...]:
        """Every glue-up of one board."""
        return joints.glue_ups(self.bonds, self.shop, self.tables)

    @computed
    def finishing(self) -> finishing.Finishing:
        """Sanding and coats of one board."""
        return finishing.plan_finish(self.order, self.shop, self.tables, self.geometry)

    @computed
    def materials(self) -> materials.Materials:
        """What is bought for the whole order."""
        return materials.bill(
            self.order,
            self.shop,
            self.tables,
            self.cutting,
            adhesive_g=materials.adhesive_per_board_g(self.bonds, self.shop, self.tables),
            finish_ml=self.finishing.finish_ml,
            sanded_m2=self.finishing.sanded_m2,
        )

    @computed
    def hours(self) -> hours.Hours:
        """Hands-on time of the whole order."""
        return hours.estimate(self.order, self.shop, self.tables, self.geometry, self.cutting, self.finishing)

    @computed
    def schedule(self) -> schedule.Schedule:
        """The dated work plan."""
        return schedule.work_plan(
            self.order, self.shop, self.tables, self.hours, self.finishing, self._counted_glue_ups
        )

    @computed
    def slack(self) -> Slack:
        """Float of every step of the work plan, and what decides its end."""
        return schedule.slack(self.schedule)

    @computed
    def ready(self) -> Ready:
        """Days on which the order is ready, by how safely they hold."""
        return schedule.ready(self.order, self.shop, self.tables, self.hours, self._counted_glue_ups)

    @computed
    def ways_out(self) -> tuple[rescue.WayOut, ...]:
        """What would let the order leave by the wanted day, where it does not."""
        job = rescue.Job(self.order, self.shop, self.tables, self.geometry, self.cutting, self.finishing, self.hours)
        return rescue.ways_out(job, self.schedule.dates)

    @property
    def _counted_glue_ups(self) -> tuple[joints.GlueUp, ...]:
        """What a shop that counts its clamps plans with; the others need not know."""
        machines = self.shop.machines
        return self.glue_ups if machines.clamps is not None or machines.presses is not None else ()

    @computed
    def packing(self) -> packing.Parcel:
        """The parcels of the order."""
        return packing.pack(self.order, self.shop, self.geometry)

    @computed
    def transit(self) -> transit.Transit:
        """What waits on the way. What a board is worth is worked out only where the shop asks for it."""
        return transit.review(
            self.order,
            self.shop,
            self.tables,
            self.year,
            geometry=self.geometry,
            parcel=self.packing.first,
            worth=None if self.shop.packing.crate.worth is None else self.price.unit_worth,
        )

    @computed
    def packing_list(self) -> packing_list.PackingList:
        """What the hands need to pack the order."""
        by_sea = self.transit.damp is not None
        return packing_list.specify(self.shop, self.tables, self.geometry, self.packing, by_sea=by_sea)

    @computed
    def compliance(self) -> compliance.Compliance:
        """Notices."""
        return compliance.review(self.order, self.shop, self.tables, self.geometry)

    @computed
    def price(self) -> pricing.Price:
        """Price of the whole order."""
        return pricing.price(self.order, self.shop, self.tables, self.materials, self.hours, self.packing)

    @computed
    def risk(self) -> pricing.Risk:
        """Cost of the whole order if its hours run long."""
        return pricing.risk(self.price, self.shop, self.tables, self.hours)

    @computed
    def stock(self) -> StockPlan:
        """From which boards of the rack and the offer the order's parts are cut, and how. Raises ``Refused``."""
        # 0.2 s and 40 MB that few requests need: numbers and solver are not even read before.
        from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415

        wanted = pieces_of(self.cutting, self.order, self.shop)
        return plan_stock(
            wanted,
            rack_boards(self.shop, self.tables),
            offered(self.shop, self.tables, wanted),
            saw_of(self.shop),
            goal=Goal.COST,
            exponent=self.tables.currencies[self.shop.currency].exponent,
            least_lots_m3=least_lots_m3(self.shop, wanted),
        )

    @computed
    def from_stock(self) -> woodcost.FromStock:
        """Cost of the order by its stock plan. Raises ``Refused``."""
        return woodcost.from_stock(self.price, self.shop, self.tables, self.materials, self.stock)

    def advice(self, sections: Iterable[str] = SECTIONS) -> tuple[Advice, ...]:
        """Findings of the given sections, in the order of the flow."""
        asked = set(sections)
        found: list[Advice] = []
        for name, rooms in _ADVISERS.items():
            if name in asked:
                for room in rooms:
                    found.extend(getattr(self, room).advice)
        return tuple(found)


# Section of the answer -> the parts whose findings belong to it.
_ADVISERS: Final = {
    "geometry": ("geometry", "accuracy"),
    "cutting": ("cutting",),
    "materials": ("materials",),
    "movement": ("movement",),
    "finishing": ("finishing",),
    "schedule": ("schedule",),
    "packing": ("packing", "transit"),
    "price": ("price",),
}
