"""The base of all features: what a job may ask for. Kinds live in `features/kinds/`, one file each."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterator
from typing import Any

from toolpaths.features.fits import Fit
from toolpaths.features.surfaces import Surfaces
from toolpaths.instrument.handwork.handwork import Handwork, Measure
from toolpaths.job.bit import Bit
from toolpaths.job.feature_keys import FeatureKeys
from toolpaths.job.job import Instrument
from toolpaths.job.setup import Setup
from toolpaths.job.setup_context import SetupContext
from toolpaths.operations.feeds_and_speeds import settle
from toolpaths.operations.machine_stiffness import gives_way
from toolpaths.operations.operation import Cutting, Operation
from toolpaths.target_shape.demand import Demand


class Feature(FeatureKeys):
    """A kind of feature: its keys, its facts, and the two methods that it must supply.

    Raises TypeError at import where a class with a `key` does not say what it `cuts` or its `stage`.
    """

    @classmethod
    def __pydantic_init_subclass__(cls, **given: Any) -> None:
        """Check that the class states its facts."""
        super().__pydantic_init_subclass__(**given)
        missing = [fact for fact in ("cuts", "stage") if cls.key and not hasattr(cls, fact)]
        if missing:
            raise TypeError(f"{cls.__name__} does not say its {' and '.join(missing)}: see job/feature_keys.py")

    def completed(self, instrument: Instrument) -> Feature:
        """With what the instrument says of keys that the job leaves out; a feature that asks it nothing is the same."""
        return self

    @abstractmethod
    def demands(self, context: SetupContext) -> Iterator[Demand]:
        """The exact shape wanted, from closed formulas, in instrument coordinates (mm)."""

    @abstractmethod
    def operations(self, context: SetupContext) -> Iterator[Operation]:
        """The operations that cut it, in instrument coordinates (mm). Raises FeatureError where it cannot be cut."""

    def by_hand(self, context: SetupContext, near: Surfaces) -> Iterator[Handwork]:
        """The work that this feature leaves to be done by hand, besides corners; none unless a feature says so.

        `near`: the wood as it stands once the whole part is cut.
        """
        return iter(())

    def fits(self, bit: Bit) -> Iterator[Fit]:
        """The fits of it that a coupon tests with a bit; none unless a feature says so."""
        return iter(())

    def measures(self, context: SetupContext, near: Surfaces) -> list[Measure]:
        """The lengths to measure once it is cut: width and depth of its cuts, unless a feature says otherwise.

        `near`: the wood as it stands then.
        """
        return near.cuts(context, self)

    def demand_head(self, context: SetupContext, name: str) -> tuple[str, int, str, str]:
        """The first fields of each of its demands, as `Demand` has them."""
        return self.name, self.line, context.setup.name, name

    def settled(self, context: SetupContext, slot: bool = False) -> Cutting:
        """How its bit is driven, as `settle` chooses. Raises FeatureError where the job asks for what cannot be."""
        return settle(self, context.bits[self.bit], context.wood, context.machine, slot)

    def gives_way(self, context: SetupContext, deep: float) -> float:
        """How far machine and bit give way beside the walls of a slot of its, so deep; mm, an estimate."""
        return gives_way(context.machine, context.bits[self.bit], self.settled(context, slot=True), deep)

    def operation_head(
        self, context: SetupContext, title: str, floor: float, *, top: float | None = None, slot: bool = False
    ) -> tuple[str, int, str, Cutting, str, float, float]:
        """The first fields of each of its operations, as `Common` has them; `top` is the wood's face if absent."""
        top = context.face if top is None else top
        return self.name, self.line, self.bit, self.settled(context, slot), title, top, floor


def features_of(setup: Setup) -> list[Feature]:
    """A setup's features as `Feature` objects. Raises TypeError where one is only a set of keys."""
    found = [f for f in setup.features if isinstance(f, Feature)]
    if len(found) != len(setup.features):
        raise TypeError(f"setup {setup.name} holds keys that are of no feature")
    return found
