"""Children that plan for the page: one that dies is told of."""

import asyncio

import pytest

pytest.importorskip("starlette")

from siteplan.web.engine import ENDED, Engine
from siteplan.web.stages import Job

PATIENCE_S = 30


def test_a_child_that_dies_is_told_of_and_nobody_waits(tmp_path):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def killed():
        told, heard = [], asyncio.Event()

        def hear(number, stage, what):
            told.append((number, stage, what))
            heard.set()

        engine = Engine(hear)
        try:
            number = engine.plan(Job(str(tmp_path / "site.toml")))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)  # faults of an empty file
            asked = asyncio.ensure_future(engine.ask("sheets"))
            engine._busy[0].kill()
            answer = await asyncio.wait_for(asked, PATIENCE_S)
            while told[-1] != (number, "faults", [ENDED]):
                await asyncio.sleep(0.02)
        finally:
            engine.close()
        return answer

    assert "fault" in asyncio.run(asyncio.wait_for(killed(), 2 * PATIENCE_S))
