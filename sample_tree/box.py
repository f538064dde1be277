"""The box: every photograph in it, what it is, when it was truly taken, and who stands where.

A picture shows `cm` centimetres from its top to its bottom edge; `x` of somebody is a share of its width, `y` where the
feet stand as a share of its height. Somebody is a person of the tree (`I12`), somebody outside it (`X1`), or a stranger
given by sex and year of birth (`M:1901`).
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from .drawing.prints import Wear

DORRINGTON = ("A. Dorrington", "Quay Street, Pellering")
DAUGHTER = ("Dorrington & Daughter", "Quay Street, Pellering")
HESPER = ("Atelier Hesper", "Bridge Place, Pellering")


@dataclass(frozen=True, slots=True)
class Sitter:
    """Somebody in a picture. `of` names whose lap or arms it is on; `seat` is what is sat on."""

    who: str
    x: float
    pose: str = "stand"
    left: str = "down"
    right: str = "down"
    y: float = 0.0
    seat: str = ""
    of: str = ""
    wear: str = ""
    hat: str = ""
    style: str = ""
    turn: float = 0.0
    tilt: float = 0.0
    smile: float | None = None
    shut: bool = False


@dataclass(frozen=True, slots=True)
class Thing:
    """A prop: its name in `drawing.props`, where it stands, its size; `front` ones are drawn over the people."""

    name: str
    x: float
    y: float = 0.0
    size: float = 1.0
    front: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """A photograph and its scan. `kind` is its make (`drawing.mounts.KINDS`), `style` the look of the mount."""

    file: str
    date: str
    place: str
    kind: str
    process: str
    format: str = ""
    title: str = ""
    where: str = ""
    maker: str = ""
    note: str = ""
    tones: str = ""
    style: str = ""
    lines: tuple[str, ...] = ()
    stamp: str = ""
    landscape: bool = False
    cm: float = 215
    ground: float = 0.8
    base: float = 0.93
    wear: Wear = Wear()
    sitters: tuple[Sitter, ...] = ()
    things: tuple[Thing, ...] = ()

    @property
    def day(self) -> datetime.date:
        """The true day of the exposure."""
        return datetime.date.fromisoformat(self.date)


S, T = Sitter, Thing
OLD = Wear(fade=0.45, foxing=0.5, scratches=0.25, vignette=0.35, blur=0.35)
KEPT = Wear(fade=0.25, foxing=0.25, scratches=0.15, vignette=0.35, blur=0.25)
WORN = Wear(fade=0.4, foxing=0.35, scratches=0.5, crease=1.0, vignette=0.4, blur=0.4)
SNAP = Wear(fade=0.13, foxing=0.12, scratches=0.25, vignette=0.45, blur=0.5)
CLEAR = Wear(fade=0.12, foxing=0.05, scratches=0.15, vignette=0.3, blur=0.3)
COLOUR = Wear(fade=0.45, foxing=0, scratches=0.15, vignette=0.3, blur=0.4)
SLIDE = Wear(fade=0.1, foxing=0, scratches=0.2, vignette=0.3, blur=0.2)

STUDIO: tuple[Shot, ...] = (
    Shot(file="box-1/studio_0001.jpg", date="1868-06-04", place="lake", kind="carte-de-visite", process="albumen", format="carte-de-visite",
         title="The ferryman, Dorothea and the new baby", style="cream", cm=220, wear=OLD,
         sitters=(S("I1", 0.68, left="rest", right="pocket", y=0.9, turn=-0.25), S("I3", 0.36, "sit", "cradle", "cradle", seat="chair", turn=0.2),
                  S("I9", 0.36, "arms", of="I3", hat="bonnet"))),
    Shot(file="box-1/studio_0002.jpg", date="1869-09-11", place="drape", kind="carte-de-visite", process="albumen", format="carte-de-visite",
         style="cream", cm=205, wear=WORN, sitters=(S("I5", 0.5, left="rest", right="clasp", turn=0.3),), things=(T("pillar", 0.17, 0.92),)),
    Shot(file="box-1/studio_0003.jpg", date="1872-06-22", place="lake", kind="carte-de-visite", process="albumen", format="carte-de-visite",
         title="Corvin and Maud", style="cream rounded", lines=DORRINGTON, maker="A. Dorrington, Pellering", cm=215, wear=KEPT,
         sitters=(S("I4", 0.66, left="hip", right="back", y=0.9, turn=-0.3), S("I11", 0.36, "sit", "lap", "lap", seat="chair", turn=0.15))),
    Shot(file="box-1/fair_0001.jpg", date="1874-07-05", place="fair", kind="tintype", process="tintype", tones="tintype", title="At the fair",
         cm=172, wear=Wear(fade=0.1, scratches=0.8, vignette=0.5, blur=0.3), ground=0.82,
         sitters=(S("I7", 0.37, left="down", right="out", turn=0.1, hat="cap"), S("I8", 0.68, left="down", right="clasp", turn=-0.15))),
    Shot(file="box-1/studio_0004.jpg", date="1877-10-13", place="drape", kind="cabinet-card", process="albumen", format="cabinet-card",
         title="All of us at Dorrington's", style="cream rounded", lines=DORRINGTON, maker="A. Dorrington, Pellering", cm=222, base=0.95, wear=OLD,
         sitters=(S("I7", 0.5, left="down", right="back", y=0.87, turn=0.1), S("I8", 0.82, left="down", right="down", y=0.9, turn=-0.25),
                  S("I1", 0.27, "sit", "knees", "knees", y=0.95, seat="chair", turn=0.15), S("I3", 0.68, "sit", "lap", "lap", y=0.95, seat="chair", turn=-0.1),
                  S("I9", 0.09, left="down", right="down", y=0.94, turn=0.3), S("I10", 0.47, left="down", right="clasp", y=0.98))),
    Shot(file="box-1/studio_0005.tif", date="1879-05-10", place="plain", kind="small carte", process="albumen", format="carte-de-visite",
         style="cream rounded", lines=DORRINGTON, maker="A. Dorrington, Pellering", cm=88, wear=OLD,
         sitters=(S("I21", 0.5, "sit", "down", "lap", y=0.97, seat="stool"),)),
    Shot(file="box-1/studio_0006.jpg", date="1886-04-27", place="drape", kind="cabinet-card", process="albumen", format="cabinet-card",
         title="The wedding of Ottilie and Anton", style="maroon", lines=DORRINGTON, maker="A. Dorrington, Pellering", cm=205, wear=KEPT,
         sitters=(S("I8", 0.62, left="hold", right="hold", wear="bride", hat="wreath", turn=-0.15), S("I14", 0.28, left="back", right="down", wear="groom", turn=0.2))),
    Shot(file="box-1/studio_0007.jpg", date="1886-08-21", place="lake", kind="cabinet-card", process="albumen", format="cabinet-card",
         title="The lock-keeper's family, and a cousin", style="maroon", lines=DORRINGTON, maker="A. Dorrington, Pellering", cm=205, base=0.95, wear=OLD,
         sitters=(S("I17", 0.5, left="back", right="down", y=0.88, turn=0.05), S("I12", 0.27, "sit", "knees", "knees", y=0.94, seat="chair", turn=0.2),
                  S("I5", 0.72, "sit", "lap", "lap", y=0.94, seat="chair", turn=-0.15), S("I21", 0.08, left="down", right="down", y=0.95, turn=0.2),
                  S("I22", 0.5, left="clasp", right="clasp", y=0.98))),
    Shot(file="box-1/studio_0008.jpg", date="1891-09-19", place="plain", kind="cabinet-card", process="albumen", format="cabinet-card",
         style="maroon", lines=DAUGHTER, maker="Dorrington & Daughter, Pellering", cm=200, wear=KEPT,
         sitters=(S("I7", 0.3, left="pocket", right="rest", y=0.91, turn=0.2), S("I13", 0.66, "sit", "cradle", "cradle", seat="chair", turn=-0.1),
                  S("I24", 0.62, "lap", "down", "down", of="I13"))),
    Shot(file="box-1/studio_0009.jpg", date="1895-03-16", place="plain", kind="cabinet-card", process="gelatin-printing-out", format="cabinet-card",
         tones="gelatin-printing-out", style="grey", lines=DAUGHTER, maker="Dorrington & Daughter, Pellering", cm=92, base=1.93, ground=1.0, wear=CLEAR,
         sitters=(S("I10", 0.5, left="down", right="down", turn=0.3, tilt=-0.05),)),
    Shot(file="box-1/studio_0010.jpg", date="1897-10-16", place="drape", kind="cabinet-card", process="gelatin-printing-out", format="cabinet-card",
         tones="gelatin-printing-out", style="grey", lines=DAUGHTER, maker="Dorrington & Daughter, Pellering", cm=205, wear=KEPT,
         sitters=(S("I9", 0.68, left="rest", right="pocket", y=0.91, turn=-0.2), S("I15", 0.36, "sit", "cradle", "cradle", seat="wicker chair", turn=0.15),
                  S("I31", 0.36, "arms", of="I15", hat="bonnet"))),
    Shot(file="box-1/studio_0011.jpg", date="1899-11-25", place="plain", kind="cabinet-card", process="collodion-printing-out", format="cabinet-card",
         tones="collodion-printing-out", style="grey", lines=DAUGHTER, maker="Dorrington & Daughter, Pellering", cm=150, base=1.25, ground=1.0, wear=CLEAR,
         sitters=(S("I17", 0.33, left="back", right="down", y=1.26, turn=0.25), S("I35", 0.68, left="clasp", right="clasp", y=1.25, turn=-0.2))),
    Shot(file="box-1/studio_0012.jpg", date="1917-05-19", place="plain", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", maker="Atelier Hesper, Pellering", cm=190, wear=SNAP,
         sitters=(S("I19", 0.52, "sit", "out", "lap", seat="wicker chair", turn=0.1), S("I46", 0.17, left="down", right="down", turn=0.15),
                  S("I47", 0.83, left="down", right="down", y=0.94, turn=-0.2)), things=(T("dog", 0.36, 0.98, 0.9, True),)),
)  # fmt: skip

RIVER: tuple[Shot, ...] = (
    Shot(file="box-1/school_0001.jpg", date="1884-05-20", place="school", kind="school mount", process="albumen", title="Ferry school",
         style="grey large", landscape=True, cm=245, ground=0.78, base=0.9, wear=OLD, where="Pellering",
         sitters=(S("M:1850", 0.08, left="back", right="down", y=0.83), S("F:1873", 0.22, y=0.82, turn=0.1), S("I10", 0.34, y=0.82), S("M:1872", 0.46, y=0.82, right="back"),
                  S("F:1872", 0.58, y=0.82, turn=-0.1), S("M:1873", 0.7, y=0.82), S("I17", 0.82, y=0.82, turn=-0.1), S("F:1874", 0.93, y=0.83, left="clasp", right="clasp"),
                  S("F:1878", 0.17, "sit", "lap", "lap", y=0.94, seat="stool"), S("I18", 0.31, "sit", "lap", "lap", y=0.94, seat="stool"), S("M:1877", 0.45, "sit", "knees", "knees", y=0.94, seat="stool"),
                  S("I21", 0.59, "sit", "knees", "knees", y=0.94, seat="stool"), S("F:1877", 0.73, "sit", "lap", "lap", y=0.94, seat="stool"), S("M:1878", 0.87, "sit", "knees", "knees", y=0.94, seat="stool"))),
    Shot(file="box-1/osier_0001.jpg", date="1903-03-14", place="osiers", kind="cyanotype", process="cyanotype", tones="cyanotype", where="The osier beds",
         cm=215, ground=0.72, base=0.93, landscape=True, wear=Wear(fade=0.15, scratches=0.1, vignette=0.25, blur=0.3),
         sitters=(S("I18", 0.3, left="hip", right="hold", wear="work", hat="headscarf", turn=0.15), S("I19", 0.55, left="hold", right="hold", wear="work", turn=-0.1),
                  S("F:1884", 0.76, left="down", right="hip", wear="work", hat="straw", y=0.88)), things=(T("basket", 0.43, 0.97, 1.0, True), T("bundle", 0.92, 0.9))),
    Shot(file="box-1/ferry_0001.jpg", date="1905-07-16", place="river", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", title="On the ferry", where="Pellering", cm=235, ground=0.7, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I7", 0.13, left="down", right="pull", wear="boat", hat="cap"), S("I24", 0.3, left="hip", right="down", wear="boat", hat="cap", y=0.9, turn=0.15),
                  S("I10", 0.6, left="clasp", right="clasp", hat="wide", y=0.9), S("I26", 0.45, left="down", right="down", y=0.95, hat="sailor"), S("M:1866", 0.76, left="pocket", right="down", hat="bowler", y=0.88),
                  S("F:1870", 0.9, left="down", right="hold", hat="wide", y=0.89)), things=(T("rope", 0.5, 0.93), T("basket", 0.69, 0.98, 0.85, True))),
    Shot(file="box-1/ferry_0003.jpg", date="1909-08-22", place="river", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", where="Pellering", cm=225, ground=0.68, base=0.93, landscape=True, wear=WORN,
         sitters=(S("I13", 0.16, left="clasp", right="clasp", hat="boater", y=0.9), S("I37", 0.42, left="pocket", right="down", hat="boater", y=0.89, turn=0.1),
                  S("I19", 0.6, left="down", right="hold", hat="wide", y=0.9, turn=-0.1), S("I27", 0.29, left="down", right="down", y=0.96), S("I42", 0.77, left="clasp", right="clasp", y=0.96)),
         things=(T("rope", 0.5, 0.93), T("basket", 0.9, 0.97, 1.1, True))),
    Shot(file="box-1/school_0002.jpg", date="1910-06-18", place="school", kind="school mount", process="gelatin-silver", title="Aunt Rosamund's class",
         style="grey large", landscape=True, cm=240, ground=0.78, base=0.9, wear=KEPT, where="Pellering",
         sitters=(S("I10", 0.09, left="clasp", right="clasp", y=0.84, turn=0.1), S("M:1899", 0.21, y=0.82), S("I40", 0.33, y=0.82), S("F:1899", 0.45, y=0.82, turn=0.1), S("M:1900", 0.57, y=0.82),
                  S("F:1900", 0.69, y=0.82), S("M:1900", 0.81, y=0.82, turn=-0.15), S("F:1901", 0.92, y=0.83, left="clasp", right="clasp"),
                  S("I44", 0.18, "sit", "lap", "lap", y=0.94, seat="stool"), S("I27", 0.32, "sit", "lap", "lap", y=0.94, seat="stool"), S("I41", 0.46, "sit", "knees", "knees", y=0.94, seat="stool"),
                  S("X1", 0.6, "sit", "knees", "knees", y=0.94, seat="stool"), S("I42", 0.74, "sit", "lap", "lap", y=0.94, seat="stool"), S("M:1903", 0.88, "sit", "knees", "knees", y=0.94, seat="stool"))),
    Shot(file="box-1/osier_0002.jpg", date="1912-03-09", place="osiers", kind="postcard-white", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", title="Cutting", where="The osier beds", cm=225, ground=0.72, base=0.92, landscape=True, wear=SNAP,
         sitters=(S("I17", 0.3, left="hip", right="down", wear="work", hat="cap", y=0.9, turn=0.15), S("I4", 0.52, "sit", "knees", "knees", hat="bowler", y=0.95, seat="stool"),
                  S("I20", 0.72, left="hold", right="hip", wear="work", y=0.9, turn=-0.15), S("M:1896", 0.88, left="down", right="pocket", wear="work", hat="cap", y=0.88)),
         things=(T("bundle", 0.1, 0.93), T("bundle", 0.16, 0.96, 0.9), T("bundle", 0.41, 0.9, 0.95))),
    Shot(file="letters/war_0001.jpg", date="1915-02-20", place="plain", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", title="Ruben before he went", maker="Atelier Hesper, Pellering", cm=212, wear=SNAP,
         sitters=(S("I20", 0.3, left="back", right="down", wear="uniform", hat="peaked", y=0.91, turn=0.15), S("I38", 0.66, "sit", "cradle", "cradle", seat="chair", turn=-0.1),
                  S("I48", 0.64, "lap", "down", "down", of="I38"))),
    Shot(file="letters/war_0002.jpg", date="1917-11-11", place="drape", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="gelatin-silver", cm=120, base=1.68, ground=1.0, wear=KEPT, sitters=(S("I26", 0.5, left="down", right="back", wear="uniform", hat="peaked", turn=-0.2),)),
    Shot(file="box-1/wedding_0001.jpg", date="1921-06-11", place="plain", kind="large mount", process="gelatin-silver", tones="gelatin-silver",
         title="The wedding of Ambrose and Johanna", style="grey large", lines=HESPER, maker="Atelier Hesper, Pellering", cm=262, ground=0.72, base=0.9, landscape=True, wear=KEPT,
         sitters=(S("I40", 0.1, y=0.79, left="back"), S("I27", 0.235, y=0.79), S("I55", 0.365, y=0.785, left="back"), S("I25", 0.49, y=0.79), S("X1", 0.62, y=0.785, left="back"), S("I10", 0.745, y=0.79), S("I42", 0.875, y=0.8),
                  S("I4", 0.075, "sit", "knees", "knees", y=0.92, seat="chair"), S("I11", 0.2, "sit", "lap", "lap", y=0.92, seat="chair"), S("I7", 0.325, "sit", "knees", "knees", y=0.92, seat="chair"),
                  S("I24", 0.45, "sit", "knees", "knees", y=0.93, wear="groom", seat="chair", turn=0.1), S("I51", 0.58, "sit", "lap", "lap", y=0.93, wear="bride", hat="veil", seat="chair", turn=-0.1),
                  S("I13", 0.71, "sit", "cradle", "cradle", y=0.92, seat="chair"), S("I56", 0.7, "lap", "down", "down", of="I13"),
                  S("I8", 0.83, "sit", "lap", "lap", y=0.92, seat="chair"), S("M:1866", 0.945, "sit", "knees", "knees", y=0.92, seat="chair"))),
)  # fmt: skip

PORT: tuple[Shot, ...] = (
    Shot(file="from-port-lissom/port_0001.jpg", date="1911-05-06", place="orchard", kind="real-photo-postcard", process="gelatin-silver", format="real-photo-postcard",
         tones="warm gelatin-silver", title="Our first trees", where="Port Lissom", cm=225, ground=0.68, base=0.93, landscape=True, wear=KEPT,
         sitters=(S("I9", 0.2, left="hip", right="pocket", hat="straw", y=0.9, turn=0.1), S("I16", 0.4, left="clasp", right="clasp", y=0.9), S("I31", 0.58, left="down", right="back", y=0.91),
                  S("I32", 0.73, left="down", right="down", y=0.92, turn=-0.1), S("I33", 0.3, left="down", right="down", y=0.97)), things=(T("basket", 0.87, 0.96, 1.1, True),)),
    Shot(file="from-port-lissom/port_0002.jpg", date="1926-09-05", place="road", kind="white-border", process="gelatin-silver", format="white-border",
         title="The new car", where="Port Lissom", cm=235, ground=0.66, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I31", 0.2, left="pocket", right="down", hat="boater", y=0.93), S("I64", 0.8, left="down", right="hip", hat="cloche", y=0.94), S("I65", 0.66, y=0.97)), things=(T("car 1926", 0.5, 0.87, 0.8),)),
    Shot(file="from-port-lissom/port_0003.jpg", date="1958-07-04", place="orchard", kind="white-border", process="gelatin-silver", format="white-border", stamp="JUL 58",
         where="Port Lissom", cm=225, ground=0.66, base=0.93, landscape=True, wear=CLEAR,
         sitters=(S("I65", 0.28, left="hip", right="down", y=0.91), S("I78", 0.6, left="cradle", right="cradle", y=0.92), S("I80", 0.6, "arms", of="I78"), S("I79", 0.44, left="down", right="wave", y=0.96)),
         things=(T("dog", 0.8, 0.96),)),
)  # fmt: skip

ALBUM: tuple[Shot, ...] = (
    Shot(file="album-green/outing_0001.jpg", date="1923-08-12", place="garden", kind="small print", process="gelatin-silver", format="white-border",
         cm=200, ground=0.66, base=0.92, landscape=True, wear=SNAP, sitters=(S("I51", 0.75, left="pull", right="down", hat="cloche", y=0.91, turn=-0.2), S("I52", 0.42, "pram", y=0.95)),
         things=(T("pram", 0.42, 0.95, 1.0, True), T("pram hood", 0.42, 0.95, 1.0, True))),
    Shot(file="album-green/outing_0002.jpg", date="1925-05-17", place="doorway", kind="small print", process="gelatin-silver", format="white-border",
         cm=182, ground=0.82, base=0.95, landscape=True, wear=SNAP,
         sitters=(S("I7", 0.33, "sit", "knees", "knees", y=0.95, hat="cap"), S("I13", 0.66, "sit", "lap", "lap", y=0.95), S("I52", 0.49, left="down", right="down", y=0.97)), things=(T("bench", 0.5, 0.94, 1.1),)),
    Shot(file="album-green/outing_0003.jpg", date="1927-07-24", place="beach", kind="small print", process="gelatin-silver", format="white-border", where="Sandle Point",
         cm=205, ground=0.6, base=0.92, landscape=True, wear=SNAP,
         sitters=(S("I27", 0.22, left="down", right="hip", hat="cloche", y=0.88, turn=0.15), S("I25", 0.46, left="clasp", right="clasp", hat="straw", y=0.88), S("I56", 0.64, left="down", right="wave", wear="swim", y=0.93),
                  S("I57", 0.82, "ground", "down", "lap", wear="swim", y=0.95))),
    Shot(file="album-green/outing_0004.jpg", date="1928-06-03", place="doorway", kind="small print", process="gelatin-silver", format="white-border",
         cm=212, ground=0.84, base=0.93, wear=SNAP, sitters=(S("I40", 0.33, left="back", right="down", y=0.91), S("I61", 0.66, left="cradle", right="cradle", y=0.92), S("I62", 0.66, "arms", of="I61"))),
    Shot(file="album-green/outing_0005.jpg", date="1930-04-20", place="road", kind="small print", process="gelatin-silver", format="white-border",
         title="The day we borrowed the car", cm=225, ground=0.66, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I24", 0.14, left="pocket", right="down", hat="fedora", y=0.92), S("I51", 0.84, left="down", right="clasp", hat="cloche", y=0.93), S("I52", 0.32, left="down", right="hip", y=0.96), S("I53", 0.69, left="clasp", right="clasp", y=0.97)),
         things=(T("car 1930", 0.5, 0.87, 0.8),)),
)  # fmt: skip

TIN: tuple[Shot, ...] = (
    Shot(file="tin/bridge_0001.jpg", date="1931-09-06", place="bridge", kind="white-border", process="gelatin-silver", format="white-border", title="The last day of the ferry",
         where="Pellering", cm=230, ground=0.7, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I7", 0.3, left="hip", right="down", wear="boat", hat="cap", y=0.92), S("I13", 0.49, left="clasp", right="clasp", y=0.92), S("I8", 0.66, left="hold", right="down", hat="tilted", y=0.91), S("I24", 0.83, left="pocket", right="back", hat="fedora", y=0.9),
                  S("I52", 0.16, left="down", right="wave", y=0.95))),
    Shot(file="tin/snap_0001.jpg", date="1934-08-05", place="beach", kind="postcard-white", process="gelatin-silver", format="real-photo-postcard", title="Sandle Point", where="Sandle Point",
         cm=200, ground=0.58, base=0.93, landscape=True, wear=KEPT,
         sitters=(S("I51", 0.27, "ground", "lap", "down", hat="straw", y=0.92), S("I52", 0.52, left="hip", right="down", wear="swim", y=0.88), S("I53", 0.7, left="down", right="wave", wear="swim", y=0.91), S("I54", 0.44, "ground", "lap", "lap", wear="swim", y=0.97)),
         things=(T("basket", 0.12, 0.95, 0.9, True),)),
    Shot(file="tin/school_0003.jpg", date="1937-05-05", place="school", kind="school mount", process="gelatin-silver", title="Ferry school", style="cream large", where="Pellering",
         landscape=True, cm=240, ground=0.78, base=0.9, wear=CLEAR,
         sitters=(S("I40", 0.09, left="back", right="down", y=0.84, turn=0.1), S("F:1927", 0.22, y=0.82), S("I53", 0.34, y=0.82), S("M:1926", 0.46, y=0.82, left="back"), S("F:1926", 0.58, y=0.82), S("I62", 0.7, y=0.82), S("M:1927", 0.82, y=0.82), S("F:1928", 0.93, y=0.83, left="clasp", right="clasp"),
                  S("F:1930", 0.17, "sit", "lap", "lap", y=0.94, seat="stool"), S("I63", 0.31, "sit", "knees", "knees", y=0.94, seat="stool"), S("F:1931", 0.45, "sit", "lap", "lap", y=0.94, seat="stool"), S("I54", 0.59, "sit", "knees", "knees", y=0.94, seat="stool"),
                  S("M:1931", 0.73, "sit", "knees", "knees", y=0.94, seat="stool"), S("F:1929", 0.87, "sit", "lap", "lap", y=0.94, seat="stool"))),
    Shot(file="tin/snap_0003.jpg", date="1938-07-31", place="beach", kind="deckle-edge", process="gelatin-silver", format="deckle-edge", where="Sandle Point",
         cm=214, ground=0.56, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I42", 0.26, left="down", right="clasp", hat="tilted", y=0.88), S("I27", 0.82, left="hip", right="down", y=0.87), S("I74", 0.43, left="down", right="down", wear="swim", y=0.92), S("I75", 0.55, "ground", "lap", "lap", wear="swim", y=0.96), S("I54", 0.68, left="hip", right="down", wear="swim", y=0.92))),
    Shot(file="tin/snap_0004.jpg", date="1940-05-12", place="garden", kind="deckle-edge", process="gelatin-silver", format="deckle-edge", title="Theodor on leave",
         cm=212, ground=0.66, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I41", 0.2, left="pocket", right="down", y=0.91), S("I43", 0.4, left="back", right="down", wear="uniform2", hat="sidecap", y=0.92), S("I42", 0.6, left="clasp", right="clasp", y=0.92), S("I35", 0.8, "sit", "lap", "lap", y=0.93, seat="wicker chair"))),
    Shot(file="tin/snap_0005.jpg", date="1943-09-19", place="yard", kind="deckle-edge", process="gelatin-silver", format="deckle-edge", title="The girls at the works", where="Pellering",
         cm=215, ground=0.74, base=0.93, landscape=True, wear=SNAP,
         sitters=(S("I56", 0.18, left="hip", right="down", wear="apron", hat="headscarf", y=0.91), S("I48", 0.36, left="hold", right="hold", wear="apron", y=0.92), S("I53", 0.53, left="down", right="hip", wear="apron", hat="headscarf", y=0.92), S("I62", 0.7, left="clasp", right="clasp", wear="apron", y=0.92)),
         things=(T("basket", 0.27, 0.98, 1.1, True), T("basket", 0.63, 0.98, 1.2, True))),
    Shot(file="tin/snap_0006.jpg", date="1946-06-02", place="doorway", kind="deckle-edge", process="gelatin-silver", format="deckle-edge", title="The two sisters",
         cm=192, ground=0.84, base=0.93, wear=CLEAR,
         sitters=(S("I60", 0.5, left="back", right="back", y=0.93), S("I8", 0.27, "sit", "lap", "lap", y=0.95, seat="wicker chair", turn=0.15), S("I10", 0.75, "sit", "lap", "lap", y=0.95, seat="wicker chair", turn=-0.15))),
    Shot(file="tin/wedding_0002.jpg", date="1948-08-21", place="garden", kind="white-border", process="gelatin-silver", format="white-border", title="Lambert and Agnes",
         cm=225, ground=0.66, base=0.93, landscape=True, wear=CLEAR,
         sitters=(S("I24", 0.1, left="back", right="down", y=0.9), S("I51", 0.24, left="hold", right="hold", hat="tilted", y=0.91), S("I52", 0.41, left="back", right="down", wear="groom", y=0.92), S("I67", 0.56, left="hold", right="hold", wear="bride", hat="veil", y=0.93),
                  S("I13", 0.73, "sit", "lap", "lap", y=0.93, seat="wicker chair"), S("I53", 0.85, left="clasp", right="clasp", y=0.91), S("I54", 0.95, left="back", right="down", y=0.9))),
    Shot(file="tin/snap_0008.jpg", date="1950-12-26", place="parlour", kind="white-border", process="gelatin-silver", format="white-border", title="Judith's first Christmas",
         cm=196, ground=0.86, base=1.0, landscape=True, wear=CLEAR,
         sitters=(S("I52", 0.34, left="out", right="pocket", y=1.0, turn=0.2), S("I67", 0.62, left="cradle", right="cradle", y=1.0, turn=-0.1), S("I68", 0.62, "arms", of="I67"))),
    Shot(file="tin/snap_0009.jpg", date="1953-06-07", place="doorway", kind="white-border", process="gelatin-silver", format="white-border",
         cm=182, ground=0.84, base=0.95, wear=CLEAR,
         sitters=(S("I51", 0.5, "sit", "out", "cradle", y=0.94, seat="wicker chair"), S("I68", 0.17, left="down", right="down", y=0.96), S("I71", 0.54, "lap", "down", "down", of="I51"))),
    Shot(file="tin/snap_0010.jpg", date="1957-08-11", place="garden", kind="white-border", process="gelatin-silver", format="white-border", stamp="AUG 57", title="In the garden",
         cm=210, ground=0.64, base=0.93, landscape=True, wear=CLEAR,
         sitters=(S("I24", 0.26, "sit", "knees", "knees", y=0.92, seat="wicker chair"), S("I51", 0.56, "sit", "cradle", "cradle", y=0.92, seat="wicker chair"), S("I72", 0.55, "lap", "down", "down", of="I51"),
                  S("I68", 0.1, left="down", right="down", y=0.95), S("I69", 0.42, left="down", right="hip", y=0.96), S("I71", 0.76, left="clasp", right="clasp", y=0.95)), things=(T("dog", 0.9, 0.96),)),
)  # fmt: skip

LATE: tuple[Shot, ...] = (
    Shot(file="slides/slide_0001.jpg", date="1963-07-15", place="parlour", kind="slide-35mm", process="colour-slide", format="slide-35mm", title="Aunt Rosamund is ninety",
         cm=190, ground=0.86, base=1.0, landscape=True, wear=SLIDE,
         sitters=(S("I27", 0.3, left="clasp", right="clasp", y=0.97), S("I24", 0.74, left="pocket", right="down", y=0.98), S("I10", 0.5, "sit", "lap", "lap", y=1.0, seat="wicker chair"), S("I68", 0.12, left="down", right="down", y=0.99)),
         things=(T("cake", 0.5, 1.12, 0.8, True),)),
    Shot(file="colour/colour_0001.jpg", date="1964-08-09", place="river", kind="square-126", process="chromogenic", format="square-126", stamp="SEP 64", where="Pellering",
         cm=215, ground=0.68, base=0.93, landscape=True, wear=COLOUR,
         sitters=(S("I52", 0.3, left="hip", right="down", y=0.92), S("I68", 0.56, left="down", right="down", y=0.93), S("I69", 0.78, left="hip", right="down", y=0.95)), things=(T("rope", 0.5, 0.93),)),
    Shot(file="colour/colour_0002.jpg", date="1966-07-30", place="beach", kind="square-126", process="chromogenic", format="square-126", where="Sandle Point",
         cm=205, ground=0.58, base=0.93, landscape=True, wear=COLOUR,
         sitters=(S("I67", 0.22, left="down", right="hip", y=0.9), S("I53", 0.44, left="clasp", right="clasp", hat="straw", y=0.9), S("I71", 0.64, left="down", right="down", y=0.92), S("I72", 0.83, left="hip", right="down", wear="swim", y=0.94))),
    Shot(file="slides/slide_0002.jpg", date="1967-06-18", place="road", kind="slide-35mm", process="colour-slide", format="slide-35mm", stamp="JUL 67", title="Off to the sea",
         cm=225, ground=0.66, base=0.93, landscape=True, wear=SLIDE, sitters=(S("I52", 0.16, left="pocket", right="down", y=0.93), S("I67", 0.82, left="down", right="wave", y=0.93), S("I69", 0.68, left="hip", right="down", y=0.95)), things=(T("car 1967", 0.47, 0.87, 0.85),)),
    Shot(file="colour/colour_0003.jpg", date="1969-09-13", place="garden", kind="square-126", process="chromogenic", format="square-126", title="Peter and Lena",
         cm=215, ground=0.66, base=0.93, landscape=True, wear=COLOUR,
         sitters=(S("I24", 0.12, left="pocket", right="down", y=0.91), S("I54", 0.37, left="back", right="down", wear="groom", y=0.92), S("I81", 0.6, left="hold", right="hold", wear="bride", hat="wreath", style="long", y=0.93), S("I51", 0.84, left="clasp", right="clasp", y=0.92))),
    Shot(file="slides/slide_0003.jpg", date="1971-08-21", place="bridge", kind="slide-35mm", process="colour-slide", format="slide-35mm", title="The cousins from Port Lissom", where="Pellering",
         cm=215, ground=0.7, base=0.93, landscape=True, wear=SLIDE, sitters=(S("I79", 0.3, left="hip", right="down", y=0.92), S("I68", 0.5, left="down", right="down", y=0.92), S("I80", 0.7, left="pocket", right="down", y=0.93))),
    Shot(file="colour/colour_0004.jpg", date="1973-05-06", place="doorway", kind="colour print", process="chromogenic", style="rounded",
         cm=180, ground=0.84, base=0.94, wear=COLOUR, sitters=(S("I24", 0.3, "sit", "knees", "knees", y=0.94, seat="wicker chair", turn=0.15), S("I51", 0.72, "sit", "lap", "lap", y=0.94, seat="wicker chair", turn=-0.15))),
    Shot(file="colour/colour_0005.jpg", date="1976-09-12", place="garden", kind="colour print", process="chromogenic", style="rounded",
         cm=205, ground=0.66, base=0.93, landscape=True, wear=COLOUR, sitters=(S("I54", 0.36, left="out", right="pocket", y=0.92, turn=0.1), S("I81", 0.62, left="cradle", right="cradle", y=0.93), S("I82", 0.62, "arms", of="I81"))),
    Shot(file="colour/colour_0006.jpg", date="1978-07-22", place="yard", kind="colour print", process="chromogenic", style="rounded", title="At the works", where="Pellering",
         cm=220, ground=0.74, base=0.93, landscape=True, wear=COLOUR,
         sitters=(S("I69", 0.08, left="pocket", right="down", y=0.9), S("I68", 0.335, left="down", right="hip", y=0.9), S("I72", 0.58, left="back", right="down", y=0.89), S("I71", 0.93, left="clasp", right="clasp", y=0.9),
                  S("I25", 0.455, "sit", "lap", "lap", y=0.95, seat="wicker chair"), S("I51", 0.7, "sit", "lap", "lap", y=0.95, seat="wicker chair"), S("I27", 0.2, "sit", "lap", "lap", y=0.95, seat="wicker chair"), S("I82", 0.84, left="down", right="down", y=0.96))),
)  # fmt: skip

SHOTS = STUDIO + RIVER + PORT + ALBUM + TIN + LATE
BY_FILE = {shot.file: shot for shot in SHOTS}

ALBUM_PAGE = "album-green/album_0001.jpg"
COPY, COPIED = "box-1/copy_0001.jpg", "box-1/studio_0001.jpg"
RESCAN, RESCANNED = "box-1/studio_0014.png", "box-1/studio_0004.jpg"
