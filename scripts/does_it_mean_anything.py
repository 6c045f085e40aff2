"""Whether places where a town has playgrounds score better than chance places of the same town.

python scripts/does_it_mean_anything.py MAPS.gpkg [METRES]

MAPS.gpkg holds the public map layers of Cambridge, Massachusetts (licence ODC PDDL); METRES is the
side of a square play area, 10 by default. Each playground, and 1,000 chance places each on open
space and on parcels, gets a play area with its middle there, turned by chance. All are measured
by the criteria that the layers allow, as candidates are. Printed: share of the profile's weight
that these have; medians of the scores, how many real ones score 0, and how often a playground scores
higher than a chance place (equal ones count half, so that one half is chance), with a 95 % interval
by resampling; and how many of each group rules put out, or condition.
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from existing_playgrounds.comparing import held_up, rows
from existing_playgrounds.town import places, study

from playsite.criteria._contract import measured
from playsite.criteria._registry import choose, installed, load
from playsite.layers import read_layers
from playsite.problems import Problems
from playsite.ranking.scores import criterion_scores, totals
from playsite.settings import read_settings
from playsite.site import Site


def main() -> None:
    """Measure, compare, print."""
    maps, side = Path(sys.argv[1]).resolve(), float((*sys.argv[2:], 10)[0])
    rng, problems, scores = np.random.default_rng(7), Problems(), {}
    with tempfile.TemporaryDirectory() as folder:
        settings = read_settings(study(Path(folder), maps, side), problems)
        chosen = choose(settings, problems)
        layers = read_layers(settings, problems)
        problems.stop_if_any()
    site = Site(layers, settings)
    every = sum(load(name)[0].weight for name in installed())
    tried = sum(each.criterion.weight for each in chosen)
    print(f"weight of what is tried: {100 * tried / every:.0f} % of the public profile's\n")
    for group, pads in places(maps, side, rng).items():
        found = {each.name: measured(each.criterion, pads, site) for each in chosen}
        own = criterion_scores(found, chosen)
        total = totals(own, {each.name: each.weight for each in chosen})["score"]
        scores[group] = own.assign(all_together=total)
        print("\n".join(held_up(group, found, chosen)))
    print("\n" + "\n".join(rows(scores, rng)))


if __name__ == "__main__":
    main()
