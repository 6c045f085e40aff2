"""The texts of the sample: its study file and how each file was made."""

STUDY = """\
# The sample study: where should the playground of {town} go? The town is made up.

[study]
title = "A playground for {town}"
units = "feet"
least_known = "50 %"
profile = "public"

[program]
ages = ["2-5", "5-12"]
children_at_once = 45
# What the town has asked for; without it the program's own least rectangle is looked for.
pad = {{ length = "104 ft", width = "74.5 ft" }}

[[program.equipment]]
kind = "composite"
ages = "5-12"
length = "26 ft"
width = "20 ft"
height = "6 ft"
elevated_components = 6

[[program.equipment]]
kind = "belt swing"
ages = "5-12"
length = "10 ft"
pivot_height = "8 ft"

[[program.equipment]]
kind = "climber"
ages = "5-12"
length = "12 ft"
width = "6 ft"
height = "6 ft"

[[program.equipment]]
kind = "composite"
ages = "2-5"
length = "14 ft"
width = "10 ft"
height = "4 ft"
elevated_components = 3

[[program.equipment]]
kind = "rocker"
ages = "2-5"
count = 2
length = "3 ft"
width = "1 ft"
height = "2 ft"

[[program.equipment]]
kind = "bucket swing"
ages = "2-5"
length = "10 ft"
pivot_height = "8 ft"
seat_height = "2 ft"

[programs.small]
ages = ["2-5"]
children_at_once = 15

[[programs.small.equipment]]
kind = "composite"
ages = "2-5"
length = "14 ft"
width = "10 ft"
height = "4 ft"
elevated_components = 3

[[programs.small.equipment]]
kind = "rocker"
ages = "2-5"
count = 2
length = "3 ft"
width = "1 ft"
height = "2 ft"

# What it may cost, and who decides. All money and dates here are made up.
[charter]
goals = ["A playground that children of all abilities reach on foot"]
decides = "the town council"
budget_cap = "$480,000"
deadline = 2028-06-30
money_strings = ["The state's grant pays only for work that is finished by its last day"]
must_haves = [
  {{ text = "a public restroom within 650 ft", criterion = "restroom", at_most = "650 ft" }},
  "children of the school are asked before the design",
]

[cost]
installation = "supervised"
surfacing = "engineered wood fiber"
built = "2027-03"
extras = {{ "tree planted" = 6 }}

[[funding]]
name = "capital plan of the town"
amount = "$250,000"
state = "in hand"

[[funding]]
name = "state recreation grant"
amount = "$200,000"
match = "50 %"
state = "applied for"
spend_by = 2028-06-30

[[funding]]
name = "gifts"
amount = "$25,000"

[schedule]
start = 2026-04-01

[layers.parcels]
path = "parcels.gpkg"
layer = "parcels"
where = "LAND_USE IN ('PARK', 'SCHOOL', 'TOWN')"
columns = {{ parcel_id = "MAP_LOT", name = "NAME", owner = "OWNER" }}
date = "2025"

[layers.elevation]
path = "elevation.tif"
noise = "3 cm"
date = "2023"

[layers.streets]
path = "streets.gpkg"
columns = {{ class = "FUNC", lanes = "LANES", volume = "AADT", name = "NAME", bridge = "BRIDGE" }}
values.class = {{ "Highway" = "highway", "Secondary Arterial" = "arterial", "Major Collector" = "collector", "Local Street" = "local" }}
date = "2025"

[layers.paths]
path = "paths.gpkg"
columns = {{ bridge = "BRIDGE", name = "NAME", kind = "KIND" }}
date = "2025"

[layers.water]
path = "water.gpkg"
columns = {{ name = "NAME", kind = "KIND" }}
date = "2024"

[layers.buildings]
path = "buildings.gpkg"
columns = {{ kind = "KIND" }}
values.kind = {{ "dwelling" = "dwelling", "shed" = "other", "shop" = "other", "school" = "other", "hall" = "other", "restroom" = "other", "barn" = "other" }}
date = "2024"

[layers.trees]
path = "trees.gpkg"
columns = {{ diameter = {{ column = "DBH", unit = "in" }}, height = {{ column = "HT", unit = "ft" }} }}
date = "2022"

[layers.crossings]
path = "paths.gpkg"
where = "KIND = 'crossing'"
columns = {{ name = "NAME" }}
date = "2025"

[layers.restrooms]
path = "restrooms.gpkg"
columns = {{ access = "ACCESS", name = "NAME", opening_hours = "OPENING", wheelchair = "ADA" }}
values.opening_hours = {{ "school hours" = "Mo-Fr 08:00-15:00" }}
date = "2025"

[layers.parking]
path = "parking.gpkg"
columns = {{ access = "ACCESS", name = "NAME", capacity = "SPACES", capacity_disabled = "ADA", full_when = "FULL", opening_hours = "OPENING" }}
values.opening_hours = {{ "school hours" = "Mo-Fr 08:00-15:00" }}
date = "2025"

[layers.picnic]
path = "picnic.gpkg"
columns = {{ access = "ACCESS", name = "NAME" }}
date = "2025"

[layers.playgrounds]
path = "playgrounds.gpkg"
columns = {{ access = "ACCESS", name = "NAME" }}
date = "2025"

[layers.fences]
path = "fences.gpkg"
columns = {{ height_m = {{ column = "HT_FT", unit = "ft" }} }}
date = "2024"

[layers.easements]
path = "easements.gpkg"
columns = {{ kind = "KIND" }}
date = "2025"

[layers.inlets]
path = "inlets.gpkg"
columns = {{ name = "NAME", depth = {{ column = "DEPTH_FT", unit = "ft" }} }}
date = "2024"

[layers.culverts]
path = "culverts.gpkg"
columns = {{ name = "NAME" }}
date = "2024"

[layers.soils]
path = "soils.gpkg"
date = "2019"

[layers.flood_zones]
path = "flood_zones.gpkg"
date = "2018"

[layers.wetlands]
path = "wetlands.gpkg"
columns = {{ searched = "SEARCHED" }}
date = "2016"

[layers.below]
path = "below.gpkg"
columns = {{ kind = "KIND", name = "NAME", searched = "SEARCHED" }}
date = "2024"

[layers.population]
path = "population.gpkg"
columns = {{ name = "AREA", under_5 = "UNDER_5", under_5_margin = "UNDER_5_M", from_5_to_9 = "AGE_5_9", from_5_to_9_margin = "AGE_5_9_M", from_10_to_14 = "AGE_10_14", from_10_to_14_margin = "AGE_10_14_M", low_income_pct = "LOW_INC", disability_pct = "DISAB", no_yard_pct = "NO_YARD" }}
date = "2020"

[layers.districts]
path = "districts.gpkg"
columns = {{ name = "NAME" }}
date = "2022"

[storm]
# Made up, of the size that the north-eastern United States know; take yours from the official tables.
source = "made up for the sample town"
intensity_10_year = {{ "5 min" = "6.2 in/h", "10 min" = "4.9 in/h", "15 min" = "4.1 in/h", "60 min" = "1.8 in/h" }}
intensity_100_year = {{ "5 min" = "9.3 in/h", "10 min" = "7.4 in/h", "15 min" = "6.2 in/h", "60 min" = "2.9 in/h" }}
rain_10_year = "4.5 in"
rain_100_year = "7.2 in"

[setbacks]
parcel_line = "10 ft"
building = "20 ft"
line_error = "0 m"
"""

README = """\
# The town of {town}

The town is **made up**: no street, lot, owner, building or height in these files exists. The
coordinates ({crs}, metres) only give it a true size and a sun; nothing here describes the land
that lies at them. Licence: MIT, as the project.

Made by `python scripts/make_sample_gis.py --seed {seed} --parcels {parcels}`. The same numbers make
the same files, byte for byte, with the same versions of the libraries; `SHA256SUMS` has their sums.

| file | what | how it was made |
|---|---|---|
| `elevation.tif` | bare ground, 1 m, metres | a valley with terraces and a hill from smooth curves; planes under the candidate parcels; creek and draw cut in; streets laid level on banks, no decks at bridges; terrace, hollow and ponds; independent normal noise of 3 cm, none on ponds; rounded to 1 cm |
| `parcels.gpkg` | candidates, house lots, shops, farm and wood | candidates at their exact size beside a street; lots cut along both sides of each street; the rest is farm, wood or common |
| `streets.gpkg` | center lines, class, lanes (some unknown), vehicles a day (counted on one) | curves through planned points, cut at junctions and at bridges |
| `paths.gpkg` | sidewalks, crossings, footpaths, steps, bridges | sidewalks at the edge of the walked streets, crossings at junctions, footpaths as planned, and a straight way to each restroom, car park and park entrance |
| `water.gpkg` | creek, ponds, a detention basin | outlines as planned; ponds are level in the elevation |
| `buildings.gpkg` | houses, sheds, shops, public ones | plain, L-shaped or with a garage, at random, facing the street of their lot |
| `trees.gpkg` | trunk diameter (inches), height (feet), some unknown | woods by the creek, street trees, yard trees, rows round parks |
| `restrooms.gpkg`, `parking.gpkg`, `picnic.gpkg`, `playgrounds.gpkg` | who may use them; hours; spaces, accessible ones, when full | as planned |
| `fences.gpkg`, `easements.gpkg` | height (feet); kind | as planned |
| `inlets.gpkg`, `culverts.gpkg` | depth of the pipe (feet), some unknown; a drain above a lawn | along the kerbs of the built streets, one in a lawn; as planned |
| `soils.gpkg` | map units with the columns of the U.S. soil survey; the soils are made up | by distance from the creek and side of it; the middle of town is built over |
| `flood_zones.gpkg`, `wetlands.gpkg` | zones with the columns of the U.S. flood maps; wet woods, land searched | bands along the creek; as planned |
| `below.gpkg` | demolished buildings, a filled pond, a listed site, land searched | as planned |
| `population.gpkg`, `districts.gpkg` | children of a made-up census with margins, shares in percent; three districts | by the homes in each square of a grid; as planned |
| `study.toml` | the sample study | written out |
| `truth.json` | what is true by construction | from the maker's own geometry, never by running the toolkit |

Each candidate parcel has one thing to find (a thin lot, a level terrace on a steep parcel, a pond
that looks like level ground, a hollow in a lawn, a road bank that holds water, and so on);
`truth.json` says which. Paths share a vertex with every street or path they meet; streets are cut
at street junctions only.

With more `--parcels` than the town has candidates, plain ones are added on a grid of streets in
open country east of it, and the elevation grows with them (100,000 parcels: 15 by 13.5 km,
about 320 MB).
They have no houses, trees or sidewalks.
"""
