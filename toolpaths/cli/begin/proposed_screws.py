"""Screws that hold the blank of a first neck, clear of all that its job cuts: places for its `hold`."""

from __future__ import annotations

from pathlib import Path

_FEWEST = 4
"""Fewer screws hold no neck's blank; tape does then."""


def screws_for(path: Path) -> tuple[str, ...]:
    """Groups of screws, as a job file takes them, for the job in a file; none where there is no room for enough."""
    import shapely

    from toolpaths.common.errors import JobError
    from toolpaths.pipeline.design import read_design
    from toolpaths.simulation.columns import Columns
    from toolpaths.simulation.depth_map import DepthMap
    from toolpaths.verification.finished_part import finished_part
    from toolpaths.verification.holding.proposed_places import screw_groups, screw_places

    try:
        design = read_design(path)
    except JobError:
        return ()
    ((name, context),) = design.contexts.items()
    blank = Columns.of(DepthMap.over(context.stock_box, context.top, 1.0))
    part = finished_part(context).intersection(shapely.box(*context.stock_box))
    places = screw_places(context, design.target.demands[name], part, blank)
    if sum(map(len, places.values())) < _FEWEST:
        return ()
    return tuple(screw_groups(places, design.loaded.job.units))
