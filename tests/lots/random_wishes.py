"""What is wanted on a random lot: loop type, sizes, rule books, loads, machines, pipes, sheet."""

from __future__ import annotations

import json
import random
from dataclasses import dataclass
from typing import Any, Final

from places import ROOT

FOOT_M: Final = 0.3048
KINDS_OF_TRENCH: Final = (
    "one pipe", "two pipes side by side", "two pipes stacked", "four pipes", "six pipes",
    "flat coil", "upright coil", "wide pit",
)  # fmt: skip
WELL_KNOWN: Final = ("maine", "minnesota", "hanover-township-pa", "illinois", "laporte-county-in")


@dataclass
class Words:
    """What the words of a site file follow from, beside the seed.

    Parameters
    ----------
    r
        Where chance comes from.
    metric
        Whether the site file is in metres.
    has_pond, has_house
        Whether there is a pond; whether an entry is stated.
    area
        Of the parcel [m2].
    has_well, has_drive
        Whether there is a potable well; a driveway drawn as an area.
    """

    r: random.Random
    metric: bool
    has_pond: bool
    has_house: bool
    area: float
    has_well: bool = False
    has_drive: bool = False

    def m(self, metres: float) -> str:
        """A length as somebody types it."""
        return plain(length(metres, self.metric))

    def chance(self, share: float) -> bool:
        """True in so many of all cases."""
        return self.r.random() < share


def length(metres: float, metric: bool) -> str:
    """A length in the unit of the site file, rounded as somebody would say it."""
    if metric:
        return f"{metres:.4g} m"
    feet = metres / FOOT_M
    return f"{round(feet) if feet >= 3 else round(feet, 1):g} ft"


def plain(value: Any) -> str:
    """A value as TOML writes it."""
    return json.dumps(value, ensure_ascii=False)


def wishes(w: Words) -> str:
    """The tables of a site file behind the lot."""
    systems = ["choose"] * 4 + ["horizontal"] * 3 + ["vertical"] * 3 + ["open"]
    systems += ["pond"] * 3 if w.has_pond else []
    system = w.r.choice(systems)
    stated = w.r.choice(("given", "capacity", "loads", "loads"))
    parts = [
        _rules(w), _exchanger(w, system, stated), _horizontal(w, stated), _vertical(w), _pond(w),
        _open(w, system == "open", stated), _machines(w), _heat(w, stated), _pipes(w), _paper(w),
    ]  # fmt: skip
    return "".join(parts)


def _rules(w: Words) -> str:
    books = sorted(
        path.stem for path in (ROOT / "siteplan" / "rule_books" / "shipped").glob("*.toml")
    )
    chosen = w.r.sample(books, w.r.choice((0, 0, 1, 1, 2, 3)))
    if w.chance(0.3):
        chosen.append(w.r.choice(WELL_KNOWN))
    text = f"[rules]\nbooks = {plain(sorted(set(chosen)))}\n"
    for _ in range(w.r.choice((0, 0, 0, 1, 2))):
        parts = w.r.choice((["bore"], ["trench", "bore"], ["header"], ["coil", "trench", "bore"]))
        of = w.r.choice(("property line", "building", "tree", "driveway", "water line", "pond"))
        text += f'[[rules.own]]\nfrom = "{of}"\nfor = {plain(parts)}\n'
        text += (
            f'distance = {w.m(w.r.choice((0.6, 1.5, 2.4, 3.0, 4.5)))}\nsource = "owner\'s wish"\n'
        )
    return text


def _exchanger(w: Words, system: str, stated: str) -> str:
    text = f'[exchanger]\nsystem = "{system}"\n'
    if system == "choose" and w.chance(0.3):
        order = w.r.sample(("horizontal", "vertical", "pond", "open"), w.r.randint(1, 4))
        text += f"order = {plain(order)}\n"
    if stated == "given":
        metres = w.r.choice((60, 90, 150, 200, 300))
        text += f'length = {{ given = {w.m(metres)}, by = "load calculation" }}\n'
    if stated == "capacity" or w.chance(0.1):
        text += f'capacity = "{w.r.choice((1, 2, 3, 4))} ton"\n'
    if not w.has_house and w.chance(0.5):
        text += 'entry = "any wall"\n'
    if w.chance(0.05):
        text += f"machine_reach = {w.m(w.r.choice((0.5, 2.0, 3.0)))}\n"
    return text


def _horizontal(w: Words, stated: str) -> str:
    text = "[horizontal]\n"
    kind = w.r.choice((*KINDS_OF_TRENCH, "choose" if stated == "loads" else "", "", "", ""))
    if kind:
        text += f'kind = "{kind}"\n'
    wide = kind == "wide pit"
    if w.chance(0.5) or wide:
        text += f"spacing = {w.m(w.r.choice((6.0, 7.5) if wide else (2.4, 3.0, 3.6, 4.5)))}\n"
    if w.chance(0.2):
        text += f"depth = {w.m(w.r.choice((1.2, 1.5, 1.8, 2.1)))}\n"
    if w.chance(0.4):
        text += f"shortest = {w.m(w.r.choice((6.0, 9.0, 12.0)))}\n"
    if w.chance(0.2):
        text += f"longest = {w.m(w.r.choice((30.0, 45.0, 60.0)))}\n"
    if kind and stated == "capacity" and w.chance(0.9):
        metres = w.r.choice((45, 60, 90, 120))
        text += f'length = {{ given = {w.m(metres)}, by = "load calculation" }}\n'
    if w.chance(0.2):
        text += f'soil = "{w.r.choice("ABC")}"\nprotection = "slope"\n'
    return text


def _vertical(w: Words) -> str:
    text = "[vertical]\n"
    spacing = w.r.choice((4.5, 6.0, 6.0, 7.5))
    grid = w.chance(0.15)
    if w.chance(0.6):
        text += f"spacing = {w.m(spacing)}\n"
    elif w.chance(0.2):
        text += f"spacing = {{ least = {w.m(spacing)}, most = {w.m(spacing * 1.5)} }}\n"
    if w.chance(0.4):
        text += f"depth = {{ least = {w.m(30)}, most = {w.m(w.r.choice((75, 90, 120)))} }}\n"
    elif w.chance(0.15):
        text += f"depth = {w.m(w.r.choice((60, 75, 90)))}\n"
    if not grid and w.chance(0.12):
        text += f"count = {w.r.randint(1, 6)}\n"
    pad = not grid and w.chance(0.12)
    if not grid and not pad and w.chance(0.2):
        text += f'arrangement = "{w.r.choice(("rows", "free", "best"))}"\n'
    return text + _field(w, grid, pad)


def _field(w: Words, grid: bool, pad: bool) -> str:
    text = ""
    if grid:
        text += f"[vertical.grid]\nrows = {w.r.randint(1, 3)}\ncolumns = {w.r.randint(1, 4)}\n"
        if w.chance(0.4):
            text += f"spacing = {w.m(7.5)}\nrow_spacing = {w.m(w.r.choice((7.5, 9.0)))}\n"
    elif pad:
        text += "[vertical.pad]\n"
        if w.chance(0.5):
            text += f'tilt = "{w.r.choice((10, 15, 25))} deg"\ncollar_spacing = {w.m(2.0)}\n'
    return text


def _pond(w: Words) -> str:
    if not w.has_pond or w.chance(0.4):
        return ""
    text = "[pond]\n"
    if w.chance(0.4):
        text += (
            f"water_depth = {w.m(w.r.choice((2.0, 2.4)))}\nshore = {w.m(w.r.choice((1.5, 3.0)))}\n"
        )
    if w.chance(0.3):
        text += f"coil_diameter = {w.m(w.r.choice((1.2, 1.8)))}\n"
        text += f"pipe_per_coil = {w.m(w.r.choice((60, 90)))}\n"
    if w.chance(0.5):
        text += 'small = { by = "A. Engineer, 2026-03-02" }\n'
    if w.chance(0.3):
        text += 'shallow = { by = "A. Engineer, 2026-03-02" }\n'
    return text


def _open(w: Words, wanted: bool, stated: str) -> str:
    if not wanted and w.chance(0.5):
        return ""
    text = f'[open]\nyield = "{w.r.choice(("20 gpm", "40 gpm", "2.5 L/s"))}"\n'
    if stated == "given":
        text += f'flow = "{w.r.choice((6, 9, 12))} gpm"\n'
    if w.has_well and w.chance(0.3):
        text += 'supply = "<potable well>"\n'
    if w.chance(0.3):
        text += f"separation = {w.m(w.r.choice((15.5, 18.0, 25.0)))}\n"
        text += f"depth = {w.m(w.r.choice((24, 45)))}\n"
    if w.chance(0.2):
        text += (
            f'separation = {w.m(10.0)}\nnear = {{ by = "A. Engineer, 2026-03-02" }}\n'
            if "separation" not in text
            else ""
        )
    return text + _aquifer(w, random.Random(text))


def _aquifer(w: Words, r: random.Random) -> str:
    """What somebody answers for, a level at rest, an aquifer whose water flows on.

    Chosen apart from all else, so that a lot of a number stays what it was.
    """
    text = ""
    if r.random() < 0.3:
        text += 'drift = { by = "A. Hydrogeologist, 2026-03-02" }\n'
    if r.random() < 0.4:
        text += f"static_level = {w.m(r.choice((2.0, 6.0, 15.0)))}\n"
    if r.random() < 0.6:
        bearing = r.choice(("N 10 E", "S 45 E", "N 80 W", "S 5 W"))
        text += f'[aquifer]\ntransmissivity = "0.01 m2/s"\nthickness = {w.m(15.0)}\n'
        text += f'gradient = {r.choice((0.0005, 0.003))}\ndirection = "{bearing}"\n'
    return text


def _machines(w: Words) -> str:
    text = ""
    if w.chance(0.35):
        text += "[rig]\n" + w.r.choice(
            (
                'access = "anywhere"\n',
                f"width = {w.m(1.8)}\nlength = {w.m(4.9)}\nturning = {w.m(3.0)}\n"
                f"mast = {w.m(5.5)}\n",
                f"width = {w.m(2.4)}\nturning = {w.m(0.0)}\n",
            )
        )
    if w.chance(0.35):
        text += "[excavator]\n" + w.r.choice(
            (
                'access = "anywhere"\n',
                f"width = {w.m(1.2)}\nlength = {w.m(3.0)}\nboom = {w.m(3.0)}\n",
                f"width = {w.m(2.4)}\nlength = {w.m(6.0)}\nturning = {w.m(3.0)}\n"
                f"boom = {w.m(5.0)}\n",
            )
        )
    return text


def _heat(w: Words, stated: str) -> str:
    if stated != "loads":
        return f"[ground]\nfrost = {w.m(w.r.choice((0.6, 1.0, 1.2)))}\n" if w.chance(0.2) else ""
    kw = w.r.choice((4, 6, 8, 11, 14))
    power = (lambda value: f'"{value:g} kW"') if w.metric else (lambda v: f'"{v * 3.412:.0f} MBH"')
    text = f"[loads]\nheating = {power(kw)}\nheating_hours = {w.r.choice((1400, 1800, 2200))}\n"
    if w.chance(0.7):
        text += f"cooling = {power(kw * 0.7)}\ncooling_hours = {w.r.choice((300, 600, 1000))}\n"
    if w.chance(0.2):
        text += "cop = 4.1\neer = 17\n"
    if w.chance(0.3):
        text += f"[loads.hot_water]\npeople = {w.r.randint(1, 6)}\n"
    if w.has_drive and w.chance(0.07):
        text += '[loads.snow_melt]\nof = "<driveway>"\nflux = "60 W/m2"\nhours = 100\ncop = 4.2\n'
    text += f'[ground]\ntemperature = "{w.r.choice((48, 52, 56, 60))} F"\n'
    text += 'swing = "19 F"\ncoldest_day = "5 February"\n' if w.chance(0.95) else ""
    if w.chance(0.5):
        soils = ("limestone", "granite", "heavy clay, 15 % water", "wet shale")
        text += f'soil = "{w.r.choice(soils)}"\n'
    else:
        text += 'conductivity = "1.2 Btu/h.ft.F"\ndiffusivity = "0.9 ft2/day"\n'
    if w.chance(0.3):
        text += f"frost = {w.m(w.r.choice((0.6, 1.0, 1.2)))}\n"
    return text


def _pipes(w: Words) -> str:
    text = ""
    if w.chance(0.15):
        text += f'[circuits]\npipe = "{w.r.choice(("3/4 in", "1 in", "1-1/4 in"))}"\n'
    elif w.chance(0.1):
        text += f"[circuits]\nlongest = {w.m(w.r.choice((120, 180)))}\n"
    elif w.chance(0.1):
        text += '[circuits]\nflow = "12 gpm"\n'
    if w.chance(0.3):
        layouts = ("reverse return", "direct return", "home run", "header pit")
        text += f'[header]\nlayout = "{w.r.choice(layouts)}"\n'
        text += f"separation = {w.m(w.r.choice((0.15, 0.6)))}\n" if w.chance(0.3) else ""
        text += f"depth = {w.m(w.r.choice((1.2, 1.5)))}\n" if w.chance(0.3) else ""
    if w.chance(0.4):
        mixtures = ("methanol 15 %", "propylene glycol 20 %", "ethanol 20 %")
        text += f'[fluid]\nmixture = "{w.r.choice(mixtures)}"\n'
    if w.chance(0.2):
        text += f'[grout]\nmaterial = "{w.r.choice(("bentonite and sand", "cement and sand"))}"\n'
    if w.chance(0.1):
        text += f"[heat_pump]\nhead = {w.m(3.6)}\n"
    if w.chance(0.15):
        text += f"[staking]\nallowance = {w.m(w.r.choice((0.0, 0.03, 0.3)))}\n"
    return text


def _paper(w: Words) -> str:
    text = ""
    if w.chance(0.4):
        sizes = (
            ("auto", "A4", "A3", "A1")
            if w.metric
            else ("auto", "ANSI A", "ANSI B", "ANSI D", "Arch D")
        )
        text += f'[sheet]\nsize = "{w.r.choice(sizes)}"\n'
        text += f'north = "{w.r.choice(("up", "turned"))}"\n' if w.chance(0.3) else ""
        text += f'set = "{w.r.choice(("one", "auto", "full"))}"\n' if w.chance(0.4) else ""
    if w.chance(0.1):
        text += '[prices]\ncurrency = "USD"\nbore = [16, 21]\nfitting = [9, 15]\nsand = [38, 52]\n'
        text += 'trench = { "4 ft" = [5, 7], "7 ft" = [8, 12] }\ncoil = [180, 260]\n'
    return text
