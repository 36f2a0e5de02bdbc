"""One lot being edited: its files, what they come to, the plan made of them, who looks on."""

from __future__ import annotations

import asyncio
import shutil
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from starlette.websockets import WebSocket, WebSocketDisconnect

from siteplan.errors import InputError
from siteplan.site.frame import LocalFrame
from siteplan.web.bank import waters_of
from siteplan.web.document import Op, changed_text, refused
from siteplan.web.engine import Engine, new_child
from siteplan.web.hand import Known, places_given
from siteplan.web.items import Drawing
from siteplan.web.merge import Files
from siteplan.web.opinion import Opinion
from siteplan.web.scene import Scene, Taped, faults_of, scene_of
from siteplan.web.stages import Job
from siteplan.web.store import Store

Json = dict[str, Any]
MOST_OPS: Final = 200
MOST_VARIANTS: Final = 4
MOST_LISTS: Final = 20
MOST_LIST_BYTES: Final = 100_000
WATCH_S: Final = 1.0
"""How often the disk is looked at for a file changed elsewhere [s]."""


@dataclass(frozen=True, slots=True)
class Variant:
    """A lot kept beside the one that is drawn.

    Parameters
    ----------
    files
        Its files.
    ops
        What it changes; nothing: it is a lot as it was.
    of
        Files of the lot that it was made of.
    lot
        What is drawn of it, once it is read.
    plan
        What is told of its plan; None: not yet made.
    """

    files: Files
    ops: tuple[Op, ...]
    of: Files
    lot: Json | None = None
    plan: Json | None = None


class Session:
    """What the server knows of the lot, in one place."""

    def __init__(self, path: Path) -> None:
        self.store = Store(path)
        self.frame: LocalFrame | None = None
        self.scene: Scene = self._read({})
        self.tabs: list[WebSocket] = []
        self.opinion: Opinion | None = None
        self.stages: dict[str, Any] = {}
        self.outside = False
        self.variants: dict[str, Variant] = {}
        self.engine: Engine | None = None
        self.aside: Engine | None = None
        self._drawn, self._kind = "", ""
        self._comparing = ""
        self._folder = Path()
        self._sending: set[asyncio.Future[None]] = set()

    async def start(self) -> None:
        """Begin to plan, once what plans need is loaded; the lot is shown meanwhile."""
        spare = await asyncio.to_thread(new_child)
        self.engine = Engine(self._hear, spare)
        self._plan()

    def _plan(self) -> None:
        if self.engine is not None:
            self.engine.plan(Job(str(self.store.path), self._drawn, self._kind))

    def close(self) -> None:
        """End the children."""
        for engine in (self.engine, self.aside):
            if engine is not None:
                engine.close()

    # --- changes

    def told(self) -> Json:
        """Everything the page shows, with what is known of the plan so far."""
        undo, redo = self.store.steps
        return {
            **self.scene.told(),
            "name": self.store.path.name,
            "folder": self.store.folder.name,
            "digest": self.store.digest,
            "undo": undo,
            "redo": redo,
            "outside": self.outside,
            "tabs": len(self.tabs),
            "stages": self.stages,
            "price_lists": price_lists(self.store.folder),
        }

    def change(self, digest: str, ops: Sequence[Op]) -> None:
        """Make changes and save them.

        Raises
        ------
        InputError
            They make no sense, or the page is out of date.
        """
        self._judge(digest)
        ops = [left for op in ops for left in self._by_hand(op)]
        files = self.changed_files(self.store.files, ops)
        self._refuse_unseen(files, ops)
        self.store.save(files)
        self.refresh()

    def _by_hand(self, op: Op) -> list[Op]:
        """A change as changes of the site file: of what was laid out, where all of it lie."""
        if op.get("op") != "laid":
            return [op]
        drawing, told = self.scene.drawing, self.opinion
        waters = waters_of(self.scene.site)
        if told is None:
            return places_given(op, Known(drawing.values, None, drawing.unit, waters=waters))
        allowance_m = told.site.exchanger.allowance_m
        known = Known(drawing.values, told.layout, drawing.unit, allowance_m, waters)
        return places_given(op, known)

    def _refuse_unseen(self, files: Files, ops: Sequence[Op]) -> None:
        """Refuse a new thing that cannot be drawn: it would stand in the file, and nowhere else."""
        added = [op["values"] for op in ops if is_new(op)]
        drawing = Drawing(files, self.store.path.name, self.scene.frame)
        faults = [
            fault
            for values in added
            for fault in faults_of(values["id"], drawing, self.store.folder)
            # what is seen may have more said of it afterwards
            if fault.key in ("", *values) or not drawing.shows(values["id"])
        ]
        if faults:
            raise InputError(faults)

    def replace_text(self, digest: str, text: str) -> None:
        """Save another text of the site file; the lot's file stays beside it, unnamed.

        Raises
        ------
        InputError
            The page is out of date.
        """
        self.replace_files(digest, {self.store.path.name: text})

    def replace_files(self, digest: str, files: Files) -> None:
        """Save other files.

        Raises
        ------
        InputError
            The page is out of date.
        """
        self._judge(digest)
        self.store.save(files)
        self.frame = None
        self.refresh()

    def changed_files(self, files: Files, ops: Sequence[Op]) -> Files:
        """Files of the lot with changes made to them."""
        if len(ops) > MOST_OPS:
            raise refused(f"{len(ops)} changes at once are too many.")
        drawing = Drawing(files, self.store.path.name, self.scene.frame)
        try:
            for op in ops:
                known, left = drawing.changed(op)
                drawing = replace(drawing, files=known)
                if left is not None:
                    drawing = drawing.with_text(changed_text(drawing.files[drawing.name], [left]))
        except (KeyError, IndexError, TypeError, ValueError) as error:
            raise refused(f"this change cannot be made ({error}).") from error
        return drawing.files

    def go(self, digest: str, *, back: bool, steps: int = 1) -> None:
        """Undo or do again so many changes, as far as there are any."""
        self._judge(digest)
        if self.store.go(-steps if back else steps):
            self.refresh()

    def settle(self, *, take: bool) -> None:
        """Take what was written outside, or keep what was drawn here."""
        if take:
            self.store.take_outside()
        else:
            self.store.keep_mine()
        self.outside = False
        self.refresh()

    def _judge(self, digest: str) -> None:
        if self.outside or self.store.changed_outside():
            self.outside = True
            raise refused("the file was changed outside of this page.")
        if digest != self.store.digest:
            raise refused("another tab has changed the lot meanwhile.")

    def refresh(self) -> None:
        """Plan, read the files anew, and tell every tab."""
        # the child begins at once, and what is shown is read beside it
        self.stages, self.opinion = {}, None
        self._plan()
        self.scene = self._read(self.scene.taped)
        self.send({"type": "changed", "digest": self.store.digest})

    def _read(self, known: Taped) -> Scene:
        drawing = Drawing(self.store.files, self.store.path.name, self.frame)
        scene = scene_of(drawing, self.store.path)
        self.frame = scene.frame
        return replace(scene, drawing=replace(drawing, frame=self.frame), known=known)

    # --- what the engine says

    def _hear(self, number: int, stage: str, told: Any) -> None:
        del number
        if stage in ("laid", "drawn", "plan"):
            self.opinion = Opinion.unpacked(told["opinion"])
            told = told["told"]
            self._drawn, self._kind = told["system"], told["kind"] or self._kind
        if stage == "other":
            known = self.stages.get("others", [])
            others = [each for each in known if each["system"] != told["system"]]
            stage, told = "others", [*others, told]
        if stage != "step":
            self.stages[stage] = told
        self.send(self._stage(stage, told))

    def _stage(self, stage: str, told: Any) -> Json:
        return {"type": "stage", "digest": self.store.digest, "stage": stage, "told": told}

    async def tell_again(self, tab: WebSocket) -> None:
        """Tell a tab every stage that is known."""
        for stage, told in list(self.stages.items()):
            await _sent(tab, self._stage(stage, told))

    def send(self, message: Json) -> None:
        """Tell every tab."""
        for tab in list(self.tabs):
            sending = asyncio.ensure_future(_sent(tab, message))
            self._sending.add(sending)
            sending.add_done_callback(self._sending.discard)

    async def watch(self) -> None:
        """Look for a file that somebody else has changed, as long as the server runs."""
        while True:
            await asyncio.sleep(WATCH_S)
            changed = not self.outside and await asyncio.to_thread(self.store.changed_outside)
            # looked at again: it may have been saved or settled here meanwhile
            if changed and self.store.changed_outside():
                if self.store.merge_outside():
                    self.refresh()
                    self.send({"type": "merged"})
                else:
                    self.outside = True
                    self.send({"type": "outside"})

    # --- variants

    def add_variant(self, name: str, ops: Sequence[Op]) -> None:
        """Keep a variant of the lot as it is, with changes, and plan it aside."""
        if not name.strip() or len(name) > 60:
            raise refused("give the variant a name of up to 60 letters.")
        if len(self.variants) >= MOST_VARIANTS and name not in self.variants:
            raise refused(f"{MOST_VARIANTS} variants are kept: drop one first.")
        files = self.store.files
        self.variants[name] = Variant(self.changed_files(files, ops), tuple(ops), files)
        self._compare()

    def take_variant(self, digest: str, name: str) -> None:
        """Make a variant the lot: what it changes, on the lot as it is now.

        Where it changes nothing it is the lot as it was, and that is taken.

        Raises
        ------
        InputError
            The change makes no sense any more, or the page is out of date.
        """
        self._judge(digest)
        kept, now = self.variants[name], self.store.files
        anew = kept.ops and kept.of != now
        self.store.save(self.changed_files(now, kept.ops) if anew else kept.files)
        self.refresh()

    def variants_told(self) -> list[Json]:
        """Variants by name, each with its lot and its plan once that is made."""
        return [
            {"name": name, "plan": each.plan, "lot": each.lot, "changes": bool(each.ops),
             "old": self.store.files not in (each.of, each.files)}
            for name, each in self.variants.items()
        ]  # fmt: skip

    def _compare(self) -> None:
        """Plan the next variant that has no plan."""
        open_ = next((name for name, each in self.variants.items() if each.plan is None), None)
        if open_ is None or self._comparing:
            return
        self._comparing = open_
        folder = Path(tempfile.mkdtemp(prefix="siteplan-variant-"))
        with suppress(OSError):
            for path in self.store.folder.iterdir():
                if path.is_file() and not path.name.startswith("."):
                    shutil.copy2(path, folder / path.name)
        kept = self.variants[open_]
        for name, text in kept.files.items():
            (folder / name).write_text(text, encoding="utf-8", newline="")
        path = folder / self.store.path.name
        drawing = Drawing(kept.files, path.name, self.frame)
        self.variants[open_] = replace(kept, lot=scene_of(drawing, path).drawn())
        if self.aside is None:
            self.aside = Engine(self._hear_aside)
        self._folder = folder
        self.aside.plan(Job(str(path), staged=False))

    def _hear_aside(self, number: int, stage: str, told: Any) -> None:
        del number
        if stage not in ("plan", "faults"):
            return
        plan = told["told"] if stage == "plan" else {"faults": told}
        name = self._comparing
        shutil.rmtree(self._folder, ignore_errors=True)
        if name in self.variants:
            self.variants[name] = replace(self.variants[name], plan=plan)
        self._comparing = ""
        self.send({"type": "variants"})
        self._compare()


def is_new(op: Op) -> bool:
    """Whether a change puts a named thing on the lot."""
    return op.get("op") == "add" and op.get("list") == "feature" and "id" in op.get("values", {})


def price_lists(folder: Path) -> list[str]:
    """Names of the price lists beside a site file."""
    return [name for name, values in _lists(folder) if "currency" in values]


def own_books(folder: Path) -> list[list[str]]:
    """Names and titles of the rule books beside a site file."""
    return [
        [name, str(values.get("title", ""))]
        for name, values in _lists(folder)
        if isinstance(values.get("rule"), list) and "geometry" not in values
    ]


def _lists(folder: Path) -> Iterator[tuple[str, Json]]:
    """Names and tables of the files beside a site file that may be lists of something."""
    for path in sorted(folder.glob("*.toml"))[:MOST_LISTS]:
        with suppress(OSError, ValueError):
            if path.stat().st_size < MOST_LIST_BYTES:
                yield path.name, tomllib.loads(path.read_text(encoding="utf-8"))


async def _sent(tab: WebSocket, message: Json) -> None:
    with suppress(RuntimeError, OSError, InputError, WebSocketDisconnect):
        await tab.send_json(message)
