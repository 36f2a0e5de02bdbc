"""What a child process works out for the page: a plan in its stages, and its set.

It is killed by the next change, so that nobody waits for an answer that is out of date.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
import zipfile
from collections.abc import Callable
from functools import partial
from io import BytesIO
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

from siteplan.errors import SitePlanError
from siteplan.export.svg import svg_of
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.pages.set import compose_set
from siteplan.web.offer import offer_picture
from siteplan.web.stages import Telling, other_trials, rows_told, staged_plan
from siteplan.web.told import plan_told

Json = dict[str, Any]
PLAN: Final = "plan"
"""What is asked with a number and a job; all else is asked of the plan made last."""
DONE: Final = "done"
"""Told by a child beside the first when it has told all of its share."""
BESIDE: Final = {"rows": rows_told, "others": other_trials}
"""Shares of children that work beside the first."""
GENTLY: Final = 5
"""Steps by which the child beside gives way to the first, as the system counts them."""
ZIP_TIME: Final = (1980, 1, 1, 0, 0, 0)
"""Of every file in a zip: the same set gives the same bytes."""


def work(pipe: Connection) -> None:
    """Plan a lot and tell of it stage by stage, and answer what is asked of the plan made last.

    A lot that is planned again takes over what did not change. Everything told is told with the
    number of the job; a child that works beside the first says when it has done its share.
    """
    number, plan, known, memory = 0, None, None, None
    with contextlib.suppress(EOFError, BrokenPipeError, KeyboardInterrupt):
        while True:
            question, values = pipe.recv()
            if question != PLAN:
                pipe.send((number, "answer", _answered(plan, question, values)))
                continue
            number, job = values
            telling = Telling(partial(_tell, pipe, number), pipe.poll)
            if job.share in BESIDE:
                if job.share == "others" and memory is None:
                    _work_gently()
                memory = BESIDE[job.share](job, telling, memory)
                pipe.send((number, DONE, None))
            else:
                plan = staged_plan(job, telling, known)
                known = plan or known


def _tell(pipe: Connection, number: int, stage: str, told: Any) -> None:
    pipe.send((number, stage, told))


def _work_gently() -> None:
    """Take less than the others: whoever looks on waits first for the loop type that is drawn."""
    with contextlib.suppress(AttributeError, OSError):
        os.nice(GENTLY)


# --- what is asked of a finished plan


def _answered(plan: SitePlan | None, question: str, values: Any) -> Any:
    if plan is None:
        return {"fault": "There is no plan yet: mend what is missing first."}
    try:
        return ANSWERS[question](plan, values)
    except SitePlanError as error:
        return {"fault": str(error)}


def _sheets(plan: SitePlan, _: Any) -> Json:
    """Every sheet as it will print."""
    sheets = compose_set(plan.content())
    return {"sheets": [[f"{sheet.number} {sheet.name}", svg_of(sheet)] for sheet in sheets]}


def package_of(plan: SitePlan, _: Any) -> bytes:
    """The permit package, the very files of `siteplan plan`, in one zip."""
    with tempfile.TemporaryDirectory() as folder:
        paths = sorted(plan.write(Path(folder) / "set"))
        packed = BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
            for path in paths:
                archive.writestr(
                    zipfile.ZipInfo(path.name, ZIP_TIME), path.read_bytes(), zipfile.ZIP_DEFLATED
                )
        return packed.getvalue()


def _page(plan: SitePlan, _: Any) -> bytes:
    """The plan as one HTML file to mail."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "page.html"
        plan.write_page(path)
        return path.read_bytes()


def _offer(plan: SitePlan, _: Any) -> bytes:
    """One page for the owner as a picture."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "offer.png"
        offer_picture(plan, path)
        return path.read_bytes()


def _costs(plan: SitePlan, _: Any) -> Json:
    """What each setback costs on this lot."""
    weighed = plan_site(plan.lot.site, system=plan.drawn.system, costs=True, earlier=plan)
    return {"costs": plan_told(weighed)["costs"]}


ANSWERS: Final[dict[str, Callable[[SitePlan, Any], Any]]] = {
    "sheets": _sheets,
    "package": package_of,
    "page": _page,
    "offer": _offer,
    "costs": _costs,
}
