"""How far it is on foot: over open ground to a street or path, along it, and off it at the other end."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from playsite.proximity._walk_paths import Drawn, draw
from playsite.proximity._walk_search import Scene, search, shortest
from playsite.proximity.clearance import clearance_m
from playsite.proximity.links import Ground, Land
from playsite.proximity.network import WalkNetwork, read_blocked, walk_network
from playsite.proximity.shapes import read_shapes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from playsite.proximity._walk_search import Reach, Walks
    from playsite.proximity.shapes import Shapes, ShapesLike

__all__ = ["Land", "WalkNetwork", "walk_m", "walk_network"]


def walk_m(
    origins: ShapesLike,
    targets: ShapesLike,
    network: WalkNetwork,
    *,
    blocked: ShapesLike | None = None,
    link_m: float = 150.0,
    reach_m: float = np.inf,
    paths: bool = True,
    land: Land | None = None,
) -> pd.DataFrame:
    """Walk from each origin to the nearest target, nearest on foot.

    A walk is a straight link from the origin's edge to a street or path, the way along streets and
    paths, and a straight link to the target's edge. No link crosses blocked ground, or a line marked
    as a road (it may end on one). Every stretch of 10 m within reach of a link is tried, at its
    nearest point, and the least total counts: links cut corners over whatever is not blocked, so put
    private land among the blocked shapes or shorten ``link_m`` where that is wrong. Where no blocked
    ground and no road lies between, and the target is within reach of a link, the straight way over
    open ground counts too. An origin or target inside blocked ground (a toilet in a building) is
    linked from that ground's edge.

    A road of the network may be crossed anywhere, by one link that ends on it and another from it. A
    road that nobody may cross just anywhere is a matter for
    `playsite.proximity.streets_to_cross.by_rules`; what a crossing counts for there is part of the
    walk, though not of its path.

    Parameters
    ----------
    origins, targets
        Points, lines or polygons (a pad, a restroom, a parking lot), projected metres.
    network
        Of :func:`walk_network`.
    blocked
        Polygons no link may cross, besides those of the network.
    link_m
        Longest link.
    reach_m
        Longest walk that is looked for.
    land
        For each origin the land that its link may cross at will (its own parcel, say), and how much
        of the link may lie off it; for each target its longest link. None: all is open.
    paths
        Whether to draw the ways: without, the column ``path`` holds None, and what is found by
        drawing is NaN.

    Returns
    -------
    DataFrame
        By the index of ``origins``: ``walk_m`` (inf: can't be reached; NaN: unknown, because there
        is no network or the origin is empty), ``straight_m`` (edge to edge, to that target or the
        edge of the building it lies in, so never more than the walk; to the nearest one where none
        can be reached; NaN where there is none), ``target`` (label, the
        lowest where several are equally near to a micrometre; None), ``path`` (LineString from
        origin to target, None), ``from_link_m`` and ``to_link_m`` (how much of the walk's first and
        last part is a link over open ground), ``crossings`` and ``marked`` (how often it crosses a
        street that `by_rules` was told is busy, and how often where a crossing is mapped), all NaN
        where there is no path, and ``note`` (why there is no walk, or what was assumed; else "").

    Raises
    ------
    ValueError
        The reach is no distance, a blocked shape is no polygon, a layer is in degrees, or the
        layers' systems differ.

    Notes
    -----
    One search from all targets (Dijkstra 1959, "A note on two problems in connexion with graphs")
    serves every origin.

    Examples
    --------
    >>> from shapely import LineString, Point, box
    >>> street = walk_network([LineString([(0, 0), (400, 0)])], roads=[True])
    >>> row = walk_m([box(0, 10, 30, 30)], [Point(330, -5)], street, link_m=10).loc[0]
    >>> float(row["walk_m"]), row["target"]
    (315.0, 0)
    """
    if not (np.isfinite(link_m) and link_m >= 0):
        raise ValueError(f"The longest link must be a distance in metres, 0 or more: {link_m}")
    if not reach_m >= 0:
        raise ValueError(f"The longest walk must be a distance in metres, 0 or more: {reach_m}")
    pads = read_shapes(origins, crs=network.crs)
    goals = read_shapes(targets, crs=pads.crs)
    ground = Ground(
        shapely.STRtree(np.r_[network.blocked, read_blocked(blocked, crs=pads.crs)]),
        shapely.STRtree(np.r_[network.edges[network.road & (network.side >= 0)], network.walls]),
    )
    starts, _ = ground.stand_ins(pads.geometry)
    stops, inside = ground.stand_ins(goals.geometry)
    tree = shapely.STRtree(network.edges)
    goal_m = np.minimum(link_m, np.inf if land is None else land.goal_m)
    goal_m = np.broadcast_to(goal_m, len(stops))
    scene = Scene(network, tree, ground, link_m, stops, goals.rank, reach_m, goal_m)
    reach = search(scene)
    walks = shortest(starts, scene, reach, land)
    has = walks.goal >= 0
    straight_m = clearance_m(starts, stops).to_numpy(copy=True)
    straight_m[has] = shapely.distance(starts[has], stops[walks.goal[has]])
    target = np.full(len(pads), None, dtype=object)
    target[has] = np.asarray(goals.labels, dtype=object)[walks.goal[has]]
    drawn = draw(starts, scene, reach, walks) if paths else Drawn.nothing(len(pads))
    return pd.DataFrame(
        {
            "walk_m": np.where(pads.usable, walks.walk_m, np.nan),
            "straight_m": straight_m,
            "target": pd.Series(target, index=pads.labels, dtype=object),
            "path": gpd.GeoSeries(drawn.path, index=pads.labels, crs=pads.crs),
            "from_link_m": drawn.from_link_m,
            "to_link_m": drawn.to_link_m,
            "crossings": drawn.crossings,
            "marked": drawn.marked,
            "note": _notes(pads, goals, inside, scene, reach, walks),
        },
        index=pads.labels,
    )


def _notes(
    pads: Shapes,
    goals: Shapes,
    inside: NDArray[np.bool_],
    scene: Scene,
    reach: Reach,
    walks: Walks,
) -> pd.Series[str]:
    """Say why there is no walk, or what was assumed for one."""
    link = f"crosses no water, building or road within {scene.link_m:g} m"
    no_walk = walks.goal < 0
    note = np.full(len(pads), "", dtype=object)
    indoors = ~no_walk
    indoors[~no_walk] = inside[walks.goal[~no_walk]]
    note[indoors] = "the target lies in a building or water: taken at its edge"
    within = f" within {scene.reach_m:,.0f} m" if np.isfinite(scene.reach_m) else ""
    note[no_walk] = "no way along streets and paths" + within
    if not len(reach.link_goal):
        note[no_walk] = f"no link from any target to a street or path that {link}"
    note[no_walk & ~walks.linked] = f"no link from the pad to a street or path that {link}"
    if not len(scene.network.edges):
        note[no_walk] = "no streets or paths to walk along"
    if not goals.usable.any():
        note[:] = "nothing to walk to"
    note[~pads.usable] = "no shape to walk from"
    return pd.Series(note, index=pads.labels, dtype=object)
