"""What people wore, by sex, age, year and occasion: plain descriptions, drawn by `garments`."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from .canvas import Colour, mix

WHITE: Colour = (0.94, 0.93, 0.90)
CREAM: Colour = (0.90, 0.85, 0.74)
BLACK: Colour = (0.13, 0.12, 0.12)
NAVY: Colour = (0.16, 0.19, 0.30)
DARKS: tuple[Colour, ...] = (
    (0.16, 0.14, 0.15), (0.27, 0.18, 0.16), (0.18, 0.21, 0.26), (0.23, 0.25, 0.20), (0.30, 0.22, 0.27), (0.33, 0.27, 0.22),
)  # fmt: skip
SUITS: tuple[Colour, ...] = (
    (0.19, 0.18, 0.18), (0.28, 0.26, 0.25), (0.33, 0.28, 0.23), (0.24, 0.27, 0.32), (0.42, 0.40, 0.37), (0.23, 0.21, 0.24),
)  # fmt: skip
LIGHTS: tuple[Colour, ...] = (
    (0.80, 0.74, 0.66), (0.66, 0.72, 0.78), (0.80, 0.66, 0.64), (0.74, 0.78, 0.66), (0.86, 0.80, 0.62), (0.62, 0.58, 0.66),
)  # fmt: skip
BRIGHTS: tuple[Colour, ...] = (
    (0.86, 0.36, 0.26), (0.95, 0.73, 0.25), (0.22, 0.52, 0.62), (0.50, 0.64, 0.30), (0.88, 0.55, 0.60), (0.30, 0.34, 0.60),
    (0.92, 0.54, 0.20), (0.58, 0.33, 0.49),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outfit:
    """Clothes. `hem` is the height of the skirt's hem (or of short trousers) as a share of the body; `flare` the half
    width of the hem in heads; `wide` the shoulders against the body's own."""

    skirted: bool
    main: Colour
    second: Colour = WHITE
    accent: Colour = BLACK
    pattern: str = ""
    wide: float = 1.0
    sleeve: str = "tight"
    neck: str = "round"
    waist: str = "natural"
    hem: float = 0.0
    flare: float = 1.0
    nipped: float = 1.0
    coat: str = ""
    legs: str = "long"
    socks: Colour = BLACK
    shoes: Colour = (0.10, 0.08, 0.08)
    trims: frozenset[str] = frozenset()


def _pick(rng: np.random.Generator, colours: tuple[Colour, ...]) -> Colour:
    return colours[int(rng.integers(len(colours)))]


def outfit_for(sex: str, age: float, year: int, rng: np.random.Generator, wear: str = "") -> Outfit:
    """The clothes for an ordinary day before the camera, or for the occasion `wear`."""
    if age < 1.4:
        plain = _infant(year, rng)
    elif age < 4 and year < 1922:
        plain = Outfit(True, WHITE, accent=_pick(rng, LIGHTS), sleeve="bishop", neck="collar", waist="high", hem=0.22,
                       flare=0.82, trims=frozenset({"sash", "lace"}))  # fmt: skip
    elif age < 14.5:
        plain = _girl(age, year, rng) if sex == "F" else _boy(age, year, rng)
    else:
        plain = _woman(age, year, rng) if sex == "F" else _man(age, year, rng)
    return _occasion(plain, sex, age, year, wear)


def _infant(year: int, rng: np.random.Generator) -> Outfit:
    if year < 1926:
        return Outfit(
            True, WHITE, sleeve="bishop", neck="lace", waist="high", hem=-0.3, flare=0.95, trims=frozenset({"lace"})
        )
    if year < 1955:
        return Outfit(True, mix(_pick(rng, LIGHTS), WHITE, 0.5), sleeve="puff", neck="peter pan", waist="high", hem=0.24,
                      flare=0.7, socks=WHITE, shoes=WHITE, trims=frozenset({"smock"}))  # fmt: skip
    return Outfit(False, mix(_pick(rng, BRIGHTS), WHITE, 0.45), sleeve="shirt", neck="round", legs="short", hem=0.2,
                  socks=WHITE, shoes=WHITE, coat="romper")  # fmt: skip


def _girl(age: float, year: int, rng: np.random.Generator) -> Outfit:
    hem = 0.3 - 0.012 * max(age - 4, 0)
    if year < 1890:
        return Outfit(True, _pick(rng, DARKS), accent=_pick(rng, LIGHTS), pattern=str(rng.choice(["", "check", "stripe"])),
                      sleeve="tight", neck="collar", hem=hem, flare=0.95, trims=frozenset({"ruffles", "buttons"}))  # fmt: skip
    if year < 1920:
        look = int(rng.integers(3))
        if look == 0:
            return Outfit(True, WHITE, accent=_pick(rng, LIGHTS), sleeve="bishop", neck="lace", hem=hem, flare=0.85,
                          trims=frozenset({"sash", "lace"}))  # fmt: skip
        if look == 1:
            return Outfit(True, NAVY, accent=WHITE, sleeve="bishop", neck="sailor", hem=hem, flare=0.85)
        return Outfit(True, _pick(rng, SUITS), pattern="check", sleeve="bishop", neck="collar", hem=hem, flare=0.85,
                      trims=frozenset({"pinafore"}))  # fmt: skip
    if year < 1933:
        return Outfit(True, _pick(rng, LIGHTS), accent=_pick(rng, DARKS), pattern=str(rng.choice(["", "check", "dots"])),
                      sleeve="short", neck="round", waist="drop", hem=0.33, flare=0.62, socks=WHITE,
                      trims=frozenset({"sash"}))  # fmt: skip
    if year < 1960:
        return Outfit(True, _pick(rng, LIGHTS), accent=_pick(rng, BRIGHTS), pattern=str(rng.choice(["check", "floral", "dots"])),
                      sleeve="puff", neck="peter pan", hem=0.31, flare=0.9, socks=WHITE, trims=frozenset({"buttons"}))  # fmt: skip
    if year < 1970:
        return Outfit(True, _pick(rng, BRIGHTS), second=WHITE, sleeve="short", neck="peter pan", waist="loose", hem=0.36,
                      flare=0.68, socks=WHITE, shoes=(0.2, 0.15, 0.2))  # fmt: skip
    return Outfit(False, _pick(rng, BRIGHTS), second=_pick(rng, BRIGHTS), pattern="stripe", sleeve="shirt", neck="round",
                  legs="flared", coat="jumper")  # fmt: skip


def _boy(age: float, year: int, rng: np.random.Generator) -> Outfit:
    suit = _pick(rng, SUITS)
    if year < 1885:
        return Outfit(
            False, suit, coat="sack", sleeve="coat", neck="bow", legs="breeches", hem=0.22, trims=frozenset({"buttons"})
        )
    if year < 1918:
        if rng.uniform() < 0.5 and age < 11:
            return Outfit(
                False, NAVY, accent=WHITE, coat="blouse", sleeve="bishop", neck="sailor", legs="breeches", hem=0.23
            )
        return Outfit(False, suit, coat="norfolk", sleeve="coat", neck="eton", legs="breeches", hem=0.22)
    if year < 1940:
        return Outfit(False, mix(suit, (0.5, 0.45, 0.4), 0.3), second=(0.36, 0.34, 0.33), pattern="knit", coat="jumper", sleeve="shirt", neck="collar",
                      legs="short", hem=0.29, socks=(0.3, 0.3, 0.32))  # fmt: skip
    if year < 1962:
        return Outfit(False, mix(_pick(rng, LIGHTS), WHITE, 0.2), second=(0.36, 0.33, 0.3), pattern=str(rng.choice(["check", "stripe"])),
                      coat="shirt", sleeve="short", neck="open", legs="short", hem=0.3, socks=(0.7, 0.7, 0.7),
                      trims=frozenset({"braces"}))  # fmt: skip
    return Outfit(False, _pick(rng, BRIGHTS), second=(0.25, 0.3, 0.42), pattern="stripe", coat="jumper", sleeve="shirt",
                  neck="round", legs="long" if age > 9 or year > 1969 else "short", hem=0.3, socks=WHITE)  # fmt: skip


def _woman(age: float, year: int, rng: np.random.Generator) -> Outfit:
    old = age > 58
    dress = BLACK if old and year < 1925 else _pick(rng, DARKS)
    if year < 1876:
        return Outfit(True, dress, accent=WHITE, pattern=str(rng.choice(["", "stripe", "check"])), sleeve="bell", neck="collar",
                      flare=1.75, nipped=0.86, trims=frozenset({"brooch", "buttons", "bands"}))  # fmt: skip
    if year < 1890:
        return Outfit(True, dress, accent=mix(dress, WHITE, 0.25), sleeve="tight", neck="high", flare=1.12, nipped=0.8,
                      trims=frozenset({"buttons", "swags", "bustle", "brooch"}))  # fmt: skip
    if year < 1900:
        return Outfit(True, dress, accent=mix(dress, WHITE, 0.3), sleeve="tight" if old else "gigot", neck="high", flare=1.3,
                      nipped=0.8, trims=frozenset({"brooch", "bands"}))  # fmt: skip
    if year < 1911:
        if old:
            return Outfit(
                True,
                BLACK,
                accent=WHITE,
                sleeve="bishop",
                neck="high",
                flare=1.15,
                trims=frozenset({"brooch", "shawl"}),
            )
        return Outfit(True, _pick(rng, DARKS), second=WHITE, sleeve="bishop", neck="high", flare=1.2, nipped=0.78,
                      coat="blouse", trims=frozenset({"belt", "lace", "brooch"}))  # fmt: skip
    if year < 1921:
        return Outfit(True, _pick(rng, SUITS), second=CREAM, sleeve="bishop", neck="v", waist="high", hem=0.06, flare=0.85,
                      coat="" if old else "blouse", trims=frozenset({"belt", "brooch"} if not old else {"brooch", "shawl"}))  # fmt: skip
    if year < 1932:
        if old:
            return Outfit(True, _pick(rng, DARKS), accent=CREAM, sleeve="tight", neck="v", waist="loose", hem=0.12, flare=0.9,
                          trims=frozenset({"brooch"}))  # fmt: skip
        return Outfit(True, _pick(rng, LIGHTS), accent=_pick(rng, DARKS), pattern=str(rng.choice(["", "dots", "stripe"])),
                      sleeve="short", neck="v", waist="drop", hem=0.21 if year > 1924 else 0.14, flare=0.72,
                      socks=(0.76, 0.62, 0.52), trims=frozenset({"beads", "sash"}))  # fmt: skip
    if year < 1940:
        return Outfit(True, _pick(rng, DARKS if old else LIGHTS), accent=CREAM, pattern=str(rng.choice(["floral", "dots", ""])),
                      sleeve="tight" if old else "puff", neck="v" if old else "collar", hem=0.17, flare=0.78,
                      socks=(0.76, 0.62, 0.52), trims=frozenset({"brooch"} if old else {"belt", "buttons"}))  # fmt: skip
    if year < 1948:
        return Outfit(True, _pick(rng, DARKS if old else LIGHTS + SUITS[3:5]), accent=CREAM, pattern=str(rng.choice(["floral", "check", "stripe"])),
                      wide=1.16, sleeve="tight" if old else "short", neck="collar", hem=0.16 if old else 0.27, flare=0.68,
                      socks=(0.76, 0.62, 0.52), trims=frozenset({"belt", "buttons"}))  # fmt: skip
    if year < 1960:
        return Outfit(True, _pick(rng, SUITS if old else LIGHTS + BRIGHTS[:5]), accent=WHITE, pattern=str(rng.choice(["floral", "dots", "check"])),
                      sleeve="tight" if old else "short", neck="collar" if old else "square", hem=0.17 if old else 0.2,
                      flare=0.85 if old else 1.15, nipped=1 if old else 0.88, socks=(0.78, 0.64, 0.54),
                      trims=frozenset({"cardigan"} if old else {"belt"}))  # fmt: skip
    if year < 1971:
        return Outfit(True, _pick(rng, LIGHTS if old else BRIGHTS), accent=WHITE, pattern=str(rng.choice(["floral", "stripe", "check", ""] if old else ["", "dots", "bold"])),
                      sleeve="tight" if old else "none", neck="collar" if old else "round", waist="loose",
                      hem=0.24 if old else 0.31, flare=0.72 if old else 0.64, socks=(0.78, 0.64, 0.54), shoes=(0.35, 0.25, 0.22),
                      trims=frozenset({"cardigan", "pearls"} if old else {"beads"}))  # fmt: skip
    if old:
        return Outfit(True, _pick(rng, LIGHTS + DARKS[2:]), accent=WHITE, pattern=str(rng.choice(["floral", "dots", "check", ""])), sleeve="tight",
                      neck="collar", waist="loose", hem=0.23, flare=0.72, socks=(0.78, 0.64, 0.54),
                      trims=frozenset({"cardigan"} if rng.uniform() < 0.6 else {"pearls", "belt"}))  # fmt: skip
    return Outfit(False, _pick(rng, BRIGHTS), second=(0.28, 0.33, 0.46), accent=_pick(rng, BRIGHTS), pattern="floral", sleeve="bishop",
                  neck="wide collar", legs="flared", coat="shirt", shoes=(0.4, 0.28, 0.2))  # fmt: skip


def _man(age: float, year: int, rng: np.random.Generator) -> Outfit:
    suit = _pick(rng, SUITS[:4])
    if year < 1888:
        return Outfit(False, suit, accent=BLACK, coat="frock", sleeve="coat", neck="cravat", trims=frozenset({"watch"}))
    if year < 1920:
        return Outfit(
            False,
            suit,
            accent=_pick(rng, DARKS),
            coat="sack",
            sleeve="coat",
            neck="stiff tie",
            trims=frozenset({"watch"}),
        )
    if year < 1946:
        return Outfit(False, _pick(rng, SUITS), accent=_pick(rng, DARKS), pattern="" if age > 60 else str(rng.choice(["", "stripe", "check"])), wide=1.05,
                      coat="sack", sleeve="coat", neck="tie", trims=frozenset({"watch"}) if age > 50 else frozenset())  # fmt: skip
    if year < 1960:
        if age > 60 or rng.uniform() < 0.5:
            return Outfit(
                False, _pick(rng, SUITS), accent=_pick(rng, DARKS), wide=1.12, coat="double", sleeve="coat", neck="tie"
            )
        return Outfit(
            False,
            WHITE,
            second=_pick(rng, SUITS),
            coat="shirt",
            sleeve="rolled",
            neck="open",
            trims=frozenset({"braces"}),
        )
    if year < 1970:
        if age > 60:
            return Outfit(
                False,
                _pick(rng, SUITS),
                second=_pick(rng, SUITS),
                accent=_pick(rng, DARKS),
                coat="cardigan",
                sleeve="coat",
                neck="tie",
            )
        return Outfit(False, mix(_pick(rng, BRIGHTS), (0.4, 0.4, 0.4), 0.4), second=_pick(rng, SUITS), pattern="knit", coat="jumper",
                      sleeve="shirt", neck="collar")  # fmt: skip
    if age > 60:
        return Outfit(
            False,
            _pick(rng, SUITS),
            second=_pick(rng, SUITS),
            accent=(0.5, 0.2, 0.18),
            coat="cardigan",
            sleeve="coat",
            neck="tie",
        )
    return Outfit(False, _pick(rng, BRIGHTS), second=(0.34, 0.28, 0.22), pattern=str(rng.choice(["check", "stripe"])), coat="shirt",
                  sleeve="shirt", neck="wide collar", legs="flared")  # fmt: skip


def _occasion(plain: Outfit, sex: str, age: float, year: int, wear: str) -> Outfit:
    """The same person dressed for something."""
    if wear == "bride":
        hem, flare = (
            (0.0, 1.1) if year < 1900 else (0.08, 0.8) if year < 1930 else (0.0, 1.15) if year < 1960 else (0.02, 0.9)
        )
        return replace(plain, skirted=True, main=WHITE, second=WHITE, accent=WHITE, pattern="", hem=hem, flare=flare, coat="",
                       sleeve="tight" if year > 1930 else plain.sleeve, socks=WHITE, shoes=WHITE,
                       trims=frozenset({"lace", "bouquet"} | ({"swags", "bustle"} if year < 1890 else set())))  # fmt: skip
    if wear == "groom":
        return replace(plain, main=BLACK, accent=WHITE if year > 1890 else BLACK, pattern="", neck="bow" if year < 1930 else "tie",
                       coat="frock" if year < 1930 else "sack", trims=frozenset({"flower"}))  # fmt: skip
    if wear in ("uniform", "uniform2"):
        cloth = (0.40, 0.38, 0.30) if wear == "uniform" else (0.34, 0.38, 0.42)
        return replace(plain, skirted=False, main=cloth, second=cloth, pattern="", wide=1.05, coat="tunic", sleeve="coat", neck="tunic",
                       legs="breeches" if wear == "uniform" else "long", hem=0.24, socks=cloth, trims=frozenset({"strap"}))  # fmt: skip
    if wear == "work" and sex == "M":
        return replace(plain, main=(0.78, 0.75, 0.68), second=(0.36, 0.31, 0.26), coat="waistcoat", accent=(0.27, 0.24, 0.22), sleeve="rolled",
                       neck="scarf", legs="long", pattern="", trims=frozenset({"braces"}))  # fmt: skip
    if wear == "work":
        return replace(
            plain, trims=frozenset({"apron"}), sleeve="rolled", hem=max(plain.hem, 0.08), coat="", pattern="check"
        )
    if wear == "boat":
        return replace(plain, skirted=False, main=(0.19, 0.23, 0.33), second=(0.25, 0.24, 0.25), pattern="knit", coat="gansey", sleeve="shirt",
                       neck="knit", legs="long", trims=frozenset())  # fmt: skip
    if wear == "swim":
        cloth = BRIGHTS[int(age * 7) % len(BRIGHTS)] if year > 1955 else NAVY
        return replace(plain, skirted=False, main=cloth, pattern="stripe" if int(age) % 2 else "", coat="swim", sleeve="none", neck="round",
                       legs="bare", hem=0.36, trims=frozenset())  # fmt: skip
    if wear == "apron":
        return replace(plain, trims=plain.trims | {"apron"})
    if wear == "white" and sex == "F":
        return replace(plain, main=WHITE, second=WHITE, pattern="", trims=plain.trims | {"lace"})
    if wear == "coat":
        return replace(plain, main=SUITS[int(age) % len(SUITS)], pattern="", sleeve="coat", trims=plain.trims | {"fur"})
    return plain
