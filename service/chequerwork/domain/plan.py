"""The plan: everything computed for one order and one shop, each part when first asked for.

Brings the wings together. A part is computed once; two parts never compute the same thing. Each is one call
of a function with just what it reads: groups of the order, single values, and earlier parts.
"""

from collections.abc import Iterable
from datetime import date
from functools import cached_property
from typing import Any, Final, Self, TypeVar, overload

from chequerwork.domain import remedies
from chequerwork.domain.basics.advice import Advice
from chequerwork.domain.basics.facts import Tables
from chequerwork.domain.basics.memory import Made, plainly
from chequerwork.domain.basics.shop import Shop
from chequerwork.domain.board import accuracy, geometry
from chequerwork.domain.law import compliance
from chequerwork.domain.making import cutting, finishing, hours, joints, materials
from chequerwork.domain.making.schedule import rescue, work_plan
from chequerwork.domain.making.schedule.batch import Batch, batch_of
from chequerwork.domain.making.schedule.slack import Slack
from chequerwork.domain.money import pricing, terms, woodcost
from chequerwork.domain.order.order import Order
from chequerwork.domain.parcel import packing, packing_list, transit
from chequerwork.domain.stock.boards import Goal, Piece, StockPlan
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

    def __init__(self, order: Order, shop: Shop, tables: Tables, made: Made = plainly) -> None:
        self.order, self.shop, self.tables, self._made = order, shop, tables, made

    @computed
    def year(self) -> movement.Year:
        """The customer's year as seen from the workshop."""
        return self._made(movement.year_of, self.order.climate, self.shop.workshop_climate, self.tables)

    @computed
    def swing(self) -> movement.Swing:
        """The field's change of width: needed before the frame can be laid out."""
        return self._made(movement.swing, self.order.field, self.shop.lumber, self.year)

    @computed
    def seat(self) -> geometry.Seat:
        """How a floating field sits in its frame."""
        return self._made(movement.seat, self.order.frame, self.swing)

    @computed
    def geometry(self) -> geometry.Geometry:
        """Sizes of one board."""
        order = self.order
        return self._made(
            geometry.lay_out,
            order.field,
            order.play,
            order.frame,
            order.base,
            order.feet,
            self.seat,
            self.shop.consumables,
            self.tables,
        )

    @computed
    def accuracy(self) -> accuracy.Accuracy:
        """Whether the corners will meet."""
        order = self.order
        return self._made(accuracy.accuracy_of, order.field, order.frame, order.corners, self.shop.machines)

    @computed
    def movement(self) -> verdict.Assessment:
        """What the seasons do, and whether the construction bears it."""
        order = self.order
        return self._made(
            verdict.assess,
            order.field,
            order.frame,
            order.base,
            self.tables,
            self.year,
            self.swing,
            self.accuracy,
        )

    @computed
    def balance(self) -> flatness.Balance | None:
        """The backing that would take the bow away."""
        order = self.order
        return self._made(
            flatness.balance,
            order.field,
            order.frame,
            order.base,
            self.shop.lumber,
            self.tables,
            self.year,
            self.swing,
        )

    @computed
    def margin(self) -> float | None:
        """Strength over stress of the joints of a field that nothing else carries."""
        order = self.order
        return self._made(support.support_margin, order.field, order.frame, order.base, self.tables)

    @computed
    def remedies(self) -> tuple[remedies.Remedy, ...]:
        """What would make the construction sounder, best first."""
        return self._made(remedies.offer, self.order, self.shop, self.tables, self.year, self.movement)

    @computed
    def cutting(self) -> cutting.Cutting:
        """Strips, crosscuts and parts of one board."""
        order, shop = self.order, self.shop
        return self._made(
            cutting.plan_cuts,
            order.field,
            order.frame,
            order.base,
            self.geometry,
            shop.machines,
            shop.lumber,
            shop.defaults.units,
        )

    @computed
    def bonds(self) -> tuple[joints.Bond, ...]:
        """What is glued to what in one board."""
        order = self.order
        return self._made(joints.bonds_of, order.field, order.frame, order.base, self.geometry, self.cutting)

    @computed
    def glue_ups(self) -> tuple[joints.GlueUp, ...]:
        """Every glue-up of one board."""
        return self._made(joints.glue_ups, self.bonds, self.shop, self.tables)

    @computed
    def finishing(self) -> finishing.Finishing:
        """Sanding and coats of one board."""
        shop = self.shop
        return self._made(
            finishing.plan_finish,
            self.order.surface,
            self.geometry,
            shop.consumables,
            shop.workshop_climate,
            self.tables,
        )

    @computed
    def adhesive_g(self) -> float:
        """Adhesive of one board, waste included. [g]"""
        return self._made(materials.adhesive_per_board_g, self.bonds, self.shop, self.tables)

    @computed
    def materials(self) -> materials.Materials:
        """What is bought for the whole order."""
        order, finishing = self.order, self.finishing
        return self._made(
            materials.bill,
            self.cutting,
            order.sale.quantity,
            order.feet,
            order.surface.finish,
            self.shop,
            self.tables,
            self.adhesive_g,
            finishing.finish_ml,
            finishing.sanded_m2,
        )

    @computed
    def hours(self) -> hours.Hours:
        """Hands-on time of the whole order."""
        order = self.order
        return self._made(
            hours.estimate,
            self.geometry,
            self.cutting,
            self.finishing,
            len(order.field.lines),
            order.sale.quantity,
            self.shop.labour,
            self.tables,
        )

    @computed
    def batch(self) -> Batch:
        """The boards of the order as the work plan sees them."""
        order = self.order
        return self._made(
            batch_of,
            order.field.lines,
            order.frame,
            order.base,
            order.feet,
            order.surface,
            order.sale.quantity,
            order.dates.starts_on,
        )

    @computed
    def schedule(self) -> work_plan.Schedule:
        """The dated work plan."""
        return self._made(
            work_plan.schedule_of,
            self.batch,
            self.order.dates.wanted_by,
            self.hours,
            self.finishing,
            self.glue_ups if self._counted else (),
            self.shop,
            self.tables,
        )

    @computed
    def slack(self) -> Slack:
        """Float of every step of the work plan, and what decides its end."""
        return self._made(work_plan.slack, self.schedule)

    @computed
    def ready(self) -> work_plan.Ready:
        """Days on which the order is ready, by how safely they hold."""
        glue_ups = self.glue_ups if self._counted else ()
        return self._made(work_plan.ready, self.batch, self.hours, glue_ups, self.shop, self.tables)

    @computed
    def job(self) -> rescue.Job:
        """The order as it is planned anew where a wanted day is missed."""
        dates = self.order.dates
        return self._made(
            rescue.Job,
            self.batch,
            dates.issued_on,
            dates.wanted_by,
            self.geometry,
            self.cutting,
            self.finishing,
            self.hours,
            len(self.order.field.lines),
            self.bonds if self._counted else (),
            self.shop,
            self.tables,
        )

    @computed
    def ways_out(self) -> tuple[rescue.WayOut, ...]:
        """What would let the order leave by the wanted day, where it does not."""
        return self._made(rescue.ways_out, self.job, self.schedule.dates)

    @property
    def _counted(self) -> bool:
        """Whether the shop counts its clamps and presses, and plans with them; the others need not know."""
        machines = self.shop.machines
        return machines.clamps is not None or machines.presses is not None

    @computed
    def packing(self) -> packing.Consignment:
        """The parcels of the order."""
        sale = self.order.sale
        return self._made(packing.pack, self.geometry, sale.quantity, sale.ship_to, self.order.units, self.shop)

    @computed
    def transit(self) -> transit.Transit:
        """What waits on the way. What a board is worth is worked out only where the shop asks for it."""
        order = self.order
        return self._made(
            transit.review,
            order.field,
            order.frame,
            self.geometry,
            self.packing.first,
            self.price.unit_worth if self.shop.packing.crate.worth is not None else None,
            self.year,
            order.sale.ship_to,
            order.units,
            self.shop,
            self.tables,
        )

    @computed
    def packing_list(self) -> packing_list.PackingList:
        """What the hands need to pack the order."""
        by_sea = self.transit.damp is not None
        return self._made(packing_list.specify, self.shop, self.tables, self.geometry, self.packing, by_sea=by_sea)

    @computed
    def compliance(self) -> compliance.Compliance:
        """Notices."""
        order = self.order
        return self._made(
            compliance.review,
            self.geometry,
            order.feet,
            order.surface.finish,
            order.sale.quantity,
            order.sale.ship_to,
            order.dates.issued_on,
            self.shop,
            self.tables,
        )

    @computed
    def price(self) -> pricing.Price:
        """Price of the whole order."""
        order = self.order
        return self._made(
            pricing.price,
            self.materials,
            self.hours,
            self.packing,
            order.sale,
            order.dates.issued_on,
            order.dates.wanted_by,
            self.shop,
            self.tables,
        )

    @computed
    def risk(self) -> pricing.Risk:
        """Cost of the whole order if its hours run long."""
        return self._made(pricing.risk, self.price, self.shop, self.tables, self.hours)

    @computed
    def pieces(self) -> tuple[Piece, ...]:
        """The parts of the whole order as a stock plan wants them."""
        order = self.order
        return self._made(pieces_of, self.cutting, order.field, order.frame, order.base, order.sale.quantity, self.shop)

    @computed
    def stock(self) -> StockPlan:
        """From which boards of the rack and the offer the order's parts are cut, and how. Raises ``Refused``."""
        return self._made(_cut_from_stock, self.pieces, self.shop, self.tables)

    @computed
    def from_stock(self) -> woodcost.FromStock:
        """Cost of the order by its stock plan. Raises ``Refused``."""
        return self._made(woodcost.from_stock, self.price, self.shop, self.tables, self.materials, self.stock)

    @computed
    def valid_until(self) -> date:
        """The last day on which the offer stands."""
        return self._made(terms.valid_until, self.order.dates.issued_on, self.shop.price)

    def advice(self, sections: Iterable[str] = SECTIONS) -> tuple[Advice, ...]:
        """What is to be known of the given sections, in the order of the flow."""
        asked = set(sections)
        found: list[Advice] = []
        for name, parts in _ADVISERS.items():
            if name in asked:
                for part in parts:
                    found.extend(getattr(self, part).advice)
        return tuple(found)


def _cut_from_stock(pieces: tuple[Piece, ...], shop: Shop, tables: Tables) -> StockPlan:
    # 0.2 s and 40 MB that few requests need: numbers and solver are not even read before.
    from chequerwork.domain.stock.planning import plan_stock  # noqa: PLC0415

    return plan_stock(
        pieces,
        rack_boards(shop, tables),
        offered(shop, tables, pieces),
        saw_of(shop),
        goal=Goal.COST,
        exponent=tables.currencies[shop.currency].exponent,
        least_lots_m3=least_lots_m3(shop, pieces),
    )


# Section of the answer -> the parts whose advice belongs to it.
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
