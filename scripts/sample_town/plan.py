"""The plan of the town: streets, water and the candidate parcels, in metres from its south-west corner."""

from __future__ import annotations

from dataclasses import dataclass

TOWN = "Ambry Ford"
CRS = "EPSG:26918"
ORIGIN_M = (548000.0, 4712000.0)
SIDE_M = 1500
FOOT_M = 0.3048
PAD_M = (104 * FOOT_M, 74.5 * FOOT_M)
PARCEL_SETBACK_M = 10 * FOOT_M
BUILDING_SETBACK_M = 20 * FOOT_M
CREEK_HALF_M = 3.5

ARTERIAL, COLLECTOR, LOCAL = "Secondary Arterial", "Major Collector", "Local Street"
HIGHWAY = "Highway"
RIGHT_OF_WAY_HALF_M = {HIGHWAY: 20.0, ARTERIAL: 13.0, COLLECTOR: 10.0, LOCAL: 8.0}
PAVEMENT_HALF_M = {HIGHWAY: 8.0, ARTERIAL: 7.0, COLLECTOR: 4.5, LOCAL: 3.6}

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Street:
    """A street by the points its centre line runs through."""

    name: str
    func: str
    points: Points
    lanes: int | None = 2
    lots: bool = True


@dataclass(frozen=True)
class Candidate:
    """A parcel that could hold the playground, laid beside a street at its true size.

    `fall_pct` is the grade of its ground away from the street (positive: up); None leaves the
    ground as it is. `trap` says what is wrong with it, "none" where nothing is.
    """

    name: str
    trap: str
    street: str
    near: tuple[float, float]
    front_m: float
    depth_m: float
    rise_pct: float | None = None
    use: str = "PARK"
    turn_deg: float | None = None
    arm_m: float | None = None


COUNTED_A_DAY = {"Halden Turnpike": 9_400}
"""Vehicles a day where somebody counted; nobody counted on Route 188."""

STREETS = (
    Street(
        "Route 188",
        HIGHWAY,
        ((15, 0), (50, 300), (70, 600), (62, 900), (40, 1200), (10, 1500)),
        lanes=4,
        lots=False,
    ),
    Street(
        "Halden Turnpike",
        ARTERIAL,
        (
            (0, 588),
            (200, 606),
            (420, 638),
            (600, 646),
            (800, 622),
            (1000, 640),
            (1200, 700),
            (1500, 775),
        ),
        lanes=4,
    ),
    Street(
        "Main Street",
        COLLECTOR,
        (
            (470, 0),
            (455, 200),
            (470, 420),
            (480, 640),
            (470, 860),
            (440, 1080),
            (430, 1300),
            (450, 1500),
        ),
    ),
    Street(
        "Mill Street",
        COLLECTOR,
        ((1000, 640), (1040, 840), (1075, 1040), (1060, 1250), (1100, 1500)),
    ),
    Street(
        "Quarry Road", COLLECTOR, ((1000, 640), (985, 480), (960, 300), (930, 120), (915, 0)), None
    ),
    Street(
        "Chandler Street",
        LOCAL,
        ((607, 646), (612, 740), (608, 860), (590, 980), (566, 1100), (560, 1200), (565, 1312)),
    ),
    Street(
        "River Street",
        LOCAL,
        ((735, 634), (742, 740), (748, 830), (765, 920), (790, 1010), (815, 1110)),
    ),
    Street("Sallow Lane", LOCAL, ((478, 738), (612, 744), (742, 738))),
    Street("Weir Street", LOCAL, ((474, 828), (608, 836), (748, 828))),
    Street("Orchard Street", LOCAL, ((465, 918), (600, 926), (765, 920))),
    Street("Cooper Street", LOCAL, ((452, 1008), (588, 1016), (790, 1012))),
    Street("Pinder Street", LOCAL, ((440, 1098), (566, 1104), (815, 1110))),
    Street(
        "Larch Street",
        LOCAL,
        (
            (225, 609),
            (235, 740),
            (222, 880),
            (190, 1020),
            (180, 1140),
            (250, 1220),
            (350, 1230),
            (434, 1215),
        ),
    ),
    Street("Tinker Row", LOCAL, ((479, 735), (350, 748), (235, 745)), None),
    Street("Lantern Street", LOCAL, ((474, 830), (350, 842), (226, 840))),
    Street(
        "Bramble Street",
        LOCAL,
        ((452, 1010), (385, 1029), (340, 1030), (290, 1030), (240, 1030), (188, 1030)),
    ),
    Street("Heron Lane", LOCAL, ((250, 1220), (256, 1320), (320, 1395), (436, 1385)), None),
    Street(
        "Juniper Loop",
        LOCAL,
        ((466, 500), (340, 512), (215, 480), (160, 360), (205, 225), (330, 170), (458, 185)),
    ),
    Street("Thimble Lane", LOCAL, ((338, 512), (325, 420), (318, 300), (332, 170)), None),
    Street("Wick Court", LOCAL, ((319, 345), (280, 350), (238, 348)), None),
    Street(
        "Willow Walk",
        LOCAL,
        ((655, 643), (668, 560), (640, 420), (625, 300), (600, 180), (560, 60)),
    ),
    Street("Depot Street", LOCAL, ((474, 525), (560, 530), (664, 528))),
    Street("Tannery Lane", LOCAL, ((470, 420), (560, 425), (640, 420))),
    Street("Lime Street", LOCAL, ((466, 320), (550, 322), (626, 310))),
    Street("Fuller Street", LOCAL, ((458, 215), (540, 215), (607, 205))),
    Street(
        "Overlook Drive",
        LOCAL,
        (
            (1040, 840),
            (1150, 850),
            (1260, 900),
            (1310, 1000),
            (1290, 1110),
            (1190, 1170),
            (1076, 1150),
        ),
    ),
    Street("Kestrel Lane", LOCAL, ((1062, 965), (1180, 985), (1309, 990)), None),
    Street(
        "Hollow Road",
        LOCAL,
        ((985, 470), (1100, 495), (1220, 520), (1330, 480), (1400, 380), (1390, 250)),
    ),
    Street("Sexton Lane", LOCAL, ((950, 215), (1060, 205), (1180, 190), (1290, 200), (1388, 250))),
    Street("Harrow Road", LOCAL, ((1062, 1300), (1180, 1320), (1300, 1290), (1420, 1310))),
    Street("Kiln Lane", LOCAL, ((430, 1300), (565, 1312), (700, 1330), (800, 1300)), None),
)

# frontage and depth of house lots, and the share of them that is built on, by part of the town
LOT_SIZES: dict[str, tuple[float, float, float, float]] = {
    "old town": (20, 28, 38, 1.0),
    "newer": (30, 40, 42, 0.95),
    "outskirts": (42, 64, 56, 0.8),
}
NEWER = (
    "Juniper Loop",
    "Thimble Lane",
    "Wick Court",
    "Overlook Drive",
    "Kestrel Lane",
    "Heron Lane",
    "Larch Street",
    "Willow Walk",
    "Kiln Lane",
)
OUTSKIRTS = ("Hollow Road", "Sexton Lane", "Harrow Road", "Mill Street", "Quarry Road")

CREEK: Points = (
    (1010, 1520),
    (985, 1380),
    (930, 1270),
    (945, 1150),
    (900, 1040),
    (850, 940),
    (868, 830),
    (830, 730),
    (802, 640),
    (797, 520),
    (745, 430),
    (760, 320),
    (700, 220),
    (705, 110),
    (660, -20),
)
# a dry draw that comes down the east hill and is cut off by the bank of Quarry Road
DRAW: Points = ((1420, 425), (1250, 372), (1100, 345), (960, 335), (860, 330), (757, 320))
DRAW_DEPTH_M, DRAW_HALF_M = 1.8, 15.0


@dataclass(frozen=True)
class Pond:
    """A level pond, or a basin that is dry most days."""

    name: str
    kind: str
    centre: tuple[float, float]
    radii_m: tuple[float, float]
    turn_deg: float = 0.0


PONDS = (
    Pond("Mill Pond", "pond", (925, 522), (27, 17), 80),
    Pond("Heron Pond", "pond", (350, 1312), (34, 25), 10),
    Pond("Cress Pond", "pond", (150, 740), (26, 40), 15),
    Pond("Ice Pond", "pond", (1290, 1415), (55, 33), 160),
    Pond("Turnpike Basin", "detention basin", (1204, 642), (30, 18), 20),
)

CANDIDATES = (
    Candidate("Founders Green", "none", "Sallow Lane", (545, 790), 108, 71, 1.6),
    Candidate("Lantern Field", "none", "Tinker Row", (405, 790), 90, 72, 1.8),
    Candidate("Tansy Field", "none", "Kiln Lane", (640, 1270), 90, 70, 2.2),
    Candidate("Harrow Green", "none", "Harrow Road", (1200, 1270), 80, 64, -3.5),
    Candidate("Lamplight Park", "none", "Lime Street", (545, 360), 80, 60, 2.0),
    Candidate("Kiln Corner", "none", "Mill Street", (1110, 1215), 60, 52, 5.0),
    Candidate("Sorrel Green", "near tie", "Bramble Street", (272, 1080), 62, 56, 2.0),
    Candidate("Sedge Green", "near tie", "Bramble Street", (346, 1080), 62, 56, 2.0),
    Candidate("Cinder Lot", "dominated", "Halden Turnpike", (1130, 640), 48, 40, -7.0, use="TOWN"),
    Candidate("Ropewalk Strip", "thin", "Juniper Loop", (395, 220), 12.19, 82.9, use="TOWN"),
    Candidate("Elbow Green", "narrow arms", "Willow Walk", (680, 250), 70, 45, 1.5, arm_m=19),
    Candidate(
        "Ledge Field", "terrace on a steep parcel", "Overlook Drive", (1370, 1010), 100, 90, 12.0
    ),
    Candidate("Millpond Park", "pond inside", "Quarry Road", (900, 520), 130, 100, -5.0),
    Candidate("Saucer Lawn", "hidden hollow", "Orchard Street", (680, 960), 46, 38, 1.5),
    Candidate("Culvert Meadow", "road bank as a dam", "Quarry Road", (1010, 335), 80, 64, 4.0),
    Candidate(
        "Far Bank Meadow", "creek before the restroom", "Mill Street", (1010, 1110), 80, 62, -2.0
    ),
    Candidate(
        "Skew Lot", "fits only when turned", "Depot Street", (560, 490), 42, 31.5, 1.5, "TOWN", 37
    ),
    Candidate("Turnpike Green", "beside the arterial", "Halden Turnpike", (560, 600), 90, 40, 1.5),
    Candidate("Heron Landing", "open pond beside", "Heron Lane", (285, 1312), 44, 40, -1.5),
    Candidate(
        "Gatehouse Meadow", "gap in the pond fence", "Larch Street", (345, 1260), 62, 44, -1.5
    ),
    Candidate("Goat Bank", "steep throughout", "Overlook Drive", (1330, 905), 60, 50, 19.0),
    Candidate(
        "Depot Yard", "full of buildings", "Depot Street", (590, 560), 60, 48, 1.0, use="TOWN"
    ),
    Candidate(
        "Conduit Common", "easement across", "Sexton Lane", (1120, 240), 60, 42, 2.0, use="TOWN"
    ),
    Candidate(
        "Larch Street School",
        "locked restroom",
        "Lantern Street",
        (340, 900),
        160,
        112,
        1.5,
        "SCHOOL",
    ),
)

CIVIC = (
    Candidate("Town Hall", "", "Sallow Lane", (545, 700), 52, 42, use="CIVIC"),
    Candidate("Public Library", "", "Main Street", (430, 700), 40, 44, use="CIVIC"),
    Candidate("Meeting House", "", "Chandler Street", (640, 790), 44, 50, use="CIVIC"),
    Candidate("Fire Station", "", "Halden Turnpike", (700, 600), 46, 44, use="CIVIC"),
    Candidate("Juniper Tot Lot", "", "Wick Court", (270, 380), 40, 32, use="COMMON"),
)

# footpaths by the points they run through; an end within reach of a street or path is set onto it
FOOTPATHS: dict[str, Points] = {
    "Riverwalk": (
        (772, 626),
        (795, 700),
        (808, 745),
        (840, 830),
        (828, 900),
        (826, 945),
        (872, 1040),
        (905, 1115),
        (912, 1150),
    ),
    "Riverwalk South": ((772, 626), (768, 580), (765, 516)),
    "Weir Street steps": ((748, 828), (795, 826), (840, 828)),
    "Cooper Street link": ((790, 1012), (830, 1018), (862, 1022)),
    "Pinder Street link": ((815, 1110), (860, 1118), (905, 1120)),
    "Footbridge way": ((666, 530), (710, 522), (765, 516), (797, 508), (830, 502), (872, 500)),
    "Mill Pond loop": (
        (872, 500),
        (880, 470),
        (920, 464),
        (958, 480),
        (968, 530),
        (950, 575),
        (910, 578),
        (884, 550),
        (872, 500),
    ),
    "Mill Pond gate": ((966, 505), (986, 500)),
    "Juniper common way": ((400, 182), (404, 268), (398, 330), (330, 352)),
}
