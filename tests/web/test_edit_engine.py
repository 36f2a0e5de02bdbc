"""Children that plan for the page: one that dies is told of."""

import asyncio
import time

import pytest

pytest.importorskip("starlette")

from test_edit_server import LOT

from siteplan.web.engine import ENDED, LAST, Engine, new_child
from siteplan.web.stages import Job

PATIENCE_S = 30


@pytest.mark.parametrize("gone", [False, True], ids=["dying", "dead"])
def test_a_child_that_dies_is_told_of_and_nobody_waits(tmp_path, gone):
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
            child = engine._busy[0]
            if gone:  # asked in the same breath: nobody on the loop has heard of it yet
                child.kill()
                time.sleep(0.2)
                answer = await engine.ask("sheets")
            else:
                asked = asyncio.ensure_future(engine.ask("sheets"))
                await asyncio.sleep(0)
                child.kill()
                answer = await asyncio.wait_for(asked, PATIENCE_S)
            while told[-1] != (number, "faults", [ENDED]):
                await asyncio.sleep(0.02)
        finally:
            engine.close()
        return answer

    assert "fault" in asyncio.run(asyncio.wait_for(killed(), 2 * PATIENCE_S))


def test_a_child_that_died_while_it_waited_is_replaced(tmp_path):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def planned():
        heard = asyncio.Event()
        spare = new_child()
        spare[0].kill()
        spare[0].join()
        engine = Engine(lambda *_told: heard.set(), spare)
        try:
            engine.plan(Job(str(tmp_path / "site.toml")))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)
        finally:
            engine.close()
        return heard.is_set()

    assert asyncio.run(asyncio.wait_for(planned(), 2 * PATIENCE_S))


@pytest.mark.parametrize("processors", [1, 2])
def test_a_second_processor_has_a_second_child_and_the_next_change_ends_both(tmp_path, processors):
    (tmp_path / "site.toml").write_text("", encoding="utf-8")

    async def begun():
        engine = Engine(lambda *_told: None, processors=processors)
        try:
            engine.plan(Job(str(tmp_path / "site.toml")))
            first = [child[0] for child in (engine._busy, engine._beside) if child is not None]
            engine.plan(Job(str(tmp_path / "site.toml")))
            return len(first), [child.is_alive() for child in first]
        finally:
            engine.close()

    number, alive = asyncio.run(asyncio.wait_for(begun(), PATIENCE_S))
    assert number == processors
    assert not any(alive)


def test_a_child_at_rest_plans_the_next_lot_and_tells_what_a_new_one_tells(tmp_path):
    file = tmp_path / "site.toml"
    moved = LOT.replace("[15, 20]", "[60, 120]")
    assert moved != LOT

    async def planned():
        told, heard = {}, asyncio.Event()

        def hear(_, stage, what):
            told[stage] = what
            if stage in LAST:
                heard.set()

        engine = Engine(hear, processors=1)

        async def plan_of(text):
            file.write_text(text, encoding="utf-8")
            heard.clear()
            engine.plan(Job(str(file)))
            await asyncio.wait_for(heard.wait(), PATIENCE_S)
            return told["plan"]["told"], engine._busy[0].pid

        try:
            first = await plan_of(LOT)
            second = await plan_of(moved)
            engine.end_job()
            anew = await plan_of(moved)
            # one that is asked for something is not at rest: the next change ends it
            asked = asyncio.ensure_future(engine.ask("sheets"))
            await asyncio.sleep(0)
            other = await plan_of(LOT)
            await asked
        finally:
            engine.close()
        return first, second, anew, other

    first, second, anew, other = asyncio.run(asyncio.wait_for(planned(), 4 * PATIENCE_S))
    assert first[1] == second[1] != anew[1] != other[1]
    assert first[0] != second[0] == anew[0]
    assert other[0] == first[0]
