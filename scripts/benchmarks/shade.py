"""Shade of pads, by the number of pads."""

import numpy as np
import shapely

from benchmarks.timing import timed


def shade() -> None:
    """Shade of pads through the warm months: time, exponent and memory, the town growing along."""
    import tracemalloc

    import geopandas as gpd

    from playsite.sun.casters import Bodies, crowns_of, walls_of
    from playsite.sun.pad_shade import pad_shade, scene_of
    from playsite.sun.seasons import season_suns

    suns = season_suns(40.0, 0.0)
    took: dict[int, float] = {}
    for count in (250, 1000):
        rng = np.random.default_rng(11)
        side = 60 * np.sqrt(count)
        stems = rng.uniform(0, side, (int(side**2 / 250), 2))
        sizes = rng.uniform((2, 8, 0.1), (6, 20, 0.6), (len(stems), 3))
        names = ("crown_m", "height_m", "diameter_m")
        trees = gpd.GeoDataFrame(
            dict(zip(names, sizes.T, strict=True)), geometry=shapely.points(stems)
        )
        corner = rng.uniform(0, side, (int(side**2 / 900), 2))
        homes = shapely.box(*corner.T, *(corner + rng.uniform(8, 14, corner.shape)).T)
        houses = gpd.GeoDataFrame({"height_m": rng.uniform(4, 9, len(homes))}, geometry=homes)
        at = rng.uniform(60, side - 60, (count, 2))
        some = shapely.box(*at.T, *(at + np.array([31.6, 22.7])).T)

        def whole(t: object = trees, h: object = houses, p: object = some) -> None:
            level = lambda xy: np.zeros(len(xy))  # noqa: E731
            bodies = Bodies(crowns_of(t, level), walls_of(h, t, level))
            for pad in p:
                pad_shade(scene_of(pad, bodies, suns, level_m=0.0), suns)

        took[count] = timed({"ours": whole}, 1)["ours"]
        tracemalloc.start()
        whole(p=some[:50])
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        print(
            f"Shade, {count} pads, {len(trees)} trees, {len(homes)} houses, {suns.altitude_deg.size} suns:"
        )
        print(
            f"  {took[count]:.1f} s on one thread, {1000 * took[count] / count:.1f} ms a pad, {peak_mb:.0f} MB"
        )
    growth = np.log(took[1000] / took[250]) / np.log(4)
    print(f"  time grows as n^{growth:.2f}")
