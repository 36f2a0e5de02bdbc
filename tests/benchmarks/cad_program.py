"""The drawing as a CAD program and a second reader show it, beside the sheet as printed.

    python tests/benchmarks/cad_program.py FOLDER OUT

FOLDER holds a package that ``siteplan plan`` wrote. Drawn by the program are model.dxf and, as it
shows no paper space, a copy of each layout of plan.dxf with the paper as its model. It needs
librecad, xvfb-run and pdftoppm (Debian packages librecad, xvfb, poppler-utils); without them the
script says so, and draws by the second reader (the drawing add-on of ezdxf) alone.

LibreCAD 2.2 reads no attributes of block references, and so shows no title block filled in. In the
copies of layouts the visible ones stand as texts besides, where and as tall as they are; a title
block that is empty or wrong here is so in the file.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import ezdxf
import matplotlib as mpl
from ezdxf import bbox, units
from ezdxf.addons.drawing import matplotlib as drawn
from ezdxf.addons.drawing.config import BackgroundPolicy, Configuration
from ezdxf.addons.importer import Importer
from PIL import Image

WIDTH = 2400
"""Of each picture [pixels]."""
SCREEN = 3
"""A background in the colour of the screen (group code 90 of a paragraph)."""
TOLD = ("insert", "height", "rotation", "layer", "style", "halign", "valign", "align_point")
"""What of an attribute a text takes over."""
PROGRAM = ("xvfb-run", "librecad", "pdftoppm")


def lacking() -> list[str]:
    """What of the program and its helpers this machine has not."""
    return [name for name in PROGRAM if shutil.which(name) is None]


def on_its_own(path: Path, layout: str, target: Path) -> None:
    """Write a drawing whose model is the paper of a layout."""
    source = ezdxf.readfile(path)
    in_inches = source.layout(layout).dxf.plot_paper_units == 0
    alone = ezdxf.new("R2013", units=units.IN if in_inches else units.MM)
    for name in ("$MEASUREMENT", "$PLIMMIN", "$PLIMMAX"):
        alone.header[name] = source.header[name]
    importer = Importer(source, alone)
    importer.import_entities(one for one in source.layout(layout) if one.dxftype() != "VIEWPORT")
    importer.finalize()
    for reference in alone.modelspace().query("INSERT"):
        for field in (each for each in reference.attribs if not each.is_invisible):
            told = {name: field.dxf.get(name) for name in TOLD if field.dxf.hasattr(name)}
            alone.modelspace().add_text(field.dxf.text, dxfattribs=told)
    alone.saveas(target)


def by_program(path: Path, target: Path) -> None:
    """Draw the model of a file with the program."""
    with tempfile.TemporaryDirectory() as scratch:
        command = ["xvfb-run", "-a", "librecad", "dxf2pdf", "--fit", "--directory", scratch, path]
        subprocess.run(command, check=True, capture_output=True, timeout=300)
        printed = Path(scratch) / path.with_suffix(".pdf").name
        named = target.with_suffix("")
        size = ["-scale-to", str(WIDTH), "-png", "-singlefile"]
        subprocess.run(["pdftoppm", *size, printed, named], check=True, timeout=300)


def by_reader(path: Path, layout: str, target: Path) -> None:
    """Draw a layout of a file with the second reader."""
    document = ezdxf.readfile(path)
    space = document.layout(layout)
    for text in document.query("MTEXT"):
        if text.dxf.get("bg_fill", 0):
            # it draws a background only under text with a format of its own
            text.text = f"{{\\H1x;{text.text}}}"
        if text.dxf.get("bg_fill", 0) == SCREEN:
            # and none in the colour of the screen, which is white here
            text.set_bg_color((255, 255, 255), scale=text.dxf.box_fill_scale)
    look = Configuration(background_policy=BackgroundPolicy.WHITE)
    extents = bbox.extents(space, fast=True)
    size = (24.0, 24.0 * extents.size.y / extents.size.x)
    drawn.qsave(space, str(target), config=look, dpi=WIDTH // 24, size_inches=size)


def beside(pictures: list[Path], target: Path) -> None:
    """One picture of several, side by side."""
    images = [Image.open(one).convert("RGB") for one in pictures]
    scaled = [one.resize((WIDTH, round(one.height * WIDTH / one.width))) for one in images]
    whole = Image.new("RGB", (WIDTH * len(scaled), max(one.height for one in scaled)), "white")
    for number, one in enumerate(scaled):
        whole.paste(one, (number * WIDTH, 0))
    whole.save(target)


def main(folder: Path, out: Path) -> None:
    """Draw a package in every way and put the pictures side by side."""
    out.mkdir(parents=True, exist_ok=True)
    mpl.use("agg")
    missing = lacking()
    if missing:
        print(f"no picture by the CAD program: {', '.join(missing)} not installed")
    plan = folder / "plan.dxf"
    layouts = [name for name in ezdxf.readfile(plan).layout_names_in_taborder() if name != "Model"]
    jobs = [("model", folder / "model.dxf", "Model", folder / "plan.png")]
    for name in layouts:
        suffix = "" if name == "PLAN" else f"-{name}"
        jobs.append((f"sheet-{name}", plan, name, folder / f"plan{suffix}.png"))
    for title, path, layout, ours in jobs:
        pictures = [ours]
        reader = out / f"{title}-reader.png"
        by_reader(path, layout, reader)
        pictures.append(reader)
        if not missing:
            program, alone = out / f"{title}-program.png", out / f"{title}.dxf"
            if layout == "Model":
                shutil.copy(path, alone)
            else:
                on_its_own(path, layout, alone)
            by_program(alone, program)
            pictures.append(program)
        beside(pictures, out / f"{title}.png")
        print(out / f"{title}.png")


if __name__ == "__main__":
    if len(sys.argv) != 3:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]), Path(sys.argv[2]))
