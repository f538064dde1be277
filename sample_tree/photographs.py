"""The photographs in the box, as they truly were: the day, who is in it and where they stand, what kind of object it is.

Places of people are shares of the picture: `x` from the left, `y` from the top for the ground they stand on. `tall` says
how many centimetres of the world fit into the picture's height.
"""

from __future__ import annotations

from dataclasses import dataclass, field

STUDIO_OLD = ("J. Vossel", "Pellering", "Ferry Street 4")
STUDIO_NEW = ("Vossel & Daughter", "Pellering", "Market Place 11")
STUDIO_PORT = ("Atelier Brandis", "Port Lissom", "Quay 30")
IMPRINT_YEARS = {STUDIO_OLD: "FROM 1862 TO 1887", STUDIO_NEW: "FROM 1888 TO 1913", STUDIO_PORT: "FROM 1905 TO 1931"}


@dataclass(frozen=True, slots=True)
class Seat:
    """Somebody in a picture. `who` is a tree id, the name of a person outside the tree, or "F30" / "M8" for somebody
    whom nobody can name any more. `pose`: stand, sit, ground, bust, lap (on the one before), arms (carried by the one before)."""

    who: str
    x: float
    pose: str = "stand"
    left: str = "down"
    right: str = "down"
    y: float = 0.94
    wear: str = ""
    hat: str = ""
    turn: float = 0.0
    tilt: float = 0.0
    seat: str = "chair"
    shut: bool = False
    named: bool = True


@dataclass(frozen=True, slots=True)
class Shot:
    """One photograph. `file` is the path below `scans/`; `kind` names a form in `drawing.prints`; `teller` knows who it shows."""

    file: str
    day: str
    kind: str
    place: str
    seats: tuple[Seat, ...]
    teller: str
    title: str
    process: str = ""
    format: str = ""
    tall: float = 215
    ground: float = 0.74
    imprint: tuple[str, str, str] | None = None
    props: tuple[tuple[str, float, float], ...] = ()
    wide: bool = False
    container: str = ""
    more: dict[str, str] = field(default_factory=dict)


def _s(who: str, x: float, pose: str = "stand", left: str = "down", right: str = "down", **rest: object) -> Seat:
    return Seat(who, x, pose, left, right, **rest)  # type: ignore[arg-type]


def _row(
    people: str, x0: float, x1: float, pose: str, y: float, arms: str = "down", **rest: object
) -> tuple[Seat, ...]:
    """People side by side."""
    ids = people.split()
    step = (x1 - x0) / max(len(ids) - 1, 1)
    turns = {i: 0.3 * (1 - 2 * i / max(len(ids) - 1, 1)) for i in range(len(ids))}
    return tuple(_s(who, x0 + i * step, pose, arms, arms, y=y, turn=turns[i], **rest) for i, who in enumerate(ids))


N, P, J = "Nora Quillern", "Peter Quillern", "Judith Quillern"
CDV = {"kind": "cdv", "process": "albumen", "format": "carte-de-visite"}
CABINET = {"kind": "cabinet", "process": "albumen", "format": "cabinet-card"}
LATE_CABINET = {"kind": "cabinet late", "process": "collodion-printing-out", "format": "cabinet-card"}
POSTCARD = {"kind": "postcard", "process": "gelatin-silver", "format": "real-photo-postcard"}
WHITE = {"kind": "white", "process": "gelatin-silver", "format": "white-border"}
DECKLE = {"kind": "deckle", "process": "gelatin-silver", "format": "deckle-edge"}
SQUARE = {"kind": "square", "process": "chromogenic", "format": "square-126"}
SLIDE = {"kind": "slide", "process": "colour-slide", "format": "slide-35mm"}

SHOTS: tuple[Shot, ...] = (
    # The tin box: the studio's years
    Shot("tin_box/portraits_0001.jpg", "1868-05-16", place="lake", teller=N, title="The ferryman and Dorothea", imprint=STUDIO_OLD, **CDV,
         seats=(_s("I1", 0.38, "stand", "pocket", "rest", turn=0.2), _s("I3", 0.64, "sit", "lap", "lap", turn=-0.15, y=0.95))),
    Shot("tin_box/portraits_0002.jpg", "1869-09-20", place="drape", teller=N, title="Corvin before the levy", imprint=STUDIO_OLD, **CDV,
         seats=(_s("I4", 0.52, "stand", "rest", "chest", turn=-0.3),), props=(("empty chair", 0.24, 0.93),)),
    Shot("tin_box/portraits_0003.jpg", "1871-08-06", place="fair", teller=N, title="At the fair", kind="tintype", process="tintype", tall=165,
         seats=(_s("I7", 0.33, "stand", "down", "rest", turn=0.2), _s("I8", 0.68, turn=-0.2, left="clasp", right="clasp"), _s("I9", 0.5, "sit", "lap", "lap", y=0.95))),
    Shot("tin_box/weddings_0001.jpg", "1873-05-13", place="lake", teller=N, title="Corvin and Maud", imprint=STUDIO_OLD, **CABINET,
         seats=(_s("I4", 0.35, "sit", "knees", "knees", wear="groom", turn=0.2, y=0.95), _s("I11", 0.64, "stand", "rest", "hold", wear="bride", turn=-0.2))),
    Shot("tin_box/portraits_0004.jpg", "1876-04-22", place="drape", teller=N, title="Maud with her first", imprint=STUDIO_OLD, **CDV, tall=190,
         seats=(_s("I11", 0.42, "sit", "lap", "lap", turn=0.15, y=0.95), _s("I17", 0.72, "stand", "down", "clasp", y=0.95))),
    Shot("tin_box/portraits_0005.jpg", "1879-06-29", place="plain", teller=N, title="The lock-keeper's family", imprint=STUDIO_OLD, **CABINET,
         seats=(_s("I12", 0.3, "stand", "chest", "down", turn=0.25), _s("I5", 0.58, "sit", "lap", "cradle", y=0.95, turn=-0.1), _s("I21", 0.6, "lap"))),
    Shot("tin_box/river_0001.jpg", "1883-07-08", place="river", teller=N, title="The ferry at the lower landing", kind="mounted", process="albumen", tall=230, wide=True, ground=0.66,
         seats=(_s("I1", 0.36, "stand", "pull", "pull", wear="boat", hat="cap", turn=0.3), _s("I7", 0.58, "stand", "hip", "down", wear="boat", turn=-0.2),
                _s("I10", 0.74, "stand", "clasp", "clasp", hat="straw", turn=-0.3)), props=(("rope", 0.5, 0.6), ("basket", 0.88, 0.95))),
    Shot("tin_box/school_0001.jpg", "1884-06-12", place="school", teller=N, title="The lower school", kind="mounted", process="albumen", tall=270, wide=True, ground=0.68,
         seats=(*_row("M9 F10 I10 M11 F9 I17 M10", 0.2, 0.8, "stand", 0.86), _s("M45", 0.92, "stand", "back", "down", y=0.9, turn=-0.4),
                *_row("F7 M8 I18 F8 M7 F6", 0.23, 0.77, "sit", 0.95, "lap", seat="bench"))),
    Shot("tin_box/weddings_0002.jpg", "1888-10-08", place="drape", teller=N, title="Lambert and Clemence", imprint=STUDIO_NEW, **CABINET,
         seats=(_s("I13", 0.37, "sit", "hold", "hold", wear="bride", y=0.95, turn=0.2), _s("I7", 0.66, "stand", "rest", "pocket", wear="groom", turn=-0.2))),
    Shot("tin_box/portraits_0006.jpg", "1891-05-03", place="lake", teller=N, title="Clemence with little Ambrose", imprint=STUDIO_NEW, **CABINET, tall=170,
         seats=(_s("I13", 0.5, "sit", "cradle", "cradle", turn=0.1, y=0.96), _s("I24", 0.5, "arms"))),
    Shot("tin_box/portraits_0007.jpg", "1893-10-15", place="plain", teller=N, title="The old couple", imprint=STUDIO_NEW, **CABINET, tall=128, ground=0.95,
         seats=(_s("I1", 0.34, "bust", turn=0.2), _s("I3", 0.67, "bust", turn=-0.2))),
    Shot("tin_box/portraits_0008.jpg", "1896-03-29", place="drape", teller=N, title="Henrike and her daughters", imprint=STUDIO_NEW, **LATE_CABINET,
         seats=(_s("I22", 0.72, "stand", "rest", "down", turn=-0.2), _s("I5", 0.45, "sit", "lap", "lap", y=0.95), _s("I23", 0.2, "stand", "down", "clasp", y=0.95, turn=0.3))),
    Shot("tin_box/portraits_0009.jpg", "1899-02-26", place="lake", teller=N, title="Three of the ferry", imprint=STUDIO_NEW, **LATE_CABINET, tall=160,
         seats=(_s("I24", 0.28, "stand", "down", "rest", turn=0.2), _s("I26", 0.52, "sit", "lap", "lap", y=0.95), _s("I25", 0.76, turn=-0.2, left="clasp", right="clasp"))),
    Shot("tin_box/weddings_0003.jpg", "1900-05-12", place="drape", teller=N, title="The wedding at the osier farm", kind="large", process="gelatin-silver", tall=275, wide=True,
         ground=0.7, imprint=STUDIO_NEW,
         seats=(*_row("I20 I21 I36 I18 I7 I13 I14 I8", 0.14, 0.86, "stand", 0.8), *_row("I10 I22 M24 F22 I19 I23", 0.2, 0.8, "stand", 0.85),
                *_row("I5 I4 I11", 0.1, 0.37, "sit", 0.93, "lap"), _s("I17", 0.45, "sit", "knees", "knees", y=0.935, wear="groom", turn=0.1),
                _s("I35", 0.56, "sit", "hold", "hold", y=0.935, wear="bride", turn=-0.1), *_row("F54 M58 I3", 0.67, 0.92, "sit", 0.93, "lap"),
                *_row("I24 I25 I28", 0.28, 0.72, "ground", 0.985, "knees"))),
    # The tin box: in the open
    Shot("tin_box/osiers_0001.jpg", "1903-09-08", place="osiers", teller=N, title="Osier harvest", **WHITE, wide=True, tall=215, ground=0.66,
         seats=(_s("I4", 0.2, "stand", "hip", "down", wear="work", hat="straw", turn=0.3), _s("I11", 0.36, wear="work", hat="headscarf", left="clasp", right="clasp"),
                _s("I19", 0.52, "stand", "down", "hip", wear="work", hat="straw"), _s("I20", 0.68, "stand", "out", "down", wear="work", hat="cap", turn=-0.2),
                _s("Alma Teasdale", 0.83, wear="work", hat="headscarf", left="hold", right="hold", turn=-0.3)), props=(("bundle", 0.93, 0.93), ("basket", 0.44, 0.97))),
    Shot("tin_box/postcards_0001.jpg", "1905-06-18", place="plain", teller=N, title="Silvan, a widower, and his two", imprint=STUDIO_PORT, **POSTCARD, tall=185,
         seats=(_s("I9", 0.5, "sit", "lap", "lap", y=0.96), _s("I31", 0.22, "stand", "down", "down", y=0.95, turn=0.2), _s("I32", 0.78, "stand", "clasp", "clasp", y=0.95, turn=-0.2))),
    Shot("tin_box/postcards_0002.jpg", "1907-07-21", place="beach", teller=P, title="The sands", **POSTCARD, wide=True, tall=205, ground=0.62,
         seats=(_s("I16", 0.3, "stand", "down", "hip", hat="wide", wear="white", turn=0.2), _s("I9", 0.52, "stand", "pocket", "down", hat="boater"),
                _s("I31", 0.7, "stand", "hip", "down", hat="sailor", turn=-0.2), _s("I32", 0.84, left="clasp", right="clasp", hat="straw", turn=-0.3))),
    Shot("tin_box/school_0002.jpg", "1910-05-24", place="school", teller=N, title="Miss Rosamund's class", **WHITE, wide=True, tall=250, ground=0.68,
         seats=(_s("I10", 0.1, "stand", "clasp", "clasp", y=0.9, turn=0.4), *_row("M11 Alma_Teasdale I40 M12 F11 I41", 0.26, 0.88, "stand", 0.86),
                *_row("F8 I27 M7 I42 M6 F7", 0.26, 0.86, "sit", 0.95, "lap", seat="bench"))),
    Shot("tin_box/doorway_0001.jpg", "1913-05-11", place="doorway", teller=N, title="The joiner's door", **POSTCARD, tall=215, ground=0.8,
         seats=(_s("I14", 0.24, "stand", "pocket", "down", turn=0.2), _s("I29", 0.5, "stand", "clasp", "clasp", y=0.9), _s("I8", 0.74, "stand", "clasp", "clasp", turn=-0.2),
                _s("I30", 0.48, "ground", "knees", "knees", y=0.97))),
    Shot("tin_box/soldiers_0001.jpg", "1915-06-05", place="lake", teller=N, title="Ruben on leave", **POSTCARD, imprint=STUDIO_PORT,
         seats=(_s("I20", 0.32, "stand", "back", "rest", wear="uniform", hat="peaked", turn=0.15), _s("I38", 0.66, "sit", "lap", "cradle", y=0.95, turn=-0.1), _s("I48", 0.68, "lap"))),
    Shot("tin_box/soldiers_0002.jpg", "1917-11-10", place="drape", teller=N, title="Felix", **POSTCARD, tall=185, imprint=STUDIO_PORT,
         seats=(_s("I26", 0.36, "stand", "rest", "back", wear="uniform", hat="peaked", y=0.97, turn=0.1), _s("I27", 0.66, "stand", "clasp", "clasp", y=0.97, turn=-0.2))),
    Shot("tin_box/doorway_0002.jpg", "1920-09-19", place="doorway", teller=N, title="Grandfather meets Elise", **WHITE, tall=195, ground=0.8,
         seats=(_s("I4", 0.24, "sit", "knees", "knees", y=0.94, turn=0.2), _s("I25", 0.52, "stand", "cradle", "cradle", y=0.93), _s("I56", 0.52, "arms"), _s("I27", 0.8, "stand", "clasp", "clasp", y=0.93, turn=-0.3))),
    Shot("tin_box/weddings_0004.jpg", "1921-06-11", place="garden", teller=N, title="Ambrose of the Ferry marries", **POSTCARD, wide=True, tall=215, ground=0.68,
         seats=(_s("I7", 0.16, "stand", "pocket", "down", turn=0.3), _s("I13", 0.31, "stand", "clasp", "clasp", turn=0.2), _s("I24", 0.46, "stand", "rest", "down", wear="groom"),
                _s("I51", 0.6, "stand", "hold", "hold", wear="bride"), _s("I27", 0.75, "stand", "clasp", "clasp", turn=-0.2), _s("I49", 0.87, y=0.95, turn=-0.3, left="clasp", right="clasp"))),
    # Aunt Nora's album
    Shot("album/garden_0001.jpg", "1925-06-21", place="garden", teller=N, title="Clemence in the garden", **WHITE, tall=190, ground=0.68,
         seats=(_s("I13", 0.38, "sit", "lap", "lap", seat="wicker", y=0.95, turn=0.1), _s("I52", 0.72, "stand", "down", "down", y=0.96, turn=-0.2))),
    Shot("album/beach_0001.jpg", "1927-08-14", place="beach", teller=N, title="Sandle Point", **WHITE, wide=True, tall=205, ground=0.6,
         seats=(_s("I27", 0.24, "stand", "hip", "down", hat="cloche", turn=0.2), _s("I51", 0.48, "stand", "cradle", "cradle"), _s("I53", 0.48, "arms"), _s("I52", 0.68, "stand", "wave", "down", wear="swim", y=0.96),
                _s("I24", 0.85, "stand", "pocket", "down", turn=-0.3))),
    Shot("album/roads_0001.jpg", "1930-05-29", place="road", teller=N, title="Hugo's motor", **WHITE, wide=True, tall=225, ground=0.62,
         seats=(_s("I31", 0.2, "stand", "pocket", "rest", hat="cap", turn=0.2), _s("I64", 0.42, "stand", "hip", "down", hat="cloche"), _s("I65", 0.62, y=0.96, turn=-0.1), _s("I66", 0.76, y=0.97)),
         props=(("car", 0.56, 0.86),)),
    Shot("album/garden_0002.jpg", "1932-07-10", place="orchard", teller=N, title="The youngest, with his grandmother", **DECKLE, tall=175, ground=0.66,
         seats=(_s("I13", 0.5, "sit", "cradle", "cradle", seat="wicker", y=0.96), _s("I54", 0.5, "arms"))),
    Shot("album/school_0003.jpg", "1936-06-16", place="school", teller=P, title="Emil's class", **DECKLE, wide=True, tall=235, ground=0.68,
         seats=(_s("I40", 0.1, "stand", "back", "pocket", y=0.9, turn=0.4), *_row("M10 I53 I62 M9 F9 M10", 0.27, 0.88, "stand", 0.86),
                *_row("F6 I63 F7 M7 F7 I74", 0.27, 0.86, "sit", 0.95, "lap", seat="bench"))),
    Shot("album/river_0001.jpg", "1938-08-07", place="river", teller=P, title="The last ferryman", **DECKLE, wide=True, tall=205, ground=0.64,
         seats=(_s("I7", 0.3, "stand", "pull", "pull", wear="boat", hat="cap", turn=0.2), _s("I54", 0.54, y=0.95, turn=-0.1), _s("I53", 0.74, "stand", "clasp", "clasp", turn=-0.3)), props=(("rope", 0.5, 0.58),)),
    Shot("album/soldiers_0003.jpg", "1941-03-30", place="parlour", teller=P, title="Konrad with his sister", **DECKLE, tall=190, ground=0.78,
         seats=(_s("I50", 0.34, "stand", "down", "back", wear="uniform2", hat="sidecap", turn=0.15, y=0.95), _s("I49", 0.68, "stand", "clasp", "clasp", turn=-0.2, y=0.95))),
    Shot("album/garden_0003.jpg", "1943-08-22", place="garden", teller=P, title="Selma's last summer", **DECKLE, wide=True, tall=190, ground=0.66,
         seats=(_s("I35", 0.3, "sit", "lap", "lap", seat="bench", y=0.95, turn=0.2), _s("I54", 0.53, y=0.95, left="pocket", right="pocket"), _s("I53", 0.68, "stand", "hip", "down", turn=-0.1),
                _s("I24", 0.86, "stand", "down", "pocket", turn=-0.3)), props=(("dog", 0.43, 0.98),)),
    Shot("album/weddings_0005.jpg", "1948-08-21", place="bridge", teller=P, title="Lambert and Agnes on the new bridge", **DECKLE, tall=205, ground=0.72,
         seats=(_s("I52", 0.36, "stand", "pocket", "rest", wear="groom", turn=0.1), _s("I67", 0.62, "stand", "hold", "hold", wear="bride", turn=-0.1))),
    # The shoe box
    Shot("shoe_box/garden_0001.jpg", "1951-07-15", place="garden", teller=J, title="Judith in the wicker pram", **DECKLE, wide=True, tall=190, ground=0.66,
         seats=(_s("I67", 0.3, "stand", "clasp", "clasp", y=0.93, turn=0.2), _s("I68", 0.52, "pram", y=0.95), _s("I27", 0.78, "stand", "clasp", "clasp", y=0.93, turn=-0.3))),
    Shot("shoe_box/beach_0001.jpg", "1955-08-06", place="beach", teller=J, title="The Vales at the sea", **DECKLE, wide=True, tall=195, ground=0.6,
         seats=(_s("I53", 0.26, "stand", "hip", "down", turn=0.2), _s("I70", 0.5, "stand", "pocket", "down"), _s("I71", 0.7, "stand", "wave", "down", wear="swim", y=0.96, turn=-0.2),
                _s("I68", 0.86, "stand", "down", "down", wear="swim", y=0.97, turn=-0.3))),
    Shot("shoe_box/christmas_0001.jpg", "1956-12-25", place="parlour", teller=J, title="Christmas at Aunt Nora's", **WHITE, wide=True, tall=195, ground=0.76,
         seats=(_s("I27", 0.24, "sit", "lap", "lap", seat="wicker", y=0.94, turn=0.2), _s("I68", 0.44, y=0.95, left="clasp", right="clasp"), _s("I69", 0.6, y=0.96), _s("I54", 0.8, "stand", "pocket", "down", y=0.94, turn=-0.2))),
    Shot("port_lissom/roads_0001.jpg", "1959-06-07", place="road", teller=P, title="The Port Lissom cousins", kind="white", process="chromogenic", format="white-border", wide=True, tall=215, ground=0.62,
         seats=(_s("I65", 0.2, "stand", "pocket", "down", turn=0.2), _s("I78", 0.38, "stand", "hip", "down"), _s("I79", 0.58, y=0.96), _s("I80", 0.72, y=0.97)), props=(("car", 0.58, 0.86),)),
    Shot("slides/river_0001.jpg", "1961-08-19", place="river", teller=J, title="Down at the old landing", **SLIDE, wide=True, tall=195, ground=0.62,
         seats=(_s("I52", 0.25, "stand", "hip", "down", turn=0.2), _s("I68", 0.5, "stand", "wave", "down", y=0.95), _s("I69", 0.7, y=0.96, turn=-0.2)), props=(("dog", 0.84, 0.97),)),
    Shot("slides/garden_0001.jpg", "1963-07-28", place="orchard", teller=J, title="Hugo comes back to see the orchard", **SLIDE, wide=True, tall=200, ground=0.64,
         seats=(_s("I31", 0.2, "sit", "knees", "knees", seat="bench", y=0.95, turn=0.2), _s("I79", 0.44, y=0.95), _s("I80", 0.58, y=0.96), _s("I64", 0.8, "stand", "clasp", "clasp", turn=-0.2))),
    Shot("slides/birthday_0001.jpg", "1964-07-19", place="parlour", teller=J, title="Aunt Rosamund is ninety-one", **SLIDE, wide=True, tall=180, ground=0.76,
         seats=(_s("I40", 0.2, "stand", "pocket", "down", turn=0.3, y=0.95), _s("I10", 0.44, "sit", "lap", "lap", seat="wicker", y=0.96), _s("I77", 0.84, "stand", "clasp", "clasp", y=0.96, turn=-0.3)),
         props=(("cake", 0.65, 0.95),)),
    Shot("shoe_box/roads_0001.jpg", "1967-05-28", place="road", teller=J, title="Three cousins and the new car", **SQUARE, tall=205, ground=0.62,
         seats=(_s("I71", 0.24, "stand", "hip", "down", turn=0.2), _s("I68", 0.5, "stand", "clasp", "clasp"), _s("I72", 0.76, "stand", "pocket", "down", turn=-0.2)), props=(("car", 0.5, 0.84),)),
    Shot("shoe_box/weddings_0001.jpg", "1969-09-13", place="garden", teller=J, title="Peter and Lena", **SQUARE, tall=205, ground=0.66,
         seats=(_s("I54", 0.26, "stand", "pocket", "rest", wear="groom", turn=0.1), _s("I81", 0.5, "stand", "hold", "hold", wear="bride"), _s("I72", 0.78, "stand", "down", "down", turn=-0.2))),
    Shot("shoe_box/garden_0002.jpg", "1970-10-04", place="yard", teller=J, title="Great-aunt Hedda with hers", **SQUARE, tall=190, ground=0.68,
         seats=(_s("I19", 0.5, "sit", "lap", "lap", seat="wicker", y=0.96), _s("I47", 0.22, "stand", "rest", "pocket", turn=0.2), _s("I46", 0.78, "stand", "clasp", "clasp", turn=-0.2))),
    Shot("shoe_box/harbour_0001.jpg", "1974-07-06", place="bridge", teller=J, title="Judith and Martin", **SQUARE, tall=195, ground=0.7,
         seats=(_s("I68", 0.34, "stand", "hip", "down", turn=0.2), _s("I69", 0.66, "stand", "pocket", "rest", turn=-0.2))),
    Shot("shoe_box/christening_0001.jpg", "1976-09-05", place="doorway", teller=J, title="Anna's christening", **SQUARE, tall=195, ground=0.78,
         seats=(_s("I54", 0.24, "stand", "pocket", "down", turn=0.2), _s("I81", 0.52, "stand", "cradle", "cradle"), _s("I82", 0.52, "arms"), _s("I27", 0.8, "stand", "clasp", "clasp", turn=-0.2))),
    Shot("shoe_box/garden_0003.jpg", "1978-06-25", place="garden", teller=J, title="Aunt Nora and Anna", **SQUARE, tall=175, ground=0.66,
         seats=(_s("I27", 0.38, "sit", "lap", "lap", seat="wicker", y=0.95, turn=0.1), _s("I82", 0.7, "stand", "down", "hold", y=0.96, turn=-0.2))),
)  # fmt: skip

GEM = Shot("tin_box/portraits_0010.tif", "1874-07-19", "gem", "plain", (_s("I10", 0.5, "sit", "lap", "lap", y=0.99),), N, "Rosamund, the size of a stamp",
           process="tintype", tall=88, ground=0.9)  # fmt: skip
COPY = Shot(
    "album/portraits_0001.jpg",
    "1868-05-16",
    "copy",
    "lake",
    SHOTS[0].seats,
    N,
    "Copy of the ferryman's portrait",
    process="gelatin-silver",
    format="white-border",
)
PHOTOGRAPHS: tuple[Shot, ...] = (*SHOTS, GEM, COPY)
BY_FILE = {shot.file: shot for shot in PHOTOGRAPHS}
PAGE = "album/pages_0001.jpg"
ON_PAGE = (
    "album/garden_0001.jpg",
    "album/beach_0001.jpg",
    "album/roads_0001.jpg",
    "album/garden_0002.jpg",
    "album/river_0001.jpg",
)
RESCANS = {"tin_box/portraits_0001_again.png": "tin_box/portraits_0001.jpg"}
"""Another scan of the same print."""
